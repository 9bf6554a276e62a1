"""When a batch could be picked: patterns of picks within its hold, for every start at once.

A pattern is (days [m, e], plants [m, e]): the days after the season's start of its picks, and how
many plants (or cuts) each takes. Rows without this pattern have `NEVER` on every day.

Produce counts by week, so two picks in one week do the same good unless the later one keeps into
a further week. Of all days in a hold only those are offered that meet wishes of different weeks.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import combinations

import numpy as np

from crops.crop import Crop
from scheduler.courses import NEVER
from scheduler.garden import Season, week_of, weeks_served

Pattern = tuple[np.ndarray, np.ndarray]

MOST_PICKS = 6  # of one batch; a crop that may be cut more often is cleared after so many


@lru_cache(maxsize=64)
def next_work_day(season: Season) -> np.ndarray:
    """The first work day at or after each day [days + 1]; `NEVER` past the last."""
    out = np.full(season.days + 1, NEVER)
    for i in range(season.days - 1, -1, -1):
        out[i] = i if season.work_mask[i] else out[i + 1]
    out.flags.writeable = False  # asked for again for every kind of tier
    return out


def at_or_after(table: np.ndarray, days: np.ndarray) -> np.ndarray:
    """Look ``days`` up in a table of `next_work_day`, `NEVER` past its end."""
    inside = (days >= 0) & (days < len(table))
    return np.where(inside, table[np.clip(days, 0, len(table) - 1)], NEVER)


@lru_cache(maxsize=256)
def service_class(season: Season, storage_days: float) -> np.ndarray:
    """A number per day [days]: equal where a pick meets the wishes of the same weeks."""
    seen: dict[tuple[str, str], int] = {}
    out = np.empty(season.days, dtype=int)
    for i in range(season.days):
        weeks = weeks_served(season.date(i), storage_days)
        out[i] = seen.setdefault((week_of(season.date(i)), weeks[-1]), len(seen))
    out.flags.writeable = False
    return out


def offered_days(
    season: Season, storage_days: float, first: np.ndarray, last: np.ndarray, most: int = 6
) -> np.ndarray:
    """Up to ``most`` pick days per start that meet wishes of different weeks [m, most].

    Each is the earliest work day of its class within [first, last]; `NEVER` fills the rest.
    """
    table, classes = next_work_day(season), service_class(season, storage_days)
    # The first day of the next class after each day.
    change = np.full(season.days + 1, NEVER)
    for i in range(season.days - 2, -1, -1):
        change[i] = i + 1 if classes[i + 1] != classes[i] else change[i + 1]
    columns = []
    day = at_or_after(table, first)
    for _ in range(most):
        day = np.where(day <= last, day, NEVER)
        columns.append(day)
        day = at_or_after(table, at_or_after(change, day))
    return np.stack(columns, axis=1)


def head_patterns(
    season: Season, crop: Crop, plants: int, first: np.ndarray, last: np.ndarray
) -> list[Pattern]:
    """Patterns of a crop picked once: all heads on one day, or half of them on each of two."""
    days = offered_days(season, crop.storage_life, first, last)
    used = int(np.any(days < NEVER, axis=0).sum())
    days = days[:, : max(1, used)]
    out: list[Pattern] = []
    m, slots = days.shape
    for k in range(slots):
        out.append((days[:, k : k + 1], np.full((m, 1), plants)))
    for chosen in combinations(range(slots), 2):
        for one in _splits(plants):
            both = days[:, chosen]
            both = np.where(both.max(axis=1)[:, None] < NEVER, both, NEVER)
            out.append((both, np.tile([one, plants - one], (m, 1))))
    return out


def _splits(plants: int) -> list[int]:
    """How many heads to pick first when a batch is picked on two days."""
    return list(range(1, plants))


def cut_patterns(
    season: Season, crop: Crop, plants: int, first: np.ndarray, hold: float
) -> list[Pattern]:
    """Patterns of a crop cut again: one cut, two cuts, ... each as soon as it has grown back."""
    table = next_work_day(season)
    days = []
    day = at_or_after(table, first)
    day = np.where(day <= first + hold, day, NEVER)
    out: list[Pattern] = []
    for k in range(min(crop.cuts, MOST_PICKS)):
        days.append(day)
        stack = np.stack(days, axis=1)
        stack = np.where((day < NEVER)[:, None], stack, NEVER)
        out.append((stack, np.full((len(first), k + 1), plants)))
        grown = day + round(crop.cut_interval)
        following = at_or_after(table, grown)
        day = np.where((day < NEVER) & (following <= grown + hold), following, NEVER)
    return out
