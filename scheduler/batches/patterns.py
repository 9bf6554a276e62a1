"""When a batch could be picked: patterns of picks within its hold, for every start at once.

Of all pick days in a hold those are offered that can matter. Produce counts by week, so that two
days do the same good where a pick on either meets the wishes of the same weeks: a *class* of days.
The first pick day of a class frees the tier soonest, leaves the most water above dry and is the
furthest from bolting and from the end of the season, and a vessel picked sooner can be cleared on
any later day on which it could be cleared otherwise. A later day of the class matters

- where picks a day are short, as the first day may be full: then every pick day is offered
  (`picks_can_bind`); with no more tiers than picks a day no day is ever full;
- where the mean light up to the last pick is too little on the first day: the first day with
  enough is offered;
- for the first of two picks under a lift limit: the more plants are left, the more is drunk, and
  the sooner the vessel is light. Offered where it is light sooner than after the earlier pick.

Nothing else is lost, but for what `plans.restrictions` names: heads are picked on two days at
most, of different classes, and a crop cut again is cut as soon as it has grown back.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np

from crops.crop import Crop
from scheduler.base.weeks import week_of
from scheduler.batches.courses import NEVER
from scheduler.garden.model import EventWeeks, Garden, Season
from scheduler.garden.weekly import weeks_served

Lit = Callable[[np.ndarray], np.ndarray]  # days [m, n] to whether the light was enough up to them

MOST_PICKS = 6  # of one batch; a crop that may be cut more often is cleared after so many


@dataclass(frozen=True)
class Pattern:
    """One way to pick, for every start.

    Attributes
    ----------
    days : of its picks, counted from the season's first [m, e]; `NEVER` throughout where a start
        has no such pattern.
    plants : that each pick takes, or cuts [m, e].
    heavier : number of an earlier pattern: needed only where that one leaves the vessel too heavy
        to lift after its first pick, and for longer than this.
    """

    days: np.ndarray
    plants: np.ndarray
    heavier: int | None = None


def picks_can_bind(garden: Garden) -> bool:
    """Whether the limit of picks a day can ever be reached: a tier is picked once a day at most."""
    most = garden.limits.picks_per_day
    return most is not None and most < sum(len(column.tiers) for column in garden.columns)


@lru_cache(maxsize=64)
def next_pick_day(season: Season) -> np.ndarray:
    """The first pick day at or after each day [days + 1]; `NEVER` past the last."""
    out = np.full(season.days + 1, NEVER)
    for i in range(season.days - 1, -1, -1):
        out[i] = i if season.pick_mask[i] else out[i + 1]
    out.flags.writeable = False  # asked for again for every kind of tier
    return out


def at_or_after(table: np.ndarray, days: np.ndarray) -> np.ndarray:
    """Look ``days`` up in a table of `next_pick_day`, `NEVER` past its end."""
    inside = (days >= 0) & (days < len(table))
    return np.where(inside, table[np.clip(days, 0, len(table) - 1)], NEVER)


@lru_cache(maxsize=256)
def service_class(season: Season, storage_days: float, events: EventWeeks = ()) -> np.ndarray:
    """A number per day [days]: equal where a pick meets the wishes of the same weeks."""
    seen: dict[tuple[str, ...], int] = {}
    out = np.empty(season.days, dtype=int)
    for i in range(season.days):
        weeks = weeks_served(season.date(i), storage_days, events)
        out[i] = seen.setdefault((week_of(season.date(i)), *weeks[:1], *weeks[-1:]), len(seen))
    out.flags.writeable = False
    return out


def hold_days(season: Season, first: np.ndarray, last: np.ndarray) -> np.ndarray:
    """Every pick day from ``first`` to ``last`` of each start [m, most]; `NEVER` fills the rest."""
    table = next_pick_day(season)
    columns: list[np.ndarray] = []
    day = at_or_after(table, first)
    while not columns or (columns[-1] < NEVER).any():
        columns.append(np.where(day <= last, day, NEVER))
        day = at_or_after(table, columns[-1] + 1)
    return np.stack(columns[:-1] or columns, axis=1)


def head_patterns(
    season: Season,
    crop: Crop,
    plants: int,
    first: np.ndarray,
    last: np.ndarray,
    lit: Lit,
    every_day: bool = False,
    lift: bool = False,
    events: EventWeeks = (),
) -> list[Pattern]:
    """Patterns of a crop picked once: all heads on one day, or on two days in every split.

    Parameters
    ----------
    first, last : days between which each start may be picked [m].
    lit : whether the light is enough for a last pick.
    every_day : offer every pick day, not only the first of its class (`picks_can_bind`).
    lift : whether the weight of a vessel matters; events : weeks with events of the crop.
    """
    days = hold_days(season, first, last)
    there = days < NEVER
    classes = service_class(season, crop.storage_life, events)[np.where(there, days, 0)]
    enough = lit(days) & there
    m, n = days.shape
    # Numbers of the classes of each start: 0, 1, ...; of what is not there: none.
    new = np.diff(classes, axis=1, prepend=classes[:, :1]) != 0
    rank = np.where(there, np.cumsum(new, axis=1), -1)

    def rank_of(day: np.ndarray) -> np.ndarray:
        ranks: np.ndarray = np.where(days == day[:, None], rank, -1).max(axis=1, initial=-1)
        return ranks

    def earliest(where: np.ndarray) -> np.ndarray:
        """The first of the days ``where`` [m]."""
        at = where.argmax(axis=1)
        return np.where(where.any(axis=1), days[np.arange(m), at], NEVER)

    count = int(rank.max(initial=-1)) + 1
    if every_day:
        opening = [np.where(there[:, k], days[:, k], NEVER) for k in range(n)]
        closing = [np.where(enough[:, k], days[:, k], NEVER) for k in range(n)]
    else:
        opening = [earliest(rank == c) for c in range(count)]
        closing = [earliest((rank == c) & enough) for c in range(count)]

    out = [Pattern(day[:, None], np.full((m, 1), plants)) for day in closing]

    splits = range(1, plants)
    for a, b in combinations(range(len(opening)), 2):
        both = _both(opening[a], closing[b], rank_of(opening[a]) != rank_of(closing[b]))
        base = len(out)
        out += [Pattern(both, np.tile([n, plants - n], (m, 1))) for n in splits]
        for k in range(0 if every_day or not lift else days.shape[1]):
            later = (rank[:, k] == a) & (days[:, k] > opening[a])
            both = _both(days[:, k], closing[b], later)
            if (both < NEVER).any():
                out += [
                    Pattern(both, np.tile([n, plants - n], (m, 1)), base + n - 1) for n in splits
                ]
    return out


def _both(one: np.ndarray, two: np.ndarray, where: np.ndarray) -> np.ndarray:
    """Days ``one`` and ``two`` of the starts ``where`` that have both [m, 2]."""
    both = np.stack([one, two], axis=1)
    return np.where((where & (both.max(axis=1) < NEVER))[:, None], both, NEVER)


def cut_patterns(
    season: Season, crop: Crop, plants: int, first: np.ndarray, hold: float
) -> list[Pattern]:
    """Patterns of a crop cut again: one cut, two cuts, ... each as soon as it has grown back."""
    table = next_pick_day(season)
    days = []
    day = at_or_after(table, first)
    day = np.where(day <= first + hold, day, NEVER)
    out: list[Pattern] = []
    for k in range(min(crop.cuts, MOST_PICKS)):
        days.append(day)
        stack = np.stack(days, axis=1)
        stack = np.where((day < NEVER)[:, None], stack, NEVER)
        out.append(Pattern(stack, np.full((len(first), k + 1), plants)))
        grown = day + round(crop.cut_interval)
        following = at_or_after(table, grown)
        day = np.where((day < NEVER) & (following <= grown + hold), following, NEVER)
    return out
