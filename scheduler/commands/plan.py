"""``dryline plan GARDEN.yaml --out DIR``: decide crop, tier and dates for a season."""

from __future__ import annotations

import contextlib
import json
import textwrap
from dataclasses import asdict
from pathlib import Path

import click

from scheduler.commands.running import ctrl_c, progress, seconds_line
from scheduler.commands.share import (
    Share,
    change_option,
    gap_option,
    language_option,
    seed_option,
    time_limit_option,
    workers_option,
    years_option,
)
from scheduler.commands.summary import hint, outcome, summary
from scheduler.plans.restrictions import whole_list
from scheduler.words.language import _


@click.command(epilog=whole_list())
@click.argument("garden_file", metavar="[GARDEN.yaml]", required=False, type=click.Path())
@click.option(
    "--out",
    "target",
    metavar="DIR",
    help="folder to write the plan into; without it plans/N beside the garden",
)
@time_limit_option(60.0)
@gap_option()
@seed_option()
@workers_option()
@click.option(
    "--risk",
    metavar="SHARE",
    type=Share(),
    help="most weather years in which a batch may be lost, such as 5%",
)
@click.option(
    "--past",
    metavar="CSV",
    type=click.Path(),
    help="daily climate table of past years; the garden's own unless given",
)
@years_option()
@click.option(
    "--worth",
    type=click.Choice(["falling", "flat"]),
    default="falling",
    show_default=True,
    help="of a gram: falling, more in the first half of a week's wish, and a second kind more "
    "where there is enough of its group; or flat",
)
@click.option(
    "--like",
    "liked",
    metavar="DIR",
    type=click.Path(),
    help="keep most of the plan in DIR, made before for a garden that was a little different; of a "
    "season that has not begun, in a garden of at most 200 tiers",
)
@click.option(
    "--keep",
    metavar="SHARE",
    default="80%",
    show_default=True,
    type=Share(),
    help="with --like: share of the batches of that plan that stay in their tiers on the days that "
    "its calendar tells, where so many can",
)
@change_option(5.0, "with --like: drop or add a batch only if it brings this many grams")
@click.option(
    "--replace", is_flag=True, help="set a plan in DIR that has a log aside, with its log"
)
@language_option()
@click.option("--json", "as_json", is_flag=True, help="the outcome as JSON")
def command(
    garden_file: str | None,
    target: str | None,
    time_limit: float,
    gap: float,
    seed: int,
    workers: int,
    risk: float | None,
    past: str | None,
    years: int,
    worth: str,
    liked: str | None,
    keep: float,
    change: float,
    replace: bool,
    as_json: bool,
) -> int:
    """Plan the season of GARDEN.yaml and write plan.json and the calendar into DIR.

    Without GARDEN.yaml it is the garden that you stand in. Without --out the plan gets the next
    number: plans/1, plans/2, ... beside the garden, each complete by itself, the newest current.

    A batch may bolt or run dry before its last pick in one of five of the weather years that are
    planned with. Cold or heat may kill it in up to half of them, if it brings more all the same
    (above 200 tiers: in one of ten); the plan tells the chance. --risk sets another share for all
    of this, which running dry must keep in 1,000 years more, too; `dryline risk DIR` tells the
    chances of the whole plan and what is assumed.

    A plan in DIR whose log tells of anything is not planned over. With --replace it moves to
    DIR/before-N, with its log and all that was made from it; nothing is deleted.

    Ctrl-C ends the search and keeps the best plan found.
    """
    from scheduler.garden.file import load_garden
    from scheduler.log.set_aside import next_number, refuse_logged, replace_plan
    from scheduler.outputs.files import season_files
    from scheduler.outputs.work import work_items
    from scheduler.plans.folder import (
        GARDEN_FILE,
        holds_plan,
        refuse_other_folders,
        write_plan_dir,
    )
    from scheduler.plans.home import home_of, new_place
    from scheduler.replanning.diff import lines
    from scheduler.solvers.cp_sat import WRITING, Settings
    from scheduler.usecases import Within, plan_season
    from scheduler.usecases.liking import Like, diff_of, plan_like, stays_of

    if past is not None and risk is None and not years:
        raise click.UsageError("--past is for --risk or --years")
    if liked is not None and not years:
        raise click.UsageError("--like is for a plan made with weather years, not --years 0")
    if garden_file is None:
        home = home_of(Path())
        if home is None:
            raise click.UsageError("no garden here: give GARDEN.yaml, or stand in its folder")
        garden_file = str(home / GARDEN_FILE)
    place, aside = Path(target or ""), None
    taken = contextlib.ExitStack()
    if target is None:
        if not Path(garden_file).is_file():
            load_garden(garden_file)  # says what is wrong before a folder is made
        place = taken.enter_context(new_place(Path(garden_file).parent))
        number = int(place.name)
    else:
        refuse_other_folders(place)  # before the search, not after it
        if not replace:
            refuse_logged(place)
        number = next_number(place)
    folder = str(place)
    settings = Settings(time_limit=time_limit, gap=gap, seed=seed, workers=workers)
    within = None if risk is None else Within(risk, past)
    with taken, ctrl_c() as stop, progress(quiet=as_json) as report:
        old = None if liked is None else plan_like(liked, garden_file)
        made = plan_season(
            *(garden_file, settings, within, report, stop, number, years, past, worth),
            None if old is None else Like(old, change, keep),
        )
        garden, plan, limit = made.garden, made.plan, made.limit
        with made.phases.phase(WRITING):
            items = work_items(garden, plan)
            files = season_files(garden, plan, items)
            if replace and place.is_dir() and holds_plan(place):
                aside = replace_plan(place, plan, made.sources, files)
            else:
                if not replace:
                    refuse_logged(place)  # something may have been logged meanwhile
                write_plan_dir(folder, plan, made.sources, files)
            told = [] if as_json else [*summary(garden, plan, items), *hint(garden, plan, folder)]
            against = None if old is None else diff_of(garden, old, plan)
            stays = None if old is None else stays_of(garden, old, plan, keep)
    if as_json:
        body = {**outcome(garden, plan, folder), "busy": made.busy, "before": aside and str(aside)}
        if limit is not None:
            body["risk"] = limit.data()
        if against is not None and stays is not None:
            body["changes"] = {**against.as_dict(), **asdict(stays)}
        body["stands"] = list(made.stands)
        body["places"] = [] if made.stood is None else made.stood.data()
        body["seconds"] = {name: round(s, 2) for name, s in made.phases.seconds.items()}
        click.echo(json.dumps(body, indent=1, ensure_ascii=False))
    else:
        click.echo("\n".join(told))
        if against is not None and stays is not None:
            head = _("Against the plan in {folder}:").format(folder=liked)
            click.echo("\n".join(["", head, *lines(against, "", garden.units), "", *stays.lines()]))
        if made.stood is not None:
            click.echo("\n" + "\n".join(made.stood.lines()))
        if made.stands:
            click.echo("\n" + _("What stands today:"))
            for line in made.stands:
                click.echo("\n".join(textwrap.wrap(line, 79, subsequent_indent="  ")))
        if made.busy:
            click.echo("\n" + "\n".join(textwrap.wrap(made.busy, 79)))
        if limit is not None:
            click.echo("\n".join(limit.lines()))
        if aside is not None:
            click.echo(
                "\n" + _("The plan before is kept with its log in {aside}").format(aside=aside)
            )
        click.echo(
            "\n"
            + _("Written to {folder}: plan.json, {files}").format(
                folder=folder, files=", ".join(files)
            )
        )
        click.echo(seconds_line(made.phases.seconds))
    return 0
