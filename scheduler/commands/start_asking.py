"""Asks a grower about the garden, writes it, plans it: ``dryline start`` on a terminal."""

from __future__ import annotations

import json
import os
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import click

from scheduler.base.faults import BadInput, DrylineError, Fault
from scheduler.beginning.answers import Answers, Wrong
from scheduler.beginning.files import SEASON, files_of, write_files
from scheduler.beginning.questions import Question, of, questions
from scheduler.words.units import METRIC, US
from scheduler.words.words import _

WIDTH = 79
QUICK_TIERS = 12  # up to which a plan is made in the time given; larger gardens get more


@dataclass
class Counted:
    """Questions asked, keys pressed for the answers, answers asked for again."""

    questions: int = 0
    keys: int = 0
    again: int = 0


def begin(
    folder: Path,
    told: Mapping[str, str],
    asked: bool,
    time_limit: float | None,
    workers: int,
    as_json: bool,
    today: date,
) -> int:
    """Answers from options and questions, files, plan; ``time_limit`` None: no plan.

    Raises
    ------
    BadInput
        Every option that cannot be read.
    """
    list_ = questions(today, US if os.environ.get("LANG", "").startswith("en_US") else METRIC)
    counted = Counted()
    found = _told(list_, told)
    if asked:
        click.echo(_("A few questions. Return takes what stands in brackets; Ctrl-C ends.") + "\n")
    for one in list_:
        if one.key not in found:
            found[one.key] = _ask(one, found, counted) if asked else _default(one, found)
    a = of(found)
    files, remarks = files_of(a)
    write_files(folder, files)
    body: dict[str, Any] = {
        "written": [str(folder / name) for name in files],
        "units": a.units,
        "invented_weather": not isinstance(a.climate, Path),
        "remarks": remarks,
        "asked": vars(counted),
    }
    if not as_json:
        click.echo("\n" + _("written: {files}").format(files=", ".join(body["written"])))
        for remark in remarks:
            click.echo("\n".join(textwrap.wrap(remark, WIDTH)))
    if time_limit is not None:
        body["plan"] = _planned(folder, a, time_limit, workers, as_json)
    if as_json:
        click.echo(json.dumps(body, indent=1, ensure_ascii=False))
        return 0
    yaml, season = folder / "garden.yaml", folder / SEASON
    text = _("next: change {file} as you like, then plan again beside this plan")
    click.echo("\n" + text.format(file=yaml))
    click.echo(f"  dryline plan {yaml}")
    if "status" in body.get("plan", {}):
        click.echo(f"  dryline calendar {season}     " + _("what to do, day by day"))
    return 0


def _told(list_: tuple[Question, ...], told: Mapping[str, str]) -> dict[str, Any]:
    """What options tell; a question that others wait for has its default before them."""
    found: dict[str, Any] = {}
    faults: list[Fault] = []
    for one in list_:
        if one.key not in told:
            continue
        before = {**{o.key: None for o in list_}, **found}
        try:
            if one.key == "grows" and found.get("stack") is None:
                stack = next(o for o in list_ if o.key == "stack")
                before["stack"] = stack.read(stack.default(before), before)
            found[one.key] = one.read(told[one.key], before)
        except Wrong as error:
            name = "--" + one.key.replace("_", "-")
            faults.append(Fault(name, None, "", told[one.key], str(error)))
    if faults:
        raise BadInput(faults)
    return found


def _default(one: Question, found: Mapping[str, Any]) -> Any:
    return one.read(one.default(found), found)


def _ask(one: Question, found: Mapping[str, Any], counted: Counted) -> Any:
    """One question until its answer can be read."""
    for line in one.lines(found):
        click.echo(line)
    counted.questions += 1
    while True:
        default = one.default(found)
        prompt = one.text
        if len(prompt) + len(default) + 5 > WIDTH:  # on a line of its own
            click.echo("\n".join(textwrap.wrap(prompt, WIDTH)))
            prompt = " "
        text = str(click.prompt(prompt, default=default, show_default=True)).strip()
        counted.keys += 1 if text == default else len(text) + 1
        try:
            answer = one.read(text, found)
        except Wrong as error:
            counted.again += 1
            said = "  " + _("expected {what}").format(what=error)
            click.echo("\n".join(textwrap.wrap(said, WIDTH, subsequent_indent="  ")))
        else:
            click.echo("")
            return answer


def _planned(
    folder: Path, a: Answers, time_limit: float, workers: int, as_json: bool
) -> dict[str, Any]:
    """Plan it and tell what it is worth; where there is no plan, why, and the files stay."""
    from scheduler.commands.running import ctrl_c, progress
    from scheduler.commands.summary import hint, outcome, summary
    from scheduler.outputs.files import season_files
    from scheduler.plans.folder import write_plan_dir
    from scheduler.solvers.cp_sat import Settings
    from scheduler.usecases import plan_season
    from scheduler.years import PLANNED

    tiers = a.stack.columns * a.stack.tiers
    seconds = time_limit * max(1.0, min(tiers / QUICK_TIERS, 3.0))
    settings = Settings(time_limit=seconds, workers=workers)
    try:
        with ctrl_c() as stop, progress(quiet=as_json) as report:
            made = plan_season(
                folder / "garden.yaml", settings, report=report, stop=stop, years=PLANNED
            )
    except DrylineError as error:
        if not as_json:
            click.echo("\n" + _("no plan yet: {why}").format(why=error.text()))
        return error.as_dict()
    files = season_files(made.garden, made.plan)
    write_plan_dir(folder / SEASON, made.plan, made.sources, files)
    if not as_json:
        click.echo("")
        season = str(folder / SEASON)
        for line in [*summary(made.garden, made.plan), *hint(made.garden, made.plan, season)]:
            click.echo(line)
        if made.stands:
            click.echo("\n" + _("What stands today:"))
            for line in made.stands:
                click.echo("\n".join(textwrap.wrap(line, WIDTH, subsequent_indent="  ")))
    return {**outcome(made.garden, made.plan, str(folder / SEASON)), "stands": list(made.stands)}
