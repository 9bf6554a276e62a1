"""The calendar as text of at most 80 columns, to print or to read with wet hands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from itertools import groupby

from scheduler.garden.model import Garden
from scheduler.outputs import labour, work
from scheduler.outputs.beside import as_sentence, of_weeks
from scheduler.outputs.blanks import meters_too
from scheduler.outputs.cautions import CAUTIONS, due
from scheduler.outputs.empty import empty_text
from scheduler.outputs.energy_text import lamp_sentences
from scheduler.outputs.in_brief import (
    Common,
    common,
    lines_in_brief,
    notes_in_brief,
    without_spans,
)
from scheduler.outputs.legend import column_note
from scheduler.outputs.nursery_light import nursery_sentences
from scheduler.outputs.sentences import look_ahead, look_days
from scheduler.outputs.together import (
    HARD,
    Legend,
    Line,
    day_lines,
    heaviest,
    legend,
    level_cell,
    notes,
)
from scheduler.outputs.weeks import TableWeek, produce, table_weeks
from scheduler.outputs.work import Work
from scheduler.plans.model import Plan
from scheduler.words.words import (
    VERB,
    Units,
    _,
    about,
    long_date,
    on_the_table,
    pad,
    plan_mark,
    sheet_start,
    sheet_week,
    sheet_weeks,
    short_date,
    short_span,
    shown_width,
    span,
    weekday,
    wrap,
)

WIDTH = 80
BRIEF = 7  # days; a longer span is printed in brief, without blanks to write into
_IN = " " * 5  # where the text of a line goes on


def calendar(
    garden: Garden,
    plan: Plan,
    items: Sequence[Work],
    units: Units,
    first: date | None = None,
    last: date | None = None,
) -> str:
    """The season's days from ``first`` to ``last`` (both included; None: all of them)."""
    start, end = max(first or garden.first, garden.first), min(last or plan.end, plan.end)
    shown = [w for w in items if start <= w.date <= end]
    table = table_weeks(garden, plan)
    brief = common(shown) if (end - start).days >= BRIEF else None
    shared = brief or legend(shown)
    lines = _head(garden, plan, start, end)
    if (start, end) == (plan.start, plan.end) and (empty := empty_text(garden, plan)):
        lines += wrap(empty, WIDTH, "", "  ")
    lines += _notes(garden, shown, shared, units)
    weeks = {d: sheet_week(d) for d in {w.date for w in shown}}
    by_week = {k: list(v) for k, v in groupby(shown, key=lambda w: weeks[w.date])}
    beside = of_weeks(garden, plan, units, brief is not None)
    every = look_days(items)
    looks = {d: t for d, t in every.items() if d in weeks} if brief else {}
    for week in sheet_weeks(start, end):
        rows = [r for r in table if r.week == week]
        todo = by_week.get(week, [])
        lines += _week(
            garden,
            week,
            todo,
            rows,
            units,
            [*beside.get(week, ()), look_ahead(every, week, looks)],
            shared,
            looks,
        )
    lines += _cautions(shown)
    return "\n".join(line.rstrip() for line in lines).replace(HARD, " ") + "\n"


def _head(garden: Garden, plan: Plan, start: date, end: date) -> list[str]:
    name = garden.name + (" " + _("(an invented garden)") if garden.invented else "")
    when = long_date(start) if start == end else span(start, end)
    lines = [*wrap(name, WIDTH), when, *filter(None, [plan_mark(plan)]), ""]
    said = _(
        "On each day work from the top of the list down. EC and levels are expected values: write "
        "down what you measure."
    )
    lines += wrap(f"{column_note(garden)} {said}".strip(), WIDTH)
    if (start, end) == (garden.first, plan.end):
        for said in [*lamp_sentences(garden, plan), *nursery_sentences(garden, plan)]:
            lines += wrap(said, WIDTH, "", "  ")
    for away in garden.season.away:
        if away.end >= start and away.start <= end:
            lines += wrap(
                _("Away {span}: no work is planned.").format(span=span(away.start, away.end)), WIDTH
            )
    return lines


def _notes(
    garden: Garden, items: Sequence[Work], shared: Legend | Common, units: Units
) -> list[str]:
    """How to read the lines below, and each caution in short; all of it once."""
    if isinstance(shared, Common):
        said = notes(garden, without_spans(items), shared.fills, units) + notes_in_brief(
            garden, shared, items, units
        )
        if any(w.look_from is not None for w in items):
            said.append(_("LOOK AT: it may be ready before its day."))
    else:
        said = notes(garden, items, shared, units)
    if isinstance(shared, Common):
        said = _joined(said)
    lines = [line for text in said for line in wrap(text, WIDTH, "", "  ")]
    if isinstance(shared, Common):  # in full at the end, which is read with the season
        return [
            *lines,
            *wrap(_("Cautions stand in full at the end: read them first."), WIDTH, " !  "),
        ]
    for caution in due(w.kind for w in items):
        lines += wrap(f"{_(caution.name)}: {_(caution.short)}", WIDTH, " !  ", "    ")
    return lines


def _joined(said: Sequence[str]) -> list[str]:
    """Paragraphs, the shortest behind the one before: a line each would be half empty."""
    out: list[str] = []
    for text in said:
        if out and shown_width(text) < WIDTH - 10:
            out[-1] += " " + text
        else:
            out.append(text)
    return out


def _week(
    garden: Garden,
    week: str,
    items: Sequence[Work],
    rows: Sequence[TableWeek],
    units: Units,
    more: Sequence[str],
    shared: Legend | Common,
    looks: Mapping[date, Sequence[str]],
) -> list[str]:
    first = sheet_start(week)
    title = _("WEEK {number}").format(number=int(week[-2:]))
    dates = span(first, first + timedelta(days=6))
    idle = "" if items else ". " + _("No work this week.")
    said = [on_the_table() + ": " + produce(rows, units) + "."] if rows else []
    last = first + timedelta(days=6)
    short = short_span(first, last) if first.year == last.year else dates
    beside = f"{short}: {produce(rows, units)}{idle}" if rows else dates + idle
    dates += idle
    if isinstance(shared, Common) and shown_width(title + beside) + 4 <= WIDTH:
        dates, said = beside, []
    rule = "=" * max(WIDTH - 2 - shown_width(title + dates), 0)
    lines = [f"{title} {rule} {dates}"]
    if said := [*said, *map(as_sentence, filter(None, more))]:
        lines += wrap(" ".join(said), WIDTH, "", "  ")
    for day, work_of_day in groupby(items, key=lambda w: w.date):
        lines += _day(garden, day, list(work_of_day), units, shared, looks.get(day, ()))
    return lines


def _day(
    garden: Garden,
    day: date,
    items: Sequence[Work],
    units: Units,
    shared: Legend | Common,
    look: Sequence[str],
) -> list[str]:
    title = f"{weekday(day).upper()} {short_date(day)}"
    took = about(labour.of_items(garden, items))
    if kg := heaviest(items):
        took = ", ".join(filter(None, [took, _("lift {kg}").format(kg=units.weight_text(kg))]))
    rule = "-" * (WIDTH - 1 - shown_width(title) - shown_width(took) - bool(took))
    lines = [f"{title} {rule} {took}"]
    if isinstance(shared, Common):
        made = _packed(lines_in_brief(garden, items, units, shared), look)
        beside = ", ".join(filter(None, [title, took]))
        if shown_width(beside) + 2 + shown_width(made[0]) <= WIDTH:
            return [f"{beside}  {made[0]}", *made[1:]]
        return lines + made
    # Verbs stand in one column, but for support, which is seldom and long.
    room = max(shown_width(_(VERB[k])) for k in VERB if k != work.SUPPORT)
    for line in day_lines(garden, items, units, shared):
        verb = _(VERB[line.kind]).upper()
        if line.kind == work.LEVEL:
            lines += _levels(verb, line.items, units)
            if too := meters_too(line.items):
                lines += wrap(too, WIDTH, _IN, _IN)
        else:
            lines += wrap(line.text, WIDTH, f" [ ] {pad(verb, room)} ", _IN)
    return lines


def _packed(work_lines: Sequence[Line], look: Sequence[str]) -> list[str]:
    """A box to tick for each piece of work; short ones stand side by side.

    ``look``: tiers that may be ready before their day.
    """
    lines: list[str] = []
    for line in work_lines:
        made = wrap(line.text, WIDTH, f"[ ] {_(VERB[line.kind]).upper()} ", _IN)
        side = f"{lines[-1]}  {made[0]}" if lines else ""
        if len(made) == 1 and side and shown_width(side) <= WIDTH:
            lines[-1] = side
        else:
            lines += made
    if look:  # not bound to an order: behind any line that has room
        tiers = ", ".join(tier.replace(" ", HARD) for tier in look)
        text = f"[ ] {_('look at').upper()} {tiers}"
        ends = [
            n for n, line in enumerate(lines) if not lines[n + 1 :][:1] or lines[n + 1][0] == "["
        ]
        at = next((n for n in reversed(ends) if shown_width(f"{lines[n]}  {text}") <= WIDTH), None)
        if at is None:
            lines += wrap(text, WIDTH, "", _IN)
        else:
            lines[at] += f"  {text}"
    return lines


def _levels(verb: str, items: Sequence[Work], units: Units) -> list[str]:
    """All readings of a day side by side, each with a blank for the measured one."""
    cells = [f"{level_cell(w, units)}{HARD}___" for w in items]
    head = f"{verb} "
    rest = " " * shown_width(head)
    width, room = max(map(shown_width, cells)), WIDTH - len(rest)
    gap = 2 if 4 * width + 3 * 2 <= room else 1
    across = (room + gap) // (width + gap)
    if across < 2:
        return [
            line for c in cells for line in wrap(c, WIDTH, head if c is cells[0] else rest, rest)
        ]
    rows = [cells[i : i + across] for i in range(0, len(cells), across)]
    return [
        (rest if n else head) + (" " * gap).join(pad(c, width) for c in row)
        for n, row in enumerate(rows)
    ]


def _cautions(items: Sequence[Work]) -> list[str]:
    """The full text of every caution that stood in short at the head."""
    present = due(w.kind for w in items)
    if not present:
        return []
    title = _("CAUTIONS IN FULL")
    lines = [f"{title} {'=' * (WIDTH - 1 - shown_width(title))}"]
    for caution in CAUTIONS:
        if caution in present:
            lines += wrap(f"{_(caution.name)}. {_(caution.full)}", WIDTH)
    return lines
