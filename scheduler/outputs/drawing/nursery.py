"""Cells in use in the nursery, day by day, against the cells there are."""

from __future__ import annotations

from datetime import timedelta

from scheduler.garden.model import Garden
from scheduler.outputs.drawing.svg import Days, frame, line, path, scale_steps, text
from scheduler.outputs.shopping import nursery_load
from scheduler.plans.model import Plan
from scheduler.words.words import Shown, _, short_date

_WIDE, _HIGH, _LEFT, _TOP, _LOW = 900.0, 210.0, 40.0, 22.0, 180.0


def nursery(garden: Garden, plan: Plan) -> str:
    """The drawing: steps of use, a line at the cells there are."""
    load = nursery_load(plan)
    cells = garden.nursery.cells
    most = max([n for _d, n in load], default=0)
    top = max(most, cells, 1) * 1.05
    x = Days(plan.start, plan.end, _LEFT, _WIDE - 8)

    def y(n: float) -> float:
        return _LOW - n / top * (_LOW - _TOP)

    out = x.months(_TOP - 6, _LOW, _LOW + 15)
    for step in scale_steps(top):
        out.append(line(_LEFT, y(step), _WIDE - 8, y(step), "grid"))
        out.append(text(_LEFT - 5, y(step) + 4, f"{Shown(step):g}", "tiny", "end"))
    points = [(x(plan.start), _LOW)]
    before = None
    for day, n in load:
        if n != before:
            points += [(x(day), points[-1][1]), (x(day), y(n))]
            before = n
    end = x(plan.end + timedelta(days=1))
    points += [(end, points[-1][1]), (end, _LOW)]
    out.append(path(points, "cells", closed=True))
    out.append(line(_LEFT, y(cells), _WIDE - 8, y(cells), "limit"))
    out.append(
        text(_WIDE - 12, y(cells) - 4, _("{n} cells in all").format(n=cells), "small", "end")
    )
    peak = next((d for d, n in load if n == most), plan.start)
    says = _("Nursery: at most {most} of {cells} cells in use, on {day}.").format(
        most=most, cells=cells, day=short_date(peak)
    )
    return frame(_WIDE, _HIGH - 8, says, out)
