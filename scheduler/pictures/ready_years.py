"""How long crops take in each weather year: a panel a crop, planting days across."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator

from scheduler.batches.ready_years import ReadyYears
from scheduler.garden.model import Garden
from scheduler.pictures import look
from scheduler.shortfall.window_words import kinds_label
from scheduler.words.words import _, plural

_WIDE, _TOP, _LEFT, _TALL, _GAP = 5.4, 1.05, 0.5, 1.75, 0.62  # [in]


@look.in_style
def ready_picture(garden: Garden, found: Sequence[ReadyYears]) -> Figure:
    """One sheet for one kind of tier."""
    across = min(2, len(found))
    down = -(-len(found) // across)
    wide, high = 0.3 + across * _WIDE, _TOP + down * (_TALL + _GAP) + 0.3
    title = look.title_of(garden, _("days until ready, year by year"))
    made = look.figure(wide, high, title, look.below(garden, None, _about(garden, found[0])))
    for n, one in enumerate(found):
        left = 0.25 + (n % across) * _WIDE + _LEFT
        top = _TOP + (n // across) * (_TALL + _GAP) + 0.1
        _panel(look.axes(made, left, top, _WIDE - _LEFT - 0.3, _TALL), garden, one)
    look.key(made, _key(found[0]), 0.16, 2 if across == 1 else 4)
    return made


def _about(garden: Garden, one: ReadyYears) -> str:
    parts = [
        kinds_label(garden, [one.kind]),
        plural("{n} generated year", "{n} generated years", len(one.made)),
    ]
    if one.names:
        parts.append(plural("{n} past year", "{n} past years", len(one.names)))
    return (
        ", ".join(parts)
        + ". "
        + _("Across: the day of transplanting. Drying and bolting are left out")
    )


def _panel(ax: Axes, garden: Garden, one: ReadyYears) -> None:
    season = garden.season
    look.days_scale(ax, season.start, season.end)
    look.away_bands(ax, season)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    ax.set_title(one.crop.title, loc="left", fontsize=8.5, pad=3, weight="bold")
    shown = in_season(one, garden)
    if not shown.any():
        ax.set_yticks([])
        ax.text(
            0.5,
            0.5,
            _("not ready before the season ends"),
            transform=ax.transAxes,
            ha="center",
            fontsize=8,
            color=look.LEAD,
        )
        return
    x = np.array([(day - season.start).days for day in one.planted])[shown]
    made = one.of_made
    low, high = (_drawn(v[shown]) for v in (made.early, made.late))
    ax.fill_between(
        x,
        low,
        high,
        facecolor=look.WATER,
        hatch="....",
        edgecolor=look.DEEP,
        linewidth=0.5,
        zorder=2,
    )
    ax.plot(x, _drawn(made.usual[shown]), color=look.DEEP, linewidth=1.6, zorder=4)
    for year in one.past:
        ax.plot(x, _drawn(year[shown]), color=look.LEAD, linewidth=0.5, zorder=3)
    ax.plot(
        x,
        _drawn(one.climate[shown]),
        color=look.WARN,
        linewidth=1.4,
        linestyle=(0, (4, 2)),
        zorder=5,
    )
    seen = np.concatenate([low, high, *(_drawn(y[shown]) for y in one.past)])
    bottom, top = np.nanmin(seen), np.nanmax(seen)
    room = max(0.06 * (top - bottom), 1.0)
    ax.set_ylim(max(bottom - room, 0), top + room)
    ax.yaxis.set_major_locator(MaxNLocator(5, integer=True))
    ax.set_ylabel(_("days"), fontsize=8)


def in_season(one: ReadyYears, garden: Garden) -> np.ndarray:
    """Planting days after which the crop is ready within the season in half of all years [m]."""
    spell = one.of_past or one.of_made
    left = np.array([(garden.season.end - day).days for day in one.planted])
    return np.asarray(spell.usual <= left)


def _drawn(days: np.ndarray) -> np.ndarray:
    """Days to draw: a gap where it is never ready."""
    return np.where(np.isfinite(days), days, np.nan)


def _key(one: ReadyYears) -> list[Patch | Line2D]:
    handles: list[Patch | Line2D] = [
        Patch(
            facecolor=look.WATER,
            hatch="....",
            edgecolor=look.DEEP,
            linewidth=0.5,
            label=_("three of five generated years"),
        ),
        Line2D([], [], color=look.DEEP, linewidth=1.6, label=_("usual generated year")),
    ]
    if one.names:
        first, last = one.names[0], one.names[-1]
        years = first if first == last else _("{start} to {end}").format(start=first, end=last)
        handles.append(
            Line2D(
                [],
                [],
                color=look.INK,
                linewidth=0.5,
                label=_("past years, {years}").format(years=years),
            )
        )
    handles.append(
        Line2D(
            [],
            [],
            color=look.WARN,
            linewidth=1.4,
            linestyle=(0, (4, 2)),
            label=_("the climate's mean day alone"),
        )
    )
    return handles
