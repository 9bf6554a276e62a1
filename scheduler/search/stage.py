"""The search of one stage: where it is small the season as one model; a bound, and windows."""

from __future__ import annotations

import math
import threading
import time
from dataclasses import replace

from scheduler.model.build import Built, build_model, read_choices
from scheduler.model.highs import Mip, Tell, race
from scheduler.model.hints import complete
from scheduler.model.reduced import bound, keeping_cuts, loose, pooled_alike, undominated
from scheduler.schedule.check import broken
from scheduler.schedule.problem import Problem, pooled
from scheduler.schedule.stages import PRODUCE
from scheduler.schedule.value import worth
from scheduler.search.goal import Goal, Incumbent, aim
from scheduler.search.improve import SECONDS, TIERS_AT_ONCE, Improver
from scheduler.search.priced_window import cheap_decisions
from scheduler.solvers.cp_sat import Progress, Report, Settings, hint_all, run

SMALL = 4000  # decisions up to which the whole season is tried in one model first
MEDIUM = 16000  # without stack access, up to which it is tried when windows bring no more
CUT = 0.2  # share of the time left for a tighter bound, once windows bring no more


class StageSearch:
    """The search of one stage.

    Attributes
    ----------
    bound : of the goal, whole numbers; None unless proven. ``seek``: whether one is sought.
    """

    def __init__(
        self,
        problem: Problem,
        access: bool,
        goal: Goal,
        settings: Settings,
        improver: Improver,
        report: Report | None,
        stop: threading.Event | None,
        gap: float,
    ) -> None:
        self.problem, self.access, self.goal, self.settings = problem, access, goal, settings
        self.improver, self.report, self.stop, self.gap = improver, report, stop, gap
        self.bound: float | None = None
        self.seek = True  # a bound

    def run(self, best: Incumbent, seconds: float) -> tuple[Incumbent, float | None]:
        """The best schedule found, beginning with one that keeps every rule, and its bound."""
        self.began = time.monotonic()
        until = self.began + seconds
        if seconds < 0.2 or self._stopped():
            return best, self.bound
        small = len(self.problem) <= SMALL
        if small:
            best = self._exact(best, seconds * 0.7)
            self._say(best)  # its bound may be new
            if self._done(best, until):
                return best, self.bound
        # A bound costs about as much for each stage; none is sought that would eat up the rest.
        if self.seek and self.improver.bound_seconds < seconds / 2:
            start = time.monotonic()
            # Two methods may be tried, one after the other: together they end in time.
            found = self._linear(seconds / 2)
            self.bound = self.bound if found is None else self._tighter(found)
            self.improver.bound_seconds = time.monotonic() - start
        first = self.seek and not small and self.goal.name == PRODUCE
        # What windows should offer costs about as much again; a short search goes without.
        if first and self.improver.bound_seconds < seconds / 8:
            self.improver.opener.cheap = cheap_decisions(
                self.problem, self.goal.expression, seconds / 4
            )
        if small and not self._done(best, until):
            best = self._whole(best, (until - time.monotonic()) * 0.6)
        cut = first
        while not self._done(best, until):
            left = until - time.monotonic()
            best = self.improver.run(self.goal, best, left, self._target(), self.bound, self.report)
            if self.settings.deterministic is not None:
                break
            if self._done(best, until):
                break
            # Windows bring no more; perhaps the bound does. Then the whole season at once where
            # that has a chance, and more time for each window, which makes them longer, over more
            # columns.
            if cut:
                cut = False
                self._cut(until - time.monotonic())
                self._say(best)
                if self._done(best, until):
                    break
            if len(self.problem) <= (SMALL if self.access else MEDIUM):
                best = self._whole(best, max((until - time.monotonic()) * 0.5, 1.0))
            self.improver.seconds *= 1.5
            self.improver.most = round(self.improver.most * 1.5)
        self.improver.seconds, self.improver.most = SECONDS, TIERS_AT_ONCE
        return best, self.bound

    def _done(self, best: Incumbent, until: float) -> bool:
        if time.monotonic() >= until or self._stopped():
            return True
        return self.goal.reached(best.value, self._target())

    def _stopped(self) -> bool:
        return self.stop is not None and self.stop.is_set()

    def _target(self) -> float | None:
        """The value at which the stage is good enough."""
        if self.bound is None:
            return None
        slack = max(self.gap * abs(self.bound), 1e-6)
        return self.bound - slack if self.goal.maximise else self.bound + slack

    def _exact(self, best: Incumbent, seconds: float) -> Incumbent:
        """The whole season as a mixed-integer program: on small gardens it proves soonest."""
        if seconds < 0.2:
            return best
        until = time.monotonic() + seconds
        free = not self.problem.committed and self.problem.mixed is None
        if self.goal.name == PRODUCE and free:
            best = self._thinned(best, seconds * 0.85)
            if self._done(best, until):
                return best
        built = build_model(self.problem, self.access)
        aim(built, self.goal)
        hint = complete(built, best.choices)

        def better(found: Mip) -> None:
            nonlocal best
            if found.values is not None and found.value is not None:
                new = Incumbent(read_choices(built, found.values), found.value)
                best = self._better(best, new)

        self._raced(built, until, hint, better)
        return best

    def _thinned(self, best: Incumbent, seconds: float) -> Incumbent:
        """Without what no week needs and with tiers alone as limits: often that is all there is."""
        until = time.monotonic() + seconds
        problem = pooled(self.problem.cand) if self.access else self.problem
        enough = undominated(problem)
        built = build_model(problem.restricted(enough), False, only=("one crop at a time",))
        aim(built, self.goal)
        keeping_cuts(built)

        def better(found: Mip) -> None:
            nonlocal best
            if found.values is None:
                return
            choices = [
                replace(c, decision=int(enough[c.decision]))
                for c in read_choices(built, found.values)
            ]
            if not broken(problem, False, choices):
                value = worth(problem, self.goal.name, choices, False)
                best = self._better(best, Incumbent(choices, value))

        self._raced(built, until, tell=None if self.access else better)
        return best

    def _linear(self, seconds: float) -> int | None:
        """A bound over every plan that keeps the earlier stages; None if not had in time."""
        goal = self.goal
        return bound(pooled_alike(self.problem), lambda b: aim(b, goal), goal.maximise, seconds)

    def _cut(self, left: float) -> None:
        """A tighter bound: pooled tiers in whole numbers, as far as it gets without branching."""
        built = loose(pooled_alike(self.problem), lambda b: aim(b, self.goal))
        self._raced(built, time.monotonic() + left * CUT, root=True)

    def _raced(
        self,
        built: Built,
        until: float,
        hint: list[int] | None = None,
        tell: Tell | None = None,
        root: bool = False,
    ) -> None:
        """A model of the whole season by HiGHS on all threads; its bound is one of the stage.

        ``tell`` is called with each better solution on the way, and with the last.
        """
        seeds = range(self.settings.seed, self.settings.seed + self.settings.workers)

        def note(found: Mip) -> None:
            if found.bound is not None:
                self.bound = self._tighter(found.bound)
            if tell is not None:
                tell(found)

        note(
            race(
                built.model,
                self.goal.maximise,
                until - time.monotonic(),
                hint,
                seeds,
                self.stop,
                root,
                note,
                self.settings.nodes,
            )
        )

    def _better(self, best: Incumbent, new: Incumbent) -> Incumbent:
        if not self.goal.better(new.value, best.value):
            return best
        self._say(new)
        return new

    def _say(self, best: Incumbent) -> None:
        if self.report is not None and self.bound is not None:
            scale = self.goal.scale
            self.report(
                Progress(
                    self.goal.name,
                    time.monotonic() - self.began,
                    best.value / scale,
                    self.bound / scale,
                )
            )

    def _whole(self, best: Incumbent, seconds: float) -> Incumbent:
        """One model of the whole season: it may prove a bound, and better the schedule."""
        if seconds < 0.2:
            return best
        built = build_model(self.problem, self.access)
        aim(built, self.goal)
        hint_all(built.model, complete(built, best.choices))
        target = self._target()

        def reached(value: float) -> bool:
            return self.goal.reached(value, target)

        def scaled(p: Progress) -> None:
            if self.report is not None:
                scale = self.goal.scale
                bound = p.bound if self.bound is None else self._tighter(p.bound)
                self.report(replace(p, best=p.best / scale, bound=bound / scale))

        answer = run(
            built.model,
            self.goal.name,
            self.settings,
            seconds,
            scaled,
            reached,
            self.gap / 2 if self.settings.gap else 0.0,
            self.stop,
        )
        if not answer.found or answer.value is None or answer.bound is None:
            return best
        exact = round(answer.bound, 6)
        whole = math.floor(exact + 1e-6) if self.goal.maximise else math.ceil(exact - 1e-6)
        self.bound = self._tighter(whole)
        if self.goal.better(answer.value, best.value):
            return Incumbent(read_choices(built, answer.values), answer.value)
        return best

    def _tighter(self, bound: float) -> float:
        if self.bound is None:
            return bound
        return min(self.bound, bound) if self.goal.maximise else max(self.bound, bound)
