"""What the pictures share: paper and pencil, tags, strokes by family, the scale of days."""

from __future__ import annotations

import io
import textwrap
import warnings
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from typing import Any, ParamSpec, TypeVar

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Polygon

from scheduler.garden.model import Garden, Season
from scheduler.plans.model import Plan
from scheduler.words.words import MONTHS, _, plan_mark

PAPER, SHEET, INK, LEAD, FAINT = "#faf6ea", "#fffdf6", "#26241f", "#57534a", "#ddd5c0"
TAG, TAG_EDGE, AWAY = "#f1e3c3", "#6b5d41", "#e6dfcd"
WATER, DEEP, WARN = "#cfe0ea", "#1f4f73", "#7d2b1d"

# Fill and strokes, told apart by either alone.
STYLES = (
    (SHEET, ""),
    ("#dce8c9", "////"),
    ("#cfe0ea", "...."),
    ("#f1dcc0", "\\\\\\\\"),
    ("#e5d7e8", "||||"),
    ("#e3ded2", "xxxx"),
    ("#f5e6b8", "----"),
    ("#d3e6e0", "ooo"),
)
STYLE: Any = {
    "font.family": ["DejaVu Sans"],
    "font.size": 8.5,
    "text.color": INK,
    "text.parse_math": False,  # a name with dollar signs is a name
    "axes.edgecolor": LEAD,
    "axes.labelcolor": INK,
    "axes.facecolor": SHEET,
    "axes.linewidth": 0.8,
    "xtick.color": LEAD,
    "ytick.color": LEAD,
    "figure.facecolor": PAPER,
    "savefig.facecolor": PAPER,
    "hatch.linewidth": 0.5,
    "hatch.color": LEAD,
    "svg.fonttype": "none",  # words stay words: to be searched and read aloud
    "svg.hashsalt": "dryline",
}
DPI = 150
P = ParamSpec("P")
R = TypeVar("R")
_LETTER = 0.064  # mean width of a letter below a title [in]


def figure(wide: float, high: float, title: str, below: str = "") -> Figure:
    """An empty sheet [in] with its title at the top left."""
    made = Figure(figsize=(wide, high))
    made.text(
        0.25 / wide,
        1 - 0.22 / high,
        title,
        fontsize=13,
        family="DejaVu Serif",
        weight="bold",
        va="top",
    )
    if below:
        lines = textwrap.wrap(below, int((wide - 0.5) / _LETTER))
        made.text(0.25 / wide, 1 - 0.5 / high, "\n".join(lines), fontsize=8.5, color=LEAD, va="top")
    return made


def axes(made: Figure, left: float, top: float, wide: float, high: float) -> Axes:
    """Axes by their place from the top left corner [in]."""
    w, h = made.get_size_inches()
    box = (left / w, 1 - (top + high) / h, wide / w, high / h)
    ax: Axes = made.add_axes(box)
    ax.tick_params(length=2.5, labelsize=7.5)
    return ax


def in_style(function: Callable[P, R]) -> Callable[P, R]:
    """Draw within the style, without touching the caller's settings."""
    from functools import wraps

    @wraps(function)
    def styled(*args: P.args, **keys: P.kwargs) -> R:
        with matplotlib.rc_context(STYLE):
            return function(*args, **keys)

    return styled


@in_style
def to_bytes(made: Figure, form: str) -> bytes:
    """PNG or SVG.

    Raises
    ------
    ValueError
        Another format.
    """
    if form not in ("png", "svg"):
        raise ValueError(f"format {form!r}; expected png or svg")
    out = io.BytesIO()
    stamp: dict[str, Any] = {"Date": None, "Creator": None} if form == "svg" else {"Software": None}
    with warnings.catch_warnings():
        # A letter that the font lacks is drawn as a box; no news for the terminal.
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        made.savefig(out, format=form, dpi=DPI, metadata=stamp)
    if form == "png":
        return out.getvalue()
    # Where a machine lacks the font, one of the same kind takes its place.
    svg = out.getvalue()
    svg = svg.replace(b"font-family: 'DejaVu Sans'", b"font-family: 'DejaVu Sans', sans-serif")
    return svg.replace(b"font-family: 'DejaVu Serif'", b"font-family: 'DejaVu Serif', serif")


def title_of(garden: Garden, what: str) -> str:
    name = garden.name if len(garden.name) <= 48 else garden.name[:47] + "\u2026"
    return f"{name}: {what}"


def below(garden: Garden, plan: Plan | None, text: str = "") -> str:
    """The line below a title; ``plan``: None where the sheet is of none."""
    note = _("An invented garden") if garden.invented else ""
    mark = plan_mark(plan) if plan else ""
    return ". ".join(part for part in (text, note, mark) if part)


def families(garden: Garden) -> dict[str, tuple[str, str]]:
    """Fill and strokes of each family of the garden's crops."""
    names = list(dict.fromkeys(crop.family for crop in garden.crops.values()))
    return {name: STYLES[i % len(STYLES)] for i, name in enumerate(names)}


def family_key(made: Figure, garden: Garden, names: Sequence[str], y: float) -> None:
    """What the strokes mean, ``y`` inches above the lower edge; only families in the picture."""
    styles = families(garden)
    patches = [
        Patch(facecolor=styles[n][0], hatch=styles[n][1], edgecolor=LEAD, linewidth=0.8, label=n)
        for n in styles
        if n in names
    ]
    key(made, patches, y)


def key(made: Figure, handles: Sequence[Any], y: float, columns: int = 8) -> None:
    wide, high = made.get_size_inches()
    made.legend(
        handles=list(handles),
        loc="lower left",
        bbox_to_anchor=(0.25 / wide, y / high),
        bbox_transform=made.transFigure,
        ncols=columns,
        frameon=False,
        fontsize=8,
        borderpad=0,
        borderaxespad=0,
        handlelength=2.4,
        handleheight=1.3,
        columnspacing=1.6,
    )


def days_scale(ax: Axes, start: date, end: date, top: bool = False, grid: bool = True) -> None:
    """Days from ``start`` along x (day 0 at 0), a line and a name at each month."""
    n = (end - start).days + 1
    ax.set_xlim(0, n)
    edges, names = [], []
    day = start
    while day <= end:
        after = (day.replace(day=1) + timedelta(days=32)).replace(day=1)
        edges.append((day - start).days)
        inches = ax.get_position().width * ax.figure.get_size_inches()[0]  # type: ignore[union-attr]
        room = (min(after, end + timedelta(days=1)) - day).days / n * inches
        name = _(MONTHS[day.month - 1])
        names.append(name if room > 0.085 * len(name) else name[:3] if room > 0.22 else "")
        day = after
    ax.set_xticks(edges)
    ax.set_xticklabels(names, ha="left")
    ax.tick_params(
        axis="x",
        length=0,
        labelsize=7.5,
        top=top,
        bottom=not top,
        labeltop=top,
        labelbottom=not top,
        pad=2,
    )
    if grid:
        for at in edges[1:]:
            ax.axvline(at, color=FAINT, linewidth=0.8, zorder=0)


def away_bands(ax: Axes, season: Season, label_y: float | None = None) -> None:
    """Days away, shaded; named at ``label_y`` (axes fraction) where there is room."""
    for span in season.away:
        first = max((span.start - season.start).days, 0)
        last = min((span.end - season.start).days + 1, season.days)
        if last <= first:
            continue
        ax.axvspan(first, last, color=AWAY, zorder=0, linewidth=0)
        if label_y is not None:
            ax.text(
                (first + last) / 2,
                label_y,
                _("away"),
                fontsize=7,
                color=LEAD,
                ha="center",
                va="bottom",
                transform=ax.get_xaxis_transform(),
                clip_on=False,
            )


def tag(ax: Axes, x: float, y: float, wide: float, high: float, words: str) -> None:
    """A tier tag with its hole, in data units; its left end at ``x``, its middle at ``y``."""
    cut = wide * 0.1
    a, b = y - high / 2, y + high / 2
    corners = [
        (x + cut, a),
        (x + wide, a),
        (x + wide, b),
        (x + cut, b),
        (x, y + high * 0.2),
        (x, y - high * 0.2),
    ]
    ax.add_patch(Polygon(corners, facecolor=TAG, edgecolor=TAG_EDGE, linewidth=0.7))
    ax.plot(
        [x + cut * 0.9],
        [y],
        "o",
        markersize=2,
        markerfacecolor=PAPER,
        markeredgecolor=TAG_EDGE,
        markeredgewidth=0.6,
    )
    ax.text(x + cut * 1.8, y, words, fontsize=7.5, va="center_baseline", clip_on=True)


def short_place(column: str, tier: int, letters: int = 12) -> str:
    words = f"{column} {tier}"
    return words if len(words) <= letters else words[: letters - 5] + "\u2026" + words[-4:]
