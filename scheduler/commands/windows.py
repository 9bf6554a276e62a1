"""``dryline windows GARDEN.yaml``: where and when each crop can grow, and why not elsewhere."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.base.faults import DrylineError
from scheduler.commands.calendar import Day

if TYPE_CHECKING:
    from scheduler.garden.model import Garden

FORMATS = ("text", "json", "png", "svg")


@click.command()
@click.argument("garden_file", metavar="GARDEN.yaml", type=click.Path())
@click.option("--crop", "names", multiple=True, metavar="NAME", help="only this crop; repeatable")
@click.option("--from", "first", type=Day(), help="first sow date shown")
@click.option("--to", "last", type=Day(), help="last sow date shown")
@click.option("--format", "form", type=click.Choice(FORMATS), default="text", show_default=True)
@click.option("--units", type=click.Choice(["metric", "us"]), help="instead of the garden's")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="write to this file; a picture otherwise goes to windows.png",
)
@click.option("--json", "as_json", is_flag=True, help="the same as --format json")
def command(
    garden_file: str,
    names: tuple[str, ...],
    first: date | None,
    last: date | None,
    form: str,
    units: str | None,
    out: Path | None,
    as_json: bool,
) -> int:
    """Tell for every crop and kind of tier of GARDEN.yaml which sow dates work.

    For all others it says why not: too dark, dry before ready, bolts, too late in the season, or
    nobody there. Tiers that are alike stand together.
    """
    from scheduler.base.files import write_atomic
    from scheduler.batches.windows import between, sow_windows
    from scheduler.garden.file import load_garden
    from scheduler.shortfall import window_text
    from scheduler.words.words import Units

    form = "json" if as_json else form
    if first and last and last < first:
        raise DrylineError(f"--to {last} lies before --from {first}")
    garden = load_garden(garden_file)
    season = garden.season
    if (first and first > season.end) or (last and last < season.start):
        raise DrylineError(f"no sow date lies there; the season is {season.start} to {season.end}")
    show = Units(units or garden.units)
    found = sow_windows(garden, find_crops(garden, names))
    found = tuple(between(w, first, last) for w in found)
    if form in ("png", "svg"):
        from scheduler.pictures import save, windows_picture

        out = out or Path(f"windows.{form}")
        write_atomic(out, save(windows_picture(garden, found), form))
        click.echo(f"wrote {out}")
        return 0
    if form == "json":
        body = window_text.data(garden, found, show)
        made = json.dumps(body, indent=1, ensure_ascii=False) + "\n"
    else:
        made = window_text.text(garden, found, show)
    if out:
        write_atomic(out, made)
        click.echo(f"wrote {out}")
    else:
        click.echo(made, nl=False)
    return 0


def find_crops(garden: Garden, names: tuple[str, ...]) -> tuple[str, ...]:
    """Crops of the garden by name or printed name, in the garden's order.

    Raises
    ------
    DrylineError
        Every name that is none of its crops, with the near ones.
    """
    from crops.marked_yaml import shorten
    from scheduler.commands.crops import near_names

    known = dict(garden.crops)
    titles = {crop.title.lower(): name for name, crop in known.items()}
    wanted, wrong = set(), []
    for name in names:
        asked = name.strip().lower()
        key = asked.replace(" ", "_").replace("-", "_")
        if asked in titles or key in known or name in known:
            wanted.add(name if name in known else key if key in known else titles[asked])
            continue
        near = near_names(key, known)
        hint = f"did you mean {' or '.join(near)}?" if near else f"it has {', '.join(known)}"
        wrong.append(f"no crop {shorten(name)!r} in this garden; {hint}")
    if wrong:
        raise DrylineError("\n".join(wrong))
    return tuple(n for n in known if n in wanted)
