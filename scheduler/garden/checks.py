"""What must fit together in a garden: names, dates, crops, wishes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

from crops.crop import Crop
from crops.names import same_crop, same_name
from crops.vessel import Vessel
from scheduler.base.yaml_lines import Place
from scheduler.garden.fields import DAYS
from scheduler.garden.model import Season, Span
from scheduler.garden.schema import (
    ColumnModel,
    EventModel,
    HelperModel,
    LimitsModel,
    SeasonModel,
    SpanModel,
)
from scheduler.garden.shape import Sections, TierPart, near_names
from scheduler.garden.wishes import HEADS, heads_of, said

MOST_DAYS = 2 * 366  # longest season planned at once
MOST_TIERS = 100_000
Days = tuple[date | None, date | None]  # first and last of a season, as far as they can be read


def column_names(model: ColumnModel) -> list[str]:
    """Names of the columns one entry stands for."""
    if model.names is not None:
        return list(model.names)
    name = model.name or ""
    return [name] if model.count is None else [f"{name}{k}" for k in range(1, model.count + 1)]


def _columns_of(model: ColumnModel) -> int:
    return len(model.names) if model.names is not None else model.count or 1


def cross_checks(sections: Sections, crops: Mapping[str, Crop] | None, sound: bool = True) -> None:
    """Add every fault between the sound parts of a garden to ``parts.faults``.

    ``crops`` are those of the garden, or with ``sound`` False those that may be meant; None: not
    known.
    """
    days = sections.season_days
    start, end = days
    if start is not None and end is not None and start > end:
        sections.fault(("season", "end"), end, f"a day after the start, {start}")
        days = None, None  # nobody knows which of them is meant
    elif sections.season is not None:
        _season(sections, sections.season)
    for i, span in sections.away.items():
        _span(sections, span, ("season", "away", i), days)
    _columns(sections, days, crops)
    _demands(sections, days, crops)
    _events(sections, days, crops)
    _titles(sections, crops if crops and sound else {})
    _helpers(sections)
    limits = sections.parts.get(("limits",))
    if isinstance(limits, LimitsModel):  # what cannot be read has its default
        for key in ("dry_margin", "turnaround"):
            span = getattr(limits, key)
            if abs(span - round(span)) > 1e-6:
                sections.fault(("limits", key), f"{span:g} days", "whole days")


def _season(sections: Sections, season: SeasonModel) -> None:
    if (season.end - season.start).days > MOST_DAYS:
        expected = f"at most two years after the start, {season.start}"
        sections.fault(("season", "end"), season.end, expected)
        return
    unread = sections.unread.get(("season",), frozenset())
    if unread & {"work_days", "away"}:
        return
    away = tuple(Span(s.start, s.end) for s in season.away)
    picks = frozenset(range(7)) if "pick_days" in unread else pick_days_of(season)
    days = Season(season.start, season.end, frozenset(season.work_days), away, picks)
    idle = sorted(picks - days.work_days) if season.pick_days is not None else []
    if idle:
        named = ", ".join(DAYS[d] for d in idle)
        work = ", ".join(DAYS[d] for d in sorted(days.work_days))
        sections.fault(("season", "pick_days"), named, f"days that are work days too ({work})")
    elif not days.work_mask.any():
        sections.fault(("season",), "no work day", "a day with work between start and end")
    elif not days.pick_mask.any():
        expected = "a day for picking between start and end"
        sections.fault(("season", "pick_days"), "no pick day", expected)


def pick_days_of(season: SeasonModel) -> frozenset[int]:
    """Weekdays on which is picked: as told, or all."""
    return frozenset(range(7) if season.pick_days is None else season.pick_days)


def _span(sections: Sections, span: SpanModel, place: Place, season: Days) -> None:
    if span.start > span.end:
        sections.fault((*place, "to"), span.end, f"{span.start} or later, the first day")
    elif _before(span.end, season[0]) or _before(season[1], span.start):
        expected = f"days that touch the season, {_days_text(season)}"
        sections.fault((*place, "from"), f"{span.start} to {span.end}", expected)


def _before(day: date | None, other: date | None) -> bool:
    return day is not None and other is not None and day < other


def _days_text(season: Days) -> str:
    """The season's days, as far as they can be read."""
    start, end = season
    if start is not None and end is not None:
        return f"{start} to {end}"
    return f"up to {end}" if start is None else f"from {start} on"


def _columns(sections: Sections, season: Days, crops: Mapping[str, Crop] | None) -> None:
    families = sorted({c.family for c in crops.values()}) if crops else []
    tiers = sum(len(m.tiers) * _columns_of(m) for m in sections.columns.values())
    if tiers > MOST_TIERS:  # before all their names are made
        sections.fault(("columns",), f"{tiers} tiers", f"at most {MOST_TIERS}")
        return
    _column_names(sections)
    for i, model in sections.columns.items():
        place: Place = ("columns", i)
        written = [key for key in ("name", "names") if sections.doc.has((*place, key))]
        if len(written) != 1:  # one that is faulty is told already
            sections.fault(place, "", "either name or names")
        elif model.names is not None and model.count is not None:
            sections.fault((*place, "count"), model.count, "count only with name")
        for k, tier in enumerate(model.tiers):
            _tier(sections, TierPart.of(tier), (*place, "tiers", k), season, families)
    for (i, k), part in sections.tiers.items():
        _tier(sections, part, ("columns", i, "tiers", k), season, families)


def _tier(
    sections: Sections, tier: TierPart, place: Place, season: Days, families: list[str]
) -> None:
    if tier.vessel is not None and tier.vessel not in sections.vessel_names:
        expected = near_names(tier.vessel, sorted(sections.vessel_names))
        sections.fault((*place, "vessel"), tier.vessel, f"a vessel: {expected}")
    vessel = sections.vessels.get(tier.vessel or "")
    holes = None if vessel is None or vessel.plugs is None else vessel.plugs.holes
    if holes is not None and tier.plants is not None and tier.plants > holes:
        expected = f"at most {holes}, the holes of {tier.vessel}"
        sections.fault((*place, "plants"), tier.plants, expected)
    for n, span in tier.available.items():
        _span(sections, span, (*place, "available", n), season)
    for n, rest in tier.rests.items():
        if families and rest.family not in families:
            expected = f"a family of the garden's crops: {', '.join(families)}"
            sections.fault((*place, "rests", n, "family"), rest.family, expected)


def _column_names(sections: Sections) -> None:
    """Each column's name once, those of columns with other faults too."""
    data: Any = sections.doc.data
    raw = data.get("columns") if isinstance(data, dict) else None
    seen: dict[str, tuple[str, int]] = {}
    for i, written in enumerate(raw if isinstance(raw, list) else []):
        model = sections.columns.get(i)
        whole = model is not None and (model.name or model.names)
        for name in column_names(model) if model and whole else _names_written(written):
            known = same_name(name)
            if known in seen:
                other, at = seen[known]
                first = sections.doc.line(("columns", at))
                also = "also used" if other == name else f"{other} is the same,"
                key = "names" if sections.doc.has(("columns", i, "names")) else "name"
                expected = f"each column's name once; {also} on line {first}"
                sections.fault(("columns", i, key), name, expected)
            seen.setdefault(known, (name, i))
            if len(seen) > MOST_TIERS:
                return


def _names_written(raw: Any) -> list[str]:
    """Names of the columns that a faulty entry stands for, as far as they can be read."""
    if not isinstance(raw, dict):
        return []
    names, count = raw.get("names"), raw.get("count")
    written = names if isinstance(names, list) else [raw.get("name")]
    found = [str(n) for n in written if isinstance(n, str | int) and not isinstance(n, bool)]
    if written is names or not found or type(count) is not int or not 1 <= count <= 10_000:
        return found
    return [f"{found[0]}{k}" for k in range(1, count + 1)]


def _helpers(sections: Sections) -> None:
    """Each helper once; they, or one number for each day, say how much time there is."""
    seen: dict[str, int] = {}
    named = {place[-1]: part for place, part in sections.parts.items() if place[:1] == ("helpers",)}
    for i, helper in named.items():
        assert isinstance(helper, HelperModel)
        assert isinstance(i, int)
        first_of = seen.setdefault(same_name(helper.name), i)
        if first_of != i:
            line = sections.doc.line(("helpers", first_of))
            expected = f"each helper once; also on line {line}"
            sections.fault(("helpers", i, "name"), helper.name, expected)
    place: Place = ("limits", "minutes_per_day")
    if sections.doc.has(("helpers",)) and sections.doc.has(place):
        minutes = sections.limits.minutes_per_day if sections.limits else None
        expected = "either this or helpers, whose minutes of a day are added up"
        sections.fault(place, "" if minutes is None else f"{minutes:g} min", expected)


def _titles(sections: Sections, crops: Mapping[str, Crop]) -> None:
    """A log may name a crop by its title: no other crop goes by the same."""
    seen = {same_crop(name): name for name in crops}
    for crop in crops.values():
        other = seen.setdefault(same_crop(crop.title), crop.name)
        if other != crop.name:
            changed = sections.crops is not None and crop.name in sections.crops.overrides
            place: Place = ("crops", "overrides", crop.name) if changed else ("crops",)
            expected = f"a title of its own for {crop.name}; {other} goes by the same"
            sections.fault(place, crop.title, expected)


def _demands(sections: Sections, season: Days, crops: Mapping[str, Crop] | None) -> None:
    seen: dict[str, int] = {}
    counted: dict[str, int] = {}
    wishes = sections.wishes
    for i, wish in wishes.items():
        place: Place = ("demand", i)
        first_of = seen.setdefault(same_name(wish.group), i)
        if first_of != i:
            first = sections.doc.line(("demand", first_of))
            sections.fault((*place, "group"), wish.group, f"each group once; also on line {first}")
        for key, day in (("from", wish.start), ("to", wish.end)):
            if _before(day, season[0]) or _before(season[1], day):
                sections.fault((*place, key), day, f"a day of the season, {_days_text(season)}")
        first_day, last_day = wish.start or season[0], wish.end or season[1]
        if _before(last_day, first_day):
            sections.fault((*place, "to"), last_day, f"{first_day} or later, the first day")
        for n, name in enumerate(wish.crops or ()):
            if crops is not None and name not in crops:
                expected = near_names(name, sorted(crops))
                sections.fault((*place, "crops", n), name, f"a crop of the garden: {expected}")
            if name in counted:
                first = sections.doc.line(("demand", counted[name]))
                expected = f"each crop in one wish; also on line {first}"
                sections.fault((*place, "crops", n), name, expected)
            counted.setdefault(name, i)
    if crops is None:
        return
    groups = sorted({c.group for c in crops.values()})
    for i, names in demand_crops(sections, crops).items():
        if wishes[i].per_week[0] == HEADS and names and not _heads(crops, names):
            expected = "grams or bunches: what is cut again has no heads"
            sections.fault(("demand", i, "per_week"), said(wishes[i].per_week), expected)
        if not names and "crops" not in sections.unread.get(("demand", i), ()):
            group = wishes[i].group
            expected = f"a group of the garden's crops ({', '.join(groups)}), or a list of crops"
            sections.fault(("demand", i, "group"), group, expected)


def _events(sections: Sections, season: Days, crops: Mapping[str, Crop] | None) -> None:
    """Each event is in the season, of a wish, in heads only where that has any."""
    groups = {same_name(w.group): i for i, w in sections.wishes.items()}
    counted = {} if crops is None else demand_crops(sections, crops)
    found = {place[-1]: part for place, part in sections.parts.items() if place[:1] == ("events",)}
    for i, event in found.items():
        assert isinstance(event, EventModel)
        place: Place = ("events", i)
        unread = sections.unread.get(place, frozenset())
        outside = _before(event.date, season[0]) or _before(season[1], event.date)
        if outside and "date" not in unread:
            expected = f"a day of the season, {_days_text(season)}"
            sections.fault((*place, "date"), event.date, expected)
        wish = groups.get(same_name(event.group))
        if "group" in unread or not groups:
            continue
        if wish is None:
            named = ", ".join(sorted(w.group for w in sections.wishes.values()))
            sections.fault((*place, "group"), event.group, f"a group of the wishes: {named}")
            continue
        headed = crops is None or not counted.get(wish) or _heads(crops, counted[wish])
        if event.amount[0] == HEADS and not headed:
            expected = "grams or bunches: what is cut again has no heads"
            sections.fault((*place, "amount"), said(event.amount), expected)


def _heads(crops: Mapping[str, Crop], names: Sequence[str]) -> bool:
    """Whether a crop of these may be wished in heads; one that is not known may be."""
    return any(n not in crops for n in names) or bool(heads_of([crops[n] for n in names]))


def demand_crops(sections: Sections, crops: Mapping[str, Crop]) -> dict[int, tuple[str, ...]]:
    """Crops that count for each wish, by its position.

    Without a list of its own a wish takes the crops of its group that no other wish lists.
    """
    wishes = sections.wishes
    listed = {name for wish in wishes.values() for name in wish.crops or ()}
    out: dict[int, tuple[str, ...]] = {}
    for i, wish in wishes.items():
        if wish.crops is not None:
            out[i] = tuple(dict.fromkeys(wish.crops))
        else:
            out[i] = tuple(n for n, c in crops.items() if c.group == wish.group and n not in listed)
    return out


def notes(
    sections: Sections,
    vessels: Mapping[str, Vessel],
    crops: Mapping[str, Crop],
    counted: Mapping[int, Sequence[str]],
) -> tuple[str, ...]:
    """Remarks on a sound garden: what the grower may have overlooked."""
    out = []
    wanted = {name for names in counted.values() for name in names}
    idle = [c.title for n, c in crops.items() if n not in wanted]
    if idle:
        out.append(f"no wish counts {', '.join(idle)}: not planned")
    lift = sections.limits.lift if sections.limits else None
    used = {t.vessel for c in sections.columns.values() if len(c.tiers) > 1 for t in c.tiers}
    for name, vessel in vessels.items():
        if lift is not None and name in used and vessel.mass_kg > lift:
            out.append(
                f"{name} is heavier empty than the lift limit: nothing below it can be "
                "filled or cleared"
            )
        if name not in {t.vessel for c in sections.columns.values() for t in c.tiers}:
            out.append(f"vessel {name} stands in no column")
    for model in sections.columns.values():
        for before, after in pairwise(model.tiers):
            if after.light > before.light + 1e-9:
                name = column_names(model)[0]
                out.append(f"column {name}: a lower tier has more light than the one above it")
                break
    season = sections.season
    if season is not None and sections.helpers:
        there = {day for h in sections.helpers.values() for day in h.days}
        alone = [DAYS[day] for day in sorted(set(season.work_days) - there)]
        if alone:
            out.append(f"nobody helps on {', '.join(alone)}: no work is planned on these days")
    if season is not None and (season.end - season.start) < timedelta(days=49):
        out.append("a season of under seven weeks: few crops ripen")
    return tuple(out)
