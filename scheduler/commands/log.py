"""``dryline log DIR DATE WHAT ...``: add to the log of a plan, or strike out the last line."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.commands.day import day_of
from scheduler.commands.share import PlanDir

if TYPE_CHECKING:
    from scheduler.base.faults import Fault
    from scheduler.garden.model import Garden
    from scheduler.log.model import Entry
    from scheduler.watch.answer import Answer


@click.command()
@click.argument("folder", metavar="DIR", type=PlanDir())
@click.argument("words", metavar="[DATE] [WHAT] [COLUMN TIER] [AMOUNT]", nargs=-1)
@click.option("--from", "source", metavar="FILE", help="an entry a line; - is what is piped in")
@click.option("--undo", is_flag=True, help="strike out the last entry; the file keeps it")
@click.option("--crop", default="", help="needed where column and tier do not tell")
@click.option("--note", default="", help="such as 'root disease'")
@click.option("--confirm", is_flag=True, help="it is true, improbable as it is")
@click.option("--today", metavar="DATE", help="take this day for today")
@click.option("--language", metavar="CODE", help="of what is said of the tier, such as de")
@click.option("--json", "as_json", is_flag=True, help="for machines")
def command(
    folder: Path,
    words: tuple[str, ...],
    source: str | None,
    undo: bool,
    crop: str,
    note: str,
    confirm: bool,
    today: str | None,
    language: str | None,
    as_json: bool,
) -> int:
    """Add to DIR/log.csv what happened, and say what it foretells of the tier.

    DATE is a day as 2027-06-03, or today. Numbers without a unit are read in the garden's.

    \b
    WHAT, and the amount that goes with it:
      sown 4 cells        transplanted 6      cleared, failed
      level 24.5 cm       picked 3 plants     ec 1.6, ph 6.1
      emerged 9 of 12     thinned 2           lost 2 of 6
      rain 12 mm          topped 1.5 L        ripe, width 18 cm
      moved, covered, shaded, uncovered       (a tier, a column, or all)
      pest, note                              (and what it is, in words)

    \b
    dryline log season today level A 2 9 1/2 in
    dryline log season 2027-06-03 picked A 2 3 plants
    dryline log season 2027-06-03 failed B 4 --note "root disease"
    dryline log season today emerged pak_choi 9 of 12
    dryline log season --from monday.txt
    """
    from scheduler.log.append import append_all
    from scheduler.log.model import read_log_file
    from scheduler.log.strike import strike_last
    from scheduler.log.typed import row_of, rows_of
    from scheduler.plans.folder import LOG_FILE, read_plan_dir
    from scheduler.watch.answer import answer, as_data
    from scheduler.watch.forecast import read
    from scheduler.words.language import check_language, use_language

    if sum((bool(words), source is not None, undo)) != 1:
        raise click.UsageError("expected DATE and WHAT, or --from, or --undo")
    if source is not None and (crop or note or confirm):
        raise click.UsageError("--crop, --note and --confirm stand in the lines of the file")
    check_language(language)
    use_language(language)
    now = day_of(today, "--today") if today else date.today()
    garden, plan = read_plan_dir(folder, brief=True)
    file = folder / LOG_FILE
    if undo:
        struck = strike_last(file)
        said = json.dumps({"struck": struck, "file": str(file)}, ensure_ascii=False)
        click.echo(said if as_json else f"{file}: struck out: {struck}")
        return 0
    if source is not None:
        rows, places = rows_of(garden, _text(source), source, now)
    else:
        rows, places = [row_of(garden, words, now, crop, note, confirm)], []
    entries, others = append_all(file, garden, plan, rows, now, places)
    log = read_log_file(file, garden)
    told = answer(garden, plan, log, read(folder, plan), entries, now, str(folder))
    if as_json:
        body = [as_data(file, e, others, told) for e in entries]
        shown = body if source is not None else body[0]
        click.echo(json.dumps(shown, indent=1, ensure_ascii=False))
        return 0
    _say(garden, file, rows, entries, others, told)
    return 0


def _say(
    garden: Garden,
    file: Path,
    rows: Sequence[dict[str, str]],
    entries: Sequence[Entry],
    others: Sequence[Fault],
    told: Answer,
) -> None:
    from scheduler.log.amounts import TOPPED, amount_text
    from scheduler.log.append import unit_left_out
    from scheduler.log.model import short
    from scheduler.words.fault_text import fault_text
    from scheduler.words.words import Units, top_up, wrap

    units = Units(garden.units)
    for row, entry in zip(rows, entries, strict=True):
        written = amount_text(entry.amount, entry.unit, units)
        if entry.of:
            written = f"{entry.amount:g} of {entry.of} {entry.unit}"
        if read_in := unit_left_out(garden, row):
            written += f" (no unit given: read in {read_in})"
        click.echo(f"{file}:{entry.line}: {short(entry)} {written}".rstrip())
    lines = told.lines(garden, units)
    if any(e.what == TOPPED for e in entries):
        lines.append(top_up(units))
    for line in lines:
        click.echo("\n".join(wrap(line, 79)))
    for fault in others:
        click.echo(f"  to mend: {fault_text(fault)}", err=True)


_MOST_BYTES = 1_000_000


def _text(source: str) -> str:
    """What a file, or the standard input, holds."""
    import sys

    from scheduler.base.texts import decode

    if source == "-":
        return decode(sys.stdin.buffer.read(_MOST_BYTES + 1), "-", _MOST_BYTES)
    return decode(Path(source).read_bytes(), source, _MOST_BYTES)
