"""Which of several ways to go on to take: as found, or the one that brings most in years ahead."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from scheduler.plans.model import Batch
from scheduler.replanning.baseline import Kept, Taken
from scheduler.replanning.commitments import Commitments
from scheduler.replanning.layout import is_kept
from scheduler.replanning.search import Found
from scheduler.schedule.assemble import Stand
from scheduler.search.tidy import cleared_soon
from scheduler.solvers.cp_sat import Report, Settings

if TYPE_CHECKING:
    from scheduler.replanning.by_living import Ahead


def best_way(
    commitments: Commitments,
    kept: Kept,
    found: Found,
    batches: Callable[[Found], Sequence[Batch]],
    moved: Callable[[Found], Mapping[int, str]],
    slipping: Sequence[Batch] | None,
    settings: Settings,
    price: float,
    ahead: Ahead | None,
    report: Report | None = None,
    stop: threading.Event | None = None,
) -> tuple[Found, bool]:
    """Of what was found, what it began with, and what living them makes of them, the best.

    And whether the old plan, let slip, brings as much for no change at all.

    Parameters
    ----------
    batches : of a way, all of the season; moved : which new batches of it are the plan's on
        other days: number to id.
    slipping : batches of the old plan without what is lost, let slip; None: it cannot go on.
    settings : with the time for living; price : weighted grams that one change must bring.
    ahead : the years ahead; None: what was found is taken.
    """
    ways = [_tidied(commitments, way) for way in (found, *found.begun)]
    if ahead is None:
        return ways[0], False
    from scheduler.replanning.by_living import lived_on, upheaval

    years = ahead

    def value(way: Found) -> float:
        return years.grams(batches(way)) - price * upheaval(commitments, way, moved(way))

    worth = [value(way) for way in ways]
    ways = [way for _, way in sorted(zip(worth, ways, strict=True), key=lambda p: -p[0])]
    best, most = ways[0], max(worth)
    lived = lived_on(commitments, kept, ways, batches, ahead, price, settings, report, stop)
    if lived is not None:
        lived = _tidied(commitments, lived)
        if (brought := value(lived)) > most:
            best, most = lived, brought
    return best, slipping is not None and ahead.grams(slipping) >= most


def _tidied(commitments: Commitments, found: Found) -> Found:
    """Tiers that do not go on as known are cleared as soon as they can be."""
    every = [*found.taken.items(), *((None, t) for t in found.new)]
    held = [
        i for i, (n, t) in enumerate(every) if n is not None and is_kept(commitments.items[n], t)
    ]
    made = [Stand(t.option.row, *t.option.place, t.clear) for _, t in every]
    soon = cleared_soon(commitments.cand, made, held, commitments.today)
    now = [(n, Taken(t.option, s.clear)) for (n, t), s in zip(every, soon, strict=True)]
    return replace(
        found, taken={n: t for n, t in now if n is not None}, new=[t for n, t in now if n is None]
    )
