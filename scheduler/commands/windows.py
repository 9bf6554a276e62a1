"""``dryline windows GARDEN.yaml``: where and when each crop can grow, and why not elsewhere."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from crops.names import same_name, shorten
from scheduler.base.faults import DrylineError
from scheduler.commands.calendar import Day
from scheduler.commands.share import language_option, units_option
from scheduler.commands.waiting import waiting
from scheduler.years import PLANNED

if TYPE_CHECKING:
    from scheduler.garden.kinds import Kind
    from scheduler.garden.model import Garden

FORMATS = ("text", "json", "png", "svg")
GENERATED = 200  # years for --years


@click.command()
@click.argument("garden_file", metavar="GARDEN.yaml", type=click.Path())
@click.option("--crop", "names", multiple=True, metavar="NAME", help="only this crop; repeatable")
@click.option("--from", "first", type=Day(), help="first sow date shown")
@click.option("--to", "last", type=Day(), help="last sow date shown")
@click.option(
    "--years",
    "by_year",
    is_flag=True,
    help="when crops are ready, in one weather year after another",
)
@click.option(
    "--tier", metavar='"COLUMN N"', help="with --years: in tiers like this; the first unless given"
)
@click.option(
    "--past",
    metavar="CSV",
    type=click.Path(),
    help="with --years: daily past weather; the garden's own unless given",
)
@click.option("--format", "form", type=click.Choice(FORMATS), default="text", show_default=True)
@units_option()
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="write to this file; a picture otherwise goes to windows.png",
)
@language_option()
@click.option("--json", "as_json", is_flag=True, help="the same as --format json")
def command(
    garden_file: str,
    names: tuple[str, ...],
    first: date | None,
    last: date | None,
    by_year: bool,
    tier: str | None,
    past: str | None,
    form: str,
    units: str | None,
    out: Path | None,
    as_json: bool,
) -> int:
    """Tell for every crop and kind of tier of GARDEN.yaml which sow dates work.

    For all others it says why not: too dark, dry before ready, bolts, too late in the season, or
    nobody there. Tiers that are alike stand together.

    With --years it tells instead how long each crop takes to be ready in tiers of one kind,
    planted on the dates from --from to --to: in past years (site.past of the garden, or --past)
    and in generated ones.
    """
    from scheduler.batches.windows import between, sow_windows
    from scheduler.garden.file import load_garden
    from scheduler.shortfall import window_text
    from scheduler.words.words import Units
    from scheduler.years.expected import expecting

    form = "json" if as_json else form
    if not by_year and (tier or past):
        raise click.UsageError("--tier and --past are for --years")
    if first and last and last < first:
        raise DrylineError(f"--to {last} lies before --from {first}")
    garden = load_garden(garden_file)
    season = garden.season
    if (first and first > season.end) or (last and last < season.start):
        raise DrylineError(f"no sow date lies there; the season is {season.start} to {season.end}")
    show = Units(units or garden.units)
    wanted = find_crops(garden, names)
    if by_year:
        return _by_year(garden, garden_file, wanted, first, last, tier, past, form, out)
    garden = expecting(garden, PLANNED, 0)  # the courses that plan takes unless told otherwise
    with waiting("looking through the dates"):
        found = sow_windows(garden, wanted)
    found = tuple(between(w, first, last) for w in found)
    if form in ("png", "svg"):
        from scheduler.pictures import save, windows_picture

        return _told(save(windows_picture(garden, found), form), out or Path(f"windows.{form}"))
    if form == "json":
        return _told(window_text.data(garden, found, show), out)
    return _told(window_text.text(garden, found, show), out)


def _told(made: bytes | str | dict[str, Any], out: Path | None) -> int:
    """Write what was made into a file, or print it."""
    from scheduler.base.files import write_atomic

    if isinstance(made, dict):
        made = json.dumps(made, indent=1, ensure_ascii=False) + "\n"
    if out:
        write_atomic(out, made)
        click.echo(f"wrote {out}")
    else:
        click.echo(made, nl=False)
    return 0


def _by_year(
    garden: Garden,
    garden_file: str,
    crops: tuple[str, ...],
    first: date | None,
    last: date | None,
    tier: str | None,
    past: str | None,
    form: str,
    out: Path | None,
) -> int:
    from scheduler.batches.ready_years import planted_between, ready_years
    from scheduler.garden.past_file import read_past
    from scheduler.outputs import ready_years as ready_text
    from scheduler.years.generator import generated_years
    from scheduler.years.past import whole_years

    kind = _kind(garden, tier)
    rows = garden.site.past if past is None else read_past(past, garden, garden_file)
    real = None if rows is None else whole_years(garden, rows).years
    with waiting("growing each crop in weather years"):
        made = generated_years(garden, GENERATED)
        every = ready_years(garden, kind, real, made, crops)
    found = [planted_between(one, first, last) for one in every]
    if form in ("png", "svg"):
        from scheduler.pictures import ready_years_picture, save

        return _told(save(ready_years_picture(garden, found), form), out or Path(f"years.{form}"))
    notes = [*(real.notes if real is not None else ()), *made.notes]
    if form == "json":
        return _told(ready_text.data(garden, found, notes), out)
    return _told(ready_text.text(garden, found, notes), out)


def _kind(garden: Garden, tier: str | None) -> Kind:
    """The kind of a tier named as "A 2"; the garden's first unless one is named."""
    from scheduler.garden.kinds import tier_kinds

    kinds = tier_kinds(garden)
    if tier is None:
        return kinds[0]
    column, _, number = tier.strip().rpartition(" ")
    for kind in kinds:
        if any(same_name(column) == same_name(c) and number == str(n) for c, n in kind.places):
            return kind
    some = ", ".join(f"{c} {n}" for kind in kinds[:6] for c, n in kind.places[:1])
    raise DrylineError(f"no tier {tier!r} in this garden; it has {some} and others like them")


def find_crops(garden: Garden, names: tuple[str, ...]) -> tuple[str, ...]:
    """Crops of the garden by name or printed name, in the garden's order.

    Raises
    ------
    DrylineError
        Every name that is none of its crops, with the near ones.
    """
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
