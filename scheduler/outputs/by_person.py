"""Who does what on a day, where the garden names helpers: like work stays with one person."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from scheduler.garden.model import Garden
from scheduler.outputs import labour, work
from scheduler.outputs.together import HARD, Line, day_lines, tiers
from scheduler.outputs.work import Work
from scheduler.words.words import VERB, Units, _, about


@dataclass
class Share:
    """What one person does on a day: the minutes there are [min], and the lines of work."""

    name: str
    minutes: float
    lines: list[Line] = field(default_factory=list)

    def taken(self, garden: Garden) -> float:
        """Minutes of the work given [min]."""
        return sum(labour.of_items(garden, line.items) for line in self.lines)


def shares(garden: Garden, day: date, items: Sequence[Work], units: Units) -> list[Share]:
    """A day's work shared out among the helpers of that day; empty where there are none.

    A line of work goes to one helper as a whole, the longest line first, each to the helper with
    the most minutes left, even if that is too few. A line that takes no time goes to the first.
    """
    there = [Share(h.name, h.minutes) for h in garden.helpers if day.weekday() in h.days]
    if not there:
        return []
    lines = day_lines(garden, items, units)
    order = sorted(range(len(lines)), key=lambda n: -labour.of_items(garden, lines[n].items))
    given: dict[int, Share] = {}
    for n in order:
        took = labour.of_items(garden, lines[n].items)
        share = max(there, key=lambda s: s.minutes - s.taken(garden)) if took else there[0]
        share.lines.append(lines[n])
        given[n] = share
    for share in there:  # in the order of the day's work
        share.lines = [lines[n] for n in range(len(lines)) if given[n] is share]
    return there


def said(garden: Garden, share: Share) -> str:
    """``Ada (about 34 min of 60): pick A 3, B 2; clear C 1``."""
    parts = []
    for line in share.lines:
        fills = [w for w in line.items if w.kind != work.TRANSPLANT] or list(line.items)
        parts.append(f"{_(VERB[line.kind])} {tiers(fills)}".replace(HARD, " "))
    took = share.taken(garden)
    if not parts:
        return _("{name}: nothing").format(name=share.name)
    if not took:
        return f"{share.name}: {'; '.join(parts)}"
    return _("{name} ({took} of {minutes:.0f}): {work}").format(
        name=share.name, took=about(took), minutes=share.minutes, work="; ".join(parts)
    )
