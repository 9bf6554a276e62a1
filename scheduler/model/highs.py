"""A model as a mixed-integer program for HiGHS: on small gardens it proves sooner than CP-SAT.

Its linear relaxation is strong there and whole heads make CP-SAT's weak. What it hands back is
rounded and held against every row; a solution that keeps none of them is thrown away.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass
from queue import SimpleQueue
from typing import Any

import highspy
import numpy as np
from ortools.sat.python import cp_model

from scheduler.model.linear import Rows, meets, rows, whole_bound
from scheduler.solvers.quiet_highs import QuietHighs

# How a search may end whose bound can be believed.
ENDED = (
    highspy.HighsModelStatus.kOptimal,
    highspy.HighsModelStatus.kTimeLimit,
    highspy.HighsModelStatus.kInterrupt,
    highspy.HighsModelStatus.kSolutionLimit,
)
POLL = 0.02  # seconds between two looks at what another thread wants


@dataclass(frozen=True)
class Mip:
    """What was found.

    ``values`` of all variables and their ``value``, None if nothing was; ``bound``, a whole number,
    None if unknown.
    """

    values: list[int] | None
    value: int | None
    bound: int | None

    @property
    def proven(self) -> bool:
        """Whether nothing better is left."""
        if self.value is None or self.bound is None:
            return False
        return meets(self.value, self.bound)


Tell = Callable[[Mip], None]


def solve_mip(
    model: cp_model.CpModel,
    maximise: bool,
    seconds: float,
    hint: list[int] | None = None,
    seed: int = 0,
    stop: threading.Event | None = None,
    root: bool = False,
    tell: Tell | None = None,
    nodes: int | None = None,
) -> Mip:
    """Solve a model of linear rows for at most ``seconds``.

    Parameters
    ----------
    hint : values of all variables, a first solution; stop : ends the search.
    root : no branching: the cuts of the first relaxation give most of a bound, in a short time.
    tell : called with each better solution on the way.
    nodes : of the search tree at most, whatever the time: the same again is the same.

    Raises
    ------
    ValueError
        The model holds a constraint with no linear form.
    """
    began = time.monotonic()
    r = rows(model)
    solver = QuietHighs()
    solver.setOptionValue("threads", 1)  # the same for all in a process: set once for good
    solver.setOptionValue("random_seed", seed)
    solver.setOptionValue("mip_allow_restart", False)  # on gardens it costs more than it brings
    if root or nodes is not None:
        solver.setOptionValue("mip_max_nodes", 1 if root or nodes is None else nodes)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 0.5)  # whole numbers
    solver.passModel(program(r, maximise))
    if hint is not None:
        first = highspy.HighsSolution()
        first.col_value = [float(x) for x in hint]
        solver.setSolution(first)
    solver.setOptionValue("time_limit", max(seconds - (time.monotonic() - began), 0.05))
    if tell is not None:
        hear = tell

        def better(event: Any) -> None:
            x = np.array(event.data_out.mip_solution)
            if len(x) == len(r.cost):
                hear(_read(r, x, _bound(event.data_out.mip_dual_bound, maximise)))

        solver.cbMipImprovingSolution.subscribe(better)
    if stop is not None:
        solver.HandleUserInterrupt = True
        done = threading.Event()
        watch = threading.Thread(target=_end_when, args=(stop, done, solver), daemon=True)
        watch.start()
    try:
        solver.run()
    finally:
        if stop is not None:
            done.set()
            watch.join()
    info, ended = solver.getInfo(), solver.getModelStatus()
    if ended not in ENDED:  # what it tells then is not a bound
        return Mip(None, None, None)
    bound = _bound(info.mip_dual_bound, maximise)
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return Mip(None, None, bound)
    return _read(r, np.array(solver.getSolution().col_value), bound)


def _bound(value: float, maximise: bool) -> int | None:
    if not math.isfinite(value) or abs(value) >= highspy.kHighsInf:
        return None
    return whole_bound(value, maximise)


def _read(r: Rows, x: np.ndarray, bound: int | None) -> Mip:
    x = np.rint(x)
    if not r.holds(x):
        return Mip(None, None, bound)
    return Mip(x.astype(int).tolist(), round(float(r.cost @ x) + r.offset), bound)


def race(
    model: cp_model.CpModel,
    maximise: bool,
    seconds: float,
    hint: list[int] | None = None,
    seeds: Sequence[int] = (0, 1),
    stop: threading.Event | None = None,
    root: bool = False,
    tell: Tell | None = None,
    nodes: int | None = None,
) -> Mip:
    """The same with several seeds side by side, until the first is through.

    How long a proof takes depends on the seed by a factor of two and more. ``tell`` is called in
    the thread that called.
    """
    done = threading.Event()
    news: SimpleQueue[Mip] = SimpleQueue()
    put = None if tell is None else news.put

    def one(seed: int) -> Mip:
        got = solve_mip(model, maximise, seconds, hint, seed, done, root, put, nodes)
        if got.proven:
            done.set()
        return got

    with ThreadPoolExecutor(len(seeds)) as pool:
        runs = [pool.submit(one, seed) for seed in seeds]
        try:
            while wait(runs, POLL).not_done:
                if stop is not None and stop.is_set():
                    done.set()
                if tell is not None:
                    _pass_on(news, tell)
        finally:
            done.set()  # whatever happened, no thread goes on
    if tell is not None:
        _pass_on(news, tell)
    got = [run.result() for run in runs]
    bounds = [m.bound for m in got if m.bound is not None]
    values = [m.value for m in got if m.value is not None]
    best, tightest = (max, min) if maximise else (min, max)
    value = best(values) if values else None
    found = next((m.values for m in got if m.value == value and value is not None), None)
    return Mip(found, value, tightest(bounds) if bounds else None)


def program(r: Rows, maximise: bool) -> highspy.HighsLp:
    """Rows as a program of whole numbers, as HiGHS takes it."""
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(r.cost), len(r.low)
    lp.sense_ = highspy.ObjSense.kMaximize if maximise else highspy.ObjSense.kMinimize
    lp.offset_ = r.offset
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = r.cost, r.least, r.most
    lp.row_lower_, lp.row_upper_ = r.low, r.high
    matrix = lp.a_matrix_
    matrix.format_ = highspy.MatrixFormat.kRowwise
    matrix.num_col_, matrix.num_row_ = lp.num_col_, lp.num_row_
    matrix.start_, matrix.index_, matrix.value_ = r.matrix.indptr, r.matrix.indices, r.matrix.data
    lp.integrality_ = [highspy.HighsVarType.kInteger] * lp.num_col_
    return lp


def _end_when(stop: threading.Event, done: threading.Event, solver: QuietHighs) -> None:
    while not done.wait(POLL):
        if stop.is_set():
            solver.cancelSolve()
            return


def _pass_on(news: SimpleQueue[Mip], tell: Tell) -> None:
    while not news.empty():
        tell(news.get())
