"""Minutes of work day by day, by kind of work, against the limit if there is one."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from scheduler.garden.model import Garden
from scheduler.outputs import labour
from scheduler.outputs.work import MOVE, work_items
from scheduler.pictures import look
from scheduler.plans.model import Plan
from scheduler.words.language import long_time, minutes_text
from scheduler.words.words import VERB, _, plural, short_date

# Fill and strokes of each kind of work, told apart without colour too.
_STYLES = (
    ("#ffffff", ""),
    ("#d9d9d9", "///"),
    ("#ffffff", "..."),
    ("#9a9a9a", ""),
    ("#d9d9d9", "xx"),
)


@look.in_style
def work(garden: Garden, plan: Plan) -> Figure:
    """One sheet; kinds of work stand on one another, so that the upper edge is the whole day."""
    days = labour.by_day(garden, work_items(garden, plan))
    total = {day: sum(kinds.values()) for day, kinds in days.items()}
    longest = max(total, key=total.__getitem__, default=plan.start)
    below = _("{time} on {days}, the longest {day}: {minutes}").format(
        time=long_time(sum(total.values())),
        days=plural("{n} day", "{n} days", len(total)),
        day=short_date(longest),
        minutes=minutes_text(total.get(longest, 0)),
    )
    made = look.figure(
        11.0, 3.9, look.title_of(garden, _("minutes of work")), look.below(garden, plan, below)
    )
    ax = look.axes(made, 0.75, 0.95, 10.0, 2.2)
    look.days_scale(ax, plan.start, plan.end)
    look.away_bands(ax, garden.season, 1.0)
    room = {day: garden.limits.minutes_on(day.weekday()) for day in days}
    limit = max((m for m in room.values() if m is not None), default=None)
    ax.set_ylim(0, max(*total.values(), limit or 0, 1) * 1.12 if total else 1)
    ax.set_ylabel(_("minutes"), fontsize=8)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    x = np.array([(day - plan.start).days + 0.5 for day in days])
    base = np.zeros(len(days))
    for kind, (fill, strokes) in zip(labour.TIMED, _STYLES, strict=True):
        height = np.array([kinds[kind] for kinds in days.values()])
        if kind == MOVE and not height.any():
            continue  # most gardens stay where they are
        ax.bar(
            x,
            height,
            0.9,
            base,
            facecolor=fill,
            hatch=strokes,
            edgecolor=look.INK,
            linewidth=0.5,
            zorder=2,
            label=_(VERB[kind]),
        )
        base = base + height
    if limit is not None and not garden.helpers:
        ax.axhline(limit, color=look.WARN, linewidth=1.4, linestyle=(0, (6, 2)), zorder=4)
    elif limit is not None:  # a stroke over each day: it has the minutes of those who are there
        most = np.array([minutes or 0.0 for minutes in room.values()])
        ax.hlines(most, x - 0.5, x + 0.5, color=look.WARN, linewidth=1.4, zorder=4)
    made.legend(loc="lower left", bbox_to_anchor=(0.06, 0.02), ncols=5, fontsize=7.5, frameon=False)
    return made
