"""Dates and labels as the grower reads them, in the language in use.

The language itself is in `words.language`, units are in `words.units`; their names
can be had from here too.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from rich.cells import cell_len

from crops.vessel import LATE_RISE_CM
from scheduler.words import work_kinds as work
from scheduler.words.language import LOCALE as LOCALE
from scheduler.words.language import N_ as N_
from scheduler.words.language import ONE_WEEK as ONE_WEEK
from scheduler.words.language import SHORT_DAY
from scheduler.words.language import Shown as Shown
from scheduler.words.language import _ as _
from scheduler.words.language import check_language as check_language
from scheduler.words.language import habit as habit
from scheduler.words.language import on_the_table as on_the_table
from scheduler.words.language import plural as plural
from scheduler.words.language import sheet_start as sheet_start
from scheduler.words.language import sheet_week as sheet_week
from scheduler.words.language import sheet_weeks as sheet_weeks
from scheduler.words.language import use_language as use_language
from scheduler.words.units import Units as Units

if TYPE_CHECKING:
    from scheduler.plans.model import Plan

_BREAKS = re.compile(r"[^\S\N{NO-BREAK SPACE}]+")
_LEAST_NAME = 6  # cells of a column of names in a table

WEEKDAYS = (
    N_("Monday"),
    N_("Tuesday"),
    N_("Wednesday"),
    N_("Thursday"),
    N_("Friday"),
    N_("Saturday"),
    N_("Sunday"),
)
MONTHS = (
    N_("January"),
    N_("February"),
    N_("March"),
    N_("April"),
    N_("May"),
    N_("June"),
    N_("July"),
    N_("August"),
    N_("September"),
    N_("October"),
    N_("November"),
    N_("December"),
)

# What each kind of work is called: in front of a line, and in a heading.
VERB = {
    work.LEVEL: N_("level"),
    work.SHELTER: N_("cover"),
    work.PROTECT: N_("protect"),
    work.SHADE: N_("shade"),
    work.SUPPORT: N_("support"),
    work.PICK: N_("pick"),
    work.CLEAR: N_("clear"),
    work.MOVE: N_("move"),
    work.FILL: N_("fill"),
    work.TRANSPLANT: N_("plant"),
    work.HARDEN: N_("harden"),
    work.SOW: N_("sow"),
}
HEADING = {
    work.LEVEL: N_("Check levels"),
    work.SHELTER: N_("Cover"),
    work.PROTECT: N_("Protect from cold"),
    work.SHADE: N_("Shade"),
    work.SUPPORT: N_("Support"),
    work.PICK: N_("Pick"),
    work.CLEAR: N_("Clear and clean"),
    work.MOVE: N_("Move"),
    work.FILL: N_("Mix and fill"),
    work.TRANSPLANT: N_("Plant"),
    work.HARDEN: N_("Harden off"),
    work.SOW: N_("Sow"),
}


def weekday(day: date) -> str:
    return _(WEEKDAYS[day.weekday()])


def short_weekday(day: date) -> str:
    """``Tue``."""
    return weekday(day)[: int(habit(SHORT_DAY))]


def short_date(day: date) -> str:
    """``13 April``; order of the parts is left to the translation."""
    return _("{day} {month}").format(day=day.day, month=_(MONTHS[day.month - 1]))


def dated(day: date) -> str:
    """``13 April 2027``."""
    return _("{date} {year}").format(date=short_date(day), year=day.year)


def long_date(day: date) -> str:
    """``Tuesday 13 April 2027``."""
    return _("{weekday} {date} {year}").format(
        weekday=weekday(day), date=short_date(day), year=day.year
    )


def about(minutes: float) -> str:
    """``about 45 min``; nothing for less than a minute."""
    return _("about {n} min").format(n=round(minutes)) if minutes >= 1 else ""


def span(first: date, last: date) -> str:
    """``12 to 18 April 2027``, with the parts both days share said once."""
    if (first.year, first.month) == (last.year, last.month):
        return _("{first} to {last} {month} {year}").format(
            first=first.day, last=last.day, month=_(MONTHS[last.month - 1]), year=last.year
        )
    start = short_date(first) if first.year == last.year else dated(first)
    return _("{start} to {end} {year}").format(start=start, end=short_date(last), year=last.year)


def short_span(first: date, last: date) -> str:
    """``22 to 28 May``, ``28 May to 3 June``; the year goes without saying."""
    if (first.year, first.month) == (last.year, last.month):
        return _("{first} to {last} {month}").format(
            first=first.day, last=last.day, month=_(MONTHS[last.month - 1])
        )
    return _("{start} to {end}").format(start=short_date(first), end=short_date(last))


def plan_mark(plan: Plan) -> str:
    """``Plan 2, made 27 November 2026``: which plan a sheet is of; nothing where none is known.

    The day is the plan's own, so that the same plan gives the same sheets on any day.
    """
    if not plan.number:
        return ""
    if plan.made is None:
        return _("Plan {number}").format(number=plan.number)
    return _("Plan {number}, made {date}").format(number=plan.number, date=dated(plan.made))


def group_title(group: str) -> str:
    """A group of produce by name, those of the catalogue in the language in use; "" is no wish."""
    return _(group) if group else _("no wish")


def tier_label(column: str, tier: int | None) -> str:
    """``A 2``: column A, tier 2 from the top; the column alone where the whole stack is meant."""
    return column if tier is None else f"{column} {tier}"


def ec_text(ec: float) -> str:
    """The strength of a fill."""
    return _("EC {ec:.1f} mS/cm").format(ec=Shown(ec))


def shown_width(text: str) -> int:
    """Terminal cells a text takes; wide characters count two."""
    # Plain letters, which most texts are, need no look at each.
    return len(text) if text.isascii() and text.isprintable() else cell_len(text)


def broken_at(text: str) -> list[str]:
    """The words of a text between which a line may break: not at a no-break space."""
    return _BREAKS.sub(" ", text).strip(" ").split(" ") if text.strip() else []


def wrap(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    """Lines of at most ``width`` terminal cells; wide characters count two, long words go on.

    No line breaks at a no-break space, unless what it glues together is longer than a line.
    """
    words = broken_at(text)
    whole = first + " ".join(words)
    if shown_width(whole) <= width:
        return [whole]
    plain = (whole + rest).isascii() and (whole + rest).isprintable()
    measure = len if plain else cell_len
    lines: list[str] = []
    line, empty = first, True
    for whole in words:
        word = whole
        while word:
            glue = "" if empty else " "
            if measure(line + glue + word) <= width:
                line, empty, word = line + glue + word, False, ""
            elif not empty:
                lines.append(line)
                line, empty = rest, True
            else:
                room = 1
                while measure(line + word[: room + 1]) <= width:
                    room += 1
                lines.append(line + word[:room])
                line, word = rest, word[room:]
    return [*lines, line] if not empty or not lines else lines


def pad(text: str, width: int, align: str = "<") -> str:
    """``text`` filled with blanks to ``width`` terminal cells, on its right or (``>``) its left."""
    blank = " " * (width - shown_width(text))
    return blank + text if align == ">" else text + blank


def table(
    heads: Sequence[str], rows: Sequence[Sequence[str]], align: str, width: int = 79, gap: int = 2
) -> list[str]:
    """A table as lines of at most ``width`` terminal cells, in which no name is cut.

    Columns are as wide as they need. Where that is too much the widest names go on in a line of
    their own column below.

    Parameters
    ----------
    align : ``<`` for a column of names, ``>`` for one of numbers, a sign each.
    gap : blanks between columns, fewer where room is short.
    """
    every = [heads, *rows]
    wide = [max(shown_width(row[i]) for row in every) for i in range(len(heads))]

    def over() -> int:
        return sum(wide) + gap * (len(wide) - 1) - width

    while gap > 1 and over() > 0:
        gap -= 1
    names = [i for i, a in enumerate(align) if a == "<"]
    while over() > 0 and max(wide[i] for i in names) > _LEAST_NAME:
        wide[max(names, key=lambda i: wide[i])] -= 1
    out = []
    for row in every:
        cells = [wrap(text, w) for text, w in zip(row, wide, strict=True)]
        for n in range(max(map(len, cells))):
            line = [
                pad(c[n] if n < len(c) else "", w, a)
                for c, w, a in zip(cells, wide, align, strict=True)
            ]
            out.append((" " * gap).join(line).rstrip())
    return out


def top_up(units: Units) -> str:
    """The one rule on adding solution to a tier that stands; every output that speaks of it."""
    return _(
        "Never top a tier up. After a spill, by {rise} at most; once roots hang in air, not at "
        "all: they would drown."
    ).format(rise=units.depth_text(LATE_RISE_CM))


# Rain that falls on a lid finds its way in through gaps and pots. Half of the late rise that roots
# bear, so that a forecast too low by half does no harm: common practice, no source.
COVER_CM = LATE_RISE_CM / 2


def depth_of_rain(units: Units, cm: float = COVER_CM) -> str:
    """``10 mm``, ``3/8 in``: more than this in a forecast asks for a cover."""
    return units.depth_text(cm) if units.us else f"{math.floor(10 * cm + 1e-6)} mm"
