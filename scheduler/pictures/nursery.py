"""Cells in use in the nursery, day by day and by family, against the cells there are."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from scheduler.garden.model import Garden
from scheduler.pictures import look
from scheduler.plans.model import Plan
from scheduler.words.words import _, short_date


@look.in_style
def nursery(garden: Garden, plan: Plan) -> Figure:
    """One sheet; families stand on one another, so that the upper edge is the whole load."""
    loads = cells_by_family(garden, plan)
    total = sum(loads.values(), np.zeros((plan.end - plan.start).days + 1, int))
    cells = garden.nursery.cells
    peak = int(total.argmax()) if len(total) else 0
    below = _("At most {most} of {cells} cells in use, first on {day}").format(
        most=int(total.max(initial=0)), cells=cells, day=short_date(garden.season.date(peak))
    )
    made = look.figure(
        11.0, 3.9, look.title_of(garden, _("the nursery")), look.below(garden, plan, below)
    )
    ax = look.axes(made, 0.75, 0.95, 10.0, 2.2)
    look.days_scale(ax, plan.start, plan.end)
    look.away_bands(ax, garden.season, 1.0)
    top = max(int(total.max(initial=0)), cells, 1)
    ax.set_ylim(0, top * 1.12)
    ax.set_ylabel(_("cells in use"), fontsize=8)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    x = np.arange(len(total) + 1)
    base = np.zeros(len(total), int)
    styles = look.families(garden)
    for name, load in loads.items():
        fill, strokes = styles[name]
        above = base + load
        ax.fill_between(
            x,
            np.append(base, base[-1:]),
            np.append(above, above[-1:]),
            step="post",
            facecolor=fill,
            hatch=strokes,
            edgecolor=look.LEAD,
            linewidth=0.6,
            zorder=2,
        )
        base = above
    ax.step(x, np.append(total, total[-1:]), where="post", color=look.INK, linewidth=1.4, zorder=3)
    ax.axhline(cells, color=look.WARN, linewidth=1.4, linestyle=(0, (6, 2)), zorder=4)
    ax.text(
        0.995,
        cells + top * 0.015,
        _("{n} cells in all").format(n=cells),
        fontsize=7.5,
        color=look.WARN,
        ha="right",
        va="bottom",
        transform=ax.get_yaxis_transform(),
    )
    look.family_key(made, garden, list(loads), 0.14)
    return made


def cells_by_family(garden: Garden, plan: Plan) -> dict[str, np.ndarray]:
    """Cells in use on each day of the season, by family, in the order of the garden's crops.

    A batch holds its cells from its sow day to the day before it is transplanted.
    """
    n = (plan.end - plan.start).days + 1
    out: dict[str, np.ndarray] = {}
    for family in look.families(garden):
        load = np.zeros(n, int)
        for batch in plan.batches:
            if garden.crops[batch.crop].family == family:
                first, last = ((d - plan.start).days for d in (batch.sow, batch.transplant))
                load[max(first, 0) : max(last, 0)] += batch.cells
        if load.any():
            out[family] = load
    return out
