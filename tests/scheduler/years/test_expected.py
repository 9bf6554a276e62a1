"""A garden with its planning years is the same garden in all else."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest
from verify_case import garden

from crops.years import carried_by
from scheduler.garden.model import Garden, Site
from scheduler.years.expected import expecting, with_past, with_years, without_years
from scheduler.years.purposes import years_for


def coastal() -> Garden:
    """By the sea, and with a past: both count in the years that are made."""
    g = garden()
    past = g.site.weather.assign(tmax=25.0)
    return replace(g, site=replace(g.site, past=past, coastal=True))


@pytest.mark.parametrize("how", ["with", "without", "expecting", "past"])
def test_nothing_of_a_site_is_lost(how: str) -> None:
    g = coastal()
    made = {
        "with": lambda: with_years(g, years_for(garden(), 4, 1, "plan")),
        "without": lambda: without_years(expecting(g, 4, 1)),
        "expecting": lambda: expecting(g, 4, 1),
        "past": lambda: with_past(g, lambda: g.site.past),  # type: ignore[arg-type,return-value]
    }[how]()
    for f in fields(Site):
        if f.name not in ("weather", "past"):
            assert getattr(made.site, f.name) == getattr(g.site, f.name), f.name
    assert made.site.past is g.site.past
    assert (made.site.weather == g.site.weather).all().all()
    assert (carried_by(made.site.weather) is not None) == (how in ("with", "expecting"))


def test_of_no_years_a_garden_is_itself() -> None:
    g = garden()
    assert expecting(g, 0, 1) is g
