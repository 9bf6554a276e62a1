"""``dryline rebalance DIR --log LOG.csv --on DATE --out DIR2``: plan again from what happened."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.commands.day import day_of
from scheduler.commands.share import (
    Share,
    change_option,
    gap_option,
    language_option,
    plan_argument,
    seed_option,
    time_limit_option,
    workers_option,
)
from scheduler.words.language import _

if TYPE_CHECKING:
    pass

WIDTH = 79


@click.command()
@plan_argument()
@click.option(
    "--log",
    "log_file",
    metavar="LOG.csv",
    type=click.Path(path_type=Path),
    help="what happened; without it DIR/log.csv",
)
@click.option(
    "--on", "day", metavar="DATE", required=True, help="plan from the morning of this day"
)
@click.option(
    "--out",
    "target",
    metavar="DIR2",
    type=click.Path(path_type=Path),
    help="folder to write the new plan into; without it plans/N beside the garden",
)
@click.option(
    "--freeze",
    metavar="N",
    default=0,
    show_default=True,
    type=click.IntRange(0, 366),
    help="days from then on in which nothing planned changes",
)
@change_option(
    25.0, "make a change only if it brings this many grams; 4 times as many in the first week"
)
@click.option(
    "--complete", is_flag=True, help="the log is complete: what it does not mention was not done"
)
@click.option(
    "--rest",
    "rest_days",
    metavar="N",
    default=56,
    show_default=True,
    type=click.IntRange(0, 3660),
    help="days a family waits after root disease",
)
@click.option(
    "--risk",
    metavar="SHARE",
    type=Share(),
    help="most weather years in which a batch may run dry, such as 5%; 100%: no limit "
    "[default: as it was planned]",
)
@click.option(
    "--climate",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="daily rows of newer weather: before DATE as it was, from DATE on a forecast, which the "
    "weather years follow less the further ahead it lies and leave after two weeks",
)
@time_limit_option(6.0)
@gap_option("share of produce left unproven")
@seed_option()
@workers_option()
@language_option()
@click.option("--json", "as_json", is_flag=True, help="the outcome as JSON")
def command(
    folder: Path,
    log_file: Path | None,
    day: str,
    target: Path | None,
    freeze: int,
    change: float,
    complete: bool,
    rest_days: int,
    risk: float | None,
    climate: Path | None,
    time_limit: float,
    gap: float,
    seed: int,
    workers: int,
    as_json: bool,
) -> int:
    """Re-plan from the log, changing as little as possible, and write the new plan into DIR2.

    What has been done stays; what grows keeps its tier; seedlings are placed. DIR2 also holds
    changes.txt and changes.json.
    """
    from scheduler.commands.running import ctrl_c, progress
    from scheduler.log.append import copy_log
    from scheduler.log.model import read_log_file
    from scheduler.plans.folder import LOG_FILE, read_plan_dir, refuse_other_folders, write_plan_dir
    from scheduler.plans.home import home_of, new_place
    from scheduler.replanning.new_weather import with_weather
    from scheduler.solvers.cp_sat import Settings
    from scheduler.usecases import (
        CHANGES_JSON,
        CHANGES_TEXT,
        Ask,
        files_again,
        plan_again,
        season_sources,
    )
    from scheduler.words.words import wrap

    ask = Ask(day_of(day, "--on"), freeze, change, complete, rest_days, risk)
    garden, plan = read_plan_dir(folder)
    sources = season_sources(folder, garden)
    log_file = log_file or folder / LOG_FILE
    log = read_log_file(log_file, garden)
    taken = contextlib.ExitStack()
    asked = target is not None
    if target is None:
        home = home_of(folder)
        if home is None:
            raise click.UsageError("no garden beside this plan: say with --out where to write")
        target = taken.enter_context(new_place(home))
    refuse_other_folders(target)  # before the search, not after it
    if climate is not None:
        forecast_on = ask.on if plan.years is not None else None
        garden, sources = with_weather(garden, sources, climate, forecast_on)
    settings = Settings(time_limit=time_limit, gap=gap, seed=seed, workers=workers)
    with taken:
        with ctrl_c() as stop, progress(quiet=as_json) as report:
            again = plan_again(folder, garden, plan, log, ask, settings, report, stop)
        made = files_again(garden, again, target)
        aside = None
        written = asked or not again.done.stay
        if written:
            # First the log: one that is ahead of its plan is fine.
            aside = copy_log(log_file, target / LOG_FILE)
            write_plan_dir(target, again.done.plan, sources, made)
    if aside is not None:
        click.echo(
            _("The log that stood in {target} told of more: kept as {name}").format(
                target=target, name=aside.name
            ),
            err=True,
        )
    if as_json:
        click.echo(made[CHANGES_JSON].decode(), nl=False)
    else:
        click.echo(made[CHANGES_TEXT].decode(), nl=False)
        if again.limit is not None:
            click.echo("\n".join(again.limit.lines()))
        if again.busy:
            click.echo("\n" + "\n".join(wrap(again.busy, WIDTH)))
        told = _("Written to {target}: plan.json, changes.txt, changes.json, the calendar")
        if not written:
            told = _("Nothing is written: with --out DIR the changes are.")
        click.echo("\n" + told.format(target=target))
    return 0
