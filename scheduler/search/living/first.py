"""A schedule for the mean year by living it: where a limit binds hard this comes first.

Windows and whole models are slow to leave a schedule of a rule of thumb where stack access, cells
or work days bind; moves with a greedy repair, each lived in the one year, are not. No bound comes
of it. For plans with weather years the same search comes last, in all of them.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence

from crops.years import carried_by
from scheduler.batches.candidates import Candidates
from scheduler.lived.doubt import NONE
from scheduler.schedule.assemble import Stand
from scheduler.schedule.check import broken
from scheduler.search.layouts import choices_of, laid_out, worth_of
from scheduler.search.living.search import improved
from scheduler.solvers.cp_sat import Settings
from scheduler.years.mean_year import mean_year

SHARE, MOST = 0.25, 15.0  # of the time for a plan; seconds of it at most
LEAST = 1.0  # seconds below which it is not begun
TIERS = 200  # beyond which it is too slow


def lived_first(
    cand: Candidates,
    starts: Sequence[Sequence[Stand]],
    settings: Settings,
    stop: threading.Event | None,
) -> list[Stand] | None:
    """The best that is found from some schedules; None where it is not for this garden."""
    garden = cand.garden
    seconds = min(settings.time_limit * SHARE, MOST)
    if settings.deterministic is None and seconds < LEAST:
        return None
    if carried_by(garden.site.weather) is not None:
        return None
    if sum(len(column.tiers) for column in garden.columns) > TIERS:
        return None
    found = improved(*(cand, mean_year(garden), starts, settings, seconds, None, stop), doubt=NONE)
    return list(found.stands)


def lived_at_first(
    cand: Candidates,
    best: list[Stand],
    settings: Settings,
    stop: threading.Event | None,
) -> list[Stand]:
    """A schedule that living makes better in the mean year, if it is; else ``best``."""
    found = lived_first(cand, [best], settings, stop)
    if not found:
        return best
    problem, access = laid_out(cand)
    made, before = choices_of(problem, found), choices_of(problem, best)
    if broken(problem, access, made):
        return best
    value, old = worth_of(problem, made), worth_of(problem, before)
    return found if value > old else best
