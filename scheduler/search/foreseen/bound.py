"""The best that a year can bring to who knows it beforehand, and its mean over many years.

For each year a program of whole batches is solved: what is lived in a year, by whatever grower and
plan, is among its solutions, so that its optimum, or the bound where time ends first, is at least
what any plan brings. The mean over years is the bound that is called wait and see (Madansky 1960,
Inequalities for stochastic linear programming problems, Management Science 6:197-204, from memory):
no plan that must be made before the weather is known can bring more on the mean of these years.

Left out, which can only make the bound larger: what is too heavy to be lifted away, minutes of
work, the order in which wishes are served, whole heads, and for a crop cut again what it drinks
between its cuts. Picks are told in whole grams where a season is lived, so half a gram is added to
each.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass

import highspy
import numpy as np
from scipy import sparse

from scheduler.garden.model import Garden
from scheduler.lived.doubt import Doubt
from scheduler.lived.laid import FAR
from scheduler.lived.world import World, world_of
from scheduler.search.foreseen.offers import Kind, Offer, kinds_of, offers
from scheduler.solvers.quiet_highs import QuietHighs
from scheduler.years.weather_years import WeatherYears

ROUNDED = 0.5  # [g] that a pick may have more where it is told in whole grams
EACH = 4.0  # seconds that a year gets if there are as many left
GAP = 0.01  # a year whose bound is this near to its best is good enough


@dataclass(frozen=True)
class Foreseen:
    """What years could bring at most.

    Attributes
    ----------
    years : numbers of the years reckoned. most : share of the wish that each could bring at most
        [0..1]; found : what a schedule for that year alone brings in the program, NaN if none.
    """

    years: tuple[int, ...]
    most: np.ndarray
    found: np.ndarray

    @property
    def proven(self) -> int:
        """In how many years the bound is reached, to within `GAP`."""
        return int(np.sum(self.most - self.found <= GAP * np.maximum(self.most, 1e-9) + 1e-9))


def foreseen(
    garden: Garden,
    years: WeatherYears,
    which: Sequence[int],
    seconds: float,
    doubt: Doubt,
    seed: int,
    stop: threading.Event | None = None,
    nodes: int | None = None,
) -> Foreseen:
    """Years one after the other, as many of ``which`` as ``seconds`` allow.

    ``doubt`` in the crops' numbers is drawn with ``seed``, as where a plan is judged. ``nodes`` of
    the search tree of each year, however long it takes: the same again is the same.
    """
    w = world_of(garden, years, doubt, seed)
    plants = np.array([tier.plants for column in garden.columns for tier in column.tiers])
    cells = _cells(garden)
    kinds = kinds_of(w, plants)
    done, most, found = [], [], []
    end = time.monotonic() + seconds
    for number, y in enumerate(which):
        left = end - time.monotonic()
        if (nodes is None and left <= 0) or (stop is not None and stop.is_set()):
            break
        mine = min(left, max(left / (len(which) - number), EACH))
        high, low = _year(w, y, kinds, cells, mine if nodes is None else FAR, nodes)
        if high is not None:
            done.append(y)
            most.append(high)
            found.append(low)
    return Foreseen(tuple(done), np.array(most), np.array(found))


def _cells(garden: Garden) -> np.ndarray:
    """Cells to sow for so many plants of each crop [crops, plants + 1]."""
    from crops.development import cells_to_sow

    top = max((tier.plants for column in garden.columns for tier in column.tiers), default=0)
    rows = [[cells_to_sow(crop, p) for p in range(top + 1)] for crop in garden.crops.values()]
    return np.array(rows)


class _Program:
    """Rows and columns as they come; every column has an upper bound and a worth."""

    def __init__(self) -> None:
        self.worth: list[float] = []
        self.upper: list[float] = []
        self.whole: list[bool] = []
        self.at: tuple[list[int], list[int], list[float]] = ([], [], [])
        self.high: list[float] = []

    def column(self, worth: float, upper: float, whole: bool) -> int:
        self.worth.append(worth)
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.worth) - 1

    def row(self, entries: Sequence[tuple[int, float]], high: float) -> None:
        """The sum of the entries is at most ``high``."""
        rows, columns, values = self.at
        rows += [len(self.high)] * len(entries)
        columns += [column for column, _ in entries]
        values += [value for _, value in entries]
        self.high.append(high)

    def solve(self, seconds: float, nodes: int | None) -> tuple[float | None, float]:
        """Bound from above, None if there is none yet, and the best found, NaN if nothing."""
        lp = highspy.HighsLp()
        n, m = len(self.worth), len(self.high)
        lp.num_col_, lp.num_row_ = n, m
        lp.sense_ = highspy.ObjSense.kMaximize
        lp.col_cost_, lp.col_lower_ = np.array(self.worth), np.zeros(n)
        lp.col_upper_ = np.array(self.upper)
        lp.row_lower_, lp.row_upper_ = np.full(m, -highspy.kHighsInf), np.array(self.high)
        rows, columns, values = self.at
        matrix = sparse.csr_matrix((values, (rows, columns)), shape=(m, n))
        matrix.sum_duplicates()
        a = lp.a_matrix_
        a.format_ = highspy.MatrixFormat.kRowwise
        a.num_col_, a.num_row_ = n, m
        a.start_, a.index_, a.value_ = matrix.indptr, matrix.indices, matrix.data
        kinds = highspy.HighsVarType
        lp.integrality_ = [kinds.kInteger if w else kinds.kContinuous for w in self.whole]
        solver = QuietHighs()
        solver.setOptionValue("output_flag", False)
        solver.setOptionValue("threads", 1)
        solver.setOptionValue("mip_rel_gap", GAP)
        solver.setOptionValue("mip_heuristic_effort", 0.0)
        solver.setOptionValue("time_limit", max(seconds, 0.05))
        if nodes is not None:
            solver.setOptionValue("mip_max_nodes", nodes)
        solver.passModel(lp)
        solver.run()
        info = solver.getInfo()
        bound = float(info.mip_dual_bound)
        there = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
        value = float(info.objective_function_value) if there else float("nan")
        return (bound if abs(bound) < highspy.kHighsInf else None), value


def _year(
    w: World,
    y: int,
    kinds: list[Kind],
    cells: np.ndarray,
    seconds: float,
    nodes: int | None,
) -> tuple[float | None, float]:
    """Bound and best found of one year, as shares of the wish [0..1]."""
    total = float(w.weight @ w.wish.sum(axis=1))
    if total <= 0:
        return 0.0, 0.0
    p = _Program()
    n, limits = len(w.days), w.limits[0]
    stands: list[list[list[tuple[int, float]]]] = [[[] for _ in range(n)] for _ in kinds]
    fills: list[list[tuple[int, float]]] = [[] for _ in range(n)]
    picks: list[list[tuple[int, float]]] = [[] for _ in range(n)]
    nursery: list[list[tuple[int, float]]] = [[] for _ in range(n)]
    made: dict[tuple[int, int, int], list[tuple[int, float]]] = {}
    for offer in offers(w, y, kinds):
        kind, crop = kinds[offer.kind], w.crops[offer.crop]
        ends = [(d, p.column(0.0, kind.count, True)) for d in offer.days.tolist()]
        for d, z in ends:
            for held in range(offer.start, min(d + int(limits["turnaround"]), n)):
                stands[offer.kind][held].append((z, 1.0))
            for held in range(offer.sow, offer.start):
                nursery[held].append((z, float(cells[offer.crop, kind.plants])))
            fills[offer.start].append((z, 1.0))
        for d, x, grams in _picked(p, offer, w, ends, kind):
            picks[d].append((x, 1.0))
            served = _served(w, offer.crop, d)
            if served is not None:
                made.setdefault((int(crop["group"]), *served), []).append((x, grams))
    for k, kind in enumerate(kinds):
        for d in range(n):
            if stands[k][d]:
                p.row(stands[k][d], kind.count)
    for d in range(n):
        for entries, most in (
            (fills[d], limits["most_fills"]),
            (picks[d], limits["most_picks"]),
            (nursery[d], limits["cells"]),
        ):
            if entries and np.isfinite(most):
                p.row(entries, float(most))
    _table(p, w, made)
    if not any(p.worth):
        return 0.0, 0.0
    bound, value = p.solve(seconds, nodes)
    return (None if bound is None else min(bound / total, 1.0)), value / total


def _picked(
    p: _Program, offer: Offer, w: World, ends: Sequence[tuple[int, int]], kind: Kind
) -> list[tuple[int, int, float]]:
    """Picks of a batch that stands until one of its ``ends``: day, column, grams of all of it."""
    crop, days = w.crops[offer.crop], offer.days.tolist()
    full = kind.plants * float(crop["fresh"])
    again, cuts = crop["cuts"] > 1, int(crop["cuts"]) if crop["cuts"] > 1 else 1
    out, before = [], None
    for cut in range(cuts):
        part = float(w.cut_shares[offer.crop, cut]) if again else 1.0
        columns = [p.column(0.0, kind.count, False) for _ in days]
        for i in range(len(days)):  # what is picked on this day or later stands until then
            later = [(x, 1.0) for x in columns[i:]]
            p.row([*later, *((z, -1.0) for _, z in ends[i:])], 0.0)
        if before is not None:
            for i, day in enumerate(days):  # grown again since the cut before
                grown = day - int(crop["interval"])
                sooner = [(x, -1.0) for x, d in zip(before, days, strict=True) if d <= grown]
                p.row([*((x, 1.0) for x in columns[: i + 1]), *sooner], 0.0)
        for x, day, share in zip(columns, days, offer.share.tolist(), strict=True):
            grown = full * part * (1.0 if again and cut else share)
            out.append((day, x, grown + ROUNDED * (1 if again else kind.plants)))
        before = columns
    return out


def _served(w: World, crop: int, day: int) -> tuple[int, int] | None:
    """First and last week in which a pick can be eaten; None: in none."""
    first = int(w.next_eaten[int(w.crops["group"][crop]), day])
    last = int(w.last_week[crop, day])
    return (first, last) if first <= last else None


def _table(
    p: _Program, w: World, made: dict[tuple[int, int, int], list[tuple[int, float]]]
) -> None:
    """What is picked is eaten in one of the weeks that it serves, as far as they wish."""
    groups, weeks = w.wish.shape
    eaten: list[list[list[tuple[int, float]]]] = [[[] for _ in range(weeks)] for _ in range(groups)]
    for (group, first, last), picked in made.items():
        meals = []
        for week in range(first, last + 1):
            if w.wish[group, week] > 0:
                meal = p.column(float(w.weight[group]), float(w.wish[group, week]), False)
                meals.append((meal, 1.0))
                eaten[group][week].append((meal, 1.0))
        if meals:
            p.row([*meals, *((x, -grams) for x, grams in picked)], 0.0)
    for group in range(groups):
        for week in range(weeks):
            if eaten[group][week]:
                p.row(eaten[group][week], float(w.wish[group, week]))
