"""A large garden's plan, stage by stage, from whole columns."""

from __future__ import annotations

import threading
import time
from collections import Counter
from collections.abc import Callable
from collections.abc import Sequence as Many
from dataclasses import dataclass

import numpy as np

from scheduler.batches.candidates import Candidates
from scheduler.model.linear import whole_bound
from scheduler.plans.model import Stage
from scheduler.schedule.assemble import Stand
from scheduler.schedule.stages import EFFORT, EVENNESS, PRODUCE, whole_weights
from scheduler.search.columns.layout import Layout
from scheduler.search.columns.prices import Aim
from scheduler.search.columns.search import Search
from scheduler.search.columns.whole import adopt, stands, values
from scheduler.search.goal import ENOUGH, SHARES
from scheduler.solvers.cp_sat import Progress, Report, Settings

NAMES = (PRODUCE, EVENNESS, EFFORT)
# A little of the later stages tells apart what is alike for the first.
AIMS = {
    PRODUCE: Aim(1.0, 0.02, 0.05),
    EVENNESS: Aim(1.0, 0.5, 0.05),
    EFFORT: Aim(1.0, 0.5, 2.0),
}
PATIENCE = 12  # tries without gain that end a stage
ROUNDS = 400  # of prices, at most
SETTLE = 0.5  # share of the time for them, at most
REFRESH = 12  # rounds of prices after the aim has turned
MOST, FEWEST = 60, 3  # columns freed at once


@dataclass
class Found:
    """Batches in tiers and the stages; ``values`` as in `scheduler.search.columns.whole.values`."""

    stands: list[Stand]
    stages: list[Stage]


def plan_columns(
    cand: Candidates,
    settings: Settings,
    report: Report | None = None,
    stop: threading.Event | None = None,
    began: float | None = None,
    status: Callable[[float, float | None, float], str] = lambda *_: "",
    first: Many[Stand] = (),
    names: Many[str] = NAMES,
    patience: int = PATIENCE,
) -> Found:
    """Plan whole columns.

    Parameters
    ----------
    began : when the time limit started to run [s, monotonic clock]; default: now.
    status : names an answer from its value, bound and gap.
    first : a plan to begin with; the least that is returned.
    names : of the stages to be gone through, the first of them at least.
    patience : tries without gain that end a stage; with none the first whole columns are taken.
    """
    began = time.monotonic() if began is None else began
    return _Run(cand, settings, report, stop, began, first, patience).run(status, names)


class _Run:
    def __init__(
        self,
        cand: Candidates,
        settings: Settings,
        report: Report | None,
        stop: threading.Event | None,
        began: float,
        first: Many[Stand],
        patience: int,
    ) -> None:
        self.patience = patience
        self.settings, self.report, self.began = settings, report, began
        self.layout = Layout(cand)
        self.scale, _ = whole_weights(self.layout.supply.weights)
        until = began + settings.time_limit
        self.search = Search(self.layout, settings.seed, until, stop, self._say)
        self.held = adopt(self.layout, self.search.master, first)
        self.best = self._values(self.held)
        self.bounds: dict[str, float | None] = dict.fromkeys(NAMES)
        self.chance = np.random.default_rng(settings.seed)

    def run(self, status: Callable[[float, float | None, float], str], names: Many[str]) -> Found:
        search, done = self.search, []
        since = time.monotonic()
        until = search.until
        search.until = since + SETTLE * max(until - since, 0.0)  # the rest is for whole columns
        search.settle(ROUNDS, prove=True)
        search.until = until
        self._take_bound()
        for place, name in enumerate(NAMES[: len(names)]):
            start = time.monotonic()
            search.master.turn(AIMS[name])
            search.settle(REFRESH)
            if place == 0:
                self._take(search.dive(Counter()))
            left = self.began + self.settings.time_limit - time.monotonic()
            gap = self.settings.gap if name == PRODUCE else ENOUGH
            self._improve(place, start + left * SHARES[name], gap)
            done.append((name, gap, round(time.monotonic() - since, 3)))
            since = time.monotonic()
        # Only now, as the search of a stage may make an earlier one better.
        stages = []
        for place, (name, gap, seconds) in enumerate(done):
            scale = self.scale if name == PRODUCE else 1
            value, bound = self.best[place] / scale, self.bounds[name]
            stages.append(Stage(name, status(value, bound, gap), value, bound, seconds))
        return Found(stands(self.layout, search.master.sequences, self.held), stages)

    def _improve(self, place: int, until: float, gap: float) -> None:
        """Free some columns again and again, until a stage is good enough or nothing gains."""
        columns = int(self.layout.counts.sum())
        idle, tries = 0, 0
        quick = self.settings.deterministic is not None
        while idle < self.patience and not self.search.over and time.monotonic() < until:
            if place == 0 and self._enough(gap):
                return
            if quick and tries >= 2 * PATIENCE:
                return
            most = min(MOST, max(columns // 2, FEWEST))
            count = int(self.chance.integers(min(FEWEST, columns), most + 1))
            idle = 0 if self._take(self.search.again(self.held, count)) else idle + 1
            tries += 1

    def _take(self, held: Counter[int] | None) -> bool:
        """Take columns over if they are better, stage by stage; whether they are."""
        if held is None:
            return False
        new = self._values(held)
        if _rank(new) < _rank(self.best):
            return False
        gained = _rank(new) > _rank(self.best)
        self.best, self.held = new, held
        if gained:
            self._say()
        return gained

    def _enough(self, gap: float) -> bool:
        bound = self.bounds[PRODUCE]
        return bound is not None and self.best[0] / self.scale >= bound * (1 - gap)

    def _take_bound(self) -> None:
        bound = self.search.bounds.get(Aim())
        if bound is not None:
            self.bounds[PRODUCE] = whole_bound(bound, True) / self.scale

    def _values(self, held: Counter[int]) -> tuple[int, int, int]:
        return values(self.layout, self.search.master.sequences, held)

    def _say(self) -> None:
        if self.report is None:
            return
        self._take_bound()
        bound = self.bounds[PRODUCE]
        value = self.best[0] / self.scale
        if bound is not None and value > 0:
            self.report(Progress(PRODUCE, time.monotonic() - self.began, value, bound))


def _rank(value: tuple[int, int, int]) -> tuple[int, int, int]:
    return value[0], -value[1], -value[2]
