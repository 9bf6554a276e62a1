"""The calendar as one HTML file that needs nothing else: no network, no other file.

The template holds the words of the page; here is what it is filled with. A policy inside the page
forbids it to load anything.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from functools import lru_cache
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scheduler.base.weeks import week_of
from scheduler.garden.model import Garden
from scheduler.outputs import labour, work
from scheduler.outputs.act import act_note, level_text
from scheduler.outputs.beside import as_sentence, of_days, of_weeks
from scheduler.outputs.blanks import meter_blanks, with_blanks
from scheduler.outputs.cautions import CAUTIONS, due
from scheduler.outputs.drawing import svg
from scheduler.outputs.drawing.levels import levels, tier_columns
from scheduler.outputs.drawing.nursery import nursery
from scheduler.outputs.drawing.produce import produce
from scheduler.outputs.drawing.season import season
from scheduler.outputs.sentences import crop_title, look_ahead, look_days, met_text, sentence
from scheduler.outputs.shopping import nursery_load
from scheduler.outputs.weeks import TableWeek, table_weeks
from scheduler.outputs.work import Work
from scheduler.plans.model import BEST_FOUND, PROVEN, WITHIN_GAP, Plan
from scheduler.plans.restrictions import that_bind
from scheduler.words.words import (
    HEADING,
    ONE_WEEK,
    VERB,
    Units,
    _,
    about,
    group_title,
    long_date,
    on_the_table,
    plan_mark,
    plural,
    sheet_start,
    sheet_week,
    sheet_weeks,
    short_date,
    span,
    tier_label,
    weekday,
)

if TYPE_CHECKING:
    from jinja2 import Template

TEMPLATES = Path(__file__).parent / "templates"
MOST_CURVES = 120  # tiers; a page with more would be too heavy for a telephone


def page(
    garden: Garden,
    plan: Plan,
    items: Sequence[Work],
    units: Units,
    first: date | None = None,
    last: date | None = None,
    back: str = "",
) -> str:
    """The page.

    Parameters
    ----------
    items : all work of the plan.
    first, last : list only the work of these days, both included.
    back : an address that a link at the top leads to, where the page is part of another.
    """
    shown = [w for w in items if (not first or w.date >= first) and (not last or w.date <= last)]
    table = table_weeks(garden, plan)
    column_order = {c.name: i for i, c in enumerate(garden.columns)}
    columns = sorted({w.column for w in shown}, key=lambda n: column_order.get(n, 0))
    return _template().render(
        _=_,
        name=garden.name,
        back=back,
        on_the_table=on_the_table(),
        invented=garden.invented,
        dates=span(garden.first, plan.end),
        mark=plan_mark(plan),
        status=_status(garden, plan, units),
        start=garden.first.isoformat(),
        key=f"{garden.name} {plan.start.isoformat()}",
        patterns=svg.PATTERNS,
        groups=_groups(garden, table),
        season=season(garden, plan),
        batches=_batches(garden, plan, units),
        weeks=_weeks(garden, plan, shown, items, table, units),
        kinds=[(k, _(HEADING[k])) for k in work.KINDS if any(w.kind == k for w in shown)],
        columns=[(column_order.get(name, 0), name) for name in columns],
        curves=_curves(garden, plan, units),
        depth_unit=units.depth_unit,
        act=act_note() if any(w.act_cm is not None for w in shown) else "",
        years=any(b.chances is not None for b in plan.batches),
        nursery=nursery(garden, plan),
        loads=_loads(plan),
        cells=garden.nursery.cells,
        produce=[
            (g, produce(garden, g, table, units)) for g in dict.fromkeys(r.group for r in table)
        ],
        table=[_table_row(r, units) for r in table],
        cautions=[(_(c.name), _(c.full)) for c in CAUTIONS if c in due(w.kind for w in shown)],
    )


@lru_cache(maxsize=1)
def _template() -> Template:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    env = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return env.get_template("page.html")


def _status(garden: Garden, plan: Plan, units: Units) -> str:
    if plan.promise is not None:  # no proof is about a usual year
        return met_text(garden, plan, units)
    text = {
        PROVEN: _("No plan meets more of the wish"),
        WITHIN_GAP: _("Close to the best plan there can be"),
        BEST_FOUND: _("The best plan found in the time given"),
    }.get(plan.status, plan.status)
    names = that_bind(garden, plan.as_of is not None, plan.risk is not None)
    which = ", ".join(_(r.short) for r in names if r.short)
    if plan.status != BEST_FOUND and plan.unmet and which:
        text += " " + _("(among plans with: {which})").format(which=which)
    met = met_text(garden, plan, units)
    return f"{text}: {met}" if met else text


def _groups(garden: Garden, table: Sequence[TableWeek]) -> list[tuple[int, str]]:
    names = [d.group for d in garden.demands]
    if any(r.group not in names for r in table):
        names.append("")
    names = [group_title(name) for name in names]
    return [(i % svg.MOST_GROUPS, name) for i, name in enumerate(names)]


def _batches(garden: Garden, plan: Plan, units: Units) -> list[list[str]]:
    return [
        [
            tier_label(b.column, b.tier),
            crop_title(garden, b.crop),
            short_date(b.sow),
            short_date(b.transplant),
            ", ".join(short_date(p.date) for p in b.picks),
            short_date(b.clear),
            units.mass_text(b.grams),
            short_date(b.dry_date) if b.dry_date else "",
            "" if b.margin_days is None else plural("{n} day", "{n} days", b.margin_days),
        ]
        for b in plan.batches
    ]


def _weeks(
    garden: Garden,
    plan: Plan,
    items: Sequence[Work],
    every: Sequence[Work],
    table: Sequence[TableWeek],
    units: Units,
) -> list[dict[str, Any]]:
    order = {c.name: i for i, c in enumerate(garden.columns)}
    by_week = {k: list(v) for k, v in groupby(items, key=lambda w: sheet_week(w.date))}
    of_day = of_days(garden, plan, units)
    of_week = of_weeks(garden, plan, units, brief=True)
    looks = look_days(every)
    out = []
    for week in sheet_weeks(garden.first, garden.season.end):
        first = sheet_start(week)
        days = [
            _day(garden, day, list(todo), order, units, of_day.get(day, ()))
            for day, todo in groupby(by_week.get(week, []), key=lambda w: w.date)
        ]
        rows = [_table_row(r, units) for r in table if r.week == week]
        out.append(
            {
                "id": week,
                "number": int(week[-2:]),
                "dates": span(first, first + ONE_WEEK - timedelta(days=1)),
                "days": days,
                "rows": rows,
                "look": look_ahead(looks, week),
                "beside": [as_sentence(text) for text in of_week.get(week, ())],
            }
        )
    return out


def _day(
    garden: Garden,
    day: date,
    items: Sequence[Work],
    order: dict[str, int],
    units: Units,
    beside: Sequence[str],
) -> dict[str, Any]:
    todo = [
        {
            "kind": w.kind,
            "verb": _(VERB[w.kind]),
            "column": order.get(w.column, 0),
            "place": "" if w.kind == work.SOW else tier_label(w.column, w.tier),
            "text": level_text(w, units) + meter_blanks(w)  # the blank of the level is drawn
            if w.kind == work.LEVEL
            else with_blanks(w, sentence(garden, w, units)),
            "key": w.key,
        }
        for w in items
    ]
    return {
        "date": day.isoformat(),
        "name": weekday(day),
        "title": short_date(day),
        "beside": beside,
        "took": about(labour.of_items(garden, items)),
        "long": long_date(day),
        "levels": [w for w in todo if w["kind"] == work.LEVEL],
        "todo": [w for w in todo if w["kind"] != work.LEVEL],
        "cautions": [
            (" ".join(sorted(c.kinds)), _(c.name), _(c.short)) for c in due(w.kind for w in items)
        ],
    }


def _curves(garden: Garden, plan: Plan, units: Units) -> list[tuple[str, list[tuple[str, str]]]]:
    columns = tier_columns(garden, plan)
    if sum(len(tiers) for _c, tiers in columns) > MOST_CURVES:
        return []
    return [
        (
            c.name,
            [(tier_label(c.name, t.number), levels(garden, plan, c, t, units)) for t in tiers],
        )
        for c, tiers in columns
    ]


def _loads(plan: Plan) -> list[tuple[str, int]]:
    """Most cells in use week by week."""
    out: dict[str, int] = {}
    for day, cells in nursery_load(plan):
        week = week_of(day)
        out[week] = max(out.get(week, 0), cells)
    return [(week, cells) for week, cells in out.items() if cells]


def _table_row(row: TableWeek, units: Units) -> dict[str, str]:
    return {
        "week": str(int(row.week[-2:])),
        "group": group_title(row.group),
        "picked": units.mass_text(row.picked),
        "served": units.mass_text(row.served),
        "wish": units.mass_text(row.wish),
        "short": units.mass_text(row.short) if row.short else "-",
    }
