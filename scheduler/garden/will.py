"""What the grower has settled: fixed batches, and what may never stand somewhere; checked, read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from crops.crop import Crop
from crops.names import same_name
from scheduler.base.yaml_lines import Place
from scheduler.garden.checks import column_names, demand_crops
from scheduler.garden.model import ONE_DAY, Fixed, Garden, Never, Season, Span
from scheduler.garden.schema import DemandModel, SeasonModel, TierModel
from scheduler.garden.shape import Sections, near_names
from scheduler.garden.standing import column_as_written, tier_named
from scheduler.garden.will_schema import FixedModel, NeverModel

NEVER = "never"
Days = tuple[date | None, date | None]


def check_will(sections: Sections, crops: Mapping[str, Crop] | None) -> None:
    """Add every fault of ``never`` and ``fixed``; ``crops`` as in `checks.cross_checks`."""
    season = sections.season_days
    for place, never in _nevers(sections):
        _never(sections, place, never, season, crops)
    if None not in season:
        _some_days_left(sections)
    if crops is not None:
        counted = demand_crops(sections, crops)
        for i, wish in sections.demands.items():
            _mixed(sections, i, wish, counted[i])
    taken: dict[tuple[str, int], list[tuple[date, date, int]]] = {}
    for i, one in sections.fixed.items():
        _fixed(sections, i, one, taken, crops)


def closed_in(sections: Sections, column: str, tier: int) -> list[NeverModel]:
    """What the garden's own list says of a tier."""
    return [m for m in sections.never.values() if m.counts_in(column, tier)]


def never_of(models: Iterable[NeverModel], first: date, last: date) -> tuple[Never, ...]:
    """What names crops; days left out are those of the season and after."""
    return tuple(
        Never(tuple(dict.fromkeys(m.crops)), m.start or first, m.end or last)
        for m in models
        if m.crops
    )


def without_days(
    spans: Sequence[Span], models: Iterable[NeverModel], first: date, last: date
) -> tuple[Span, ...]:
    """Spans in which a tier may hold a batch (none: always) without days on which nothing may.

    ``first``, ``last``: of the season; a tier may be used up to ``last``.
    """
    closed = [m for m in models if not m.crops]
    left = list(spans) if spans or not closed else [Span(first, last)]
    for model in closed:
        start, end = model.start or first, model.end or last
        parts = [
            part
            for span in left
            for part in (
                Span(span.start, min(span.end, start - ONE_DAY)),
                Span(max(span.start, end + ONE_DAY), span.end),
            )
        ]
        left = [part for part in parts if part.start <= part.end]
    return tuple(left)


def shares_of(wish: DemandModel) -> tuple[tuple[str, int, int], ...]:
    """Crop, its least and its most share [1/1000]."""
    return tuple((n, round(1000 * s.least), round(1000 * s.most)) for n, s in wish.shares.items())


def _mixed(sections: Sections, i: int, wish: DemandModel, counted: Sequence[str]) -> None:
    """Shares are of crops that count for the wish, and can all be kept at once."""
    place: Place = ("demand", i)
    for name, share in wish.shares.items():
        if name not in counted:
            expected = f"a crop that counts for {wish.group}: {near_names(name, sorted(counted))}"
            sections.fault((*place, "shares", name), name, expected)
        elif share.least > share.most:
            expected = f"at least {share.least:.0%}, the least share"
            sections.fault((*place, "shares", name, "most"), f"{share.most:.0%}", expected)
    least = sum(s.least for s in wish.shares.values())
    if least > 1 + 1e-9:
        sections.fault((*place, "shares"), f"{least:.0%}", "least shares of 100 % in all, or less")
    most = sum(s.most for s in wish.shares.values())
    if counted and set(counted) <= set(wish.shares) and most < 1 - 1e-9:
        expected = "most shares of 100 % in all, or more, as no other crop counts"
        sections.fault((*place, "shares"), f"{most:.0%}", expected)
    if wish.same_kind_weeks is not None and len(counted) < 2:
        expected = "nothing, as one crop alone counts for the wish"
        sections.fault((*place, "same_kind_weeks"), wish.same_kind_weeks, expected)


def without(spans: Sequence[Span], garden: Garden, days: Span) -> tuple[Span, ...]:
    """Spans of a tier of a garden without some days."""
    closed = NeverModel.model_validate({"from": str(days.start), "to": str(days.end)})
    return without_days(spans, [closed], garden.season.start, garden.season.end)


def fixed_of(sections: Sections) -> tuple[Fixed, ...]:
    """The fixed batches of sections without a fault, by their day."""
    out = [
        Fixed(
            one.crop,
            column_as_written(sections, one.column),
            one.tier,
            one.planted_on,
            tuple(one.picked_on),
            sections.doc.line(("fixed", i)),
        )
        for i, one in sections.fixed.items()
    ]
    return tuple(sorted(out, key=lambda f: (f.planted_on, f.column, f.tier)))


def _nevers(sections: Sections) -> Iterator[tuple[Place, NeverModel]]:
    for i, model in sections.never.items():
        yield ("never", i), model
    for c, column in sections.columns.items():
        for i, model in enumerate(column.never):
            yield ("columns", c, "never", i), model
        for t, tier in enumerate(column.tiers):
            for i, model in enumerate(tier.never):
                yield ("columns", c, "tiers", t, "never", i), model


def _never(
    sections: Sections,
    place: Place,
    never: NeverModel,
    season: Days,
    crops: Mapping[str, Crop] | None,
) -> None:
    if never.column is not None and place[0] != NEVER:
        sections.fault((*place, "column"), never.column, "none, as it is about this one")
    elif never.tier is not None and never.column is None:
        sections.fault((*place, "tier"), never.tier, "a tier only with its column")
    elif never.column is not None:
        tier = tier_named(sections, never.column, never.tier or 1)
        if isinstance(tier, str) and tier:
            key, _, expected = tier.partition("|")
            sections.fault((*place, key), getattr(never, key), expected)
    first, last = season
    start, end = never.start or first, never.end or last
    for n, name in enumerate(never.crops or ()):
        if crops is not None and name not in crops:
            expected = f"a crop of the garden: {near_names(name, sorted(crops))}"
            sections.fault((*place, "crops", n), name, expected)
    if not never.crops and never.start is None and never.end is None:
        sections.fault(place, "", "crops, or days (from, to); what is never used is left out")
    elif start is not None and end is not None and end < start:
        expected = f"{start} or later, the first day"
        key = "to" if never.end else "from"
        sections.fault((*place, key), never.end or never.start, expected)
    elif _before(end, first) or _before(last, start):
        expected = f"days that touch the season, {first} to {last}"
        sections.fault((*place, "from"), f"{start} to {end}", expected)


def _some_days_left(sections: Sections) -> None:
    """A tier on which nothing may ever stand is left out of the garden."""
    first, last = sections.season_days
    assert first is not None
    assert last is not None
    for c, column in sections.columns.items():
        for t, tier in enumerate(column.tiers):
            if not (sections.never or column.never or tier.never):
                continue  # and the names of a column of millions are never made
            spans = [Span(s.start, s.end) for s in tier.available]
            for name in column_names(column):
                told = [*closed_in(sections, name, t + 1), *column.never, *tier.never]
                closed = [m for m in told if not m.crops and (m.start or m.end)]
                if closed and not without_days(spans, closed, first, last):
                    expected = "a day of the season on which something may stand there"
                    sections.fault(("columns", c, "tiers", t), "never", expected)
                    break


def _fixed(
    sections: Sections,
    i: int,
    one: FixedModel,
    taken: dict[tuple[str, int], list[tuple[date, date, int]]],
    crops: Mapping[str, Crop] | None,
) -> None:
    place: Place = ("fixed", i)
    if crops is not None and one.crop not in crops:
        expected = f"a crop of the garden: {near_names(one.crop, sorted(crops))}"
        sections.fault((*place, "crop"), one.crop, expected)
    tier = tier_named(sections, one.column, one.tier)
    if isinstance(tier, str) and tier:
        key, _, expected = tier.partition("|")
        sections.fault((*place, key), getattr(one, key), expected)
    season = sections.season
    days = None if season is None else _season(season)
    if days is not None and not days.is_work_day(one.planted_on):
        expected = f"a work day of the season, {days.start} to {days.end}"
        sections.fault((*place, "planted_on"), one.planted_on, expected)
    before = one.planted_on
    for n, day in enumerate(one.picked_on):
        if day <= before:
            sections.fault((*place, "picked_on", n), day, f"a day after {before}")
        elif days is not None and not days.is_pick_day(day):
            expected = f"a day for picking from {days.start} to {days.end}"
            sections.fault((*place, "picked_on", n), day, expected)
        before = max(before, day)
    if not isinstance(tier, TierModel):
        return
    pause = ONE_DAY * round(sections.limits.turnaround if sections.limits else 1)
    free = (one.picked_on[-1] if one.picked_on else one.planted_on) + max(pause, ONE_DAY)
    spot = (same_name(one.column), one.tier)
    for start, end, other in taken.setdefault(spot, []):
        if one.planted_on < end and start < free:
            line = sections.doc.line(("fixed", other))
            expected = f"one batch at a time in {one.column} {one.tier}; also on line {line}"
            sections.fault((*place, "planted_on"), one.planted_on, expected)
    taken[spot].append((one.planted_on, free, i))


def _before(day: date | None, other: date | None) -> bool:
    return day is not None and other is not None and day < other


def _season(model: SeasonModel) -> Season:
    picks = range(7) if model.pick_days is None else model.pick_days
    away = tuple(Span(s.start, s.end) for s in model.away)
    return Season(model.start, model.end, frozenset(model.work_days), away, frozenset(picks))
