"""One file for a phone without a network: work, levels, picks, notes, what the tiers foretell.

It holds the plan's days as text and the table of forecasts; its script is held to `scheduler.watch`
by a test. What is written on it comes out as words that `scheduler.log.typed` reads.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date
from functools import lru_cache
from importlib import resources
from itertools import groupby
from typing import TYPE_CHECKING, Any

from scheduler.garden.model import Garden
from scheduler.levels.estimate import Grown
from scheduler.levels.events import events_of
from scheduler.log.model import Log
from scheduler.log.state import Followed, growing_on, over_on
from scheduler.outputs import work
from scheduler.outputs.beside import of_days
from scheduler.outputs.cautions import CAUTIONS, due
from scheduler.outputs.in_case import cases_said, left_out_said
from scheduler.outputs.phone_says import says
from scheduler.outputs.sentences import crop_title
from scheduler.outputs.together import HARD, Line, day_lines, heaviest
from scheduler.outputs.work import Work
from scheduler.plans.model import CLEARED, FAILED, Batch, Pick, Plan
from scheduler.watch.forecast import LITRE, LITRE2, SHARE, Foretold
from scheduler.words.words import MONTHS, VERB, Units, _, habit, plan_mark, short_date

if TYPE_CHECKING:
    from jinja2 import Template

    from scheduler.replanning.in_case import Cases

_EPOCH = date(1970, 1, 1).toordinal()
_WHOLES = {
    "drinks": LITRE,
    "slopes": LITRE,
    "noise": LITRE2,
    "growth": SHARE,
    "growth_spread": SHARE,
    "mass": SHARE,
}
_TEMPLATES = resources.files("scheduler") / "outputs" / "templates"


def page(
    garden: Garden,
    plan: Plan,
    items: Sequence[Work],
    units: Units,
    foretold: Foretold,
    log: Log,
    on: date,
    cases: Cases | None = None,
) -> str:
    """The file.

    Parameters
    ----------
    items : all work of the plan, levels with what to act below.
    foretold : the plan's table; without one nothing is said of the levels.
    log : what is known on ``on``, the day on which the file is made.
    cases : what to do if; None: nothing is said of that.
    """
    data = json.dumps(
        as_data(garden, plan, items, units, foretold, log, on),
        separators=(",", ":"),
        ensure_ascii=False,
    )
    return _template().render(
        _=_,
        name=garden.name + (" " + _("(an invented garden)") if garden.invented else ""),
        mark=plan_mark(plan),
        first=plan.start.isoformat(),
        last=plan.end.isoformat(),
        mass_unit=units.mass_unit,
        cautions=[(_(c.name), _(c.full)) for c in CAUTIONS if c in due(w.kind for w in items)],
        cases=cases_said(garden, plan, cases, units) if cases else (),
        left_out=left_out_said(cases) if cases else "",
        made_on=short_date(on),
        data=data.replace("<", "\\u003c"),  # no name can end the script that holds it
        css=_read("phone.css"),
        watch=_read("watch.js"),
        script=_read("phone.js"),
    )


def as_data(
    garden: Garden,
    plan: Plan,
    items: Sequence[Work],
    units: Units,
    foretold: Foretold,
    log: Log,
    on: date,
) -> dict[str, Any]:
    """What the script works on; days are whole numbers, from 1970 on."""
    on = min(max(on, garden.season.start), garden.season.end)
    stand = {f.batch.id: f for f in growing_on(garden, plan, log, on)}
    over = over_on(garden, plan, log, on)
    plan_of = {b.id: b for b in plan.batches}
    todo = {day: list(some) for day, some in groupby(items, key=lambda w: w.date)}
    beside = of_days(garden, plan, units)
    used = {garden.tier(b.column, b.tier).vessel for b in plan.batches}
    return {
        "name": garden.name,
        "us": units.us,
        "start": _day(plan.start),
        "end": _day(plan.end),
        "work": [d for d in range(7) if d in garden.season.work_days],
        "away": [[_day(a.start), _day(a.end)] for a in garden.season.away],
        "decimal": habit("decimal sign:."),
        "months": [_(m) for m in MONTHS],
        "vessels": {
            name: {
                "shape": v.shape,
                "size": v.size_cm,
                "table": v.table_l,
                "height": v.height_cm,
                "fill": v.fill_l,
                "floor": v.floor_l,
            }
            for name, v in garden.vessels.items()
            if name in used
        },
        "crops": {
            name: {
                "title": crop_title(garden, name),
                "cuts": c.cuts,
                "cut_shares": c.cut_shares,
                "after_cut": c.after_cut,
                "fresh_mass": c.fresh_mass,
            }
            for name, c in garden.crops.items()
            if any(b.crop == name for b in plan.batches)
        },
        "wholes": _WHOLES,
        "kinds": [
            {
                **{n: [round(v / unit) for v in getattr(k, n)] for n, unit in _WHOLES.items()},
                "years": k.years,
            }
            for k in foretold.kinds
        ],
        "table": {
            i: [kind, _day(day)]
            for i, (kind, crop, day) in foretold.batches.items()
            if i in plan_of and plan_of[i].crop == crop
        },
        "batches": [_batch(garden, b, foretold, stand.get(b.id), over, on) for b in plan.batches],
        "days": {
            _day(day): _of_day(garden, todo.get(day, ()), units, beside.get(day, ()))
            for day in sorted({*todo, *beside})
        },
        "say": says(),
    }


def _day(day: date) -> int:
    return day.toordinal() - _EPOCH


def _picks(picks: Sequence[Pick]) -> list[list[Any]]:
    return [[_day(p.date), p.plants, p.grams, p.young] for p in picks]


def _batch(
    garden: Garden,
    b: Batch,
    foretold: Foretold,
    f: Followed | None,
    over: frozenset[str],
    on: date,
) -> dict[str, Any]:
    made: dict[str, Any] = {
        "id": b.id,
        "crop": b.crop,
        "column": b.column,
        "tier": b.tier,
        "vessel": garden.tier(b.column, b.tier).vessel,
        "plants": b.plants,
        "tr": _day(b.transplant),
        "picks": _picks(b.picks),
        "clear": _day(b.clear),
    }
    if b.id in over or b.state in (CLEARED, FAILED):
        made["over"] = True
    elif f is not None and (
        f.told or f.batch.picks != b.picks or f.batch.transplant != b.transplant
    ):
        made["clear"] = _day(f.batch.clear)
        made["base"] = _base(garden, f, foretold, on)
    return made


def _base(garden: Garden, f: Followed, foretold: Foretold, on: date) -> dict[str, Any]:
    """What the log tells of a batch on the day on which the file is made."""
    known, start = foretold.of(f.batch), f.batch.transplant.toordinal() - _EPOCH
    sights = []
    if known is not None:
        kind = known[0]
        for e in events_of(garden, f, kind, len(kind.drinks), on):
            if isinstance(e, Grown):
                sights.append([start + e.day, e.progress, e.spread, e.least, 0])
    return {
        "tr": start,
        "plants": f.batch.plants,
        "picks": _picks(f.batch.picks),
        "done": f.done,
        "readings": [[_day(r.date), r.litres, r.line] for r in f.readings],
        "water": [[_day(w.date), w.litres, w.spread, w.line] for w in f.water],
        "changes": [[_day(c.date), c.what, c.line] for c in f.changes],
        "fewer": [[_day(x.date), x.plants] for x in f.fewer],
        "sights": sights,
    }


def _of_day(
    garden: Garden, items: Sequence[Work], units: Units, beside: Sequence[str]
) -> dict[str, Any]:
    """Lines with the entries that ticking them writes, levels with what to act below, the rest."""
    levels = [w for w in items if w.kind == work.LEVEL]
    kg = heaviest(items)
    return {
        "lines": [
            {
                "verb": _(VERB[line.kind]),
                "text": line.text.replace(HARD, " "),
                "items": _entries(line),
            }
            for line in day_lines(garden, items, units)
            if line.kind != work.LEVEL
        ],
        "levels": [[w.column, w.tier, w.act_cm] for w in levels],
        "beside": [
            *beside,
            *([_("Lift off up to {kg}.").format(kg=units.weight_text(kg))] if kg else []),
        ],
    }


def _entries(line: Line) -> list[list[Any]]:
    """Log entries for a finished line: what, column, tier, amount, unit, crop, note."""
    made: list[list[Any]] = []
    for w in line.items:
        where = [w.column, w.tier]
        if w.kind == work.SOW:
            made.append(["sown", *where, str(w.cells), "cells", w.crop, ""])
        elif w.kind == work.TRANSPLANT:
            made.append(["transplanted", *where, str(w.plants), "plants", "", ""])
        elif w.kind == work.PICK:
            made.append(["picked", *where, str(w.plants), "plants", "", ""])
        elif w.kind == work.CLEAR:
            made.append(["cleared", *where, "", "", "", ""])
    return made


def _read(name: str) -> str:
    return (_TEMPLATES / name).read_text(encoding="utf-8")


@lru_cache(maxsize=1)
def _template() -> Template:
    from jinja2 import Environment, StrictUndefined

    env = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True)
    return env.from_string(_read("phone.html"))
