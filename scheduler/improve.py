"""Make a schedule better bit by bit: free the batches of a few weeks, keep the rest, solve.

Batches transplanted in a window of some weeks are free to change; all others stay. Such a model
is small and CP-SAT settles it in about a second. Measured on the courtyard with a lift limit: 25 s
of this came from 80 % to 90 % of the wish where one model of the whole season came to 85 %.
Every schedule taken on keeps all rules and is never worse than the one before.
"""

from __future__ import annotations

import random
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from ortools.sat.python import cp_model

from scheduler.build_model import Built, build_model, read_choices
from scheduler.by_hand import Choice
from scheduler.courses import NEVER
from scheduler.engine import Progress, Report, Settings, hint_all, run
from scheduler.hints import complete
from scheduler.part import Part, cut_out
from scheduler.problem import Problem
from scheduler.variables import Expr

Expression = Callable[[Built], Expr]

WINDOW, SHORTEST, LONGEST = 24.0, 10.0, 120.0  # days: the first one, and the limits
SECONDS = 1.0  # for one window, until windows bring no more
DETERMINISTIC = 0.4  # the same in the solver's deterministic seconds, for repeatable runs
TIE = 100  # so many days of holding a tier weigh as much as the smallest gain
PART = 8  # tiers in one window; of a larger garden some columns are drawn
GUIDE = 0.5
PATIENCE = 40  # windows without gain before the search ends


@dataclass(frozen=True)
class Goal:
    """What a stage wants.

    Attributes
    ----------
    name : of the stage; expression : of the objective, built anew in each small model.
    maximise : the most or the least of it; scale : divides values for the eye.
    locks : (expression, value) of the stages before, which may not get worse: at least the value
        where ``maximise`` was true for that stage, at most otherwise.
    """

    name: str
    expression: Expression
    maximise: bool
    scale: float = 1.0
    locks: tuple[tuple[Expression, bool, int], ...] = ()


@dataclass
class Incumbent:
    """The best schedule so far and its value."""

    choices: list[Choice]
    value: float


def lock(model: cp_model.CpModel, part: Expr, maximised: bool, value: int) -> None:
    """Let an earlier stage get no worse; where nothing could be wished it is a plain number."""
    if not isinstance(part, int):
        model.add(part >= value if maximised else part <= value)


def _days(problem: Problem) -> np.ndarray:
    """Days each decision holds its tier [v]."""
    return (problem.column("last") - problem.column("transplant")).astype(int)


def _stay(built: Built) -> Expr:
    """Days that tiers are held, in all."""
    return cp_model.LinearExpr.weighted_sum(built.v.take, _days(built.v.problem).tolist())


def aim(built: Built, goal: Goal) -> None:
    """Give a model a goal's locks and its objective."""
    for expression, maximised, value in goal.locks:
        lock(built.model, expression(built), maximised, value)
    objective = goal.expression(built)
    if goal.maximise:
        built.model.maximize(objective)
    else:
        built.model.minimize(objective)


class _Sweep:
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


class Improver:
    """Windows over one problem."""

    def __init__(
        self, problem: Problem, access: bool, settings: Settings,
        stop: threading.Event | None = None, parts: bool = False,
    ) -> None:  # fmt: skip
        self.parts = parts and not problem.committed and bool(problem.places[0].column)
        self.problem, self.access, self.settings, self.stop = problem, access, settings, stop
        self.start = problem.column("transplant")
        self.heavy_after = problem.column("heavy_after").astype(bool)
        cand = problem.cand
        cuts = np.array([cand.garden.crops[n].cuts for n in cand.crop_names], dtype=int)
        events = (cand.pick_day < NEVER).sum(axis=1)
        crop = cand.table["crop"].to_numpy(dtype=int)
        # Picks spread over several days help little and double the candidates: tried now and then.
        self.plain = ((cuts[crop] > 1) | (events == 1))[problem.row_of]
        self.held = np.zeros(len(problem), bool)
        for group in problem.committed:
            self.held[list(group)] = True
        self.random = random.Random(settings.seed)
        self.spent = 0.0  # deterministic seconds
        self.seconds = SECONDS  # for one window; its caller may give more
        self.bound_seconds = 0.0  # what the last bound took, by the clock

    def run(
        self, goal: Goal, best: Incumbent, seconds: float, target: float | None = None,
        bound: float | None = None, report: Report | None = None,
    ) -> Incumbent:  # fmt: skip
        """Improve ``best`` until ``target`` is reached, time is up or windows bring no more.

        With one worker and a deterministic limit the outcome is repeatable.
        """
        began = time.monotonic()
        sweep = _Sweep(self.random, int(self.start.min()), int(self.start.max()))
        budget, spent_before = self.settings.deterministic, self.spent
        while not (sweep.done or self._reached(goal, best.value, target)):
            if time.monotonic() - began > seconds or (self.stop is not None and self.stop.is_set()):
                break
            if budget is not None and self.spent - spent_before > budget:
                break
            begin, end = sweep.window(self._wanted(best.choices) if goal.maximise else None)
            left = max(seconds - (time.monotonic() - began), 0.05)
            new, settled = self._window(goal, best, begin, end, min(self.seconds, left))
            gained = new is not None and self._better(goal, new.value, best.value)
            if new is not None and (gained or new.value == best.value):
                best = new
            sweep.note(gained, settled)
            if gained and report is not None:
                top = best.value if bound is None else bound
                report(Progress(goal.name, time.monotonic() - began,
                                best.value / goal.scale, top / goal.scale))  # fmt: skip
        return best

    def _wanted(self, choices: list[Choice]) -> int | None:
        """A transplanting day of which a batch could serve a week that is short; by chance."""
        if self.random.random() < GUIDE:
            return None
        supply = self.problem.supply
        taken = np.zeros(len(self.problem), dtype=int)
        np.add.at(taken, [c.decision for c in choices], 1)
        stock = supply.given.copy()
        np.add.at(stock, supply.klass, supply.grams * taken[supply.decision])
        short = supply.wish.astype(float).copy()
        for k in sorted(range(len(supply.classes)), key=lambda k: supply.classes[k][2]):
            group, first, last = supply.classes[k]
            left = stock[k]
            for week in range(first, last + 1):
                used = min(left, short[group, week])
                short[group, week] -= used
                left -= used
        short *= np.array(supply.weights)[:, None]
        flat = short.ravel()
        if flat.sum() <= 0:
            return None
        pick = self.random.choices(range(len(flat)), flat.tolist())[0]
        group, week = divmod(pick, short.shape[1])
        good = np.array([g == group and a <= week <= b for g, a, b in supply.classes])
        able = np.unique(self.start[supply.decision[good[supply.klass]]])
        return int(self.random.choice(able.tolist())) if len(able) else None

    @staticmethod
    def _better(goal: Goal, new: float, old: float) -> bool:
        return new > old if goal.maximise else new < old

    def _reached(self, goal: Goal, value: float, target: float | None) -> bool:
        if target is None:
            return False
        return value >= target if goal.maximise else value <= target

    def _window(
        self, goal: Goal, best: Incumbent, begin: int, end: int, seconds: float
    ) -> tuple[Incumbent | None, bool]:
        """What one window gives, None if nothing was found; and whether it is the best it can."""
        free = (self.start >= begin) & (self.start < end)
        offered = free & self.plain if self.random.random() < 0.7 else free.copy()
        offered |= self.held
        offered[[c.decision for c in best.choices]] = True
        part = self._part(best.choices)
        inside = best.choices if part is None else [
            c for c in best.choices if part.holds[self.problem.place_of[c.decision]]
        ]  # fmt: skip
        if part is not None:
            offered &= part.holds[self.problem.place_of]
        keep = np.flatnonzero(offered)
        at = {int(old): new for new, old in enumerate(keep)}
        whole = self.problem.restricted(keep)
        built = build_model(whole if part is None else part.of(whole), self.access)
        model, v = built.model, built.v
        mine = [Choice(at[c.decision], c.clear) for c in inside]
        counts: dict[int, int] = {}
        for c in mine:
            counts[c.decision] = counts.get(c.decision, 0) + 1
        for old, new in zip(inside, mine, strict=True):
            i = old.decision
            if free[i] or self.held[i]:
                continue
            model.add(v.take[new.decision] == counts[new.decision])
            if self.access and (old.clear < begin or self.start[i] > end):
                slot = int(self.problem.slot(np.array(old.clear)))
                place = int(v.problem.place_of[new.decision])
                model.add(v.clear[bool(self.heavy_after[i])][place][slot] == 1)
        aim(built, goal)
        if goal.maximise:
            # Of equal schedules the one whose tiers are free sooner leaves more to later windows.
            model.maximize(goal.expression(built) * TIE - _stay(built))
        hint_all(model, complete(built, mine))
        settings = replace(self.settings, seed=self.random.randrange(1 << 30))
        if settings.deterministic is not None:
            settings = replace(settings, deterministic=DETERMINISTIC)
            seconds = max(seconds, 60.0)
        answer = run(model, goal.name, settings, seconds, gap=5e-4, stop=self.stop, quick=True)
        self.spent += max(answer.deterministic, 0.01)
        settled = answer.status == cp_model.OPTIMAL
        if not answer.found or answer.value is None:
            return None, settled
        back = read_choices(built, answer.values)
        found = [Choice(int(keep[c.decision]), c.clear) for c in back]
        if part is not None:
            found += part.outside
        value = answer.value
        if goal.maximise:
            taken = np.array([answer.values[x.index] for x in v.take], dtype=int)
            value = round((answer.value + int(taken @ _days(v.problem))) / TIE)
        return Incumbent(found, value), settled

    def _part(self, choices: list[Choice]) -> Part | None:
        """Some columns of a large garden, drawn at random; None to take them all."""
        if not self.parts or len(self.problem.places) <= PART:
            return None
        columns: list[str] = []
        tiers = 0
        names = list(dict.fromkeys(place.column for place in self.problem.places))
        self.random.shuffle(names)
        size = dict.fromkeys(names, 0)
        for place in self.problem.places:
            size[place.column] += 1
        for name in names:
            if columns and tiers + size[name] > PART:
                break
            columns.append(name)
            tiers += size[name]
        return cut_out(self.problem, choices, frozenset(columns))
