"""Harm that is told with its chance and counted as no loss: warm solution, burnt tips.

Published limits say from when it may come, none how long a batch stands it in a vessel that warms
by day and cools by night: it is a warning, no rule.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from scheduler.garden.model import Garden
from scheduler.outputs.sentences import crop_title
from scheduler.outputs.weather_work import cares
from scheduler.plans.model import Plan
from scheduler.words.units import share
from scheduler.words.words import _, short_date, table, wrap
from scheduler.words.work_kinds import SHADE

if TYPE_CHECKING:
    from scheduler.years.weather_years import WeatherYears

WIDTH = 79
SHOWN = 10
SOLUTION, TIPS = "warm solution", "burnt tips"


def warned(garden: Garden, plan: Plan, years: WeatherYears) -> list[dict[str, Any]]:
    """Each batch that may come to it in one year of five or more, the likeliest first.

    ``chance`` is a share [0..1] of the years.
    """
    found = [
        {
            "batch": c.batch.id,
            "crop": c.batch.crop,
            "column": c.batch.column,
            "tier": c.batch.tier,
            "cause": TIPS if c.light else SOLUTION,
            "chance": c.chance,
            "from": c.first.isoformat(),
            "to": c.last.isoformat(),
        }
        for c in cares(garden, plan, years)
        if c.kind == SHADE
    ]
    return sorted(found, key=lambda w: (-w["chance"], w["from"], w["batch"]))


def warned_lines(garden: Garden, found: list[dict[str, Any]], every: bool = False) -> list[str]:
    """The same in lines of at most 79 characters; none where there is nothing to tell."""
    if not found:
        return []
    shown = found if every else found[:SHOWN]
    cause = {SOLUTION: _("warm solution"), TIPS: _("burnt tips")}
    rows = [
        (
            w["batch"],
            crop_title(garden, w["crop"]),
            f"{w['column']} {w['tier']}",
            cause[w["cause"]],
            share(w["chance"]),
            short_date(date.fromisoformat(w["from"])),
            short_date(date.fromisoformat(w["to"])),
        )
        for w in shown
    ]
    heads = (_("batch"), _("crop"), _("tier"), _("may come to"), _("years"), _("from"), _("until"))
    out = ["", *table(heads, rows, "<<<<>>>", WIDTH)]
    if len(shown) < len(found):
        out.append(_("and {n} more (--all)").format(n=len(found) - len(shown)))
    text = _(
        "Warm solution and burnt tips are told with their chance if nothing is done, and counted "
        "as no loss: published limits say from when harm may come, not how much."
    )
    return [*out, "", *wrap(text, WIDTH)]
