"""The printed calendar as PDF: black and white, A4 or US Letter, no browser needed.

Season overview, month sheets, the weeks, sowing list, tier tags, shopping list, and a page of what
is checked before the season, closed after it, and of cautions. One day alone is one page.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import date

from scheduler.garden.model import Garden
from scheduler.outputs.beside import of_days, of_weeks
from scheduler.outputs.empty import empty_text
from scheduler.outputs.paper import around, buying, cards, day, month, season, sowing, week
from scheduler.outputs.paper.sheet import A4, LETTER, Sheet, fonts, library
from scheduler.outputs.sentences import crop_title, look_ahead, look_days
from scheduler.outputs.weeks import table_weeks
from scheduler.outputs.work import Work
from scheduler.plans.model import Plan
from scheduler.words.words import Units, _, plan_mark, sheet_week, sheet_weeks

PAPERS = {"a4": A4, "letter": LETTER}


def document(
    garden: Garden,
    plan: Plan,
    items: Sequence[Work],
    units: Units,
    paper: str = "a4",
    first: date | None = None,
    last: date | None = None,
) -> bytes:
    """The document.

    Parameters
    ----------
    items : all work of the plan.
    paper : ``a4`` or ``letter``.
    first, last : print only the days of these, both included; one day alone is a day sheet.

    Raises
    ------
    DrylineError
        The library for PDF is not installed.
    """
    library()
    start, end = first or garden.first, last or plan.end
    out = io.BytesIO()
    texts = [garden.name, *(c.name for c in garden.columns), *(d.group for d in garden.demands)]
    texts += [crop_title(garden, c) for c in garden.crops] + [_("Week {number}")]
    foot = garden.name + (" " + _("(an invented garden)") if garden.invented else "")
    mark = plan_mark(plan)
    foot += f"  \u00b7  {mark}" if mark else ""
    foot += "  \u00b7  " + _("local rules, labels and licensed practice come first")
    sheet = Sheet(out, PAPERS[paper], fonts(texts), foot)
    sheet.canvas.setTitle(_("Calendar of {garden}").format(garden=garden.name))
    table, looks = table_weeks(garden, plan), look_days(items)
    if first is not None and first == last:
        today = [w for w in items if w.date == first]
        said = [
            look_ahead(looks, sheet_week(first)),
            *of_days(garden, plan, units).get(first, ()),
        ]
        day.draw(sheet, garden, first, today, said, units)
        sheet.save()
        return out.getvalue()
    season.draw(sheet, garden, plan)
    shown = [w for w in items if start <= w.date <= end]
    month.draw(sheet, garden, plan, shown, max(start, plan.start), min(end, plan.end))
    beside = of_weeks(garden, plan, units, brief=True)
    weeks = [
        week.Week(
            name,
            [w for w in shown if sheet_week(w.date) == name],
            [r for r in table if r.week == name],
            look_ahead(looks, name),
            beside.get(name, ()),
        )
        for name in sheet_weeks(max(start, plan.start), min(end, plan.end))
    ]
    whole = start <= plan.start and end >= plan.end
    week.draw(sheet, garden, weeks, items, units, empty_text(garden, plan) if whole else "")
    buying.draw(sheet, garden, plan, units, sowing.draw(sheet, garden, shown, units))
    cards.draw(sheet, garden, plan, items, units)
    around.draw(sheet, {w.kind for w in items})
    sheet.save()
    return out.getvalue()
