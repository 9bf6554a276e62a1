"""``dryline phone DIR``: the plan as one file for a phone, and what was written on it back."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.commands.day import day_of
from scheduler.commands.share import plan_argument, units_option
from scheduler.commands.waiting import waiting

if TYPE_CHECKING:
    from scheduler.garden.model import Garden
    from scheduler.log.model import Log
    from scheduler.plans.model import Plan
    from scheduler.replanning.in_case import Cases


@click.command()
@plan_argument()
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="write to this file")
@click.option(
    "--take",
    multiple=True,
    metavar="FILE",
    help="put what phones handed on into the log; what is there already is left out",
)
@click.option(
    "--seconds",
    type=click.FloatRange(min=0),
    default=40.0,
    show_default=True,
    help="work out what to do if a tier is lost for so long; 0: leave it out",
)
@units_option()
@click.option("--today", metavar="DATE", help="take this day for today")
@click.option("--language", metavar="CODE", help="such as de")
@click.option("--json", "as_json", is_flag=True, help="for machines")
def command(
    folder: Path,
    out: Path | None,
    take: tuple[str, ...],
    seconds: float,
    units: str | None,
    today: str | None,
    language: str | None,
    as_json: bool,
) -> int:
    """Make one file of the plan in DIR that a phone opens without a network: the day's work to
    tick, levels with what they foretell, picks, notes; what to do in the next two weeks if a tier
    is lost, in a hot week, in a week away. It is written to phone.html in DIR.

    What was written on it comes out as text; --take puts the text of one or more phones into
    DIR/log.csv. Make the file anew after a re-plan, and when the log has grown.
    """
    from scheduler.log.model import HEADER, read_log, read_log_file
    from scheduler.plans.folder import LOG_FILE, read_plan_dir
    from scheduler.words.language import check_language, use_language

    if take and out:
        raise click.UsageError("expected --out or --take, one at a time")
    check_language(language)
    use_language(language)
    now = date.today() if today is None else day_of(today, "--today")
    garden, plan = read_plan_dir(folder, brief=bool(take))
    if take:
        return _take(folder / LOG_FILE, garden, plan, take, now, as_json)
    from scheduler.base.files import write_atomic
    from scheduler.outputs import phone
    from scheduler.outputs.act import with_act
    from scheduler.outputs.work import work_items
    from scheduler.plans.places import check_places
    from scheduler.watch.forecast import read
    from scheduler.words.units import Units

    check_places(garden, plan, str(folder / "plan.json"))
    file = folder / LOG_FILE
    empty = read_log(f"{HEADER}\n".encode(), str(file), garden)
    log = read_log_file(file, garden) if file.exists() else empty
    table = read(folder, plan)
    items = with_act(plan, work_items(garden, plan), table)
    with waiting("making the file for a phone"):
        asked = seconds and now <= plan.end
        cases = _cases(folder, garden, plan, log, now, seconds) if asked else None
        made = phone.page(garden, plan, items, Units(units or garden.units), table, log, now, cases)
    target = out or folder / "phone.html"
    write_atomic(target, made)
    if as_json:
        body = {"file": str(target), "bytes": len(made.encode())}
        click.echo(json.dumps(body, ensure_ascii=False))
    else:
        click.echo(f"wrote {target}")
    return 0


def _cases(
    folder: Path, garden: Garden, plan: Plan, log: Log, now: date, seconds: float
) -> Cases | None:
    """What to do if; None, and a word on the error output, where the log must be mended first."""
    from scheduler.base.faults import DrylineError
    from scheduler.usecases.cases import cases_of

    try:
        return cases_of(folder, garden, plan, log, now, seconds)
    except DrylineError as error:
        click.echo(error.text(), err=True)
        click.echo("The file is made without what to do if a tier is lost.", err=True)
        return None


def _take(
    log_file: Path, garden: Garden, plan: Plan, files: Sequence[str], now: date, as_json: bool
) -> int:
    """Each entry by itself, the oldest first: written, there already, or refused with why."""
    from scheduler.base.faults import BadInput, Fault
    from scheduler.log.merge import merge
    from scheduler.log.typed import rows_of

    rows, places, faults = [], [], []
    for name in files:
        try:
            text = click.open_file(name, encoding="utf-8-sig").read()
        except (OSError, UnicodeDecodeError) as error:
            faults.append(Fault(name, None, "", str(error), "a text that a phone handed on"))
            continue
        if not text.strip():
            continue
        try:
            found, where = rows_of(garden, text, name, now)
        except BadInput as error:
            faults += error.faults
            continue
        rows += found
        places += where
    if faults:
        raise BadInput(faults)
    done = merge(log_file, garden, plan, rows, places, now)
    if as_json:
        body = {
            "written": len(done.written),
            "there_already": done.known,
            "refused": [f.text() for f in done.refused],
            "file": str(log_file),
        }
        click.echo(json.dumps(body, indent=1, ensure_ascii=False))
    else:
        click.echo(f"{log_file}: {len(done.written)} written, {done.known} there already")
        for fault in done.refused:
            click.echo(f"  not written: {fault.text()}", err=True)
    return 2 if done.refused else 0
