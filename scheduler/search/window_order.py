"""Which weeks to free next: all in turn, or those from which a week that is short can be served."""

from __future__ import annotations

import random
from collections.abc import Sequence

import numpy as np

from scheduler.schedule import value as worth
from scheduler.schedule.problem import Choice, Problem
from scheduler.schedule.produce import shared_out

WINDOW, SHORTEST, LONGEST = 24.0, 10.0, 120.0  # days: the first one, and the limits
PATIENCE = 30  # windows without gain before the search ends


class WindowOrder:
    """Windows over a season in random order, as long as can be settled in the time for one."""

    def __init__(self, chance: random.Random, first: int, last: int) -> None:
        self.chance, self.first, self.last = chance, first, last
        self.length = WINDOW
        self.begins: list[float] = []
        self.idle = 0

    @property
    def done(self) -> bool:
        """Whether windows bring no more."""
        return self.idle >= PATIENCE

    def window(self, centre: int | None = None) -> tuple[int, int]:
        """First day and the day after the last of the next window, about ``centre`` if given."""
        length = self.length * self.chance.uniform(0.75, 1.25)
        if centre is not None:
            begin = round(centre - length * self.chance.uniform(0.25, 0.75))
            return begin, begin + max(round(length), 1)
        if not self.begins:
            start = self.first - self.chance.uniform(0, length)
            count = int((self.last - start) / (length / 2)) + 1
            self.begins = [start + i * length / 2 for i in range(count)]
            self.chance.shuffle(self.begins)
        begin = round(self.begins.pop())
        return begin, begin + max(round(length), 1)

    def note(self, gained: bool, settled: bool) -> None:
        """Learn from a window: whether it brought something, and whether it was settled in time."""
        self.idle = 0 if gained else self.idle + 1
        self.length = min(self.length * 1.08, LONGEST) if settled else self.length * 0.9
        self.length = max(self.length, SHORTEST)


def wanted(problem: Problem, choices: Sequence[Choice], chance: random.Random) -> int | None:
    """A transplanting day of which a batch could serve a week that is short; None if none is.

    Weeks are drawn by how many weighted grams they lack.
    """
    supply = problem.supply
    short = supply.wish.astype(float)
    for group, mine in enumerate(worth.lots(supply, worth.picked(problem, choices))):
        short[group] -= shared_out(mine, supply.wish[group])[1]
    short *= np.array(supply.weights)[:, None]
    lacks = short.ravel()
    if lacks.sum() <= 0:
        return None
    drawn = chance.choices(range(len(lacks)), lacks.tolist())[0]
    group, week = divmod(drawn, short.shape[1])
    serves = np.array([g == group and a <= week <= b for g, a, b in supply.classes], dtype=bool)
    start = problem.column("transplant")
    able = np.unique(start[supply.decision[serves[supply.week_class]]])
    return int(chance.choice(able.tolist())) if len(able) else None
