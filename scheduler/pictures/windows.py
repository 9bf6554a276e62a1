"""The heat map of sowing windows: a panel a kind of tier, crops down, sow dates across."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Rectangle

from scheduler.batches import window_reasons as r
from scheduler.batches.windows import SowWindows, runs
from scheduler.garden.model import Garden
from scheduler.pictures import look
from scheduler.plans.model import Plan
from scheduler.shortfall.window_words import kinds_label
from scheduler.words.words import N_, _, span

_WIDE, _TOP, _LABEL, _ROW, _GAP = 6.3, 0.95, 1.3, 0.2, 0.62  # [in]


@dataclass(frozen=True)
class Mark:
    """Fill, strokes and letter of one answer, and its words in the key."""

    fill: str
    strokes: str
    letter: str
    words: str


MARKS = {
    r.WORKS: Mark("#3d5a2c", "", "", N_("sow")),
    r.DARK: Mark("#b9b3c9", "....", "S", N_("S: too much shade")),
    r.DRY: Mark("#eac6a0", "\\\\\\\\", "D", N_("D: dry before it is ready")),
    r.DRY_YEARS: Mark("#eac6a0", "\\\\", "Y", N_("Y: dry in too many years")),
    r.SALTY: Mark("#d9c7b8", "..", "Z", N_("Z: too salty")),
    r.BOLTS: Mark("#f3dc8f", "||||", "B", N_("B: bolts")),
    r.COLD: Mark("#bcd3e6", "**", "C", N_("C: killed by cold")),
    r.HEAT: Mark("#efb09a", "OO", "H", N_("H: killed by heat")),
    r.LATE: Mark(look.SHEET, "", "E", N_("E: season ends first")),
    r.NO_PICK_DAY: Mark("#dfe7ee", "xxxx", "P", N_("P: nobody there to pick")),
    r.NO_TRANSPLANT_DAY: Mark("#dfe7ee", "----", "T", N_("T: nobody there to transplant")),
    r.NOT_AVAILABLE: Mark("#e3ded2", "++", "N", N_("N: tier not to be had")),
    r.RESTS: Mark("#e8cdd3", "////", "R", N_("R: rests after root disease")),
    r.FORBIDDEN: Mark("#e8cdd3", "++", "V", N_("V: never here, as the garden says")),
    r.LONG: Mark("#e3ded2", "oo", "L", N_("L: stands too long")),
    r.OTHER: Mark("#e3ded2", "xx", "X", N_("X: breaks another rule")),
}


@look.in_style
def heat_map(garden: Garden, windows: Sequence[SowWindows], plan: Plan | None = None) -> Figure:
    """One sheet. Kinds of tier with the same answers everywhere share a panel."""
    panels = _panels(windows)
    crops = list(dict.fromkeys(w.crop.name for w in windows))
    across = 1 if len(panels) == 1 else 2
    down = -(-len(panels) // across)
    tall = _ROW * max(len(crops), 1)
    used = {day.why.code for w in windows for day in w.days}
    wide = 0.2 + across * _WIDE
    columns = 3 if across == 1 else 5
    key_rows = -(-len(used) // columns)
    high = _TOP + down * (tall + _GAP) + 0.22 * key_rows + 0.12
    below = look.below(
        garden,
        plan,
        _("{dates}, by sow date. Tier 1 is the top").format(
            dates=span(garden.season.start, garden.season.end)
        ),
    )
    made = look.figure(wide, high, look.title_of(garden, _("when to sow")), below)
    for n, mine in enumerate(panels):
        left = 0.25 + (n % across) * _WIDE + _LABEL
        top = _TOP + (n // across) * (tall + _GAP) + 0.1
        ax = look.axes(made, left, top, _WIDE - _LABEL - 0.3, tall)
        _panel(ax, garden, mine)
    marks = [m for code, m in MARKS.items() if code in used]
    look.key(
        made,
        [
            Patch(
                facecolor=m.fill,
                hatch=m.strokes,
                edgecolor=look.LEAD,
                linewidth=0.8,
                label=_(m.words),
            )
            for m in marks
        ],
        0.16,
        columns,
    )
    return made


def _panels(windows: Sequence[SowWindows]) -> list[list[list[SowWindows]]]:
    """Per panel its kinds, each with a window per crop."""
    by_kind: dict[Any, list[SowWindows]] = {}
    for one in windows:
        by_kind.setdefault(one.kind, []).append(one)
    alike: dict[Any, list[list[SowWindows]]] = {}
    for mine in by_kind.values():
        answers = tuple((run.first, run.last, run.code) for w in mine for run in runs(w))
        alike.setdefault(answers, []).append(mine)
    return list(alike.values())


def _panel(ax: Axes, garden: Garden, kinds: Sequence[Sequence[SowWindows]]) -> None:
    season, rows = garden.season, kinds[0]
    look.days_scale(ax, season.start, season.end, grid=False)
    ax.set_ylim(len(rows), 0)
    ax.set_yticks([i + 0.5 for i in range(len(rows))])
    ax.set_yticklabels([_short(w.crop.title) for w in rows])
    ax.tick_params(axis="y", length=0, labelsize=7.5, labelcolor=look.INK)
    label = kinds_label(garden, [mine[0].kind for mine in kinds])
    ax.set_title(_short(label, 60), loc="left", fontsize=8.5, pad=3, weight="bold")
    per_day = ax.get_position().width * ax.figure.get_size_inches()[0] / season.days  # type: ignore[union-attr]
    for row, window in enumerate(rows):
        for run in runs(window):
            mark = MARKS[run.code]
            first = (run.first - season.start).days
            # Up to the next work day's eve a date counts for the days without work behind it.
            last = _edge(window, run.last, season.end)
            end = (last - season.start).days + 1
            ax.add_patch(
                Rectangle(
                    (first, row + 0.04),
                    end - first,
                    0.92,
                    facecolor=mark.fill,
                    hatch=mark.strokes,
                    edgecolor=look.LEAD,
                    linewidth=0.5,
                    zorder=2,
                )
            )
            if mark.letter and (end - first) * per_day > 0.13:
                ax.text(
                    (first + end) / 2,
                    row + 0.52,
                    mark.letter,
                    fontsize=6.5,
                    ha="center",
                    va="center_baseline",
                    zorder=4,
                    bbox={"facecolor": mark.fill, "edgecolor": "none", "pad": 0.6},
                )
    for at in season.away:
        first = max((at.start - season.start).days, 0)
        last_day = min((at.end - season.start).days + 1, season.days)
        if last_day > first:
            ax.axvspan(first, last_day, color=look.AWAY, zorder=3, linewidth=0)
            ax.text(
                (first + last_day) / 2,
                len(rows) / 2,
                _("away"),
                fontsize=6.5,
                ha="center",
                va="center",
                rotation=90,
                color=look.LEAD,
                zorder=5,
            )


def _edge(window: SowWindows, day: Any, end: Any) -> Any:
    """The last day before the next work day after ``day``."""
    later = (d.sow for d in window.days if d.sow > day)
    following = next(later, None)
    return following - timedelta(days=1) if following else end


def _short(title: str, letters: int = 18) -> str:
    return title if len(title) <= letters else title[: letters - 1] + "\u2026"
