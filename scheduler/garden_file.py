"""garden.yaml and the files it names: from text to a `Garden`, or every fault at once."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import pandas as pd

from crops.catalogue import CropFaults, catalogue, load_crop, with_overrides
from crops.climate import weather
from crops.crop import Crop
from crops.vessel import Vessel
from scheduler import climate_file
from scheduler.faults import BadInput, Fault
from scheduler.garden import (
    Column,
    Demand,
    Garden,
    Limits,
    Nursery,
    Rest,
    Season,
    Site,
    Span,
    Tier,
)
from scheduler.garden_checks import column_names, cross_checks, demand_crops, notes
from scheduler.garden_schema import SpanModel, TierModel
from scheduler.garden_shape import Sections, near_names, read_sections
from scheduler.vessel_shapes import make_vessel
from scheduler.yaml_lines import MAX_BYTES, MOST_FAULTS, Document, Place, decode, read_document

GARDEN_FILE = "garden.yaml"
MAX_CROP_BYTES = 1_000_000


@dataclass
class _Reader:
    """One garden file being read, with the bytes of every file it uses."""

    path: Path
    doc: Document
    parts: Sections
    used: dict[Place, tuple[str, bytes]]  # place of the reference: name as written, content
    notes: list[str] = field(default_factory=list)

    def file(self, place: Place, name: str, most: int) -> bytes | None:
        """Bytes of a file beside the garden; a fault if there are none."""
        if place in self.used:
            return self.used[place][1]
        path = self.path.parent / name
        try:
            if path.exists() and not path.is_file():
                raise IsADirectoryError(0, "not a file")
            with open(path, "rb") as handle:
                raw = handle.read(most + 1)
        except (OSError, ValueError) as error:
            reason = getattr(error, "strerror", None) or "cannot be opened"
            self.parts.fault(place, name, f"a file that can be read: {reason}")
            return None
        if len(raw) > most:
            self.parts.fault(place, name, f"a file of at most {most / 1e6:g} MB")
            return None
        self.used[place] = (name, raw)
        return raw


def load_garden(path: str | Path) -> Garden:
    """Read and check a garden.

    Parameters
    ----------
    path : garden.yaml; files named in it are looked for beside it.

    Raises
    ------
    BadInput
        Every fault found: shapes, units, ranges, then what does not fit together.
    """
    return _load(Path(path))[0]


def _load(path: Path) -> tuple[Garden, _Reader]:
    raw = _read(path)
    doc = read_document(raw, str(path))
    parts = read_sections(doc)
    reader = _Reader(path, doc, parts, {})
    before = len(parts.faults)
    crops = _crops(reader)
    sound_crops = crops if len(parts.faults) == before else None
    site = _site(reader)
    vessels = {}
    for name, model in parts.vessels.items():
        vessel = make_vessel(name, model, parts)
        if vessel is not None:
            vessels[name] = vessel
    cross_checks(parts, sound_crops)  # a faulty crop would make every mention of it a fault
    if parts.faults:
        once = dict.fromkeys(parts.faults)
        faults = sorted(once, key=lambda f: (f.file != str(path), f.file, f.line or 0))
        raise BadInput(faults[:MOST_FAULTS])
    return _garden(reader, site, crops, vessels), reader


def _garden(
    reader: _Reader, site: Site | None, crops: dict[str, Crop] | None, vessels: dict[str, Vessel]
) -> Garden:
    """The garden of sections without a fault."""
    parts = reader.parts
    # Without faults nothing is missing; said here for the type checker.
    assert site is not None
    assert crops is not None
    assert parts.season is not None
    assert parts.limits is not None
    assert parts.nursery is not None
    season = Season(
        parts.season.start,
        parts.season.end,
        frozenset(parts.season.work_days),
        _spans(parts.season.away),
    )
    columns = tuple(
        Column(name, tuple(_tier(k, t) for k, t in enumerate(model.tiers, 1)))
        for model in parts.columns.values()
        for name in column_names(model)
    )
    limits = Limits(
        parts.limits.lift,
        parts.limits.fills_per_day,
        parts.limits.picks_per_day,
        round(parts.limits.dry_margin),
        round(parts.limits.turnaround),
    )
    counted = demand_crops(parts, crops)
    demands = tuple(
        Demand(d.group, counted[i], d.per_week, d.start or season.start, d.end or season.end,
               d.weight)
        for i, d in parts.demands.items()
    )  # fmt: skip
    return Garden(
        name=parts.name,
        site=site,
        season=season,
        vessels=vessels,
        columns=columns,
        nursery=Nursery(parts.nursery.cells, parts.nursery.temperature),
        demands=demands,
        limits=limits,
        crops=crops,
        units=parts.units,
        invented=parts.invented,
        notes=(*reader.notes, *notes(parts, vessels, crops, counted)),
    )


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


def _tier(number: int, model: TierModel) -> Tier:
    return Tier(
        number,
        model.vessel,
        model.light,
        model.plants,
        _spans(model.available),
        tuple(Rest(r.family, r.until) for r in model.rests),
    )


def _site(reader: _Reader) -> Site | None:
    site, season = reader.parts.site, reader.parts.season
    if site is None:
        return None
    place = ("site", "climate")
    raw = reader.file(place, site.climate, climate_file.MAX_BYTES)
    if raw is None:
        return None
    name = str(reader.path.parent / site.climate)
    try:
        frame, faults = climate_file.read_climate(
            decode(raw, name, climate_file.MAX_BYTES), name
        )
    except BadInput as error:
        frame, faults = None, list(error.faults)
    reader.parts.faults.extend(faults)
    if frame is None or season is None or season.start > season.end:
        return None
    if (season.end - season.start).days > 2 * 366:
        return None  # reported by the checks; no need for a weather frame of centuries
    rows, missing = climate_file.daily_rows(frame, season.start, season.end)
    if rows is None:
        reader.parts.fault(
            place, missing, f"rows for the whole season, {season.start} to {season.end}"
        )
        return None
    reader.notes += climate_file.unused(frame)
    days: pd.DataFrame = weather(rows, site.latitude, site.elevation, site.coastal)
    return Site(site.latitude, site.elevation, days)


def _crops(reader: _Reader) -> dict[str, Crop] | None:
    """The garden's crops by name; None where the section is faulty."""
    parts = reader.parts
    if parts.crops is None:
        return None
    known = dict(catalogue())
    own = []
    for i, name in enumerate(parts.crops.files):
        place: Place = ("crops", "files", i)
        raw = reader.file(place, name, MAX_CROP_BYTES)
        file = str(reader.path.parent / name)
        if raw is None:
            continue
        try:
            crop = load_crop(decode(raw, file, MAX_CROP_BYTES))
        except BadInput as error:
            parts.faults.extend(error.faults)
            continue
        except CropFaults as error:
            parts.faults.extend(
                Fault(file, f.line, f.path, f.value, f.expected) for f in error.faults
            )
            continue
        if crop.name in known:
            expected = "a name that no other crop has; change numbers under overrides"
            parts.fault(place, crop.name, expected)
        known[crop.name] = crop
        own.append(crop.name)
    if parts.crops.which is None:
        chosen = list(known)
    else:
        chosen = [*dict.fromkeys(parts.crops.which), *own]
        chosen = list(dict.fromkeys(chosen))
        for i, name in enumerate(parts.crops.which):
            if name not in known:
                parts.fault(("crops", "which", i), name, near_names(name, sorted(known)))
    out = {name: known[name] for name in chosen if name in known}
    for name, changes in parts.crops.overrides.items():
        place = ("crops", "overrides", name)
        if name not in known:
            parts.fault(place, name, near_names(name, sorted(known)))
        elif name not in out:
            parts.fault(place, name, "a crop that stands under which")
        else:
            try:
                out[name] = with_overrides(out[name], changes, "the grower")
            except CropFaults as error:
                for f in error.faults:
                    parts.fault((*place, *_crop_place(f.path)), f.value, f.expected)
    return out


def _crop_place(path: str) -> Place:
    """The place inside a crop's mapping, from the catalogue's text of it."""
    return tuple(part for part in path.replace("[", ".").replace("]", "").split(".") if part)


def garden_sources(path: str | Path) -> dict[str, bytes]:
    """The files a garden was read from, to lie side by side in one folder.

    Returns
    -------
    Name to content: ``garden.yaml``, the climate table, crop files. ``load_garden`` of the copied
    garden.yaml gives the same garden. Where a file lay in another folder or its name is taken, only
    that reference is rewritten; remarks stay.

    Raises
    ------
    BadInput
        As `load_garden`.
    """
    _, reader = _load(Path(path))
    out: dict[str, bytes] = {}
    renamed: list[tuple[Place, str]] = []
    placed: dict[Path, str] = {}
    for place, (name, raw) in reader.used.items():
        origin = (reader.path.parent / name).resolve()
        flat = placed.get(origin) or _flat_name(Path(name).name, out)
        placed[origin] = flat
        out[flat] = raw
        if flat != name:
            renamed.append((place, flat))
    text = _rewritten(reader.doc, renamed)
    return {GARDEN_FILE: text.encode(), **out}


# Names that a plan's folder uses itself.
_TAKEN = {GARDEN_FILE, "plan.json", "log.csv"}


def _flat_name(name: str, out: dict[str, bytes]) -> str:
    """A name that is free in the folder; what a plan writes itself is kept free."""
    stem, suffix = Path(name).stem, Path(name).suffix
    flat, number = name, 1
    while flat in _TAKEN or flat in out or stem == "calendar":
        number += 1
        flat, stem = f"{stem}-{number}{suffix}", f"{stem}-{number}"
    return flat


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
