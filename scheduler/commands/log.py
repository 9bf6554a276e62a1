"""``dryline log DIR DATE WHAT ...``: add one line to the log of a plan."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from scheduler.garden.model import Garden
    from scheduler.log.model import Entry
    from scheduler.plans.model import Plan
    from scheduler.watch.judge import Watched


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.argument("day", metavar="DATE")
@click.argument("what", metavar="WHAT")
@click.argument("column", required=False, default="")
@click.argument("tier", required=False, default="")
@click.argument("amount", nargs=-1)
@click.option("--crop", default="", help="needed where column and tier do not tell")
@click.option("--note", default="", help="such as 'root disease'")
@click.option("--confirm", is_flag=True, help="it is true, improbable as it is")
@click.option("--today", metavar="DATE", help="take this day for today")
@click.option("--language", metavar="CODE", help="of what is said of the tier, such as de")
@click.option("--json", "as_json", is_flag=True, help="for machines")
def command(
    folder: Path,
    day: str,
    what: str,
    column: str,
    tier: str,
    amount: tuple[str, ...],
    crop: str,
    note: str,
    confirm: bool,
    today: str | None,
    language: str | None,
    as_json: bool,
) -> int:
    """Add a line to DIR/log.csv, and say what a level foretells of its tier.

    DATE is a day as 2027-06-03, or today. WHAT is sown, transplanted, level, picked, cleared,
    failed, ec or ph. A level without a unit is read in the garden's: cm, or in for US units.

    \b
    dryline log season today level A 2 9 1/2 in
    dryline log season 2027-06-03 picked A 2 3 plants
    dryline log season 2027-06-03 failed B 4 --note "root disease"
    """
    from scheduler.log.amounts import amount_text
    from scheduler.log.append import append, unit_left_out
    from scheduler.log.model import short
    from scheduler.plans.folder import LOG_FILE, read_plan_dir
    from scheduler.words.language import check_language, use_language
    from scheduler.words.units import Units

    check_language(language)
    use_language(language)
    if confirm:
        note = f"{note}, confirmed" if note else "confirmed"
    now = _day(today, "--today") if today else date.today()
    garden, plan = read_plan_dir(folder, brief=True)
    row = {
        "date": now.isoformat() if day.lower() == "today" else day,
        "what": what,
        "column": column,
        "tier": tier,
        "crop": crop,
        "amount": " ".join(amount),
        "note": note,
    }
    read_in = unit_left_out(garden, row)
    entry, others = append(folder / LOG_FILE, garden, plan, row, now)
    foretold = _foretold(folder, garden, plan, entry, now)
    if as_json:
        body: dict[str, Any] = {
            **asdict(entry),
            "date": entry.date.isoformat(),
            "file": str(folder / LOG_FILE),
            "other_faults": [asdict(f) for f in others],
        }
        if foretold is not None:
            from scheduler.watch.text import as_data

            body["tier_foretold"] = as_data(foretold)
        click.echo(json.dumps(body, indent=1, ensure_ascii=False))
        return 0
    written = amount_text(entry.amount, entry.unit, Units(garden.units))
    if read_in:
        written += f" (no unit given: read in {read_in})"
    click.echo(f"{folder / LOG_FILE}:{entry.line}: {short(entry)} {written}".rstrip())
    if foretold is not None:
        from scheduler.watch.text import said
        from scheduler.words.words import wrap

        click.echo("\n".join(wrap(said(garden, foretold, Units(garden.units)), 79)))
    for fault in others:
        click.echo(f"  to mend: {fault.text()}", err=True)
    return 0


def _foretold(folder: Path, garden: Garden, plan: Plan, entry: Entry, now: date) -> Watched | None:
    """What a level foretells of its tier; nothing of another entry, or without a table."""
    from scheduler.log.amounts import LEVEL

    if entry.what != LEVEL or entry.tier is None:
        return None
    from scheduler.log.model import read_log_file
    from scheduler.plans.folder import LOG_FILE
    from scheduler.watch.forecast import read
    from scheduler.watch.judge import watched

    table = read(folder, plan)
    if not table.batches:
        return None
    log = read_log_file(folder / LOG_FILE, garden)
    found = watched(garden, plan, log, table, now, (entry.column, entry.tier))
    return found[0] if found else None


def _day(text: str, option: str) -> date:
    from scheduler.base.faults import BadInput, Fault

    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput([Fault(option, None, "", text, "a day as 2027-06-03")]) from None
