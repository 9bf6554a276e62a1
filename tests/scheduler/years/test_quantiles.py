"""What a sample of years tells of a share of all years; expected numbers worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from scheduler.years.quantiles import share_below


def test_the_kth_smallest_of_n_stands_for_k_of_n_plus_one() -> None:
    nine = [30, 10, 20, 90, 80, 70, 40, 50, 60]
    assert share_below(nine, 0.2) == 20  # 2 of 10
    assert share_below(nine, 0.25) == 25  # half-way to the third
    assert share_below(nine, 0.5) == 50


def test_shares_too_small_for_the_sample_give_its_ends() -> None:
    assert share_below([3.0, 1.0, 2.0], 0.2) == 1.0  # 0.8 of 4: the smallest stands for 1 of 4
    assert share_below([3.0, 1.0, 2.0], 0.25) == 1.0
    assert share_below([3.0, 1.0, 2.0], 1.0) == 3.0
    assert share_below([7.0], 0.5) == 7.0


def test_never_stays_never_and_columns_stay_apart() -> None:
    never = np.inf
    values = np.array([[1.0, never], [2.0, never], [3.0, 5.0], [never, never]])
    assert share_below(values, 0.5).tolist() == [2.5, never]
    assert share_below(values.T, 0.8, axis=1).tolist() == [never, never]
    assert share_below([never, never, never], 0.5) == never


@pytest.mark.parametrize(("values", "share"), [([], 0.5), ([1.0], 1.2), ([1.0], -0.1)])
def test_no_years_and_no_share_are_refused(values: list[float], share: float) -> None:
    with pytest.raises(ValueError, match=r"share"):
        share_below(values, share)
