"""``dryline pictures DIR``: season, levels, nursery, produce, work and sowing windows as images."""

from __future__ import annotations

import json
from pathlib import Path

import click

from scheduler.base.faults import DrylineError
from scheduler.commands.share import plan_argument, units_option
from scheduler.commands.waiting import waiting
from scheduler.pictures import SUBJECTS, draw, require_plots, save


@click.command()
@plan_argument()
@click.option(
    "--what",
    "subjects",
    multiple=True,
    type=click.Choice(SUBJECTS),
    help="only this picture; repeatable",
)
@click.option(
    "--format", "form", type=click.Choice(["png", "svg"]), default="png", show_default=True
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="folder to write into (default: DIR)",
)
@click.option(
    "--column",
    "columns",
    multiple=True,
    metavar="NAME",
    help="season and levels: only this column; repeatable",
)
@units_option()
@click.option("--json", "as_json", is_flag=True, help="the names of the files as JSON")
def command(
    folder: Path,
    subjects: tuple[str, ...],
    form: str,
    out: Path | None,
    columns: tuple[str, ...],
    units: str | None,
    as_json: bool,
) -> int:
    """Draw the plan in DIR: season overview, levels, nursery, produce, work, windows.

    Files are named after what they show, such as season.png; further sheets of a large garden
    season-2.png, season-3.png and so on. Needs the extra: pip install 'dryline[plots]'.
    """
    require_plots()
    from scheduler.base.files import write_atomic
    from scheduler.plans.folder import read_plan_dir
    from scheduler.plans.places import check_places
    from scheduler.words.words import Units

    garden, plan = read_plan_dir(folder)
    check_places(garden, plan, str(folder / "plan.json"))
    known = [c.name for c in garden.columns]
    wrong = [name for name in columns if name not in known]
    if wrong:
        some = ", ".join(known[:12]) + (", ..." if len(known) > 12 else "")
        raise DrylineError(f"no column {', '.join(map(repr, wrong))} in this garden; it has {some}")
    out = out or folder
    out.mkdir(parents=True, exist_ok=True)
    files = []
    for what in dict.fromkeys(subjects or SUBJECTS):
        with waiting(f"drawing {what}"):
            drawn = [
                save(figure, form)
                for figure in draw(what, garden, plan, Units(units or garden.units), columns)
            ]
        for n, made in enumerate(drawn):
            file = out / f"{what}{f'-{n + 1}' if n else ''}.{form}"
            write_atomic(file, made)
            files.append(str(file))
            if not as_json:
                click.echo(f"wrote {file}")
    if as_json:
        click.echo(json.dumps({"files": files}, indent=1, ensure_ascii=False))
    return 0
