"""``dryline climate FILE``: a climate table from a file that others publish."""

from __future__ import annotations

import json
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.garden.climate_import import DEGREES
from scheduler.garden.climate_table import UNITS, table

if TYPE_CHECKING:
    from scheduler.garden.climate_import import Imported


@click.command()
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@click.option(
    "--out", "folder", metavar="DIR", type=click.Path(path_type=Path), help="folder to write into"
)
@click.option("--degrees", type=click.Choice(DEGREES), help="of a NOAA table, which names no unit")
@click.option("--replace", is_flag=True, help="overwrite climate.csv and past.csv in DIR")
@click.option("--json", "as_json", is_flag=True, help="for machines")
def command(
    file: Path, folder: Path | None, degrees: str | None, replace: bool, as_json: bool
) -> int:
    """Read FILE: EPW, TMY3, NOAA daily summaries or monthly normals, or a table of your own.

    Writes climate.csv, the monthly means, into DIR, and of a station's days past.csv, the weather
    years that a plan is made for and judged in. Without --out it only tells what is in FILE.
    A garden that `dryline start` made with invented weather no longer says so then.
    """
    from scheduler.base.faults import BadInput, Fault
    from scheduler.base.files import write_atomic
    from scheduler.beginning import weather
    from scheduler.beginning.garden_text import with_real_weather
    from scheduler.garden.climate_import import import_climate

    got = import_climate(file, degrees)
    files = {"climate.csv": table(got.monthly, got.kind)}
    if got.daily is not None and len(got.daily) >= 365:
        files["past.csv"] = table(got.daily, got.kind)
    written: list[str] = []
    if folder is not None:
        there = [
            folder / name
            for name in files
            if (folder / name).exists() and not weather.is_table(_text_of(folder / name))
        ]
        if folder.exists() and not folder.is_dir():
            raise BadInput([Fault(str(folder), None, "", "a file", "a folder, there or not")])
        if there and not replace:
            wanted = "a folder without it, or --replace; nothing written"
            raise BadInput([Fault(str(p), None, "", "there already", wanted) for p in there])
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in files.items():
            write_atomic(folder / name, text)
            written.append(str(folder / name))
        garden = folder / "garden.yaml"
        before = _text_of(garden)
        after = with_real_weather(before, "past.csv" in files)
        if after != before:  # it was made with invented weather, and said so
            write_atomic(garden, after)
            written.append(str(garden))
    click.echo(json.dumps(_data(got, written), indent=1) if as_json else _text(got, files, written))
    return 0


def _text_of(file: Path) -> str:
    """Its text; empty for what is no file of text."""
    try:
        return file.read_text("utf-8")
    except (OSError, UnicodeDecodeError):
        return ""


def _span(got: Imported) -> str:
    if got.daily is None:
        return got.kind
    import pandas as pd

    days = pd.DatetimeIndex(got.daily.index)
    return f"{got.kind}, {days[0].date()} to {days[-1].date()}"


def _text(got: Imported, files: dict[str, str], written: list[str]) -> str:
    lines = [f"{_span(got)}", ""]
    names = [c for c in UNITS if c in got.monthly]
    lines.append("  month" + "".join(f"{n:>8}" for n in names))
    for row in got.monthly.itertuples(index=False):
        values = "".join(f"{getattr(row, n):>8.1f}" for n in names)
        lines.append(f"  {row.month:>5}{values}")
    lines.append("  " + ", ".join(f"{n} [{UNITS[n]}]" for n in names))
    if got.hints:
        lines.append("")
    for hint in got.hints:
        lines += textwrap.wrap(hint, 79)
    lines += ["", "In garden.yaml:", "  site:"]
    latitude = "?" if got.latitude is None else f"{got.latitude:g} degree"
    high = "?" if got.elevation is None else f"{got.elevation:g} m"
    lines += [f"    latitude: {latitude}", f"    elevation: {high}", "    climate: climate.csv"]
    if "past.csv" in files:
        lines.append("    past: past.csv")
    if written:
        lines += ["", "Written: " + ", ".join(written)]
    else:
        lines += ["", "Nothing is written; --out DIR writes " + " and ".join(files) + "."]
    return "\n".join(lines)


def _data(got: Imported, written: list[str]) -> dict[str, object]:
    return {
        "kind": got.kind,
        "latitude": got.latitude,
        "longitude": got.longitude,
        "elevation": got.elevation,
        "monthly": [
            {k: round(float(v), 3) for k, v in row.items()}
            for row in got.monthly.to_dict(orient="records")
        ],
        "days": 0 if got.daily is None else len(got.daily),
        "hints": list(got.hints),
        "written": written,
    }
