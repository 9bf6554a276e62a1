"""Level curves: a panel a tier, set as the columns stand: side by side, tier 1 on top."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from scheduler.garden.model import Column, Garden, Tier
from scheduler.outputs.drawing.svg import shortened
from scheduler.outputs.sentences import crop_title
from scheduler.pictures import look
from scheduler.plans.model import Batch, Plan
from scheduler.words.words import Units, _, plural

MOST_COLUMNS = 4  # on one sheet, to be read when it is printed on one page
_PANEL, _HIGH, _GAP, _TOP = 2.75, 1.35, 0.5, 1.1  # [in]
_LEAST = 10.6  # width of a sheet, for title and key


@look.in_style
def levels(garden: Garden, plan: Plan, units: Units, columns: Sequence[str] = ()) -> list[Figure]:
    """Sheets of at most `MOST_COLUMNS` columns, about as many on each."""
    shown = [c for c in garden.columns if not columns or c.name in columns]
    sheets = max(-(-len(shown) // MOST_COLUMNS), 1)
    each = -(-len(shown) // sheets)
    parts = [shown[i * each : (i + 1) * each] for i in range(sheets)]
    return [_sheet(garden, plan, units, part, n + 1, len(parts)) for n, part in enumerate(parts)]


def _sheet(
    garden: Garden, plan: Plan, units: Units, columns: Sequence[Column], number: int, of: int
) -> Figure:
    deep = max([len(c.tiers) for c in columns], default=1)
    # Few columns get wider panels, so that a sheet is never a strip.
    panel = max(_PANEL, (_LEAST - 0.4) / max(len(columns), 1) - 0.45)
    wide = 0.4 + len(columns) * (panel + 0.45)
    high = _TOP + deep * (_HIGH + _GAP) + 0.4
    what = _("level in each tier") + (
        _(", sheet {n} of {of}").format(n=number, of=of) if of > 1 else ""
    )
    below = look.below(garden, plan, _("Depth of solution [{unit}]").format(unit=units.depth_unit))
    made = look.figure(wide, high, look.title_of(garden, what), below)
    for i, column in enumerate(columns):
        for tier in column.tiers:
            left = 0.55 + i * (panel + 0.45)
            top = _TOP + (tier.number - 1) * (_HIGH + _GAP)
            ax = look.axes(made, left, top, panel, _HIGH)
            _panel(ax, garden, plan, units, column, tier, panel)
    look.key(made, _key(), 0.16)
    return made


def _key() -> list[Line2D | Patch]:
    return [
        Line2D([], [], color=look.DEEP, linewidth=1.6, label=_("level")),
        Line2D(
            [],
            [],
            color=look.DEEP,
            linewidth=0.9,
            linestyle=":",
            label=_("if the last pick were left standing"),
        ),
        Line2D(
            [], [], color=look.WARN, linewidth=1.0, linestyle=(0, (5, 2)), label=_("keep level")
        ),
        Line2D(
            [],
            [],
            color=look.WARN,
            marker="v",
            markerfacecolor=look.SHEET,
            linestyle="none",
            markersize=5,
            label=_("dry date; 9 d: days in hand after the last pick"),
        ),
        Patch(facecolor=look.AWAY, label=_("away")),
    ]


def _panel(
    ax: Axes, garden: Garden, plan: Plan, units: Units, column: Column, tier: Tier, panel: float
) -> None:
    vessel = garden.vessels[tier.vessel]
    full = units.depth(float(vessel.depth(vessel.fill_l)))
    keep = units.depth(float(vessel.depth(vessel.floor_l)))
    look.days_scale(ax, plan.start, plan.end)
    ax.set_ylim(0, full * 1.22)
    ax.set_yticks(_steps(full))
    ax.set_title(
        look.short_place(column.name, tier.number, 24),
        loc="left",
        fontsize=8.5,
        pad=3,
        weight="bold",
    )
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    look.away_bands(ax, garden.season)
    ax.axhline(keep, color=look.WARN, linewidth=1.0, linestyle=(0, (5, 2)), zorder=3)
    mine = sorted(
        (b for b in plan.batches if (b.column, b.tier) == (column.name, tier.number)),
        key=lambda b: b.transplant,
    )
    per_day = panel / ((plan.end - plan.start).days + 1)
    for i, batch in enumerate(mine):
        following = mine[i + 1] if i + 1 < len(mine) else None
        _curve(ax, plan, units, batch)
        _dry(ax, plan, units, batch, following, keep, full)
        start = (batch.transplant - plan.start).days
        until = following.transplant if following else plan.end
        room = ((until - batch.transplant).days) * per_day
        words = shortened(crop_title(garden, batch.crop), int(room / 0.064))
        ax.text(start, full * 1.06, words, fontsize=7, va="bottom")


def _steps(full: float) -> list[float]:
    step = next(s for s in (1, 2, 5, 10, 20, 50, 100, 1000) if full / s <= 4)
    return [n * step for n in range(int(full / step) + 1)]


def _curve(ax: Axes, plan: Plan, units: Units, batch: Batch) -> None:
    """The level up to the last pick; the water under it."""
    last = batch.picks[-1].date if batch.picks else batch.clear
    points = [v for v in batch.levels if v.date <= last]
    x = [(v.date - plan.start).days for v in points]
    y = [units.depth(v.depth_cm) for v in points]
    ax.fill_between(x, y, color=look.WATER, linewidth=0, zorder=1)
    ax.plot(x, y, color=look.DEEP, linewidth=1.6, zorder=2, solid_capstyle="butt")
    if x:
        ax.plot([x[-1], x[-1]], [0, y[-1]], color=look.DEEP, linewidth=0.6, zorder=2)


def _dry(
    ax: Axes,
    plan: Plan,
    units: Units,
    batch: Batch,
    following: Batch | None,
    keep: float,
    full: float,
) -> None:
    """From the last pick to the dry date, as far as the tier is free and the season goes."""
    if batch.dry_date is None or not batch.levels or not batch.picks:
        return
    end = (following.transplant if following else plan.end) - plan.start
    last = (batch.picks[-1].date - plan.start).days
    dry = (batch.dry_date - plan.start).days
    level = next((v.depth_cm for v in reversed(batch.levels) if v.date <= batch.picks[-1].date), 0)
    y = units.depth(level)
    share = min(1.0, (end.days - last) / max(dry - last, 1))
    if share > 0:
        ax.plot(
            [last, last + (dry - last) * share],
            [y, y + (keep - y) * share],
            color=look.DEEP,
            linewidth=0.9,
            linestyle=":",
            zorder=2,
        )
    if dry <= end.days:
        ax.plot(
            [dry],
            [keep],
            "v",
            color=look.WARN,
            markerfacecolor=look.SHEET,
            markersize=5,
            zorder=5,
            clip_on=False,
        )
    if batch.margin_days is not None:
        words = plural("{n} d", "{n} d", batch.margin_days)
        ax.text(
            last - 1,
            keep + full * 0.03,
            words,
            fontsize=6.5,
            color=look.WARN,
            ha="right",
            va="bottom",
            zorder=6,
        )
