"""``dryline review LOG...``: what finished crops teach, in a file of numbers that `plan` reads."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.commands.share import units_option
from scheduler.commands.waiting import waiting

if TYPE_CHECKING:
    from scheduler.log.finished import Season


@click.command()
@click.argument("logs", metavar="LOG...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--garden",
    "garden_file",
    metavar="GARDEN.yaml",
    type=click.Path(path_type=Path),
    help="for logs that have no garden.yaml beside them",
)
@click.option(
    "--out",
    metavar="FILE",
    type=click.Path(path_type=Path),
    default=Path("learned.yaml"),
    show_default=True,
    help="write the learned numbers into this file",
)
@click.option("--dry-run", is_flag=True, help="write nothing")
@units_option()
@click.option("--json", "as_json", is_flag=True, help="for machines")
def command(
    logs: tuple[Path, ...],
    garden_file: Path | None,
    out: Path,
    dry_run: bool,
    units: str | None,
    as_json: bool,
) -> int:
    """Learn from the finished crops of one or more seasons.

    Each LOG is a log.csv, or the folder of a plan with its log. Levels, masses, EC and pH that were
    written down count; what is learned stands between the catalogue and what was seen, nearer to
    the latter the more crops there are.
    """
    from scheduler.review import learned_file
    from scheduler.review import text as review_text
    from scheduler.review.estimates import review
    from scheduler.words.words import Units

    with waiting("comparing the log with the plan"):
        seasons = _read(logs, garden_file)
        found = review(seasons)
    if not dry_run:
        learned_file.write(out, found)
    if as_json:
        body = {
            "crops": review_text.as_data(found),
            "overrides": learned_file.overrides(found),
            "file": None if dry_run else str(out),
        }
        click.echo(json.dumps(body, indent=1, ensure_ascii=False))
        return 0
    click.echo("\n".join(review_text.lines(found, Units(units or seasons[0].garden.units))))
    if not dry_run:
        click.echo(f"Written to {out}. To plan with it, name it in garden.yaml under crops:")
        click.echo(f"  learned: {out.name}")
    return 0


def _read(logs: tuple[Path, ...], garden_file: Path | None) -> list[Season]:
    """Every season, or every fault of all logs."""
    from scheduler.base.faults import BadInput, Fault
    from scheduler.garden.file import load_garden
    from scheduler.log.finished import Season
    from scheduler.log.model import read_log_file
    from scheduler.plans.folder import GARDEN_FILE, LOG_FILE, holds_plan, read_plan_dir
    from scheduler.years import PLANNED
    from scheduler.years.expected import expecting

    seasons: list[Season] = []
    faults: list[Fault] = []
    for path in logs:
        file = path / LOG_FILE if path.is_dir() else path
        folder = file.parent
        try:
            plan = None
            if garden_file is None and holds_plan(folder):
                garden, plan = read_plan_dir(folder)
            elif garden_file is not None or (folder / GARDEN_FILE).is_file():
                # Against the courses that plan takes unless told otherwise: those of the mean year
                # drink some 6 % more than years do on the mean.
                garden = expecting(load_garden(garden_file or folder / GARDEN_FILE), PLANNED, 0)
            else:
                raise BadInput(
                    [
                        Fault(
                            str(folder / GARDEN_FILE),
                            None,
                            "",
                            "not there",
                            "the garden of the log, or --garden",
                        )
                    ]
                )
            log = read_log_file(file, garden)
            faults += log.faults
            seasons.append(Season(garden, log, plan))
        except BadInput as error:
            faults += error.faults
    if faults:
        raise BadInput(list(dict.fromkeys(faults)))
    return seasons
