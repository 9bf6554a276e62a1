"""Places as written in garden.yaml made into those reckoned with; where columns stand when."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from crops.place import KINDS, OPEN, Lamp, Place
from scheduler.base.yaml_lines import Place as Spot
from scheduler.garden.place_schema import LampModel, PlaceModel, StayModel
from scheduler.garden.schema import ColumnModel, LimitsModel, SeasonModel
from scheduler.garden.shape import Sections, near_names
from scheduler.garden.spans import Span, Stay
from scheduler.words.units import Units

ROOM = ("temperature", "humidity")
OUTDOORS = ("night", "day", "evaporation")


def make_places(sections: Sections) -> dict[str, Place]:
    """The sound places by name, the open air among them; faults are added to ``sections``."""
    out = {OPEN.name: OPEN}
    for spot, name in sections.place_spots.items():
        model = sections.parts.get(spot)
        if isinstance(model, PlaceModel) and _fits(spot, model, sections):
            out[name] = _place(name, model)
    return out


def _fits(spot: Spot, model: PlaceModel, sections: Sections) -> bool:
    before = len(sections.faults)
    unread = sections.unread.get(spot, frozenset())
    if "kind" in unread:
        return False
    indoors = model.kind == "indoors"
    for key in OUTDOORS if indoors else ROOM:
        if getattr(model, key) is not None:
            expected = f"no {key} {'indoors' if indoors else 'outdoors'}"
            sections.fault((*spot, key), "too much", expected)
    if indoors and model.temperature is None and "temperature" not in unread:
        sections.fault((*spot, "temperature"), "missing", "temperature, as it is indoors")
    if indoors and not model.light and model.lamp is None and not unread & {"light", "lamp"}:
        sections.fault(spot, "dark", "light through a window, a lamp, or both")
    return len(sections.faults) == before and not unread


def _place(name: str, model: PlaceModel) -> Place:
    told = model.model_dump(exclude={"kind", "lamp"}, exclude_none=True)
    lamp = None if model.lamp is None else make_lamp(model.lamp)
    return replace(KINDS[model.kind], name=name, lamp=lamp, **told)


def make_lamp(model: LampModel) -> Lamp:
    return Lamp(model.power, model.efficacy, model.hours, model.area, model.price)


def check_stays(sections: Sections) -> None:
    """Add the faults of where columns stand: places, days, overlaps, moves that cannot be made."""
    known = {OPEN.name, *sections.place_spots.values()}
    start, end = sections.season_days
    for i, model in sections.columns.items():
        before = len(sections.faults)
        _may_stand(sections, i, model, known)
        taken: list[tuple[date, date, int]] = []
        for n, stay in enumerate(model.place):
            single = not sections.doc.has(("columns", i, "place", n))
            spot: Spot = ("columns", i, "place") if single else ("columns", i, "place", n)
            if stay.place not in known:
                expected = f"a place: {near_names(stay.place, sorted(known))}"
                sections.fault(spot if single else (*spot, "in"), stay.place, expected)
            first, last = stay.start or start, stay.end or end
            if first is None or last is None or start is None or end is None or start > end:
                continue
            if first > last:
                sections.fault((*spot, "to"), last, f"{first} or later, the first day")
            elif last < start or end < first:
                expected = f"days that touch the season, {start} to {end}"
                sections.fault((*spot, "from"), f"{first} to {last}", expected)
            for other_first, other_last, at in taken:
                if first <= other_last and other_first <= last:
                    line = sections.doc.line(("columns", i, "place", at))
                    expected = f"days that no other place has; also on line {line}"
                    sections.fault((*spot, "from"), f"{first} to {last}", expected)
            taken.append((first, last, n))
        if len(sections.faults) == before and model.place:
            _moves(sections, i, model)


def _may_stand(sections: Sections, i: int, model: ColumnModel, known: set[str]) -> None:
    """Add the faults of places to choose from."""
    names = model.may_stand or []
    if names and sections.doc.has(("columns", i, "place")):
        expected = "either place or may_stand"
        sections.fault(("columns", i, "may_stand"), ", ".join(names), expected)
    for n, name in enumerate(names):
        if name not in known:
            expected = f"a place: {near_names(name, sorted(known))}"
            sections.fault(("columns", i, "may_stand", n), name, expected)
        elif name in names[:n]:
            sections.fault(("columns", i, "may_stand", n), name, "each place once")


def _moves(sections: Sections, i: int, model: ColumnModel) -> None:
    """Whether the days of moving are work days, and empty vessels light enough to be carried."""
    season, limits = sections.season, sections.parts.get(("limits",))
    if season is None or season.start > season.end:
        return
    spans = tuple(Span(s.start, s.end) for s in season.away)
    moving = moving_days(model, season)
    for day in moving:
        away = any(day in span for span in spans)
        if day.weekday() not in season.work_days or away:
            expected = "a work day: the column is carried then; let the place begin on another day"
            sections.fault(("columns", i, "place"), f"{day}", expected)
    if not moving or not isinstance(limits, LimitsModel) or limits.lift is None:
        return
    show = Units(sections.units)
    for k, tier in enumerate(model.tiers):
        vessel = sections.vessels.get(tier.vessel)
        if vessel is not None and vessel.mass > limits.lift + 1e-9:
            expected = f"at most {show.weight_text(limits.lift)}, empty, as the column is moved"
            where = ("columns", i, "tiers", k, "vessel")
            sections.fault(where, show.weight_text(vessel.mass), expected)


def moving_days(model: ColumnModel, season: SeasonModel) -> list[date]:
    """Days of the season after its first on which a column of the file changes its place."""
    one = timedelta(days=1)
    stays = [(s.start or season.start, s.end or season.end, s.place) for s in model.place]

    def on(day: date) -> str:
        return next((p for a, b, p in stays if a <= day <= b), OPEN.name)

    edges = {a for a, _b, _p in stays} | {b + one for _a, b, _p in stays}
    return [d for d in sorted(edges) if season.start < d <= season.end and on(d) != on(d - one)]


def stays_of(
    models: list[StayModel], places: dict[str, Place], first: date, last: date
) -> tuple[Stay, ...]:
    """Where the tiers of a column stand, in order; the open air is left out."""
    made = [Stay(m.start or first, m.end or last, places[m.place]) for m in models]
    kept = [s for s in made if s.place != OPEN]
    return tuple(sorted(kept, key=lambda s: s.start))
