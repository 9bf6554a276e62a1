"""``dryline today [DIR]``: what is to do, what alarms, what to measure."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import click

from scheduler.commands.day import day_of
from scheduler.commands.share import plan_argument


@click.command()
@plan_argument()
@click.option("--today", "day", metavar="DATE", help="take this day for today")
@click.option("--units", type=click.Choice(["metric", "us"]), help="instead of the garden's")
@click.option("--language", metavar="CODE", help="such as de")
@click.option("--json", "as_json", is_flag=True, help="for machines")
def command(
    folder: Path, day: str | None, units: str | None, language: str | None, as_json: bool
) -> int:
    """Say what is to do today by the plan in DIR and its log, which tiers will be dry too soon, and
    where a level tells most.

    DIR is the plan's folder; without it the plan of the garden that you stand in.
    """
    from scheduler.base.faults import BadInput, Fault
    from scheduler.log.model import HEADER, read_log, read_log_file
    from scheduler.plans.folder import LOG_FILE, read_plan_dir
    from scheduler.watch import day as of
    from scheduler.watch.day_text import data, lines
    from scheduler.watch.forecast import read
    from scheduler.watch.judge import watched
    from scheduler.words.language import check_language, use_language
    from scheduler.words.units import Units

    check_language(language)
    use_language(language)
    on = date.today() if day is None else day_of(day, "--today")
    garden, plan = read_plan_dir(folder, brief=True)
    season = garden.season
    if not season.start <= on <= season.end:
        expected = f"a day of the season, {season.start} to {season.end}"
        raise BadInput([Fault("--today" if day else "today", None, "", str(on), expected)])
    file = folder / LOG_FILE
    empty = read_log(f"{HEADER}\n".encode(), str(file), garden)
    log = read_log_file(file, garden) if file.exists() else empty
    table = read(folder, plan)
    found = of.day(garden, plan, log, table, watched(garden, plan, log, table, on), on)
    if as_json:
        click.echo(json.dumps(data(found), indent=1, ensure_ascii=False))
        return 0
    told = lines(garden, plan, found, Units(units or garden.units), str(folder))
    click.echo("\n".join(told))
    for fault in log.faults:
        click.echo(f"  to mend: {fault.text()}", err=True)
    return 0
