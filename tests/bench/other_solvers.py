"""The rows of a model handed to two other solvers, with their values and bounds over time.

HiGHS through its own Python interface (the same code that is in SciPy, but it tells of each better
solution as it comes); SCIP through OR-Tools, its progress read from its log.
"""

from __future__ import annotations

import os
import re
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scheduler.model.highs import program
from scheduler.model.linear import Rows
from scheduler.solvers.quiet_highs import QuietHighs


@dataclass
class Outcome:
    """What a solver came to.

    ``track``: (seconds since it was given the rows, best value, bound), each better value and at
    the end. ``values`` is None without a solution; ``proven`` if it says optimal.
    """

    track: list[tuple[float, float | None, float | None]]
    values: np.ndarray | None
    value: float | None
    bound: float | None
    proven: bool
    seconds: float
    words: str


def highs(rows: Rows, seconds: float, threads: int = 2) -> Outcome:
    """The most of the objective, by HiGHS."""
    import highspy

    began = time.monotonic()
    solver = QuietHighs()
    solver.setOptionValue("threads", threads)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.passModel(program(rows, True))
    track: list[tuple[float, float | None, float | None]] = []

    def better(event: object) -> None:
        out = event.data_out  # type: ignore[attr-defined]
        track.append((time.monotonic() - began, out.objective_function_value, out.mip_dual_bound))

    solver.cbMipImprovingSolution.subscribe(better)
    solver.setOptionValue("time_limit", max(seconds - (time.monotonic() - began), 1.0))
    solver.run()
    took = time.monotonic() - began
    info = solver.getInfo()
    status = solver.getModelStatus()
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    values = np.array(solver.getSolution().col_value) if found else None
    bound = info.mip_dual_bound if np.isfinite(info.mip_dual_bound) else None
    value = info.objective_function_value if found else None
    track.append((took, value, bound))
    return Outcome(
        track,
        values,
        value,
        bound,
        status == highspy.HighsModelStatus.kOptimal,
        took,
        solver.modelStatusToString(status),
    )


# A line of SCIP's log: time first, dual and primal bound in the columns of that name.
_TIME = re.compile(r"\s*\D?\s*(\d+(?:\.\d+)?)s")


def scip(rows: Rows, seconds: float) -> Outcome:
    """The most of the objective, by SCIP (one thread: OR-Tools' build has no more)."""
    from ortools.linear_solver.python import model_builder

    model = model_builder.Model()
    helper = model.helper
    helper.fill_model_from_sparse_data(
        rows.least, rows.most, rows.cost, rows.low, rows.high, rows.matrix
    )
    for i in range(len(rows.cost)):
        helper.set_var_integrality(i, True)
    helper.set_maximize(True)
    helper.set_objective_offset(rows.offset)
    solver = model_builder.Solver("scip")
    if not solver.solver_is_supported():
        return Outcome([], None, None, None, False, 0.0, "SCIP is not in this build")
    solver.enable_output(True)
    solver.set_solver_specific_parameters("display/freq = 50\n")
    solver.set_time_limit_in_seconds(seconds)
    began = time.monotonic()
    with _caught() as log:
        status = solver.solve(model)
    took = time.monotonic() - began
    track = read_scip_log(log.text)
    found = status in (model_builder.SolveStatus.OPTIMAL, model_builder.SolveStatus.FEASIBLE)
    values = None
    value = bound = None
    if found:
        values = np.array(solver.values(model.get_variables()))
        value, bound = solver.objective_value, solver.best_objective_bound
    elif track:
        bound = track[-1][2]
    track.append((took, value, bound))
    return Outcome(
        track, values, value, bound, status == model_builder.SolveStatus.OPTIMAL, took, status.name
    )


def read_scip_log(text: str) -> list[tuple[float, float | None, float | None]]:
    """(seconds, best value, bound) of each line of the table in SCIP's log."""
    heads: list[str] = []
    out: list[tuple[float, float | None, float | None]] = []
    for line in text.splitlines():
        cells = [c.strip() for c in line.split("|")]
        if "dualbound" in cells and "primalbound" in cells:
            heads = cells
            continue
        when = _TIME.match(line)
        if not heads or when is None or len(cells) < len(heads):
            continue
        best = _number(cells[heads.index("primalbound")])
        bound = _number(cells[heads.index("dualbound")])
        out.append((float(when[1]), best, bound))
    return out


def _number(cell: str) -> float | None:
    """A bound of the log; None where there is none yet."""
    try:
        value = float(cell)
    except ValueError:
        return None
    return value if abs(value) < 1e19 else None


class _caught:
    """What native code prints while it runs."""

    def __enter__(self) -> _caught:
        self.text = ""
        self._file = tempfile.NamedTemporaryFile(suffix=".log")
        self._old = os.dup(1)
        os.dup2(self._file.fileno(), 1)
        return self

    def __exit__(self, *error: object) -> None:
        import ctypes

        ctypes.CDLL(None).fflush(None)  # what C still holds back
        os.dup2(self._old, 1)
        os.close(self._old)
        self.text = Path(self._file.name).read_text(encoding="utf-8", errors="replace")
        self._file.close()
