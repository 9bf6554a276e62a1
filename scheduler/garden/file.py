"""garden.yaml and the files it names: from text to a `Garden`, or every fault at once."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from pathlib import Path

from crops.crop import Crop
from crops.names import same_name
from crops.place import Place as Stead
from crops.vessel import Vessel
from scheduler.base.faults import BadInput, Fault
from scheduler.base.yaml_lines import MAX_BYTES, MOST_FAULTS, Document, Place, read_document
from scheduler.garden.checks import column_names, cross_checks, demand_crops, notes, pick_days_of
from scheduler.garden.may_stand import choices_of, first_stays
from scheduler.garden.model import (
    INPUTS,
    Column,
    Demand,
    Event,
    Garden,
    Helper,
    Labour,
    Limits,
    Nursery,
    Rest,
    Season,
    Site,
    Span,
    Stay,
    Tier,
)
from scheduler.garden.places import check_stays, make_lamp, make_places, stays_of
from scheduler.garden.reader import PAST, Reader, perhaps, read_crops, read_site
from scheduler.garden.schema import SpanModel, TierModel, VesselModel
from scheduler.garden.shape import read_sections
from scheduler.garden.standing import StandingReader
from scheduler.garden.vessel_shapes import make_vessel
from scheduler.garden.will import check_will, closed_in, fixed_of, never_of, shares_of, without_days
from scheduler.garden.will_schema import NeverModel
from scheduler.garden.wishes import one_of, said

GARDEN_FILE = "garden.yaml"
AFTER = timedelta(days=120)  # where it stood last a column stays as long as there is weather


def load_garden(path: str | Path, late_weather: bool = False) -> Garden:
    """Read and check a garden.

    Parameters
    ----------
    path : garden.yaml; files named in it are looked for beside it.
    late_weather : the climate table is read and checked when the weather is first asked for.

    Raises
    ------
    BadInput
        Every fault found: shapes, units, ranges, then what does not fit together.
    """
    return _load(Path(path), late_weather)[0]


def load_with_files(path: str | Path, late_weather: bool = False) -> tuple[Garden, set[str]]:
    """`load_garden`, and the names of the files beside it that it names."""
    garden, reader = _load(Path(path), late_weather)
    return garden, {name for name, _ in reader.used.values()}


def _load(path: Path, late_weather: bool = False) -> tuple[Garden, Reader]:
    raw = _read(path)
    doc = read_document(raw, str(path))
    sections = read_sections(doc)
    reader = Reader(path, doc, sections, {}, late_weather=late_weather)
    before = len(sections.faults)
    crops = read_crops(reader)
    sound = len(sections.faults) == before
    places = make_places(sections)
    stands = StandingReader(reader, crops if sound else perhaps(reader, crops), places)
    reader.first = stands.first
    site = read_site(reader)
    vessels = {}
    for place, name in sections.vessel_places.items():
        model = sections.parts.get(place)
        if isinstance(model, VesselModel):
            vessel = make_vessel(place, name, model, sections)
            if vessel is not None:
                vessels[name] = vessel
    check_stays(sections)
    stands.levels(vessels)
    check_will(sections, crops if sound else perhaps(reader, crops))
    cross_checks(sections, crops if sound else perhaps(reader, crops), sound)
    if sections.faults:
        once = dict.fromkeys(sections.faults)
        faults = sorted(once, key=lambda f: (f.file != str(path), f.file, f.line or 0))
        raise BadInput(faults[:MOST_FAULTS])
    return _garden(reader, site, crops, vessels, places, stands), reader


def _garden(
    reader: Reader,
    site: Site | None,
    crops: dict[str, Crop] | None,
    vessels: dict[str, Vessel],
    places: dict[str, Stead],
    stands: StandingReader,
) -> Garden:
    """The garden of sections without a fault."""
    sections = reader.sections
    # Without faults nothing is missing; said here for the type checker.
    assert site is not None
    assert crops is not None
    assert sections.season is not None
    assert sections.limits is not None
    assert sections.nursery is not None
    assert sections.solution is not None
    first = sections.season.start
    season = Season(
        min(first, stands.first or first),
        sections.season.end,
        frozenset(sections.season.work_days),
        _spans(sections.season.away),
        pick_days_of(sections.season),
    )
    last = season.end + AFTER

    def tier(
        number: int, model: TierModel, stays: tuple[Stay, ...], above: list[NeverModel]
    ) -> Tier:
        never = [*above, *model.never]
        return Tier(
            number,
            model.vessel,
            model.light,
            model.plants,
            without_days(_spans(model.available), never, season.start, last),
            tuple(Rest(r.family, r.until) for r in model.rests),
            stays,
            never_of(never, season.start, last),
        )

    columns = tuple(
        Column(
            name,
            tuple(
                tier(k, t, stays, [*closed_in(sections, name, k), *model.never])
                for k, t in enumerate(model.tiers, 1)
            ),
        )
        for model in sections.columns.values()
        for stays in (stays_of(first_stays(model), places, season.start, last),)
        for name in column_names(model)
    )
    limits = Limits(
        sections.limits.lift,
        sections.limits.fills_per_day,
        sections.limits.picks_per_day,
        round(sections.limits.dry_margin),
        round(sections.limits.turnaround),
        sections.limits.minutes_per_day,
        Labour(**sections.limits.labour.model_dump()),
        sections.limits.young,
        tuple(Helper(h.name, frozenset(h.days), h.minutes) for h in sections.helpers.values()),
    )
    counted = demand_crops(sections, crops)
    demands = tuple(
        Demand(
            d.group,
            counted[i],
            d.per_week[1] * one_of(d.per_week, d.group, [crops[n] for n in counted[i]]),
            d.start or first,
            d.end or season.end,
            d.weight,
            said(d.per_week),
            shares_of(d),
            d.same_kind_weeks,
        )
        for i, d in sections.demands.items()
    )
    events = tuple(
        Event(
            e.date,
            demands[i].group,
            e.amount[1] * one_of(e.amount, demands[i].group, [crops[n] for n in demands[i].crops]),
            said(e.amount),
            e.name or "",
        )
        for e in sections.events.values()
        for i in [event_wish(e.group, demands)]
    )
    return Garden(
        name=sections.name,
        site=site,
        season=season,
        vessels=vessels,
        columns=columns,
        nursery=Nursery(
            sections.nursery.cells,
            sections.nursery.temperature,
            None if sections.nursery.lamp is None else make_lamp(sections.nursery.lamp),
            sections.nursery.light,
        ),
        demands=demands,
        limits=limits,
        crops=crops,
        units=sections.units,
        invented=sections.invented,
        solution=sections.solution.shelf(),
        notes=(*reader.notes, *notes(sections, vessels, crops, counted)),
        standing=tuple(stands.standing.values()),
        seedlings=tuple(stands.seedlings.values()),
        events=events,
        today=None if stands.first is None else first,
        may_stand=choices_of(sections.columns, places),
        rooms=tuple(p.name for p in places.values() if p.temperature is not None),
        fixed=fixed_of(sections),
    )


def event_wish(group: str, demands: tuple[Demand, ...]) -> int:
    """Number of the wish that an event's group names."""
    return [same_name(d.group) for d in demands].index(same_name(group))


def _read(path: Path) -> bytes:
    try:
        with open(path, "rb") as handle:
            return handle.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "cannot be opened"
        raise BadInput(
            [Fault(str(path), None, "", "", f"a garden file that can be read: {reason}")]
        ) from None


def _spans(models: list[SpanModel]) -> tuple[Span, ...]:
    return tuple(Span(m.start, m.end) for m in models)


def garden_sources(path: str | Path) -> dict[str, bytes]:
    """The files a garden was read from, as they lie in the folder of a plan.

    Returns
    -------
    Name to content: ``garden.yaml``, and in ``inputs/`` the climate table, past weather, crop files
    and learned numbers. ``load_garden`` of the copied garden.yaml gives the same garden. Only the
    references in it are rewritten, those that do not say so already; remarks stay.

    Raises
    ------
    BadInput
        As `load_garden`.
    """
    _, reader = _load(Path(path))
    out: dict[str, bytes] = {}
    renamed: list[tuple[Place, str]] = []
    # A table that serves as climate and as past weather is copied twice: weather of the season
    # that is put into the climate later must leave the past as it is.
    placed: dict[tuple[Path, bool], str] = {}
    for place, (name, raw) in reader.used.items():
        origin = (reader.path.parent / name).resolve(), place == PAST
        copied = placed.get(origin) or _free_name(Path(name).name, out)
        placed[origin] = copied
        out[copied] = raw
        if copied != name:
            renamed.append((place, copied))
    text = _rewritten(reader.doc, renamed)
    return {GARDEN_FILE: text.encode(), **out}


def write_sources(folder: Path, sources: Mapping[str, bytes]) -> None:
    """Lay `garden_sources` out in a folder that is there."""
    for name, data in sources.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(data)


def _free_name(name: str, out: Mapping[str, bytes]) -> str:
    """A name in ``inputs/`` that no other has, also where capitals make no difference."""
    taken = {n.lower() for n in out}
    stem, suffix = Path(name).stem, Path(name).suffix
    free, number = f"{INPUTS}/{name}", 1
    while free.lower() in taken:
        number += 1
        free = f"{INPUTS}/{stem}-{number}{suffix}"
    return free


def _rewritten(doc: Document, renamed: list[tuple[Place, str]]) -> str:
    """The garden's text with some scalars replaced, from the end to the beginning."""
    text = doc.text
    spots = {}
    for place, name in renamed:
        node = doc.nodes[place]
        spots[node.start_mark.index, node.end_mark.index] = name
    for (start, end), name in sorted(spots.items(), reverse=True):
        quoted = "'" + name.replace("'", "''") + "'"
        text = text[:start] + quoted + text[end:]
    return text
