"""The season: columns and tiers down, weeks across, the crop's name in each bar."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from scheduler.base.weeks import week_start
from scheduler.garden.model import Column, Garden, Tier
from scheduler.garden.weekly import season_weeks
from scheduler.outputs.drawing.svg import shortened
from scheduler.outputs.sentences import crop_title
from scheduler.pictures import look
from scheduler.plans.model import FAILED, Batch, Plan
from scheduler.words.words import _, span

MOST_TIERS = 60  # on one sheet
_WIDE, _LEFT, _TOP, _ROW = 13.0, 1.25, 1.12, 0.27  # [in]
_LETTER = 0.083  # width of a letter in a bar [in]


@look.in_style
def season(garden: Garden, plan: Plan, columns: Sequence[str] = ()) -> list[Figure]:
    """Sheets of at most `MOST_TIERS` tiers, columns kept whole where they fit."""
    shown = [c for c in garden.columns if not columns or c.name in columns]
    sheets: list[list[tuple[Column, Tier]]] = [[]]
    for column in shown:
        rows = [(column, tier) for tier in column.tiers]
        if sheets[-1] and len(sheets[-1]) + len(rows) > MOST_TIERS:
            sheets.append([])
        sheets[-1] += rows
    return [_sheet(garden, plan, rows, n + 1, len(sheets)) for n, rows in enumerate(sheets)]


def _sheet(
    garden: Garden, plan: Plan, rows: Sequence[tuple[Column, Tier]], number: int, of: int
) -> Figure:
    high = _TOP + _ROW * max(len(rows), 1) + 0.5
    what = _("the season") + (_(", sheet {n} of {of}").format(n=number, of=of) if of > 1 else "")
    below = look.below(
        garden,
        plan,
        span(plan.start, plan.end)
        + ". "
        + _("Tier 1 is the top; bars from transplanting to clearing, \u25b2 at each pick"),
    )
    made = look.figure(_WIDE, high, look.title_of(garden, what), below)
    wide, tall = _WIDE - _LEFT - 0.2, _ROW * max(len(rows), 1)
    ax = look.axes(made, _LEFT, _TOP, wide, tall)
    tags = look.axes(made, 0.2, _TOP, _LEFT - 0.25, tall)
    for one in (ax, tags):
        one.set_ylim(len(rows), 0)
        one.set_yticks([])
    tags.set_xlim(0, 1)
    tags.set_axis_off()
    look.days_scale(ax, plan.start, plan.end, top=True)
    ax.tick_params(axis="x", pad=13)
    look.away_bands(ax, garden.season, -0.11 / tall)
    _weeks(ax, garden, plan)
    where = {}
    for i, (column, tier) in enumerate(rows):
        where[column.name, tier.number] = i
        look.tag(tags, 0.02, i + 0.5, 0.94, 0.72, look.short_place(column.name, tier.number))
        first = tier.number == 1
        ax.axhline(
            i, color=look.LEAD if first else look.FAINT, linewidth=0.9 if first else 0.6, zorder=0.5
        )
    per_day = wide / ((plan.end - plan.start).days + 1)
    used = set()
    for batch in plan.batches:
        row = where.get((batch.column, batch.tier))
        if row is not None:
            used.add(garden.crops[batch.crop].family)
            _bar(ax, garden, plan, batch, row, per_day)
    look.family_key(made, garden, sorted(used), 0.14)
    return made


def _weeks(ax: Axes, garden: Garden, plan: Plan) -> None:
    """A hair at each Monday, the number of the ISO week above."""
    for week in season_weeks(garden.season):
        at = (week_start(week) - plan.start).days
        if at > 0:
            ax.axvline(at, color=look.FAINT, linewidth=0.4, zorder=0)
        middle = max(at, 0) + (min(at + 7, garden.season.days) - max(at, 0)) / 2
        ax.text(
            middle,
            1.0,
            str(int(week[-2:])),
            fontsize=6.5,
            color=look.LEAD,
            ha="center",
            va="bottom",
            transform=ax.get_xaxis_transform(),
        )
    ax.text(
        0,
        1.0,
        _("week") + " ",
        fontsize=6.5,
        color=look.LEAD,
        ha="right",
        va="bottom",
        transform=ax.transAxes,
    )


def _bar(ax: Axes, garden: Garden, plan: Plan, batch: Batch, row: int, per_day: float) -> None:
    first = (batch.transplant - plan.start).days
    last = (batch.clear + timedelta(days=1) - plan.start).days
    fill, strokes = look.families(garden)[garden.crops[batch.crop].family]
    lost = batch.state == FAILED
    ax.add_patch(
        Rectangle(
            (first, row + 0.13),
            last - first,
            0.74,
            facecolor=fill,
            hatch=strokes,
            edgecolor=look.LEAD,
            linewidth=0.9,
            linestyle="--" if lost else "-",
            zorder=2,
        )
    )
    for pick in batch.picks:
        at = (pick.date - plan.start).days + 0.5
        ax.plot([at], [row + 0.76], "^", color=look.INK, markersize=3.2, zorder=4, clip_on=False)
    title = crop_title(garden, batch.crop)
    title = _("{crop}, lost").format(crop=title) if lost else title
    # The marks of the picks stand at the right end; the name keeps clear of the first.
    free = min([(p.date - plan.start).days for p in batch.picks], default=last) - first
    words = shortened(title, int((max(free, 1) * per_day - 0.1) / _LETTER))
    if words:
        ax.text(
            first + 0.06 / per_day,
            row + 0.5,
            words,
            fontsize=7.5,
            va="center_baseline",
            zorder=3,
            bbox={"facecolor": fill, "edgecolor": "none", "pad": 0.8, "alpha": 0.9},
        )
