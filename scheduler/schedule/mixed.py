"""How the crops of a wish are mixed: shares of each, and the same kind weeks running; as sums.

What counts is what is picked, as planned. Sums over batches of whole numbers tell with their sign
whether a crop has more than a share of something; of each row of sums not all may be above 0:

- a crop has at least, or at most, a share of all that is picked for its wish in the season: a row
  of one sum;
- a week is of one kind where of all that is picked and can serve it a crop is more than
  `MOST_OF_ONE`; of so many weeks running, all wished, not all are of the same kind.

A plan without any batch keeps both, so that a crop's least share never makes a plan impossible.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.batches.candidates import Candidates
from scheduler.batches.courses import NEVER
from scheduler.garden.entries import Demand
from scheduler.garden.weekly import season_weeks, weeks_served, wish

SCALE = 1000  # shares are told to a tenth of a percent
MOST_OF_ONE = 750  # of `SCALE`: another kind is at least a quarter; own judgement


@dataclass(frozen=True)
class Mixed:
    """Sums over candidates, one entry for each candidate and sum that it counts in.

    Attributes
    ----------
    row, which, amount : entries, by row: of the candidates, number of the sum, what it adds.
    first : of each row's entries [n + 1]; count : of sums.
    together : sums of which not all may be above 0, -1 behind the last [rules, most].
    """

    row: np.ndarray
    which: np.ndarray
    amount: np.ndarray
    first: np.ndarray
    count: int
    together: np.ndarray

    def broken(self, rows: np.ndarray) -> np.ndarray:
        """Which rules some rows break, each there as often as it is named [rules]."""
        sums = np.zeros(self.count + 1, dtype=np.int64)
        for row in rows.tolist():
            mine = slice(self.first[row], self.first[row + 1])
            np.add.at(sums, self.which[mine], self.amount[mine])
        sums[-1] = 1  # what only fills a row up
        over: np.ndarray = (sums[self.together] > 0).all(axis=1)
        return over


def asks(demand: Demand) -> bool:
    """Whether a wish says anything of how its crops are mixed."""
    return bool(demand.shares) or demand.same_kind_weeks is not None


def windows(weeks: list[bool], running: int) -> list[tuple[int, int]]:
    """First and last week of each row of ``running`` + 1 weeks that are all wished."""
    return [
        (first, first + running)
        for first in range(len(weeks) - running)
        if all(weeks[first : first + running + 1])
    ]


def not_mixed(cand: Candidates) -> Mixed:
    """No rule at all, as in a season under way."""
    none = np.zeros(0, dtype=np.int64)
    first = np.zeros(len(cand) + 1, dtype=np.int64)
    return Mixed(none, none, none, first, 0, np.zeros((0, 1), dtype=np.int64))


def mixed(cand: Candidates) -> Mixed:
    """The rules of all wishes, over the candidates."""
    garden, n = cand.garden, len(cand)
    season, wanted = garden.season, wish(garden)
    weeks = season_weeks(season)
    at = {week: k for k, week in enumerate(weeks)}
    crop = cand.table["crop"].to_numpy(dtype=int)
    number = {name: c for c, name in enumerate(cand.crop_names)}
    parts: list[tuple[np.ndarray, np.ndarray, np.ndarray]] = []
    together: list[list[int]] = []
    count = 0
    for demand in garden.demands:
        names = [name for name in demand.crops if name in number]
        mine = np.flatnonzero(np.isin(crop, [number[name] for name in names]))
        if not asks(demand) or not len(mine):
            continue
        days, grams = cand.pick_day[mine], cand.pick_grams[mine]
        there = (days < NEVER) & (grams > 0)
        served = _served(cand, names, at)
        total = np.where(there, grams, 0).sum(axis=1)
        for name, least, most in demand.shares:
            own = crop[mine] == number.get(name, -1)
            if most < SCALE:
                parts.append((mine, np.full(len(mine), count), total * (own * SCALE - most)))
                together.append([count])
                count += 1
            if least > 0:
                parts.append((mine, np.full(len(mine), count), total * (least - own * SCALE)))
                together.append([count])
                count += 1
        if demand.same_kind_weeks is None:
            continue
        wished = [wanted.get((demand.group, week), 0) > 0 for week in weeks]
        safe = np.where(there, days, 0)
        first, last = (side[crop[mine][:, None], safe] for side in served)
        running = windows(wished, demand.same_kind_weeks)
        begin = count
        for week in range(len(weeks)):
            within = there & (first <= week) & (last >= week)
            picked = np.where(within, grams, 0).sum(axis=1)
            some = np.flatnonzero(picked)
            for name in names:
                own = crop[mine][some] == number[name]
                amount = picked[some] * (own * SCALE - MOST_OF_ONE)
                parts.append((mine[some], np.full(len(some), count), amount))
                count += 1
        for k in range(len(names)):
            together += [
                [begin + week * len(names) + k for week in range(a, b + 1)] for a, b in running
            ]
    row, which, amount = (
        np.concatenate([np.zeros(0, dtype=np.int64), *(p[k] for p in parts)]).astype(np.int64)
        for k in range(3)
    )
    order = np.argsort(row, kind="stable")
    row, which, amount = row[order], which[order], amount[order]
    most = max(map(len, together), default=1)
    rules = np.array([[*r, *[-1] * (most - len(r))] for r in together], dtype=np.int64)
    first_of = np.searchsorted(row, np.arange(n + 1))
    return Mixed(row, which, amount, first_of, count, rules.reshape(-1, most))


def _served(
    cand: Candidates, names: list[str], at: dict[str, int]
) -> tuple[np.ndarray, np.ndarray]:
    """First and last week that a pick serves, by crop and day; none: last before first."""
    garden, days = cand.garden, cand.garden.season.days
    first = np.ones((len(cand.crop_names), days), dtype=int)
    last = np.zeros_like(first)
    for name in names:
        c = cand.crop_names.index(name)
        life, events = garden.crops[name].storage_life, garden.event_weeks(name)
        for day in range(days):
            found = [at[w] for w in weeks_served(garden.season.date(day), life, events) if w in at]
            if found:
                first[c, day], last[c, day] = found[0], found[-1]
    return first, last
