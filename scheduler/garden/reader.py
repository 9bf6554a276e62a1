"""A garden file being read: the files it names, its weather, its crops."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic_core import PydanticCustomError

from crops.catalogue import CropFaults, catalogue, load_crop, with_overrides
from crops.climate import weather
from crops.crop import Crop
from crops.crop_kinds import CHOOSE, take
from crops.learning import LEARNED
from scheduler.base.faults import BadInput, Fault
from scheduler.base.yaml_lines import Document, Place, decode, read_document
from scheduler.garden import climate_file
from scheduler.garden.checks import MOST_DAYS
from scheduler.garden.fields import read_file
from scheduler.garden.model import LateSite, Site
from scheduler.garden.past_file import LEAST_DAYS, too_short
from scheduler.garden.shape import Sections, near_names

if TYPE_CHECKING:
    import pandas as pd

CLIMATE: Place = ("site", "climate")
PAST: Place = ("site", "past")
MAX_CROP_BYTES = 1_000_000
MAX_PLANNED_BYTES = 100 * MAX_CROP_BYTES  # all crops of a plan; a garden names at most so many


@dataclass
class Reader:
    """One garden file being read, with the bytes of every file it uses.

    ``late_weather``: the climate table is read when the weather is first asked for. ``first``: day
    from which weather is needed.
    """

    path: Path
    doc: Document
    sections: Sections
    used: dict[Place, tuple[str, bytes]]  # place of the reference: name as written, content
    notes: list[str] = field(default_factory=list)
    late_weather: bool = False
    first: date | None = None  # before the season's start, where something stands since then

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
            self.sections.fault(place, name, f"a file that can be read: {reason}")
            return None
        if len(raw) > most:
            self.sections.fault(place, name, f"a file of at most {most / 1e6:g} MB")
            return None
        self.used[place] = (name, raw)
        return raw


def read_site(reader: Reader) -> Site | None:
    """The site and its weather; None where there are faults in what it takes."""
    site, season = reader.sections.site, reader.sections.season
    named = _named(reader, "climate")
    raw = reader.file(CLIMATE, named, climate_file.MAX_BYTES) if named else None
    older = _named(reader, "past")
    old = reader.file(PAST, older, climate_file.MAX_BYTES) if older else None
    if raw is None or site is None or season is None or season.start > season.end:
        if raw is not None:
            frame = read_climate_of(reader, raw, named)  # for its faults
            if frame is not None:
                _season_covered(reader, frame)
        if old is not None:
            _past(reader, old, older)
        return None
    if reader.late_weather:
        return LateSite.of(
            site.latitude,
            site.elevation,
            lambda: _late_weather(reader, raw),
            None if old is None else lambda: _late_past(reader, old, older),
            site.coastal,
        )
    past = None if old is None else _past(reader, old, older)
    days = _weather(reader, raw)
    if days is None:
        return None
    return Site(site.latitude, site.elevation, days, past, site.coastal)


def _named(reader: Reader, key: str) -> str:
    """The file that the site names, also in a section with other faults; empty if there is none."""
    data: Any = reader.doc.data
    section = data.get("site") if isinstance(data, dict) else None
    try:
        return read_file(section.get(key) if isinstance(section, dict) else None)
    except PydanticCustomError:
        return ""


def _past(reader: Reader, raw: bytes, named: str) -> pd.DataFrame | None:
    """Weather of past years; None where its table, or the site, has faults."""
    site, file = reader.sections.site, str(reader.path.parent / named)
    frame = read_climate_of(reader, raw, named)
    if frame is None:
        return None
    if "month" in frame:
        expected = "a column date, daily rows of past years"
        reader.sections.faults.append(Fault(file, 1, "month", "monthly rows", expected))
        return None
    if len(frame) < LEAST_DAYS:
        reader.sections.faults.append(too_short(file, len(frame)))
        return None
    if site is None:
        return None
    return weather(frame, site.latitude, site.elevation, site.coastal)


def _late_past(reader: Reader, raw: bytes, named: str) -> pd.DataFrame:
    days = _past(reader, raw, named)
    if days is None:
        raise BadInput(reader.sections.faults)
    return days


def read_climate_of(reader: Reader, raw: bytes, named: str) -> pd.DataFrame | None:
    """A climate table; None where it has faults."""
    name = str(reader.path.parent / named)
    try:
        frame, faults = climate_file.read_climate(decode(raw, name, climate_file.MAX_BYTES), name)
    except BadInput as error:
        frame, faults = None, list(error.faults)
    reader.sections.faults.extend(faults)
    return frame


def _weather(reader: Reader, raw: bytes) -> pd.DataFrame | None:
    """The season's weather; None where there are faults."""
    site, season = reader.sections.site, reader.sections.season
    assert site is not None
    assert season is not None
    frame = read_climate_of(reader, raw, site.climate)
    if frame is None or (season.end - season.start).days > MOST_DAYS:
        return None  # a season of centuries is told by the checks
    start = min(season.start, reader.first or season.start)
    rows, missing = climate_file.daily_rows(frame, start, season.end)
    if rows is None:
        _short(reader, missing, start, season.end)
        return None
    reader.notes += climate_file.unused(frame)
    return weather(rows, site.latitude, site.elevation, site.coastal)


def _season_covered(reader: Reader, frame: pd.DataFrame) -> None:
    """Whether a table has rows for what can be read of a faulty season."""
    start, end = reader.sections.season_days
    one = start or end
    if one is None or (start and end and start > end):
        return
    rows, missing = climate_file.daily_rows(frame, start or one, end or one)
    if rows is None:
        _short(reader, missing, start or one, end or one)


def _short(reader: Reader, missing: str, start: date, end: date) -> None:
    span = f"the whole season, {start} to {end}" if start < end else f"{start}"
    if reader.first is not None and start == reader.first:
        span = f"all days from {start}, when what stands was sown, to {end}"
    reader.sections.fault(CLIMATE, missing, f"rows for {span}")


def _late_weather(reader: Reader, raw: bytes) -> pd.DataFrame:
    days = _weather(reader, raw)
    if days is None:
        raise BadInput(reader.sections.faults)
    return days


def read_crops(reader: Reader) -> dict[str, Crop] | None:
    """The garden's crops by name; None where the section is faulty."""
    sections = reader.sections
    if sections.crops is None:
        return None
    known = dict(catalogue())
    own = []
    for i, name in enumerate(sections.crops.files):
        place: Place = ("crops", "files", i)
        raw = reader.file(place, name, MAX_CROP_BYTES)
        file = str(reader.path.parent / name)
        if raw is None:
            continue
        try:
            crop = load_crop(decode(raw, file, MAX_CROP_BYTES))
        except BadInput as error:
            sections.faults.extend(error.faults)
            continue
        except CropFaults as error:
            sections.faults.extend(
                Fault(file, f.line, f.path, f.value, f.expected) for f in error.faults
            )
            continue
        if crop.name in known:
            expected = "a name that no other crop has; change numbers under overrides"
            sections.fault(place, crop.name, expected)
        known[crop.name] = crop
        own.append(crop.name)
    if sections.crops.which is None:
        chosen = list(known)
    else:
        chosen = [*dict.fromkeys(sections.crops.which), *own]
        chosen = list(dict.fromkeys(chosen))
        for i, name in enumerate(sections.crops.which):
            if name not in known:
                sections.fault(("crops", "which", i), name, near_names(name, sorted(known)))
    out = {name: known[name] for name in chosen if name in known}
    misspelt = len(out) < len(chosen)
    # A kind first: what has been learned of a crop counts for more than a book's number of a kind.
    for name, changes in sections.crops.overrides.items():
        if name in out and str(changes.get(CHOOSE)) in out[name].kinds:
            out[name] = take(out[name], changes[CHOOSE], [])
    _learned(reader, known, out)
    for name, changes in sections.crops.overrides.items():
        place = ("crops", "overrides", name)
        if name not in known:
            sections.fault(place, name, near_names(name, sorted(known)))
        else:
            if name not in out and not misspelt:  # else it may be what was meant
                sections.fault(place, name, "a crop that stands under which")
            try:
                crop = out.get(name, known[name])
                left = {k: v for k, v in changes.items() if k != CHOOSE or v != crop.kind}
                changed = with_overrides(crop, left, "the grower")
                out.update({name: changed} if name in out else {})
            except CropFaults as error:
                for f in error.faults:
                    sections.fault((*place, *_crop_place(f.path)), f.value, f.expected)
    return out


def perhaps(reader: Reader, crops: Mapping[str, Crop] | None) -> dict[str, Crop] | None:
    """What may be meant where some crops are faulty: theirs and the catalogue's.

    A mention of a faulty crop is no fault. None where a crop's name could not be read.
    """
    if crops is None or reader.sections.crops is None:
        return None
    known = catalogue()
    unread = len(reader.sections.crops.files) > sum(name not in known for name in crops)
    return None if unread else {**known, **crops}


def planned_crops(raw: bytes, file: str) -> dict[str, Crop]:
    """The crops of a plan by name, from one crop file after another (`plan_dir.crops_source`).

    Raises
    ------
    BadInput
        Every fault of every crop, with its line in the whole; or no text.
    """
    out: dict[str, Crop] = {}
    faults: list[Fault] = []
    line = 0
    for text in decode(raw, file, MAX_PLANNED_BYTES).split("---\n"):
        try:
            crop = load_crop(text)
            out[crop.name] = crop
        except CropFaults as error:
            faults += [
                Fault(
                    file,
                    None if f.line is None else f.line + line,
                    f.path,
                    str(f.value),
                    f.expected,
                )
                for f in error.faults
            ]
        line += text.count("\n") + 1
    if faults:
        raise BadInput(faults)
    return out


def _learned(reader: Reader, known: Mapping[str, Crop], out: dict[str, Crop]) -> None:
    """Change crops by what `dryline review` wrote; what it says of crops not grown is left."""
    sections = reader.sections
    name = sections.crops.learned if sections.crops else None
    raw = reader.file(("crops", "learned"), name, MAX_CROP_BYTES) if name else None
    if name is None or raw is None:
        return
    file = str(reader.path.parent / name)
    try:
        doc = read_document(raw, file)
    except BadInput as error:
        sections.faults.extend(error.faults)
        return
    sections.faults.extend(doc.faults)
    data = {} if doc.data is None else doc.data
    if not isinstance(data, dict):
        sections.faults.append(doc.fault((), data, "crops, each with its keys and values"))
        return
    for crop, changes in data.items():
        if crop not in known:
            sections.faults.append(doc.fault((crop,), crop, near_names(str(crop), sorted(known))))
        elif crop in out:
            try:
                out[crop] = with_overrides(out[crop], changes, f"{LEARNED} finished crops")
            except CropFaults as error:
                for f in error.faults:
                    place = (crop, *_crop_place(f.path))
                    sections.faults.append(doc.fault(place, f.value, f.expected))


def _crop_place(path: str) -> Place:
    """The place inside a crop's mapping, from the catalogue's text of it."""
    return tuple(part for part in path.replace("[", ".").replace("]", "").split(".") if part)
