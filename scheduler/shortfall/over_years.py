"""Which rule holds a plan back over the years, and which small change helps most: by living both.

Each changed garden is searched in the planning years as the plan was (`search.living`), beginning
with the same plan, and what it brings is told in the years of the promise, which made none of the
plans: the same years before and after. What more searching brings is not put down to a change:

- before the changes the garden as it is is searched for a good part of the time, so that all
  begin with a plan that more searching hardly betters;
- beside them it gets the same search as they some times, alike but for chance: what these differ by
  is what a change must bring at least to be told;
- after them every plan found has its change taken away again, and the garden as it is is searched
  on from the best of them.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Sequence, Set
from dataclasses import replace

import numpy as np

from scheduler.batches.candidates import build
from scheduler.garden.model import Garden
from scheduler.plans.model import Plan
from scheduler.schedule.assemble import wish_total
from scheduler.shortfall.answer import (
    FOUND,
    HELPS,
    LEAST,
    NOTHING,
    MustGive,
    OverYears,
    Say,
    Tried,
)
from scheduler.shortfall.lanes import Lanes
from scheduler.shortfall.live_again import (
    Again,
    Ahead,
    Eaten,
    LivedAgain,
    chosen,
    eaten,
    live_again,
)
from scheduler.shortfall.needs import needed
from scheduler.shortfall.paired import paired
from scheduler.shortfall.reach import reach
from scheduler.shortfall.relaxation import Relaxation
from scheduler.shortfall.solve_again import Task
from scheduler.solvers.cp_sat import Settings
from scheduler.verify import verify
from scheduler.years import PLANNED

AT_FIRST = 0.2  # share of the time for the garden as it is, before its changes
BESIDE = 3  # searches of the garden as it is beside those of the changes, alike but for chance
MOST_PARTS, FEWEST_PARTS = 60, 8  # searches that share the time: at most, at least
LEAST_SECONDS = 0.2  # of a search


def over_years(
    garden: Garden,
    plan: Plan,
    ahead: Ahead,
    changes: Sequence[Relaxation],
    settings: Settings,
    say: Say | None = None,
    stop: threading.Event | None = None,
) -> MustGive:
    """Search ``garden`` anew with one thing changed at a time, beginning with ``plan``.

    Parameters
    ----------
    garden : carries the planning years; plan, settings, say, stop : as in `must_give.must_give`.
    """
    return _Search(garden, plan, ahead, settings, say, stop).run(changes)


class _Search:
    """The best plan of the garden as it is so far, and what is needed to search on.

    Attributes
    ----------
    best : that plan; worth : its worth in the years to choose with; eaten : in those to judge by.
    """

    def __init__(
        self,
        garden: Garden,
        plan: Plan,
        ahead: Ahead,
        settings: Settings,
        say: Say | None,
        stop: threading.Event | None,
    ) -> None:
        self.began = time.monotonic()
        self.garden, self.ahead, self.settings, self.stop = garden, ahead, settings, stop
        self.say: Say = say or (lambda *_: None)
        self.wish = wish_total(garden)
        cand, _ = build(garden)
        self.reach = tuple(reach(cand))
        self.best, self.eaten = plan, eaten(garden, plan.batches, ahead)
        self.given = float(self.eaten.grams.mean())
        # What a search takes beside searching, as far as it was done here.
        self.beside = time.monotonic() - self.began
        self.worth = chosen(garden, plan.batches, ahead)
        self.apart: list[float] = []

    def run(self, changes: Sequence[Relaxation]) -> MustGive:
        tried = [Tried(r) for r in changes]
        if self._answer([], 0.0).met:
            return self._answer([], 0.0)
        self.seconds = self.settings.time_limit
        if self.settings.deterministic is None:
            self.seconds *= AT_FIRST
        with Lanes(self.settings.workers, self.stop) as self.lanes:
            first = self._again(self.garden, workers=self.settings.workers)
            self._as_it_is(first, "the garden as it is, once more")
            self.seconds = self._seconds(len(changes) + BESIDE + 1)
            whole = [i for i, r in enumerate(changes) if r.whole]
            answers = self._searched(changes, whole, BESIDE)
            useless = {changes[i].rule for i, lived in answers.items() if not self._more(lived)}
            answers |= self._searched(changes, _order(changes, useless))
            plans = [a.plan for a in answers.values() if a.plan is not None]
            self._taken_back(plans)
        for i, answer in answers.items():
            tried[i] = self._judged(tried[i], answer, len(answers))
        tried.sort(key=lambda t: -t.gain)
        return self._answer(tried, self.seconds)

    def _answer(self, tried: Sequence[Tried], seconds: float) -> MustGive:
        grams = self.eaten.grams
        over = OverYears(
            self.ahead.planned or PLANNED,
            len(grams),
            self.eaten.real,
            float(np.median(grams)),
            len(self.apart),
            max(self.apart) - min(self.apart) if len(self.apart) > 1 else None,
            self.eaten,
        )
        return MustGive(
            self.garden,
            self.best,
            float(grams.mean()),
            self.wish,
            self.given,
            None,
            self.reach,
            tuple(t for t in tried if not t.relaxation.whole),
            tuple(t for t in tried if t.relaxation.whole),
            seconds,
            over,
        )

    def _seconds(self, count: int) -> float:
        """For each search: the same for all, as much as there is for all of them."""
        total = self.settings.time_limit
        if self.settings.deterministic is not None:
            return total
        left = max(total - (time.monotonic() - self.began), 0.0)
        # The last search has nothing beside it.
        rounds = -(-(count - 1) // self.lanes.count) + 1
        share = left / rounds - self.beside
        return min(max(share, total / MOST_PARTS, LEAST_SECONDS), total / FEWEST_PARTS)

    def _again(
        self,
        garden: Garden,
        draw: int = 0,
        loosens: bool = True,
        others: Sequence[Plan] = (),
        workers: int = 1,
    ) -> Again:
        settings = replace(self.settings, time_limit=self.seconds, workers=workers)
        task = Task(garden, self.garden, self.best.batches, settings, loosens)
        # Of other days the years are others too, and what is more in them is not known here.
        same = garden is not self.garden and _days(garden) == _days(self.garden)
        least = float(self.eaten.grams.mean()) if same else -math.inf
        return Again(task, self.ahead, tuple(p.batches for p in others), draw, least)

    def _takes(self, plan: Plan, worth: float, judged: Eaten) -> None:
        """Keep a plan of the garden as it is, if it is better in the years to choose with."""
        if worth > self.worth:
            self.best, self.worth, self.eaten = plan, worth, judged

    def _as_it_is(self, task: Again, what: str) -> None:
        self.say(what, 0, 1)
        for _, lived in self.lanes.run(live_again, [task], lambda: True):
            if lived.plan is not None and lived.eaten is not None:
                self._takes(lived.plan, lived.chosen, lived.eaten)

    def _searched(
        self, changes: Sequence[Relaxation], order: Sequence[int], as_it_is: int = 0
    ) -> dict[int, LivedAgain]:
        """What came of each change that there was time for, by its number.

        ``as_it_is`` : so many searches of the garden as it is beside them.
        """
        tasks = [self._again(self.garden, draw) for draw in range(1, as_it_is + 1)]
        tasks += [self._again(changes[i].garden, 0, changes[i].loosens) for i in order]
        until = self.settings.time_limit - self.seconds / 2
        steady = self.settings.deterministic is not None
        answers: dict[int, LivedAgain] = {}
        beside: list[LivedAgain] = []
        for done, (at, lived) in enumerate(
            self.lanes.run(
                live_again, tasks, lambda: steady or time.monotonic() - self.began < until
            ),
            1,
        ):
            self.say("lived anew with one change", done, len(tasks))
            if at < as_it_is:
                beside.append(lived)
            else:
                answers[order[at - as_it_is]] = lived
        for lived in beside:
            if lived.plan is not None and lived.eaten is not None:
                self.apart.append(float(lived.eaten.grams.mean()))
                self._takes(lived.plan, lived.chosen, lived.eaten)
        return answers

    def _more(self, lived: LivedAgain) -> bool:
        """Whether more was found than the garden as it is has so far."""
        if lived.eaten is None:
            return False
        return float(lived.eaten.grams.mean() - self.eaten.grams.mean()) >= LEAST * self.wish

    def _taken_back(self, plans: Sequence[Plan]) -> None:
        """The garden as it is from the best of the plans found for others, their changes undone."""
        for plan in plans:  # some need no change at all
            if verify(self.garden, plan).ok:
                worth = chosen(self.garden, plan.batches, self.ahead)
                if worth > self.worth:
                    self._takes(plan, worth, eaten(self.garden, plan.batches, self.ahead))
        if plans:
            again = self._again(self.garden, others=plans)
            self._as_it_is(again, "the garden as it is, from what was found")

    def _judged(self, t: Tried, lived: LivedAgain, among: int) -> Tried:
        r = t.relaxation
        t = replace(t, seconds=lived.seconds, broken=lived.broken, outcome=NOTHING)
        if lived.eaten is None:
            return t
        before = self.eaten
        if _days(r.garden) != _days(self.garden):  # other days, so other years
            before = eaten(self.garden, self.best.batches, self.ahead, r.garden)
        pair = paired(before.grams, lived.eaten.grams, lived.eaten.real, among)
        if pair.mean < LEAST * self.wish or lived.plan is None:
            return replace(t, paired=pair)
        apart = self._answer([], 0.0).over
        chance = 0.0 if apart is None or apart.apart is None else apart.apart
        if pair.sure <= 0 or pair.mean <= chance:
            return replace(t, outcome=FOUND, paired=pair)
        groups = {
            d.group: round(lived.eaten.groups[d.group] - before.groups[d.group])
            for d in self.garden.demands
        }
        return replace(
            t,
            outcome=HELPS,
            gain=pair.mean,
            sure=pair.sure,
            groups=groups,
            plan=lived.plan,
            paired=pair,
            **needed(self.garden, r, lived.plan),
        )


def _order(changes: Sequence[Relaxation], useless: Set[str]) -> list[int]:
    """Single steps, the first of each family before the others: the time may be short.

    Last come those that ease a rule of ``useless``: it was dropped, and that brought nothing.
    """
    seen: set[str] = set()
    first: list[int] = []
    later: list[int] = []
    last: list[int] = []
    for i, r in enumerate(changes):
        if r.whole:
            continue
        if r.loosens and r.rule in useless:
            last.append(i)
        else:
            (later if r.family in seen else first).append(i)
        seen.add(r.family)
    return [*first, *later, *last]


def _days(garden: Garden) -> tuple[object, object, int]:
    """What weather years are made for."""
    weather = garden.site.weather
    return (garden.season.start, garden.season.end, len(weather))
