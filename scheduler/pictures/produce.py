"""Produce on the table per week against the wish, a panel a produce group."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from scheduler.base.weeks import week_start
from scheduler.garden.model import Garden
from scheduler.garden.weekly import season_weeks
from scheduler.outputs.sentences import met_text
from scheduler.outputs.weeks import NO_GROUP, TableWeek, table_weeks
from scheduler.pictures import look
from scheduler.plans.model import Plan
from scheduler.words.words import MONTHS, Units, _

_WIDE, _TOP, _PANEL, _GAP = 11.0, 1.05, 1.55, 0.62  # [in]


@look.in_style
def produce(garden: Garden, plan: Plan, units: Units) -> Figure:
    """One sheet."""
    rows = table_weeks(garden, plan)
    groups = list(dict.fromkeys(r.group for r in rows)) or [d.group for d in garden.demands]
    below = met_text(garden, plan, units)
    high = _TOP + max(len(groups), 1) * (_PANEL + _GAP) + 0.25
    made = look.figure(
        _WIDE,
        high,
        look.title_of(garden, _("on the table, week by week")),
        look.below(garden, plan, below),
    )
    for n, group in enumerate(groups):
        ax = look.axes(made, 0.75, _TOP + n * (_PANEL + _GAP), _WIDE - 1.0, _PANEL)
        _panel(ax, garden, group, [r for r in rows if r.group == group], n, units)
    look.key(made, _key(units), 0.14)
    return made


def _key(units: Units) -> list[Patch | Line2D]:
    return [
        Patch(
            facecolor="#dce8c9",
            hatch="////",
            edgecolor=look.LEAD,
            linewidth=0.8,
            label=_("on the table"),
        ),
        Line2D([], [], color=look.WARN, linewidth=2.0, label=_("wished for")),
        Line2D(
            [],
            [],
            color=look.INK,
            marker="D",
            markersize=3.6,
            linestyle="none",
            label=_("picked that week; what is over keeps for later or spoils"),
        ),
        Line2D(
            [],
            [],
            linestyle="none",
            label=_("\u221290: short of the wish, in {unit}").format(unit=units.mass_unit),
        ),
    ]


def _panel(
    ax: Axes, garden: Garden, group: str, rows: Sequence[TableWeek], n: int, units: Units
) -> None:
    weeks = season_weeks(garden.season)
    at = {week: i for i, week in enumerate(weeks)}
    most = max([max(r.wish, r.picked, r.served) for r in rows], default=0)
    top = max(units.mass(most), 1e-9) * 1.2
    fill, strokes = look.STYLES[1 + n % (len(look.STYLES) - 1)]
    for row in rows:
        i = at[row.week]
        served, wish = units.mass(row.served), units.mass(row.wish)
        if row.served:
            ax.bar(
                [i],
                [served],
                width=0.78,
                facecolor=fill,
                hatch=strokes,
                edgecolor=look.LEAD,
                linewidth=0.8,
                zorder=2,
            )
        if row.wish:
            ax.plot(
                [i - 0.5, i + 0.5],
                [wish, wish],
                color=look.WARN,
                linewidth=2.0,
                zorder=4,
                solid_capstyle="butt",
            )
        if row.picked:
            ax.plot([i], [units.mass(row.picked)], "D", color=look.INK, markersize=3.6, zorder=5)
        if row.short:
            words = "\u2212" + (f"{units.mass(row.short):.1f}" if units.us else f"{row.short}")
            ax.text(
                i,
                wish + top * 0.025,
                words,
                fontsize=6.5,
                color=look.WARN,
                ha="center",
                va="bottom",
                zorder=6,
            )
    ax.set_xlim(-0.6, len(weeks) - 0.4)
    ax.set_ylim(0, top)
    ax.set_xticks(range(len(weeks)))
    ax.set_xticklabels([_week(week, weeks[i - 1] if i else "") for i, week in enumerate(weeks)])
    ax.tick_params(axis="x", length=0, labelsize=7)
    ax.set_ylabel(units.mass_unit, fontsize=8)
    ax.set_title(
        group if group != NO_GROUP else _("not wished for"),
        loc="left",
        fontsize=9.5,
        weight="bold",
        pad=4,
    )
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)


def _week(week: str, before: str) -> str:
    """The number of the ISO week; below it the month where a new one begins."""
    monday = week_start(week)
    number = str(int(week[-2:]))
    if before and week_start(before).month == monday.month:
        return number
    return f"{number}\n{_(MONTHS[monday.month - 1])[:3]}"
