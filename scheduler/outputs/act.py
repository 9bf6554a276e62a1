"""The level below which to act, beside each level that the calendar asks for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from scheduler.outputs.work import LEVEL, Work
from scheduler.plans.model import Plan
from scheduler.watch.forecast import Foretold
from scheduler.words.words import Units, _


def with_act(plan: Plan, items: Sequence[Work], foretold: Foretold) -> tuple[Work, ...]:
    """The items of a calendar, levels with what the table of forecasts says to act below."""
    starts = {b.id: b.transplant for b in plan.batches if foretold.of(b) is not None}

    def act(w: Work) -> Work:
        if w.kind != LEVEL or w.batch not in starts:
            return w
        days = foretold.checks.get(w.batch, {})
        cm = days.get((w.date - starts[w.batch]).days)
        return w if cm is None else replace(w, act_cm=cm)

    return tuple(act(w) for w in items) if foretold.checks else tuple(items)


def level_text(item: Work, units: Units) -> str:
    """``13.9 cm (act below 9.8 cm)``: the depth to expect, and below which to act."""
    depth = units.depth_text(item.depth_cm or 0)
    if item.act_cm is None:
        return depth
    act = units.depth_text(item.act_cm)
    return _("{depth} (act below {act})").format(depth=depth, act=act)


def act_note() -> str:
    """What to do below such a level."""
    return _("Below the level to act on: log it the same day; the answer says when to pick.")
