"""Produce on the table per week against the wish, one drawing a group."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.base.weeks import week_start
from scheduler.garden.model import ONE_DAY, Garden
from scheduler.garden.weekly import season_weeks
from scheduler.outputs.drawing.svg import (
    MOST_GROUPS,
    Days,
    frame,
    line,
    path,
    rect,
    scale_steps,
    text,
)
from scheduler.outputs.weeks import TableWeek
from scheduler.words.words import ONE_WEEK, Shown, Units, _, group_title

_WIDE, _HIGH, _LEFT, _TOP, _LOW = 900.0, 200.0, 58.0, 16.0, 150.0


def produce(garden: Garden, group: str, rows: Sequence[TableWeek], units: Units) -> str:
    """Bars of what is served, a heavy line at the wish, marks at what is picked."""
    mine = {r.week: r for r in rows if r.group == group}
    shown = [w for w in season_weeks(garden.season) if any(r.week == w for r in rows)]
    weeks = [w for w in season_weeks(garden.season) if shown[0] <= w <= shown[-1]]
    most = max([max(r.wish, r.picked, r.served) for r in mine.values()], default=0)
    top = max(units.mass(most) * 1.12, 1e-9)
    last = week_start(weeks[-1]) + ONE_WEEK - ONE_DAY
    x = Days(week_start(weeks[0]), last, _LEFT, _WIDE - 8)
    names = [d.group for d in garden.demands]
    n = (names.index(group) if group in names else len(names)) % MOST_GROUPS

    def y(grams: float) -> float:
        return _LOW - units.mass(grams) / top * (_LOW - _TOP)

    out = []
    steps = scale_steps(top)
    for step in steps:
        at = _LOW - step / top * (_LOW - _TOP)
        label = f"{Shown(step):g} {units.mass_unit}" if step == steps[-1] else f"{Shown(step):g}"
        out.append(line(_LEFT, at, _WIDE - 8, at, "grid"))
        out.append(text(_LEFT - 5, at + 4, label, "tiny", "end"))
    wide = x.step * 7
    for week in weeks:
        x1 = x(week_start(week))
        out.append(text(x1 + wide / 2, _LOW + 14, str(int(week[-2:])), "tiny", "middle"))
        row = mine.get(week)
        if row is None:
            continue
        box = (x1 + 2, y(row.served), wide - 4, _LOW - y(row.served))
        if row.served:
            out.append(rect(*box, f"g{n}"))
            if n:
                out.append(rect(*box, f"over h{n}"))
        if row.wish:
            out.append(line(x1, y(row.wish), x1 + wide, y(row.wish), "wish"))
        if row.picked:
            at, mid = y(row.picked), x1 + wide / 2
            out.append(path([(mid - 4, at + 7), (mid + 4, at + 7), (mid, at)], "mark", True))
    out.append(line(_LEFT, _LOW, _WIDE - 8, _LOW, "rule"))
    out.append(text(_LEFT - 5, _LOW + 14, _("week"), "tiny", "end"))
    served, wish = sum(r.served for r in mine.values()), sum(r.wish for r in mine.values())
    says = _("{group}: {served} of {wish} wished; the table below says it week by week.").format(
        group=group_title(group), served=units.mass_text(served), wish=units.mass_text(wish)
    )
    return frame(_WIDE, _HIGH - 28, says, out)
