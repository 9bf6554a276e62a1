"""Which rule holds a plan back, by how much, and which small change helps most: by solving anew.

Each changed garden is solved with the same settings, beginning with the same plan. Before that the
garden as it is gets the same search once more, so that what more searching brings is not put down
to a change. The linear relaxation only says in which order to try, what cannot help at all, and
what a change can bring at most.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from scheduler.batches.candidates import build
from scheduler.garden.model import Garden
from scheduler.garden.season_weather import WeatherOf
from scheduler.plans.model import Plan
from scheduler.plans.rules import LIFT
from scheduler.schedule import assemble
from scheduler.search.layouts import access_matters
from scheduler.shortfall.answer import CANNOT, FOUND, HELPS, LEAST, NOTHING, MustGive, Say, Tried
from scheduler.shortfall.lanes import Lanes
from scheduler.shortfall.live_again import Ahead
from scheduler.shortfall.needs import needed
from scheduler.shortfall.over_years import over_years
from scheduler.shortfall.reach import reach
from scheduler.shortfall.relaxation import Relaxation
from scheduler.shortfall.relaxations import one_step, without_rule
from scheduler.shortfall.solve_again import Solved, Task, linear_bound, solve_again
from scheduler.solvers.cp_sat import Settings
from scheduler.verify import verify
from scheduler.years.expected import LIVED_TIERS

ORDERING = 0.35  # share of the time that may go into bounds of the changed gardens
MOST_PARTS, FEWEST_PARTS = 25, 8  # searches that share the time: at most, at least


def must_give(
    garden: Garden,
    plan: Plan,
    settings: Settings,
    weather: WeatherOf | None = None,
    say: Say | None = None,
    stop: threading.Event | None = None,
    changes: Sequence[Relaxation] | None = None,
    ahead: Ahead | None = None,
) -> MustGive:
    """Solve ``garden`` anew with one thing changed at a time, beginning with ``plan``.

    What a plan is worth is what it brings in the weather to be expected; of a plan that was made
    for years what it brings when it is lived, as far as the garden is not too large for that.

    Parameters
    ----------
    plan : of this garden, keeping its rules. settings : ``time_limit`` is for all together;
        ``workers`` re-solves run side by side, each with one thread.
    weather : of the site for other days; without it the season is not begun earlier.
    say : told of each step; stop : ends the search, what is found so far is kept.
    changes : to try; default: all of `scheduler.shortfall.relaxations`.
    ahead : the years of the plan; None: it was made for the mean year.
    """
    if changes is None:
        changes = [*one_step(garden, weather), *without_rule(garden)]
    large = sum(len(c.tiers) for c in garden.columns) > LIVED_TIERS
    if ahead is not None and not large:
        return over_years(garden, plan, ahead, changes, settings, say, stop)
    found = _Search(garden, settings, say, stop).run(plan, changes)
    return replace(found, large=ahead is not None)


class _Search:
    def __init__(
        self, garden: Garden, settings: Settings, say: Say | None, stop: threading.Event | None
    ) -> None:
        self.garden, self.settings, self.stop = garden, settings, stop
        self.say: Say = say or (lambda *_: None)
        self.began = time.monotonic()
        self.wish = assemble.wish_total(garden)

    def left(self) -> float:
        return self.settings.time_limit - (time.monotonic() - self.began)

    def run(self, plan: Plan, all_of: Sequence[Relaxation]) -> MustGive:
        garden = self.garden
        cand, _ = build(garden)
        value = verify(garden, plan).values["produce"]
        out = MustGive(garden, plan, value, self.wish, value, None, tuple(reach(cand)))
        if out.met:
            return replace(out, bound=self.wish)
        self.access = access_matters(cand) if len(cand) else False
        with Lanes(self.settings.workers, self.stop) as self.lanes:
            bounds = self._bounds([Relaxation("", "", "", garden), *all_of], plan)
            own = bounds.pop(0)
            first, later = self._order(all_of, bounds, value, own)
            seconds = self._seconds(len(first) + 1)
            plan, value, own = self._once_more(plan, value, own, seconds)
            tried, plan, value = self._solve(
                all_of, bounds, [*first, *later], plan, value, own, seconds
            )
        tried.sort(key=lambda t: (-t.gain, t.outcome == CANNOT, -(t.most or 0)))
        whole = [t for t in tried if t.relaxation.whole]
        return replace(
            out,
            plan=plan,
            value=value,
            bound=own,
            rules=tuple(whole),
            seconds=seconds,
            steps=tuple(t for t in tried if not t.relaxation.whole),
        )

    def _task(self, r: Relaxation, plan: Plan, seconds: float = 0.0) -> Task:
        settings = replace(self.settings, time_limit=seconds, workers=1)
        return Task(r.garden, self.garden, plan.batches, settings, r.loosens)

    def _bounds(self, changed: Sequence[Relaxation], plan: Plan) -> list[float | None]:
        """What each changed garden can give at most; None where there was no time to find out."""
        out: list[float | None] = [None] * len(changed)
        until = self.settings.time_limit * (1 - ORDERING)
        tasks = [self._task(r, plan) for r in changed]
        own = iter([True])  # the first is the garden as it is: told however short the time
        for done, (i, bound) in enumerate(
            self.lanes.run(_bound, tasks, lambda: next(own, False) or self.left() > until), 1
        ):
            out[i] = bound
            self.say("what each change can bring at most", done, len(tasks))
        return out

    def _seconds(self, count: int) -> float:
        """For each re-solve: the same for all, as much as there is for what is worth trying."""
        if self.settings.deterministic is not None:
            return self.settings.time_limit
        total = self.settings.time_limit
        share = max(self.left(), 0.0) * self.lanes.count / max(count + self.lanes.count, 1)
        return min(max(share, total / MOST_PARTS, 0.2), total / FEWEST_PARTS)

    def _once_more(
        self, plan: Plan, value: float, own: float | None, seconds: float
    ) -> tuple[Plan, float, float | None]:
        """The garden as it is with the same search once more: plan, value, bound."""
        self.say("the garden as it is, once more", 0, 1)
        task = self._task(Relaxation("", "", "", self.garden), plan, seconds)
        for _, solved in self.lanes.run(solve_again, [task], lambda: True):
            own = _least(own, solved.bound)
            if solved.plan is not None and solved.value > value:
                plan, value = solved.plan, solved.value
        return plan, value, own

    def _cannot(self, r: Relaxation, bound: float | None, value: float) -> float | None:
        """What a change brings at most, if that is proven to be next to nothing; else None."""
        if r.rule == LIFT.name and not self.access:
            return 0.0  # nothing is too heavy as it is
        most = None if bound is None else max(bound - value, 0.0)
        return most if most is not None and most < LEAST * self.wish else None

    def _order(
        self,
        changed: Sequence[Relaxation],
        bounds: Sequence[float | None],
        value: float,
        own: float | None,
    ) -> tuple[list[int], list[int]]:
        """What to try first: the best of each family, and all that raise the bound; and the rest.

        No bound knows of stack access: what eases lifting comes before all.
        """

        def hope(i: int) -> float:
            if changed[i].rule == LIFT.name:
                return float("inf")
            bound = bounds[i]
            return 0.0 if bound is None or own is None else bound - own

        able = [i for i, r in enumerate(changed) if self._cannot(r, bounds[i], value) is None]
        seen: set[tuple[str, bool]] = set()
        first: list[int] = []
        later: list[int] = []
        for i in sorted(able, key=lambda i: (-hope(i), not changed[i].whole)):
            family = (changed[i].family, changed[i].whole)
            (first if family not in seen or hope(i) > LEAST * self.wish else later).append(i)
            seen.add(family)
        return first, later

    def _solve(
        self,
        changed: Sequence[Relaxation],
        bounds: Sequence[float | None],
        queue: Sequence[int],
        plan: Plan,
        value: float,
        own: float | None,
        seconds: float,
    ) -> tuple[list[Tried], Plan, float]:
        """Solve anew what can help, in the order of ``queue``; and the best plan as it is.

        A plan found for a changed garden may keep every rule of the garden as it is: then what it
        brings is no merit of the change, and all are measured from it.
        """
        out = []
        for r, bound in zip(changed, bounds, strict=True):
            little = self._cannot(r, bound, value)
            most = None if bound is None else max(bound - value, 0.0)
            out.append(Tried(r, most=most) if little is None else Tried(r, CANNOT, most=little))
        queue = [i for i in queue if out[i].outcome != CANNOT]  # more may be known by now
        tasks = [self._task(changed[i], plan, seconds) for i in queue]
        steady = self.settings.deterministic is not None
        going = self.lanes.run(solve_again, tasks, lambda: steady or self.left() > seconds / 2)
        answers: dict[int, Solved] = {}
        for done, (at, solved) in enumerate(going, 1):
            answers[queue[at]] = solved
            self.say("solved anew with one change", done, len(queue))
        for solved in answers.values():
            better = solved.plan is not None and solved.value > value
            if better and solved.plan is not None and verify(self.garden, solved.plan).ok:
                plan, value = solved.plan, solved.value
        for i, t in enumerate(out):
            little = self._cannot(t.relaxation, bounds[i], value)
            if i in answers:
                out[i] = self._judged(t, answers[i], bounds[i], plan, value, own)
            elif bounds[i] is not None and t.outcome != CANNOT:
                out[i] = replace(t, most=max((bounds[i] or 0.0) - value, 0.0))
                if little is not None:
                    out[i] = replace(t, outcome=CANNOT, most=little)
        return out, plan, value

    def _judged(
        self,
        t: Tried,
        solved: Solved,
        linear: float | None,
        plan: Plan,
        value: float,
        own: float | None,
    ) -> Tried:
        r = t.relaxation
        bound = _least(linear, solved.bound)
        most = None if bound is None else max(bound - value, 0.0)
        gain = max(solved.value - value, 0.0) if solved.plan is not None else 0.0
        t = replace(t, most=most, seconds=solved.seconds, broken=solved.broken, outcome=NOTHING)
        if solved.plan is None or gain < 1e-6:
            small = most is not None and most < LEAST * self.wish
            return replace(t, outcome=CANNOT) if small else t
        sure = 0.0 if own is None else max(solved.value - own, 0.0)
        before = assemble.serve(self.garden, plan.batches).served
        after = assemble.serve(r.garden, solved.plan.batches).served
        groups = {
            d.group: _sum(after, d.group) - _sum(before, d.group) for d in self.garden.demands
        }
        return replace(
            t,
            outcome=HELPS if sure > 1e-6 else FOUND,
            gain=gain,
            sure=sure,
            groups=groups,
            plan=solved.plan,
            **needed(self.garden, r, solved.plan),
        )


def _bound(task: Task, stop: Any = None) -> float | None:
    return linear_bound(task)


def _least(a: float | None, b: float | None) -> float | None:
    known = [x for x in (a, b) if x is not None]
    return min(known) if known else None


def _sum(served: dict[tuple[str, str], int], group: str) -> int:
    return sum(grams for (g, _), grams in served.items() if g == group)
