"""A series that remembers the day before, against SciPy's filter to the last bit."""

from __future__ import annotations

import numpy as np
import pytest

from scheduler.years.memory import remembering


@pytest.mark.parametrize("memory", [0.0, 0.3, 0.65, 0.97])
@pytest.mark.parametrize("shape", [(1, 1), (3, 40), (50, 366)])
def test_as_the_filter_of_a_reference_library(shape: tuple[int, int], memory: float) -> None:
    from scipy.signal import lfilter

    fresh = np.random.default_rng(7).standard_normal(shape)
    assert np.array_equal(remembering(fresh, memory), lfilter([1.0], [1.0, -memory], fresh, axis=1))


def test_by_hand() -> None:
    """1; then 0.5 x 1 + 2; then 0.5 x 2.5 + 4."""
    assert remembering(np.array([[1.0, 2.0, 4.0]]), 0.5).tolist() == [[1.0, 2.5, 5.25]]
