"""Climate tables from files that others publish: typical years by the hour, station days, normals.

What a file is, is seen from its first lines:

- EPW (EnergyPlus weather, begins with ``LOCATION,``) and TMY3 (its second line begins with
  ``Date (MM/DD/YYYY)``): a typical year by the hour, read with pvlib. They give monthly normals
  with radiation, humidity and wind; days of a typical year are of many years and no season of one.
- NOAA daily summaries (columns STATION, DATE, TMAX, TMIN, as GHCN-Daily has them): days of real
  years. They give daily rows, and their monthly means.
- NOAA monthly normals (MLY-TMAX-NORMAL and MLY-TMIN-NORMAL): twelve months.
- Any daily or monthly table that dryline reads itself.

Published formats: Crawley, Hand, Lawrie 1999 (EPW); Wilcox, Marion 2008, NREL/TP-581-43156 (TMY3);
Menne et al. 2012, J. Atmos. Oceanic Technol. 29:897-910 (GHCN-Daily); columns from memory.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from scheduler.base.faults import BadInput, DrylineError, Fault
from scheduler.base.texts import decode, shorten
from scheduler.garden.climate_file import read_climate

if TYPE_CHECKING:
    import pandas as pd

MAX_BYTES = 40_000_000  # a station's century of days
MJ_PER_WH = 0.0036
LEAST_DAYS = 28  # in each month of the year, for a mean of it
DEGREES = ("degC", "degF", "tenths")  # tenths of a degree Celsius, as GHCN-Daily keeps them
MISSING = (-9999.0, 9999.0)
HOT = (12.0, 55.0)  # [degC] of the hottest days in fifty


@dataclass(frozen=True)
class Imported:
    """What a file gave.

    Attributes
    ----------
    kind : what it is, in words.
    monthly : month, tmin, tmax [degC], and where known rs [MJ m-2 d-1], rh [%], wind [m/s].
    daily : the same of real days, by date; None where there are none.
    latitude, longitude : [degree]; elevation : [m]; None where the file does not tell.
    hints : what to know about it, in sentences.
    """

    kind: str
    monthly: pd.DataFrame
    daily: pd.DataFrame | None = None
    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None
    hints: tuple[str, ...] = ()


def import_climate(path: str | Path, degrees: str | None = None) -> Imported:
    """Read a published climate file.

    Parameters
    ----------
    degrees : of a NOAA table, which does not say so itself: one of `DEGREES`; None: as its numbers
        suggest, if only one of them can be.

    Raises
    ------
    BadInput
        Not there, too large, none of the known kinds, or every fault found.
    DrylineError
        It takes a package that is not installed.
    """
    file = Path(path)
    if not file.is_file():
        raise BadInput([Fault(str(path), None, "", "not there", "a climate file")])
    if file.stat().st_size > MAX_BYTES:
        most = f"at most {MAX_BYTES / 1e6:g} MB"
        raise BadInput([Fault(str(path), None, "", "too large", most)])
    raw = file.read_bytes()
    lines = raw[:4000].decode("latin-1").splitlines()
    head = [line.strip().strip('"').upper() for line in [*lines, "", ""][:2]]
    if head[0].startswith("LOCATION,"):
        return _hourly(file, "a typical year by the hour (EPW)", "read_epw")
    if head[1].startswith("DATE (MM/DD/YYYY)"):
        return _hourly(file, "a typical year by the hour (TMY3)", "read_tmy3")
    names = {name.strip().strip('"') for name in head[0].split(",")}
    if {"MLY-TMAX-NORMAL", "MLY-TMIN-NORMAL"} <= {n.strip('"') for n in names}:
        return _normals(_rows(raw, str(path)), str(path), degrees)
    written = {name.strip().strip('"\ufeff') for name in (lines or [""])[0].split(",")}
    if {"DATE", "TMAX", "TMIN"} <= written:  # in capitals: date,tmin,tmax is a table of one's own
        return _summaries(_rows(raw, str(path)), str(path), degrees)
    return _own(raw, str(path))


def _hourly(file: Path, kind: str, reader: str) -> Imported:
    """Monthly normals of a typical year."""
    try:
        from pvlib import iotools
    except ImportError as error:
        raise DrylineError(
            f"{file}: {kind} is read with pvlib, which is not installed: "
            "pip install 'dryline[climate]'"
        ) from error
    try:
        frame, about = getattr(iotools, reader)(str(file), coerce_year=2001)
        hours = frame[["temp_air", "ghi", "relative_humidity", "wind_speed"]].astype(float)
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, UnicodeError) as error:
        raise BadInput([Fault(str(file), None, "", shorten(error), kind)]) from None
    # An hour is stamped with its end: the last of a day belongs to that day.
    stamps = hours.index.tz_localize(None)
    ends = stamps if reader == "read_epw" else stamps - np.timedelta64(1, "h")
    by_day = hours.groupby(ends.normalize())
    rows = by_day["temp_air"].agg(["min", "max"]).set_axis(["tmin", "tmax"], axis=1)
    rows["rs"] = by_day["ghi"].sum() * MJ_PER_WH
    rows["rh"] = by_day["relative_humidity"].mean()
    rows["wind"] = by_day["wind_speed"].mean()
    counts = rows.groupby(rows.index.month).size()
    short = [int(m) for m in range(1, 13) if counts.get(m, 0) < LEAST_DAYS]
    if short:
        named = ", ".join(map(str, short))
        raise BadInput([Fault(str(file), None, "", f"month {named} missing", "a whole year")])
    odd = [n for n in ("tmin", "tmax") if not rows[n].between(-70, 60).all()]
    if odd:
        raise BadInput([Fault(str(file), None, odd[0], "no temperatures", "degrees Celsius")])
    return Imported(
        kind,
        _means(rows),
        None,
        _number(about.get("latitude")),
        _number(about.get("longitude")),
        _number(about.get("altitude")),
        ("Its days are of many years: they make monthly normals, no daily file of past years.",),
    )


def _rows(raw: bytes, file: str) -> list[tuple[int, dict[str, str]]]:
    """Lines of a table with a header, as texts by column."""
    text = decode(raw, file, MAX_BYTES)
    reader = csv.DictReader(io.StringIO(text))
    try:
        return [
            (reader.line_num, {(k or "").strip(): (v or "").strip() for k, v in row.items() if k})
            for row in reader
        ]
    except csv.Error as error:
        raise BadInput([Fault(file, reader.line_num, "", str(error), "a table")]) from None


def _normals(rows: list[tuple[int, dict[str, str]]], file: str, degrees: str | None) -> Imported:
    """NOAA monthly normals: a row a month, DATE its number, or with one."""
    faults: list[Fault] = []
    found: dict[int, tuple[float, float]] = {}
    for line, row in rows:
        month = row.get("DATE", row.get("month", ""))[-2:].lstrip("-0")
        pair = _pair(row, ("MLY-TMIN-NORMAL", "MLY-TMAX-NORMAL"), file, line, faults)
        if not month.isdigit() or not 1 <= int(month) <= 12:
            faults.append(Fault(file, line, "DATE", shorten(row.get("DATE", "")), "a month"))
        elif pair is not None:
            if int(month) in found:
                faults.append(Fault(file, line, "DATE", month, "each month of one station once"))
            found[int(month)] = pair
    missing = [str(m) for m in range(1, 13) if m not in found]
    if missing and not faults:
        faults.append(Fault(file, None, "DATE", f"no month {', '.join(missing)}", "twelve months"))
    if faults:
        raise BadInput(faults[:50])
    values = np.array([found[m] for m in range(1, 13)])
    unit, hints = _degrees(values, degrees or "degF", file)  # as they are published
    import pandas as pd

    frame = pd.DataFrame(_celsius(values, unit), columns=["tmin", "tmax"])
    frame.insert(0, "month", range(1, 13))
    return Imported("monthly normals", frame, None, *_place(rows), (*hints, *_no_radiation(frame)))


def _summaries(rows: list[tuple[int, dict[str, str]]], file: str, degrees: str | None) -> Imported:
    """NOAA daily summaries of one station."""
    import pandas as pd

    faults: list[Fault] = []
    found: dict[date, tuple[float, float]] = {}
    stations = {row.get("STATION", "") for _, row in rows}
    if len(stations) > 1:
        faults.append(Fault(file, None, "STATION", f"{len(stations)} stations", "one of them"))
    for line, row in rows:
        if not row.get("TMIN") or not row.get("TMAX"):
            continue  # a gap, which is told
        pair = _pair(row, ("TMIN", "TMAX"), file, line, faults)
        try:
            day = date.fromisoformat(row["DATE"][:10])
        except ValueError:
            faults.append(Fault(file, line, "DATE", shorten(row["DATE"]), "a date, 2027-05-01"))
            continue
        if pair is not None:
            found[day] = pair
    if not found and not faults:
        faults.append(Fault(file, None, "TMIN", "no day with both", "TMIN and TMAX of days"))
    if faults:
        raise BadInput(faults[:50])
    days = sorted(found)
    values = np.array([found[d] for d in days])
    unit, hints = _degrees(values, degrees, file)
    frame = pd.DataFrame(
        _celsius(values, unit), columns=["tmin", "tmax"], index=pd.DatetimeIndex(days)
    )
    return _daily("daily summaries of a station", frame, file, _place(rows), hints)


def _daily(
    kind: str,
    frame: pd.DataFrame,
    file: str,
    place: tuple[float | None, float | None, float | None],
    hints: tuple[str, ...],
) -> Imported:
    """Daily rows, few gaps filled, and their monthly means."""
    wrong = frame.index[frame["tmin"] > frame["tmax"]]
    if len(wrong):
        day = wrong[0].date()
        raise BadInput([Fault(file, None, "TMIN", f"above TMAX on {day}", "not above TMAX")])
    whole = frame.asfreq("D")
    gaps = whole["tmin"].isna()
    runs = gaps.groupby((~gaps).cumsum()).sum()
    filled = whole.interpolate(limit_area="inside")
    longest = int(runs.max()) if len(runs) else 0
    said = list(hints)
    if gaps.any():
        said.append(
            f"{int(gaps.sum())} days are missing, {longest} of them in a row at most: filled with "
            "a straight line between their neighbours."
        )
    if longest > 31:
        said.append("More than a month is missing in a row: years with such gaps tell little.")
    counts = frame.groupby(_index(frame).month).size()
    short = [str(m) for m in range(1, 13) if counts.get(m, 0) < LEAST_DAYS]
    if short:
        named = ", ".join(short)
        raise BadInput(
            [Fault(file, None, "DATE", f"too few days in month {named}", "a whole year")]
        )
    said += _no_radiation(frame)
    return Imported(kind, _means(frame), filled, *place, tuple(said))


def _index(frame: pd.DataFrame) -> pd.DatetimeIndex:
    import pandas as pd

    return pd.DatetimeIndex(frame.index)


def _own(raw: bytes, file: str) -> Imported:
    """A table that dryline reads itself, or nothing that is known."""
    frame, faults = read_climate(decode(raw, file, MAX_BYTES), file)
    if frame is None:
        expected = "EPW, TMY3, NOAA daily summaries or monthly normals, or a table of dryline"
        raise BadInput([*faults, Fault(file, None, "", "none of the known kinds", expected)])
    if "month" in frame:
        return Imported("a monthly table", frame, hints=tuple(_no_radiation(frame)))
    return _daily("a daily table", frame, file, (None, None, None), ())


def _means(rows: pd.DataFrame) -> pd.DataFrame:
    """Monthly means of daily rows."""
    out: pd.DataFrame = rows.groupby(_index(rows).month).mean().rename_axis("month").reset_index()
    return out


def _pair(
    row: dict[str, str], names: tuple[str, str], file: str, line: int, faults: list[Fault]
) -> tuple[float, float] | None:
    """Two numbers of a line, or their faults."""
    out = []
    for name in names:
        value = _number(row.get(name))
        if value is None or value in MISSING:
            faults.append(Fault(file, line, name, shorten(row.get(name, "")), "a temperature"))
        else:
            out.append(value)
    return (out[0], out[1]) if len(out) == 2 else None


def _degrees(values: np.ndarray, asked: str | None, file: str) -> tuple[str, tuple[str, ...]]:
    """The unit of a table that names none, and what to say of it.

    Hottest days lie between 12 and 55 degC nearly everywhere that a crop grows (own judgement): of
    the three units that NOAA hands out the one that gives such is taken, if it is only one.
    """
    if asked is not None:
        return asked, (f"Temperatures are taken as {asked}.",)
    top = float(np.quantile(values[:, 1], 0.98))
    fits: list[str] = [u for u in DEGREES if HOT[0] <= float(_celsius(np.array(top), u)) <= HOT[1]]
    if np.any(values != np.round(values)):
        fits = [u for u in fits if u != "tenths"]  # tenths are whole numbers
    if len(fits) != 1:
        raise BadInput(
            [
                Fault(
                    file,
                    None,
                    "TMAX",
                    f"numbers up to {values[:, 1].max():g} without a unit",
                    f"--degrees, one of {', '.join(DEGREES)}",
                )
            ]
        )
    return fits[0], (f"Temperatures are taken as {fits[0]}; --degrees says otherwise.",)


_TO_CELSIUS: dict[str, Callable[[Any], Any]] = {
    "degC": lambda x: x,
    "degF": lambda x: (x - 32) / 1.8,
    "tenths": lambda x: x / 10,
}


def _celsius(values: np.ndarray, unit: str) -> np.ndarray:
    return np.asarray(_TO_CELSIUS[unit](values), dtype=float)


def _no_radiation(frame: pd.DataFrame) -> list[str]:
    """What is to be known of the light of a table."""
    if "rs" in frame:
        return []
    out = ["It has no radiation: light is worked out from the range of a day's temperatures."]
    flat = (frame["tmax"] - frame["tmin"] < 0.5).mean()
    if flat > 0.02:
        out.append(
            f"On {flat:.0%} of its rows the highest temperature is hardly above the lowest: light "
            "worked out from them is next to none."
        )
    return out


def _place(
    rows: list[tuple[int, dict[str, str]]],
) -> tuple[float | None, float | None, float | None]:
    """Latitude, longitude, elevation as a NOAA table tells them."""
    first = rows[0][1] if rows else {}
    lat, lon, high = (_number(first.get(n)) for n in ("LATITUDE", "LONGITUDE", "ELEVATION"))
    return lat, lon, high


def _number(value: Any) -> float | None:
    try:
        out = float(value)
    except (TypeError, ValueError):
        return None
    return out if np.isfinite(out) else None
