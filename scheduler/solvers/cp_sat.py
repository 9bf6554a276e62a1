"""One call of CP-SAT: limits in; status, value and bound out, nothing unproven claimed."""

from __future__ import annotations

import math
import os
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from importlib.metadata import PackageNotFoundError, version

from ortools.sat.python import cp_model

from scheduler.words.language import _

# What a plan comes from, dryline first, then its solvers: highspy and SciPy each bring a HiGHS.
MADE_WITH = ("dryline", "ortools", "highspy", "scipy", "numpy", "pandas")

FOUND = (cp_model.OPTIMAL, cp_model.FEASIBLE)


def versions() -> dict[str, str]:
    """Versions of this program, its solvers and its arrays, as a plan tells them.

    ``not installed`` where it runs from its source without having been installed.
    """
    out = {}
    for name in MADE_WITH:
        try:
            out[name] = version(name)
        except PackageNotFoundError:
            out[name] = "not installed"
    return out


NODES = 500  # of HiGHS for a deterministic second of CP-SAT: about as long on small gardens


@dataclass(frozen=True)
class Settings:
    """How long and how hard to search.

    Attributes
    ----------
    time_limit : wall seconds for the whole plan; gap : relative gap good enough for stage 1.
    deterministic : limit by work per stage, in CP-SAT's deterministic seconds (tests), or None;
        each search of HiGHS then has a limit of nodes.
    """

    time_limit: float = 60.0
    gap: float = 0.01
    seed: int = 0
    workers: int = 2
    deterministic: float | None = None

    @property
    def nodes(self) -> int | None:
        """What HiGHS may search for the same work; None: as far as the time goes."""
        return None if self.deterministic is None else max(1, round(NODES * self.deterministic))


@dataclass(frozen=True)
class Progress:
    """One line of progress: stage, seconds since its start, best value, bound, gap (share).

    A part of the work that is no search (`Parts`) has neither value nor bound: they are NaN.
    """

    stage: str
    seconds: float
    best: float = math.nan
    bound: float = math.nan

    @property
    def gap(self) -> float:
        return abs(self.bound - self.best) / max(abs(self.best), abs(self.bound), 1.0)


Report = Callable[[Progress], None]

# Parts of a run, in order. A time limit is for the search; the others take what they take.
READING, PLACES, CANDIDATES = "reading", "places", "candidates"
SEARCH, LIVING, CHECKING, WRITING = "search", "living", "checking", "writing"


@dataclass
class Phases:
    """The parts of a run: each is told as it begins, and how long each took [s] is kept."""

    report: Report | None = None
    seconds: dict[str, float] = field(default_factory=dict)
    began: float = field(default_factory=time.monotonic)

    @contextmanager
    def phase(self, name: str) -> Iterator[None]:
        """What is done inside counts for the part ``name``."""
        start = time.monotonic()
        if self.report is not None:
            self.report(Progress(name, start - self.began))
        try:
            yield
        finally:
            self.seconds[name] = self.seconds.get(name, 0.0) + time.monotonic() - start


class Load:
    """What else the machine does while this process searches with so many threads.

    A search that shares its processors finds less in the same time, and its bounds are looser.
    """

    def __init__(self, workers: int) -> None:
        self.cores = _cores()
        self.wanted = min(workers, len(self.cores))
        self.began, self.own, self.all = time.monotonic(), _own_seconds(), busy_seconds(self.cores)

    def room(self) -> float:
        """Processors that others left to this process since the beginning, on average."""
        seconds = max(time.monotonic() - self.began, 1e-9)
        own = (_own_seconds() - self.own) / seconds
        now = busy_seconds(self.cores)
        if self.all is None or now is None:  # a system that does not tell: what was had must do
            return float(self.wanted) if own >= LEAST_OWN else own
        room = len(self.cores) - max((now - self.all) / seconds - own, 0.0)
        # Less than most of one thread's time for a search that never waits: held back otherwise.
        return room if own >= LEAST_OWN else min(room, own)

    def sentence(self) -> str:
        """One sentence where the room was much less than wanted; empty where it was not."""
        if time.monotonic() - self.began < LEAST_SECONDS:
            return ""
        room = max(self.room(), 0.0)
        if room >= ENOUGH_ROOM * self.wanted:
            return ""
        had = 100 * room / self.wanted
        return _(
            "The machine was busy: the search had about {had:.0f} % of the processor time it "
            "could use. On a quiet one it may find more."
        ).format(had=had)


LEAST_SECONDS = 1.0  # shorter than that clocks tell nothing
LEAST_OWN = 0.6  # share of one processor that a search uses at least, if it gets it
ENOUGH_ROOM = 0.8


def _cores() -> tuple[int, ...]:
    if hasattr(os, "sched_getaffinity"):
        return tuple(sorted(os.sched_getaffinity(0)))
    return tuple(range(os.cpu_count() or 1))


def _own_seconds() -> float:
    """Processor time of this process and of its children that have ended [s]."""
    spent = os.times()
    return spent.user + spent.system + spent.children_user + spent.children_system


def busy_seconds(cores: Sequence[int], stat: str = "/proc/stat") -> float | None:
    """Seconds for which processors did anything, or were taken by a host; None if not told."""
    try:
        with open(stat, encoding="ascii") as handle:
            rows = {parts[0]: parts[1:] for line in handle if (parts := line.split())}
        # user, nice, system, idle, iowait, irq, softirq, steal [ticks]
        used = [[int(x) for x in rows[f"cpu{core}"][:8]] for core in cores]
        return sum(sum(x) - x[3] - x[4] for x in used) / float(os.sysconf("SC_CLK_TCK"))
    except (OSError, KeyError, ValueError, IndexError, AttributeError):
        return None


@dataclass(frozen=True)
class Answer:
    """What one call found. ``values`` is empty and ``value``/``bound`` None unless found."""

    status: int
    seconds: float
    value: float | None = None
    bound: float | None = None
    values: Sequence[int] = field(default=())
    deterministic: float = 0.0

    @property
    def found(self) -> bool:
        return self.status in FOUND


class Either(threading.Event):
    """Set by itself or by another event."""

    def __init__(self, other: threading.Event | None) -> None:
        super().__init__()
        self.other = other

    def is_set(self) -> bool:
        return super().is_set() or (self.other is not None and self.other.is_set())


class _Watch(cp_model.CpSolverSolutionCallback):
    """Passes solutions on, and stops the search when asked to or when the goal is reached."""

    def __init__(self, stage: str, report: Report | None, goal: Callable[[float], bool]) -> None:
        super().__init__()
        self.stage, self.report, self.goal = stage, report, goal
        self.began = time.monotonic()

    def on_solution_callback(self) -> None:
        if self.report is not None:
            self.report(
                Progress(
                    self.stage,
                    time.monotonic() - self.began,
                    self.objective_value,
                    self.best_objective_bound,
                )
            )
        if self.goal(self.objective_value):
            self.stop_search()


def run(
    model: cp_model.CpModel,
    stage: str,
    settings: Settings,
    seconds: float,
    report: Report | None = None,
    goal: Callable[[float], bool] = lambda _: False,
    gap: float = 0.0,
    stop: threading.Event | None = None,
    presolve: bool = True,
    quick: bool = False,
) -> Answer:
    """Solve ``model`` for at most ``seconds``.

    ``goal`` may end the search when a value is good enough; ``stop`` ends it from outside
    (Ctrl-C keeps the best found). ``quick``: one thread and a short presolve, for the many small
    models of `scheduler.search.improve`, where a full presolve costs more than it saves.
    """
    solver = cp_model.CpSolver()
    p = solver.parameters
    p.num_workers = settings.workers
    p.random_seed = settings.seed
    p.max_time_in_seconds = max(seconds, 0.01)
    p.relative_gap_limit = gap
    p.cp_model_presolve = presolve
    if quick:
        p.num_workers = 1
        p.cp_model_probing_level = 0
        p.symmetry_level = 0
        p.max_presolve_iterations = 1
        p.linearization_level = 2
    if settings.deterministic is not None:
        p.max_deterministic_time = settings.deterministic
    p.catch_sigint_signal = False
    began = time.monotonic()
    watch = _Watch(stage, report, goal)
    finished = threading.Event()
    if stop is not None:
        threading.Thread(target=_stop_when, args=(stop, finished, solver), daemon=True).start()
    try:
        status = solver.solve(model, watch)
        if status == cp_model.INFEASIBLE and presolve:
            # Presolve has been seen to call a feasible model infeasible: ask again without it.
            p.cp_model_presolve = False
            status = solver.solve(model, watch)
    finally:
        finished.set()
    took = time.monotonic() - began
    if status not in FOUND:
        return Answer(int(status), took, deterministic=solver.response_proto.deterministic_time)
    return Answer(
        int(status),
        took,
        # Every objective here is a whole number; 13.999999999999998 would not be worse than 14.
        float(round(solver.objective_value)) if model.has_objective() else 0.0,
        solver.best_objective_bound if model.has_objective() else None,
        list(solver.response_proto.solution),
        solver.response_proto.deterministic_time,
    )


def _stop_when(stop: threading.Event, finished: threading.Event, solver: cp_model.CpSolver) -> None:
    while not finished.wait(0.1):
        if stop.is_set():
            solver.stop_search()  # again and again: it does nothing to a search not yet begun


def hint_all(model: cp_model.CpModel, values: Sequence[int]) -> None:
    """Hint every variable whose value is known; old hints go first (twice hinted is invalid)."""
    model.clear_hints()
    # Straight into the model's message: one call a variable costs a tenth of a second a window.
    model.proto.solution_hint.vars.extend(range(len(values)))
    model.proto.solution_hint.values.extend([int(value) for value in values])
