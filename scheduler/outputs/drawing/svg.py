"""The few SVG marks the drawings share. Lengths are user units, about a screen pixel."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from html import escape

from scheduler.garden.model import Garden
from scheduler.words.words import MONTHS, _, short_date


def num(value: float) -> str:
    """A coordinate with one decimal, as short as it goes."""
    return f"{value:.1f}".removesuffix(".0")


def text(x: float, y: float, body: str, css: str = "", anchor: str = "") -> str:
    extra = f' class="{css}"' if css else ""
    extra += f' text-anchor="{anchor}"' if anchor else ""
    return f'<text x="{num(x)}" y="{num(y)}"{extra}>{escape(body)}</text>'


def line(x1: float, y1: float, x2: float, y2: float, css: str) -> str:
    return f'<path class="{css}" d="M{num(x1)} {num(y1)}L{num(x2)} {num(y2)}"/>'


def rect(x: float, y: float, wide: float, high: float, css: str, inside: str = "") -> str:
    head = f'<rect x="{num(x)}" y="{num(y)}" width="{num(wide)}" height="{num(high)}"'
    return f'{head} class="{css}">{inside}</rect>' if inside else f'{head} class="{css}"/>'


def path(points: Iterable[tuple[float, float]], css: str, closed: bool = False) -> str:
    d = "L".join(f"{num(x)} {num(y)}" for x, y in points)
    return f'<path class="{css}" d="M{d}{"Z" if closed else ""}"/>'


def frame(wide: float, high: float, says: str, body: Iterable[str], css: str = "") -> str:
    """The whole drawing; ``says`` is what a screen reader reads instead."""
    extra = f' class="{css}"' if css else ""
    return (
        f'<svg viewBox="0 0 {num(wide)} {num(high)}" role="img" aria-label="{escape(says)}"{extra}>'
        + "".join(body)
        + "</svg>"
    )


# Tells groups apart without colour: the same strokes and dots as in print.
PATTERNS = (
    '<svg width="0" height="0" aria-hidden="true" class="defs"><defs>'
    '<pattern id="h1" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<path d="M-1 7L7 -1M-1 1L1 -1M5 7L7 5" class="hatch"/></pattern>'
    '<pattern id="h2" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<circle cx="1.5" cy="1.5" r=".9" class="dot"/><circle cx="4.5" cy="4.5" r=".9" class="dot"/>'
    '</pattern><pattern id="h3" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<path d="M-1 -1L7 7M-1 5L1 7M5 -1L7 1" class="hatch"/></pattern>'
    '<pattern id="h4" width="5" height="5" patternUnits="userSpaceOnUse">'
    '<path d="M2.5 0V5" class="hatch"/></pattern></defs></svg>'
)
MOST_GROUPS = 5


def group_number(garden: Garden, crop: str) -> int:
    """Which colour and strokes a crop's group has."""
    names = [d.group for d in garden.demands]
    demand = garden.demand_of(crop)
    return (names.index(demand.group) if demand else len(names)) % MOST_GROUPS


class Days:
    """Days to x along a drawing."""

    def __init__(self, first: date, last: date, left: float, right: float) -> None:
        self.first, self.last, self.left, self.right = first, last, left, right
        self.step = (right - left) / max((last - first).days + 1, 1)

    def __call__(self, day: date) -> float:
        return self.left + (day - self.first).days * self.step

    def months(self, top: float, low: float, label_y: float) -> list[str]:
        """A line at the first of each month and its name, shortened where room is short."""
        out = []
        day = self.first
        while day <= self.last:
            after = (day.replace(day=1) + timedelta(days=32)).replace(day=1)
            room = self(min(after, self.last + timedelta(days=1))) - self(day)
            name = _(MONTHS[day.month - 1])
            name = name if room > 9 * len(name) else name[:3]
            out.append(line(self(day), top, self(day), low, "grid"))
            if room > 26:
                out.append(text(self(day) + 3, label_y, name, "small"))
            day = after
        return out


def scale_steps(most: float, about: int = 6) -> list[float]:
    """About ``about`` round values from 0 up to ``most``."""
    if most <= 0:
        return [0.0]
    rough = most / about
    size = 10.0 ** len(str(int(rough))) / 10 if rough >= 1 else 1.0
    while rough < 1 and size > rough:
        size /= 10
    step = next(size * m for m in (1, 2, 5, 10) if size * m >= rough)
    return [n * step for n in range(int(most / step + 1e-9) + 1)]


def shortened(title: str, letters: int) -> str:
    """A name in at most ``letters`` letters: all of it, its first word, or cut with a point."""
    first = title.split(" ")[0]
    if len(title) <= letters:
        return title
    if len(first) <= letters:
        return first
    return first[: letters - 1] + "." if letters > 3 else ""


def days_in_words(first: date, last: date) -> str:
    return _("{first} to {last}").format(first=short_date(first), last=short_date(last))
