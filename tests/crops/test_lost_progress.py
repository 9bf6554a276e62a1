"""Progress that heat and chill take: a part of the day, all of it, and never what there was."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from crops import development
from crops.catalogue import catalogue

CROPS = catalogue()


@pytest.mark.parametrize(
    ("beyond", "share"), [(-5.0, 0.0), (0.0, 0.0), (1.5, 0.25), (3.0, 0.5), (6.0, 1.0), (9.0, 1.0)]
)
def test_a_part_is_lost_by_how_far_a_day_is_beyond_what_a_crop_bears(
    beyond: float, share: float
) -> None:
    """All of a day at 6 K, half of it at half of that, on either side."""
    basil = CROPS["basil"]
    for t in (basil.heat_limit + beyond, basil.chill_limit - beyond):
        assert float(development.lost(basil, t)) == pytest.approx(share)


def test_spinach_loses_half_of_a_day_that_its_response_alone_would_give_it() -> None:
    """At 25 degC it grows by its response, at 28 by half of what its response is."""
    spinach = CROPS["spinach"]
    assert spinach.heat_limit == 25
    hardy = replace(spinach, heat_limit=50.0)
    for t, share in ((25.0, 1.0), (26.5, 0.75), (28.0, 0.5)):
        grown, unharmed = (float(development.warmth(c, t, t)) for c in (spinach, hardy))
        assert grown == pytest.approx(share * unharmed)
        assert unharmed > 0


def test_what_a_crop_has_grown_is_never_taken_back() -> None:
    low = np.linspace(-10, 40, 60)
    for crop in CROPS.values():
        assert (development.warmth(crop, low, low + 12) >= 0).all()
