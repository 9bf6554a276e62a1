"""Make a schedule better bit by bit: free the batches of a few weeks, keep the rest, solve.

Batches transplanted in a window of some weeks are free to change; all others stay. Such a model
is small and CP-SAT settles it in about a second. Measured on the courtyard with a lift limit: 25 s
of this came from 80 % to 90 % of the wish where one model of the whole season came to 85 %.
With several threads several windows are solved at once, each over columns of its own; what they
find is put together. Every schedule taken on keeps all rules and is never worse than the one
before.
"""

from __future__ import annotations

import random
import threading
import time
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass

from scheduler.schedule.check import broken
from scheduler.schedule.column_subset import cut_out
from scheduler.schedule.problem import Choice, Problem
from scheduler.search.goal import Expression, Goal, Incumbent, aim, lock
from scheduler.search.window import Found, Opener, Window
from scheduler.search.window_order import WindowOrder, wanted
from scheduler.solvers.cp_sat import Either, Progress, Report, Settings

SECONDS = 1.0  # for one window, until windows bring no more
TIERS_AT_ONCE = 8  # tiers in one window, until windows bring no more; some columns are drawn
GUIDE = 0.5  # share of windows about a day that helps a week that is short
CHEAP = 0.9  # share of windows with only what is cheap in the relaxation, where that is known
PLAIN = 0.7  # share of windows without batches that are picked on several days

__all__ = ["SECONDS", "Expression", "Goal", "Improver", "Incumbent", "aim", "lock"]


@dataclass
class Run:
    """One run over a goal: what ends it, and what is told of it."""

    goal: Goal
    seconds: float
    target: float | None
    bound: float | None
    report: Report | None
    order: WindowOrder
    began: float
    spent: float  # deterministic seconds before

    @property
    def left(self) -> float:
        return self.seconds - (time.monotonic() - self.began)

    def tell(self, value: float) -> None:
        if self.report is not None:
            top = value if self.bound is None else self.bound
            scale = self.goal.scale
            self.report(
                Progress(self.goal.name, time.monotonic() - self.began, value / scale, top / scale)
            )


class Improver:
    """Windows over one problem."""

    def __init__(
        self,
        problem: Problem,
        access: bool,
        settings: Settings,
        stop: threading.Event | None = None,
        some_columns: bool = False,
    ) -> None:
        self.some_columns = (
            some_columns and not problem.committed and bool(problem.places[0].column)
        )
        self.some_columns &= problem.mixed is None  # that is asked of all columns together
        self.problem, self.access, self.settings, self.stop = problem, access, settings, stop
        self.opener = Opener(problem, access, settings)
        self.size: dict[str, int] = {}  # tiers of each column
        for place in problem.places:
            self.size[place.column] = self.size.get(place.column, 0) + 1
        self.random = random.Random(settings.seed)
        self.spent = 0.0  # deterministic seconds
        self.seconds = SECONDS  # for one window; its caller may give more
        self.most = TIERS_AT_ONCE  # tiers in one window; its caller may give more
        self.bound_seconds = 0.0  # what the last bound took, by the clock
        self.refused = 0  # schedules put together that broke a rule or were worse

    def run(
        self,
        goal: Goal,
        best: Incumbent,
        seconds: float,
        target: float | None = None,
        bound: float | None = None,
        report: Report | None = None,
    ) -> Incumbent:
        """Improve ``best`` until ``target`` is reached, time is up or windows bring no more.

        With one worker and a deterministic limit the outcome is repeatable.
        """
        r = self.begin(goal, seconds, target, bound, report)
        lanes = self._lanes(goal)
        return self._abreast(r, best, lanes) if lanes > 1 else self._one_by_one(r, best)

    def begin(
        self,
        goal: Goal,
        seconds: float,
        target: float | None = None,
        bound: float | None = None,
        report: Report | None = None,
    ) -> Run:
        """A run that is just begun."""
        start = self.opener.start
        order = WindowOrder(self.random, int(start.min()), int(start.max()))
        return Run(goal, seconds, target, bound, report, order, time.monotonic(), self.spent)

    def _lanes(self, goal: Goal) -> int:
        """How many windows are solved at once."""
        apart = self.some_columns and len(self.problem.places) > self.most
        if goal.worth is None or self.settings.deterministic is not None or not apart:
            return 1
        return min(self.settings.workers, len(self.size))

    def _over(self, r: Run, best: Incumbent) -> bool:
        budget = self.settings.deterministic
        return (
            r.order.done
            or r.goal.reached(best.value, r.target)
            or r.left < 0
            or (self.stop is not None and self.stop.is_set())
            or (budget is not None and self.spent - r.spent > budget)
        )

    def _one_by_one(self, r: Run, best: Incumbent) -> Incumbent:
        while not self._over(r, best):
            window = self._draw(r, best.choices)
            seconds = min(self.seconds, max(r.left, 0.05))
            found = self.opener.solve(r.goal, best.choices, window, seconds, self.stop)
            best = self.take(r, best, best, window, found)
        return best

    def _abreast(self, r: Run, best: Incumbent, lanes: int) -> Incumbent:
        """Several windows at once, each over columns of its own."""
        halt = Either(self.stop)
        running: dict[Future[Found], tuple[Window, Incumbent]] = {}
        with ThreadPoolExecutor(lanes) as threads:
            try:
                while True:
                    if self._over(r, best):
                        halt.set()
                    while len(running) < lanes and not halt.is_set():
                        busy = frozenset().union(*(w.columns for w, _ in running.values()))
                        if len(busy) == len(self.size):
                            break
                        window = self._draw(r, best.choices, busy, lanes)
                        future = threads.submit(
                            self.opener.solve,
                            r.goal,
                            best.choices,
                            window,
                            min(self.seconds, max(r.left, 0.05)),
                            halt,
                        )
                        running[future] = window, best
                    if not running:
                        return best
                    for future in wait(running, return_when=FIRST_COMPLETED).done:
                        window, before = running.pop(future)
                        best = self.take(r, best, before, window, future.result())
            finally:
                halt.set()  # whatever happened, no thread goes on

    def take(
        self, r: Run, best: Incumbent, before: Incumbent, window: Window, found: Found
    ) -> Incumbent:
        """The better of the best schedule and what a window found, which began with ``before``."""
        self.spent += max(found.deterministic, 0.01)
        new = None
        if found.inside is not None:
            subset = window.subset
            outside = (
                []
                if subset is None
                else [
                    c for c in best.choices if not subset.holds[self.problem.place_of[c.decision]]
                ]
            )
            new = Incumbent(found.inside + outside, found.value)
            if best is not before:
                new = self._together(r.goal, new.choices)
                self.refused += new is None
        gained = new is not None and r.goal.better(new.value, best.value)
        if new is not None and (gained or new.value == best.value):
            best = new
        r.order.note(gained, found.settled)
        if gained:
            r.tell(best.value)
        return best

    def _together(self, goal: Goal, choices: list[Choice]) -> Incumbent | None:
        """Choices of windows solved beside each other; None if they break a rule or a lock.

        Each window kept within what the others used when it was drawn; that has changed since.
        """
        if goal.worth is None or broken(self.problem, self.access, choices):
            return None
        return Incumbent(choices, goal.worth(choices)) if goal.keeps_checks(choices) else None

    def _draw(
        self, r: Run, choices: list[Choice], busy: frozenset[str] = frozenset(), lanes: int = 1
    ) -> Window:
        """The next window, over none of the columns ``busy``."""
        centre = None
        if r.goal.maximise and self.random.random() < GUIDE:
            centre = wanted(self.problem, choices, self.random)
        cheap = r.goal.maximise and self.opener.cheap is not None and self.random.random() < CHEAP
        begin, end = r.order.window(centre)
        plain, seed = self.random.random() < PLAIN, self.random.randrange(1 << 30)
        columns = self._columns(busy, lanes)
        subset = None if columns is None else cut_out(self.problem, choices, columns)
        return Window(begin, end, plain, cheap, seed, subset, columns or frozenset())

    def _columns(self, busy: frozenset[str], lanes: int) -> frozenset[str] | None:
        """Some columns of a large garden, drawn at random; None to take them all."""
        if not self.some_columns or len(self.problem.places) <= self.most:
            return None
        most = min(self.most, len(self.problem.places) // lanes)
        names = [name for name in self.size if name not in busy]
        self.random.shuffle(names)
        columns, tiers = [names[0]], self.size[names[0]]
        for name in names[1:]:
            if tiers + self.size[name] > most:
                break
            columns.append(name)
            tiers += self.size[name]
        return frozenset(columns)
