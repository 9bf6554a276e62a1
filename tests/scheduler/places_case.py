"""Random gardens whose columns stand in places of all kinds, moved once or twice."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from hypothesis import assume
from hypothesis import strategies as st
from random_gardens import small_gardens
from verify_case import day

from crops.place import KINDS, Lamp, Place
from scheduler.garden.model import Garden, Stay
from scheduler.garden.placed import moving_days

LIT = replace(KINDS["indoors"], name="room", temperature=17.0, lamp=Lamp(60.0, 2.5, 14.0, 0.5, 0.3))
DIM = replace(KINDS["indoors"], name="hall", temperature=21.0, light=0.6)
PLACES: tuple[Place, ...] = (LIT, DIM, *(KINDS[k] for k in ("eaves", "shade", "fleece", "frame")))


@st.composite
def placed_gardens(draw: st.DrawFn) -> Garden:
    """A small garden; some of its columns in one place for good, some moved on work days."""
    garden = draw(small_gardens())
    days = garden.season.days
    work = [d for d in range(1, days) if garden.season.work_mask[d]]
    columns = []
    for column in garden.columns:
        edges = (
            sorted(draw(st.lists(st.sampled_from(work), max_size=2, unique=True))) if work else []
        )
        ends = [0, *edges, days + 120]
        stays = []
        for begin, end in pairwise(ends):
            place = draw(st.one_of(st.none(), st.sampled_from(PLACES)))
            if place is not None:
                stays.append(Stay(day(begin), day(end - 1), place))
        tiers = tuple(replace(t, stays=tuple(stays)) for t in column.tiers)
        columns.append(replace(column, tiers=tiers))
    minutes = draw(st.sampled_from([None, None, 25.0, 60.0]))
    limits = replace(garden.limits, minutes_per_day=minutes)
    made = replace(garden, columns=tuple(columns), limits=limits)
    assume(any(c.tiers[0].stays for c in columns))
    lift = made.limits.lift_kg
    if lift is not None and any(moving_days(c.tiers[0], made) for c in columns):
        # The file refuses a column whose empty vessels are too heavy to be moved.
        heaviest = max(made.vessels[t.vessel].mass_kg for c in columns for t in c.tiers)
        assume(heaviest <= lift)
    return made
