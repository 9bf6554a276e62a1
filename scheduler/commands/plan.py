"""``dryline plan GARDEN.yaml --out DIR``: decide crop, tier and dates for a season."""

from __future__ import annotations

import contextlib
import json
import math
import signal
import sys
import textwrap
import threading
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.commands.share import (
    Share,
    gap_option,
    seed_option,
    time_limit_option,
    workers_option,
    years_option,
)
from scheduler.plans.restrictions import whole_list

if TYPE_CHECKING:
    from scheduler.garden.model import Garden
    from scheduler.outputs.work import Work
    from scheduler.plans.model import Lifted, Plan
    from scheduler.solvers.cp_sat import Progress

# What each stage of the search is called on the screen.
STAGES = {
    "first plan": "by rules of thumb",
    "produce": "most of the wish met",
    "evenness": "even weeks, less waste",
    "effort": "least work",
    "reading": "reading the garden",
    "checking": "checking every rule",
    "writing": "writing the calendar",
}
PATIENCE = 5.0  # seconds after which a part that is no search is worth a line of its own


@click.command(epilog=whole_list())
@click.argument("garden_file", metavar="GARDEN.yaml", type=click.Path())
@click.option("--out", "folder", metavar="DIR", required=True, help="folder to write the plan into")
@time_limit_option(60.0)
@gap_option()
@seed_option()
@workers_option()
@click.option(
    "--risk",
    metavar="SHARE",
    type=Share(),
    help="most weather years in which a batch may run dry, such as 5%",
)
@click.option(
    "--past",
    metavar="CSV",
    type=click.Path(),
    help="daily climate table of past years; the garden's own unless given",
)
@years_option()
@click.option(
    "--replace", is_flag=True, help="set a plan in DIR that has a log aside, with its log"
)
@click.option("--json", "as_json", is_flag=True, help="the outcome as JSON")
def command(
    garden_file: str,
    folder: str,
    time_limit: float,
    gap: float,
    seed: int,
    workers: int,
    risk: float | None,
    past: str | None,
    years: int,
    replace: bool,
    as_json: bool,
) -> int:
    """Plan the season of GARDEN.yaml and write plan.json and the calendar into DIR.

    With --risk, what would run dry before its last pick in more than that share of 1,000 weather
    years is not planned; `dryline risk DIR` tells the chances of the plan and what is assumed.

    A plan in DIR whose log tells of anything is not planned over. With --replace it moves to
    DIR/before-N, with its log and all that was made from it; nothing is deleted.

    Ctrl-C ends the search and keeps the best plan found.
    """
    from scheduler.log.set_aside import next_number, refuse_logged, replace_plan
    from scheduler.outputs.files import calendar_files
    from scheduler.outputs.work import work_items
    from scheduler.plans.folder import holds_plan, refuse_other_folders, write_plan_dir
    from scheduler.solvers.cp_sat import WRITING, Settings
    from scheduler.usecases import Within, plan_season

    if past is not None and risk is None and not years:
        raise click.UsageError("--past is for --risk or --years")
    place, aside = Path(folder), None
    refuse_other_folders(place)  # before the search, not after it
    if not replace:
        refuse_logged(place)
    number = next_number(place)
    settings = Settings(time_limit=time_limit, gap=gap, seed=seed, workers=workers)
    within = None if risk is None else Within(risk, past)
    with ctrl_c() as stop, progress(quiet=as_json) as report:
        made = plan_season(garden_file, settings, within, report, stop, number, years, past)
        garden, plan, limit = made.garden, made.plan, made.limit
        with made.phases.phase(WRITING):
            items = work_items(garden, plan)
            files = calendar_files(garden, plan, items)
            if replace and place.is_dir() and holds_plan(place):
                aside = replace_plan(place, plan, made.sources, files)
            else:
                if not replace:
                    refuse_logged(place)  # something may have been logged meanwhile
                write_plan_dir(folder, plan, made.sources, files)
            told = [] if as_json else [*summary(garden, plan, items), *hint(garden, plan, folder)]
    if as_json:
        body = {**outcome(garden, plan, folder), "busy": made.busy, "before": aside and str(aside)}
        if limit is not None:
            body["risk"] = limit.data()
        body["seconds"] = {name: round(s, 2) for name, s in made.phases.seconds.items()}
        click.echo(json.dumps(body, indent=1, ensure_ascii=False))
    else:
        click.echo("\n".join(told))
        if made.busy:
            click.echo("\n" + "\n".join(textwrap.wrap(made.busy, 79)))
        if limit is not None:
            click.echo("\n".join(limit.lines()))
        if aside is not None:
            click.echo(f"\nThe plan before is kept with its log in {aside}")
        click.echo(f"\nWritten to {folder}: plan.json, " + ", ".join(files))
        click.echo(seconds_line(made.phases.seconds))
    return 0


def seconds_line(seconds: dict[str, float]) -> str:
    """How long each part took, in one line."""
    return "Seconds: " + ", ".join(f"{name} {s:.1f}" for name, s in seconds.items()) + "."


def outcome(garden: Garden, plan: Plan, folder: str) -> dict[str, Any]:
    """What `summary` says, for machines."""
    from dataclasses import asdict

    from scheduler.schedule.assemble import wish_met, wish_total

    return {
        "folder": folder,
        "number": plan.number,
        "made": None if plan.made is None else plan.made.isoformat(),
        "status": plan.status,
        "batches": len(plan.batches),
        "wish_met": wish_met(garden, plan),
        "weighted_grams": {"wish": wish_total(garden)},
        "stages": [asdict(s) for s in plan.stages],
        "by_hand": dict(plan.by_hand),
        "unmet": [asdict(u) for u in plan.unmet],
        "lifted": _in_units(plan.lifted, garden.units),
        "promise": None if plan.promise is None else {**asdict(plan.promise), "shares": None},
        "years": None if plan.years is None else asdict(plan.years),
    }


def summary(garden: Garden, plan: Plan, items: Sequence[Work] | None = None) -> list[str]:
    """A dozen lines, at most 79 characters each: what this plan is worth.

    ``items``: its work, where that is at hand; of ten thousand columns it takes a while.
    """
    from scheduler.plans.restrictions import MORE, among, that_bind
    from scheduler.schedule.assemble import by_weights, wish_met, wish_total
    from scheduler.words.units import mass, of_the_wish, share

    produce = plan.stages[0]
    head = f"{garden.name}: {len(plan.batches)} batches from {plan.start} to {plan.end}"
    lines = textwrap.wrap(head, 79, subsequent_indent="  ", break_on_hyphens=False)
    if garden.invented:
        lines.append("(an invented garden)")
    lines.append("")
    met = wish_met(garden, plan)
    if met is None:
        lines.append("Nothing is wished.")
    elif plan.promise is not None:
        lines += promise_lines(plan, of_the_wish(by_weights(garden)))
        lines += ["", f"If all comes as expected it meets {share(met)}."]
    else:
        lines.append(f"This plan meets {share(met)} {of_the_wish(by_weights(garden))}.")
        lines += _by_rule(plan)
    most = None if produce.bound is None else produce.bound / max(wish_total(garden), 1.0)
    if plan.status == "proven":
        lines.append("No plan can meet more: proven.")
    elif most is None or (plan.status == "best_found" and most >= 1):
        lines.append("The best found in the time; how much more there could be is not known.")
    elif plan.status == "within_gap":
        lines.append(f"No plan can meet more than {share(most, up=True)}: proven.")
    else:
        lines += textwrap.wrap(
            f"The best found in the time. No plan can meet more than {share(most, up=True)}: "
            "proven; this gap may be the bound's, not the plan's.",
            79,
        )
    if most is not None and most < 1 and met is not None:
        about = among(that_bind(garden, plan.as_of is not None, plan.risk is not None))
        lines += textwrap.wrap(f"That is {about}; {MORE}", 79, subsequent_indent="  ")
    if most is not None and plan.promise is not None:
        lines += textwrap.wrap(
            "What is proven is said of the courses to expect, not of any year to come, and of "
            "plans made in the way of this one: for weather years or for their mean, with young "
            "heads or without.",
            79,
        )
    lines.append("")
    by_group: dict[str, int] = {}
    for short in plan.unmet:
        by_group[short.group] = by_group.get(short.group, 0) + short.grams
    for demand in garden.demands:
        picked = sum(b.grams for b in plan.batches if b.crop in demand.crops)
        missing = by_group.get(demand.group, 0)
        weeks = sum(1 for u in plan.unmet if u.group == demand.group)
        gap = "nothing short"
        if missing:
            gap = f"{mass(missing, garden.units)} short in {weeks} week{'s' if weeks > 1 else ''}"
        lines.append(f"  {demand.group[:20]:<21}{mass(picked, garden.units):>10} picked, {gap}")
    least = min((b.margin_days for b in plan.batches if b.margin_days is not None), default=None)
    if plan.lifted is not None and plan.lifted.vessels:
        lines += ["", lifting(plan.lifted, garden.units)]
    if least is not None:
        if not (plan.lifted and plan.lifted.vessels):
            lines.append("")
        lines.append(f"Nearest to dry: {least} days between a last pick and its dry date.")
    return lines + _labour(garden, plan, items)


def _labour(garden: Garden, plan: Plan, items: Sequence[Work] | None) -> list[str]:
    """How long the work takes, in one line."""
    from scheduler.outputs.labour import season

    took = season(garden, plan, items)
    if not took:
        return []
    most = max(took, key=took.__getitem__)
    return [
        f"Work: about {sum(took.values()) / 60:.0f} hours on {len(took)} days, at most "
        f"{took[most]:.0f} minutes, on {most}."
    ]


def _in_units(lifted: Lifted | None, units: str) -> dict[str, Any] | None:
    """What is lifted in the grower's units, named."""
    from scheduler.words.units import US, convert

    if lifted is None:
        return None
    unit = "lb" if units == US else "kg"
    in_all, most = (round(convert(kg, "kg", unit), 1) for kg in (lifted.kg, lifted.heaviest_kg))
    return {"vessels": lifted.vessels, "unit": unit, "in_all": in_all, "heaviest": most}


def lifting(lifted: Lifted, units: str) -> str:
    """What filling and clearing lifts, in the grower's units, in one line."""
    from scheduler.words.units import load

    count = f"{lifted.vessels:,} vessel{'s' if lifted.vessels > 1 else ''}"
    return (
        f"Lifted to fill and clear: {count}, {load(lifted.kg, units)} in all, the heaviest "
        f"{load(lifted.heaviest_kg, units)}."
    )


def promise_lines(plan: Plan, of_what: str) -> list[str]:
    """What a plan brings to the table in the years it was judged in."""
    from scheduler.plans.model import SIMPLE_RULES
    from scheduler.words.units import share

    promise, years = plan.promise, plan.years
    assert promise is not None
    assert years is not None
    lines = textwrap.wrap(
        f"A usual year brings {share(promise.usual)} {of_what} to the table, one year in five "
        f"less than {share(promise.one_in_five)}; the worst fifth of the years "
        f"{share(promise.worst_fifth)} on average.",
        79,
    )
    if promise.reachable < 0.9995:
        lines += textwrap.wrap(
            f"{share(1 - promise.reachable)} no plan can reach: in those weeks nothing is ripe.",
            79,
            initial_indent="  ",
            subsequent_indent="  ",
        )
    usual, rule = plan.by_hand.get("usual"), SIMPLE_RULES.get(plan.by_hand.get("rule", ""))
    if usual is not None:
        text = f"A simple rule would bring {share(usual)} in a usual year"
        text += f": {rule}." if rule else "."
        lines += textwrap.wrap(text, 79, subsequent_indent="  ")
    real = f"{years.real} of them real" if years.real else "made around the climate table"
    lines += textwrap.wrap(
        f"Judged in {years.judged} weather years apart ({real}), lived by a grower who waits until "
        "a crop is ripe, eats young heads when the week is short, and knows no weather ahead.",
        79,
        subsequent_indent="  ",
    )
    return lines


def _by_rule(plan: Plan) -> list[str]:
    """What the better of two simple rules would meet, and what it is."""
    from scheduler.plans.model import SIMPLE_RULES
    from scheduler.words.units import share

    met, rule = plan.by_hand.get("share"), SIMPLE_RULES.get(plan.by_hand.get("rule", ""))
    if met is None:
        return []
    text = f"A simple rule would meet {share(met)}"
    return textwrap.wrap(f"{text}: {rule}." if rule else f"{text}.", 79, subsequent_indent="  ")


def hint(garden: Garden, plan: Plan, folder: str) -> list[str]:
    """Where a plan falls short: which command tells why."""
    from scheduler.schedule.assemble import wish_total

    if plan.stages[0].value >= wish_total(garden) - 0.5:
        return []
    return [
        "",
        "What holds it back, and which small change would help most, tells",
        f"  dryline shortfall {folder}",
    ]


@contextlib.contextmanager
def ctrl_c() -> Iterator[threading.Event]:
    """An event that the first Ctrl-C sets; a second one ends the program as usual."""
    stop = threading.Event()

    def handler(*_: object) -> None:
        if stop.is_set():
            raise KeyboardInterrupt
        stop.set()
        click.echo("stopping; the best plan so far is kept (Ctrl-C again: give up)", err=True)

    if threading.current_thread() is not threading.main_thread():
        yield stop
        return
    old = signal.signal(signal.SIGINT, handler)
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, old)


@contextlib.contextmanager
def progress(quiet: bool = False) -> Iterator[Any]:
    """A function that shows `Progress`: one moving line on a terminal, a line a stage elsewhere."""
    if quiet:
        yield None
        return
    from rich.console import Console
    from rich.live import Live
    from rich.text import Text

    console = Console(stderr=True, width=None if sys.stderr.isatty() else 79)
    if not console.is_terminal:
        seen: set[str] = set()
        wish: dict[str, float] = {}  # all wishes, as the first plan tells them

        def plain(p: Progress) -> None:
            if math.isnan(p.best) and p.seconds < PATIENCE:
                return
            if p.stage == "first plan":
                wish["all"] = p.bound
            if p.stage not in seen:
                seen.add(p.stage)
                console.print(progress_line(p, wish.get("all", 0.0)), highlight=False)

        yield plain
        return
    with Live(console=console, refresh_per_second=4, transient=True) as live:
        wish = {}

        def moving(p: Progress) -> None:
            if p.stage == "first plan":
                wish["all"] = p.bound
            line = progress_line(p, wish.get("all", 0.0))
            live.update(Text(line, overflow="ellipsis", no_wrap=True))

        yield moving


def progress_line(p: Progress, wish: float = 0.0) -> str:
    """Elapsed time, stage, best value and bound of a search in 79 characters.

    ``wish``: all wishes [weighted g], of which produce is told as a share; 0 where not known.
    """
    from scheduler.words.units import share

    name = STAGES.get(p.stage, p.stage)
    if math.isnan(p.best):
        return f"{p.seconds:6.1f} s  {name}"
    if p.stage == "evenness" and wish > 0:  # a share needs no unit
        met = f"{share(p.best / wish)} of the wish, at least {share(max(p.bound, 0) / wish)}"
    elif p.stage == "effort":
        met = f"{p.best:,.0f} points, at least {max(p.bound, 0):,.0f}"
    elif p.stage in ("first plan", "produce") and wish > 0:
        met = f"{share(p.best / wish)} of the wish"
        if p.stage == "produce":
            met += f", at most {share(min(p.bound / wish, 1.0), up=True)}"
    else:
        met = f"within {share(min(p.gap, 1.0), up=True)} of the best there can be"
    return f"{p.seconds:6.1f} s  {name:<22} {met}"
