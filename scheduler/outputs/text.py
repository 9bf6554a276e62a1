"""The calendar as text of at most 80 columns, to print or to read with wet hands."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import groupby

from scheduler.garden.model import Garden
from scheduler.outputs import labour, work
from scheduler.outputs.act import act_note, level_text
from scheduler.outputs.blanks import level_blanks, with_blanks
from scheduler.outputs.cautions import CAUTIONS, due
from scheduler.outputs.sentences import crop_title, look_ahead, sentence
from scheduler.outputs.weeks import TableWeek, table_weeks
from scheduler.outputs.work import Work
from scheduler.plans.model import Plan
from scheduler.words.words import (
    VERB,
    Units,
    _,
    about,
    on_the_table,
    pad,
    plan_mark,
    sheet_start,
    sheet_week,
    sheet_weeks,
    short_date,
    shown_width,
    span,
    tier_label,
    weekday,
    wrap,
)

WIDTH = 80
_VERB, _PLACE = 9, 6  # columns of the verb and, at least, of the tier label
_GROUP, _MASS = 18, 11  # columns of a group, at least, and of a mass


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
    lines = _head(garden, plan, start, end)
    if any(w.act_cm is not None for w in shown):
        lines += wrap(act_note(), WIDTH)
    weeks = {d: sheet_week(d) for d in {w.date for w in shown}}
    by_week = {k: list(v) for k, v in groupby(shown, key=lambda w: weeks[w.date])}
    for week in sheet_weeks(start, end):
        rows = [r for r in table if r.week == week]
        lines += _week(garden, week, by_week.get(week, []), rows, units, look_ahead(items, week))
    lines += _cautions(shown)
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _head(garden: Garden, plan: Plan, start: date, end: date) -> list[str]:
    name = garden.name + (" " + _("(an invented garden)") if garden.invented else "")
    lines = [*wrap(name, WIDTH), span(start, end), *filter(None, [plan_mark(plan)]), ""]
    said = _(
        "On each day work from the top of the list down. EC and levels are expected values: write "
        "down what you measure."
    )
    own = next((c.name for c in garden.columns if len(c.tiers) > 1), None)
    if own is not None:
        where = _("{place} is column {column}, tier 2 from the top.")
        said = f"{where.format(place=tier_label(own, 2), column=own)} {said}"
    lines += wrap(said, WIDTH)
    for away in garden.season.away:
        if away.end >= start and away.start <= end:
            lines += wrap(
                _("Away {span}: no work is planned.").format(span=span(away.start, away.end)), WIDTH
            )
    return lines


def _week(
    garden: Garden,
    week: str,
    items: Sequence[Work],
    rows: Sequence[TableWeek],
    units: Units,
    look: str,
) -> list[str]:
    first = sheet_start(week)
    title = _("WEEK {number}").format(number=int(week[-2:]))
    dates = span(first, first + timedelta(days=6))
    between = " " * (WIDTH - shown_width(title + dates))
    lines = ["", "=" * WIDTH, title + between + dates, "=" * WIDTH]
    lines += _on_the_table(garden, rows, units)
    lines += ["", *wrap(look, WIDTH, "", "  ")] if look else []
    if not items:
        lines += ["", _("No work this week.")]
    for day, work_of_day in groupby(items, key=lambda w: w.date):
        lines += ["", *_day(garden, day, list(work_of_day), units)]
    return lines


def _on_the_table(garden: Garden, rows: Sequence[TableWeek], units: Units) -> list[str]:
    if not rows:
        return []
    names = [r.group or _("no wish") for r in rows]
    heads = (_("picked"), _("served"), _("wish"), _("short"))
    room = min(
        max([_GROUP, *(shown_width(n) + 1 for n in (*names, on_the_table()))]),
        WIDTH - _MASS * len(heads),
    )
    lines = [pad(on_the_table(), room) + "".join(pad(h, _MASS, ">") for h in heads)]
    for name, row in zip(names, rows, strict=True):
        short = units.mass_text(row.short) if row.short else "-"
        masses = [units.mass_text(m) for m in (row.picked, row.served, row.wish)]
        first, *more = wrap(name, room - 1)
        lines.append(pad(first, room) + "".join(pad(m, _MASS, ">") for m in [*masses, short]))
        lines += more
    crops = [
        f"{crop_title(garden, crop)} {units.mass_text(grams)}"
        for row in rows
        for crop, grams in row.crops
    ]
    if crops:
        lines += wrap(_("picked:") + " " + ", ".join(crops), WIDTH, "  ", "    ")
    return lines


def _day(garden: Garden, day: date, items: Sequence[Work], units: Units) -> list[str]:
    title = f"{weekday(day).upper()} {short_date(day)}"
    took = about(labour.of_items(garden, items))
    rule = "-" * (WIDTH - 1 - shown_width(title) - shown_width(took) - bool(took))
    lines = [f"{title} {rule} {took}"]
    levels = [w for w in items if w.kind == work.LEVEL]
    if levels:
        lines += _levels(levels, units)
    place = max([_PLACE, *(shown_width(tier_label(w.column, w.tier)) + 1 for w in items)])
    place = min(place, 20)
    for item in items:
        if item.kind == work.LEVEL:
            continue
        where = "" if item.kind == work.SOW else tier_label(item.column, item.tier)
        head = f" [ ] {pad(_(VERB[item.kind]).upper(), _VERB)}"
        text = with_blanks(item, sentence(garden, item, units))
        if shown_width(where) < place:
            head += pad(where, place)
        else:  # a long column name takes its place in the sentence
            head += " " * place
            text = f"{where}: {text}"
        lines += wrap(text, WIDTH, head, " " * (5 + _VERB + place))
    for caution in due(w.kind for w in items):
        lines += wrap(f"{_(caution.name)}: {_(caution.short)}", WIDTH, "  !  ", "     ")
    return lines


def _levels(items: Sequence[Work], units: Units) -> list[str]:
    """All readings of a day side by side: tier, expected depth, a blank for the measured one."""
    cells = [
        level_blanks(w, f"{tier_label(w.column, w.tier)}  {level_text(w, units)}") for w in items
    ]
    head = f" [ ] {pad(_(VERB[work.LEVEL]).upper(), _VERB)}"
    room = WIDTH - len(head)
    width = max(shown_width(c) for c in cells) + 3
    across = max(1, (room + 3) // width)
    lines = []
    for i in range(0, len(cells), across):
        row = cells[i : i + across]
        if across == 1:
            lines += wrap(row[0], WIDTH, head, " " * len(head))
        else:
            lines.append(head + "".join(pad(c, width) for c in row))
        head = " " * len(head)
    return lines


def _cautions(items: Sequence[Work]) -> list[str]:
    """The full text of every caution that stood in short among these days."""
    present = due(w.kind for w in items)
    if not present:
        return []
    lines = ["", "=" * WIDTH, _("CAUTIONS IN FULL"), "=" * WIDTH]
    for caution in CAUTIONS:
        if caution in present:
            lines += ["", *wrap(f"{_(caution.name)}. {_(caution.full)}", WIDTH)]
    return lines
