"""Light of a tier by geometry: closed forms against sums over the hemisphere, and limits."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from scheduler.beginning.light import STANDS, beside, endless, shares


def summed(hit) -> float:
    """Share of an evenly bright sky's light on a level plate that comes from where ``hit`` is true.

    Cosine law: the sum of cos(zenith) over the solid angle, by pi. ``hit(dx, dy, dz)`` of unit
    directions, z up, x towards what stands beside.
    """
    zenith = (np.arange(1200) + 0.5) / 1200 * pi / 2
    azimuth = (np.arange(2400) + 0.5) / 2400 * 2 * pi
    z, a = np.meshgrid(zenith, azimuth, indexing="ij")
    dx, dy, dz = np.sin(z) * np.cos(a), np.sin(z) * np.sin(a), np.cos(z)
    weight = np.cos(z) * np.sin(z)
    return float((weight * hit(dx, dy, dz)).sum() / weight.sum())


@pytest.mark.parametrize(
    ("width", "height", "away"), [(0.3, 0.3, 0.12), (0.5, 1.2, 0.12), (1.0, 0.2, 0.4)]
)
def test_a_rectangle_beside(width: float, height: float, away: float) -> None:
    def hit(dx, dy, dz):
        t = np.where(dx > 1e-9, away / np.maximum(dx, 1e-9), np.inf)
        return (dx > 1e-9) & (np.abs(dy * t) <= width / 2) & (dz * t <= height)

    assert beside(width, height, away) == pytest.approx(summed(hit), abs=2e-3)


@pytest.mark.parametrize(("low", "high", "away"), [(0, 2, 0.5), (0.5, 1.6, 0.4), (-1, 1, 0.3)])
def test_a_wall_without_ends(low: float, high: float, away: float) -> None:
    def hit(dx, dy, dz):
        t = np.where(dx > 1e-9, away / np.maximum(dx, 1e-9), np.inf)
        return (dx > 1e-9) & (dz * t >= max(low, 0)) & (dz * t <= high)

    assert endless(low, high, away) == pytest.approx(summed(hit), abs=2e-3)


def test_half_the_sky_is_the_most_that_a_wall_can_take() -> None:
    assert endless(0, 1e6, 0.5) == pytest.approx(0.5, abs=1e-5)
    assert beside(1e6, 1e6, 0.1) == pytest.approx(0.5, abs=1e-3)
    assert beside(0.3, 0, 0.1) == endless(1, 1, 0.5) == 0


@pytest.mark.parametrize("stand", STANDS)
@pytest.mark.parametrize("tiers", [1, 3, 6])
def test_lower_tiers_get_no_more(stand: str, tiers: int) -> None:
    """On a balcony a high tier looks at the ceiling: there the gap's half, 0.5, is the most."""
    light = shares(stand, tiers, 0.28, 0.32)
    assert len(light) == tiers
    assert (light == sorted(light, reverse=True)) or stand == "balcony"
    assert all(0 < x <= (0.5 if stand == "balcony" else 1) for x in light)
    assert (light[0] == 1) == (stand == "open")


def test_a_balcony_is_darker_than_a_wall_and_that_than_the_open() -> None:
    open_, wall, balcony = (shares(s, 3, 0.28, 0.32) for s in STANDS)
    assert all(a > b > c for a, b, c in zip(open_, wall, balcony, strict=True))
