"""Random gardens of a few tiers and weeks: every limit, kind of crop and wish, odd ones too.

Smaller and wilder than `solver_case.gardens`, which are made to have room for several batches; in
many of these little can grow, and in some nothing. Crops are quick (a seedling in 3 to 6 days, a
head in 6 to 14), so that two to six weeks hold several batches. One constant or changing weather.

How many a test draws, `draws.profiled` says: by the environment variable ``DRYLINE_GARDENS``
``fast`` (the same 20 each time: the default), ``ci`` (the same 26: the default where ``CI`` is
set) or ``by-hand`` (10,000, other ones each time).
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hypothesis import strategies as st
from solver_case import changing_weather, span
from verify_case import crop, day, garden

from crops.crop import Crop
from crops.vessel import Vessel
from scheduler.garden.model import (
    Column,
    Demand,
    Event,
    Garden,
    Helper,
    Limits,
    Nursery,
    Rest,
    Season,
    Span,
    Tier,
)

# 1 L stands 2.5 cm deep in the box, see `verify_case`; the jar's volume is a measured table.
VESSELS = {
    "box": Vessel("box", "rectangular", (20.0, 20.0), 40.0, 12.0, mass_kg=2.0),
    "pail": Vessel("pail", "round", (20.0, 24.0), 25.0, 6.0, 2.0, 1.2),
    "jar": Vessel("jar", "table", (0.0, 10.0, 20.0), 20.0, 3.0, 1.0, 0.4, (0.0, 1.5, 3.5)),
}
FAMILIES = ("Asteraceae", "Brassicaceae")


def _from(*values: Any) -> st.SearchStrategy[Any]:
    return st.sampled_from(values)


def mostly(value: Any, *odd: Any) -> st.SearchStrategy[Any]:
    """Three times in four a value that leaves room, else one that takes it."""
    return st.sampled_from((value,) * (3 * len(odd)) + odd)


@st.composite
def spans(draw: st.DrawFn, days: int) -> Span:
    """Some days that touch the season; they may begin before it or end after it."""
    first = draw(st.integers(-3, days - 1))
    return span(first, draw(st.integers(max(first, 0), days + 3)))


@st.composite
def crops(draw: st.DrawFn) -> dict[str, Crop]:
    """One to three crops: heads, plugs, and one that is cut again."""
    out = {}
    for name in ("lettuce", "cress", "chard")[: draw(_from(1, 2, 3))]:
        changes: dict[str, Any] = {
            "group": draw(_from(name, "greens")),
            "family": draw(st.sampled_from(FAMILIES)),
            "nursery_days": draw(_from(3.0, 4.0, 6.0)),
            "nursery_wait": draw(mostly(8.0, 6.0, 3.0, 0.0)),
            "days_to_harvest": draw(_from(6.0, 8.0, 8.0, 11.0)),
            "hold": draw(mostly(7.0, 5.0, 3.0, 0.0)),
            "germination": draw(mostly(0.9, 0.6, 1.0)),
            "seeds_per_cell": draw(_from(1, 2)),
            "peak_demand": draw(_from(100.0, 60.0, 20.0, 250.0)),
            "fresh_mass": draw(_from(100.0, 7.5, 333.3)),
            "storage_life": draw(_from(5.0, 0.0, 21.0)),
            "dli_min": draw(mostly(4.0, 12.0)),
            "bolt_heat": draw(mostly(None, 26.0)),
        }
        if name == "chard":
            cuts = draw(_from(2, 3))
            shares = {2: (0.6, 0.4), 3: (0.5, 0.3, 0.2)}[cuts]
            changes |= {
                "cuts": cuts,
                "cut_interval": draw(_from(4.0, 3.4, 7.0)),
                "cut_shares": shares,
                "after_cut": draw(_from(0.5, 1.0)),
            }
        out[name] = crop(name, **changes)
    return out


@st.composite
def columns(draw: st.DrawFn, days: int) -> tuple[Column, ...]:
    """One to three columns of one to three tiers; half the time all tiers are alike."""
    sizes = draw(_from((1,), (2,), (3,), (1, 1), (2, 1), (2, 2), (1, 1, 1), (3, 2, 1)))
    alike = draw(st.booleans())
    kind = draw(st.sampled_from(sorted(VESSELS)))
    made = []
    for name, size in zip("ABC", sizes, strict=False):
        tiers = []
        for k in range(1, size + 1):
            if alike:
                tiers.append(Tier(k, kind, 1.0, 2))
                continue
            free = draw(st.one_of(st.just(()), st.just(()), st.lists(spans(days), max_size=2)))
            rests = draw(
                st.one_of(
                    st.just(()),
                    st.just(()),
                    st.builds(
                        lambda f, d: (Rest(f, day(d)),),
                        st.sampled_from(FAMILIES),
                        st.integers(-5, days + 5),
                    ),
                )
            )
            tiers.append(
                Tier(
                    k,
                    draw(st.sampled_from(sorted(VESSELS))),
                    draw(mostly(1.0, 0.7, 0.3, 0.0)),
                    draw(_from(2, 1, 4)),
                    tuple(free),
                    rests,
                )
            )
        made.append(Column(name, tuple(tiers)))
    return tuple(made)


@st.composite
def demands(draw: st.DrawFn, days: int, grown: dict[str, Crop]) -> tuple[Demand, ...]:
    """A wish for each group, over all the season or some days of it."""
    out = []
    for group in sorted({c.group for c in grown.values()}):
        first = draw(st.integers(0, days - 1))
        last = draw(st.integers(first, days - 1))
        whole = draw(st.booleans())
        out.append(
            Demand(
                group,
                tuple(n for n, c in grown.items() if c.group == group),
                draw(_from(400.0, 150.0, 1.0, 30_000.0)),
                day(0 if whole else first),
                day(days - 1 if whole else last),
                draw(_from(1.0, 2.5, 0.333)),
            )
        )
    return tuple(out)


@st.composite
def small_gardens(draw: st.DrawFn) -> Garden:
    """Any garden of up to nine tiers and six weeks."""
    days = draw(mostly(28, 35, 42, 21, 14)) + draw(_from(0, 0, 3))
    work = draw(mostly(range(7), (0, 2, 4), (5, 6), (3,)))
    away = draw(st.one_of(st.just([]), st.just([]), st.lists(spans(days), max_size=2)))
    season = Season(day(0), day(days - 1), frozenset(work), tuple(away))
    if not season.work_mask.any():  # no file with such a season is read
        season = replace(season, away=())
    grown = draw(crops())
    made = garden(
        season=season,
        vessels=VESSELS,
        columns=draw(columns(days)),
        nursery=Nursery(draw(mostly(12, 8, 30, 4, 0)), draw(_from(None, 20.0, 16.0))),
        demands=draw(demands(days, grown)),
        crops=grown,
        limits=Limits(
            lift_kg=draw(_from(None, None, 5.0, 9.0, 2.1, 0.3)),
            fills_per_day=draw(_from(None, 1, 2)),
            picks_per_day=draw(_from(None, 1, 2)),
            dry_margin_days=draw(_from(2, 0, 5)),
            turnaround_days=draw(_from(1, 0, 4)),
        ),
    )
    phase = draw(_from(None, 0.0, 12.0))
    helpers = draw(mostly((), ("all", 40.0), ("some", 25.0)))
    if helpers:  # one comes on all days, and one on some of them
        here = Helper("a", frozenset(range(7 if helpers[0] == "all" else 4)), helpers[1])
        there = Helper("b", frozenset({2, 5, 6}), 13.5)
        made = replace(made, limits=replace(made.limits, helpers=(here, there)))
    picks = draw(mostly((), (1, 4), (6,)))
    if picks and work != (3,):  # on what of them is worked; on all, if on none
        some = frozenset(picks) & frozenset(work) or frozenset(work)
        made = replace(made, season=replace(made.season, pick_days=some))
        if not made.season.pick_mask.any():
            made = replace(made, season=replace(made.season, away=()))
    events = draw(mostly(0, 1, 2, 3))
    if events and made.demands:  # some days of the season, of any wish
        made = replace(
            made,
            events=tuple(
                Event(
                    day(draw(st.integers(0, days - 1))),
                    draw(st.sampled_from(made.demands)).group,
                    draw(_from(400.0, 150.0, 1.0)),
                )
                for _ in range(events)
            ),
        )
    return made if phase is None else changing_weather(made, phase)
