"""The linear program over sequences: how many columns of each kind follow which.

    most   aim.produce * met - aim.uneven * (wasted + short) - aim.effort * (fills + lifts)
    cells[w] - cells[w-1] = sown[w] - transplanted[w],  0 <= cells[w] <= nursery cells
    fills[w], picks[w]    <= limits of a day
    handed out of a class <= picked of it
    handed out to a week  <= its wish;  + short >= half of it
    sequences of a kind   <= columns of the kind

Rows of sequences are added as they are found; HiGHS goes on from the basis it has.
"""

from __future__ import annotations

import highspy
import numpy as np

from scheduler.objective import whole_weights
from scheduler.quiet_highs import QuietHighs
from scheduler.stacks.layout import Layout, Sequence
from scheduler.stacks.prices import Aim, Prices, lifts


class Master:
    """The program, its sequences, and its last answer.

    Attributes
    ----------
    sequences : in the order of their variables.
    amounts : columns that follow each [sequences]; value : of the aim.
    weights : whole weights of the produce groups.
    """

    def __init__(self, layout: Layout, aim: Aim) -> None:
        self.layout, self.aim = layout, aim
        self.sequences: list[Sequence] = []
        self._known: dict[Sequence, int] = {}
        self._grams: list[float] = []
        self._effort: list[float] = []
        self.amounts = np.zeros(0)
        self.value = 0.0
        s = layout.supply
        _, weights = whole_weights(s.weights)
        self.weights = np.array(weights, dtype=float)
        slots, weeks = layout.slots, s.wish.size
        names = ("cells", "fill", "pick", "gram", "wish", "half", "column")
        sizes = (slots, slots, slots, len(s.classes), weeks, weeks, len(layout.columns))
        ends = np.cumsum([0, *sizes])
        self._at = {n: (int(a), int(b)) for n, a, b in zip(names, ends[:-1], ends[1:], strict=True)}
        self._lp = QuietHighs()
        self._lp.setOptionValue("threads", 1)
        self._infinite = highspy.kHighsInf
        self._lp.changeObjectiveSense(highspy.ObjSense.kMaximize)
        self._rows()
        self._columns()
        self.turn(aim)

    def _rows(self) -> None:
        layout, limits = self.layout, self.layout.garden.limits
        s, open_ = layout.supply, self._infinite
        most = {
            "cells": np.zeros(layout.slots),
            "fill": np.full(layout.slots, _or(limits.fills_per_day, open_)),
            "pick": np.full(layout.slots, _or(limits.picks_per_day, open_)),
            "gram": s.given.astype(float),
            "wish": s.wish.ravel().astype(float),
            "half": np.full(s.wish.size, open_),
            "column": layout.counts.astype(float),
        }
        upper = np.concatenate(list(most.values()))
        lower = np.full(len(upper), -open_)
        a, b = self._at["cells"]
        lower[a:b] = 0.0
        a, b = self._at["half"]
        lower[a:b] = (s.wish // 2).ravel()
        for low, high in zip(lower.tolist(), upper.tolist(), strict=True):
            self._lp.addRow(low, high, 0, np.zeros(0, np.int32), np.zeros(0))

    def _columns(self) -> None:
        layout, s = self.layout, self.layout.supply
        room = float(layout.garden.nursery.cells)
        for w in range(layout.slots):
            rows = [w, w + 1] if w + 1 < layout.slots else [w]
            self._add(0.0, room, np.array(rows), np.array([1.0, -1.0])[: len(rows)])
        weeks = s.wish.shape[1]
        self._flows: list[int] = []  # group of each
        for k, (group, first, last) in enumerate(s.classes):
            for week in range(first, last + 1):
                if s.wish[group, week] > 0:
                    g = group * weeks + week
                    at = [self._at[n][0] + i for n, i in (("gram", k), ("wish", g), ("half", g))]
                    self._add(0.0, self._infinite, np.array(at), np.ones(3))
                    self._flows.append(group)
        self._shorts = s.wish.size
        for g, half in enumerate((s.wish // 2).ravel().tolist()):
            self._add(0.0, float(half), np.array([self._at["half"][0] + g]), np.ones(1))
        self._first = layout.slots + len(self._flows) + self._shorts

    def _add(self, low: float, high: float, rows: np.ndarray, factors: np.ndarray) -> None:
        self._lp.addCol(0.0, low, high, len(rows), rows.astype(np.int32), factors)

    def turn(self, aim: Aim) -> None:
        """Aim at another mix of the stages; the sequences stay."""
        self.aim = aim
        groups = np.array(self._flows, dtype=int)
        cost = np.concatenate([
            np.zeros(self.layout.slots), aim.produce * self.weights[groups] + aim.uneven,
            np.full(self._shorts, -aim.uneven),
            -aim.uneven * np.array(self._grams) - aim.effort * np.array(self._effort),
        ])  # fmt: skip
        self._lp.changeColsCost(len(cost), np.arange(len(cost), dtype=np.int32), cost)

    def add(self, sequence: Sequence) -> int | None:
        """Its number; None if it was there already."""
        if sequence in self._known:
            return None
        layout = self.layout
        rows = np.array([row for _, row, _ in sequence.batches], dtype=int)
        picks, pick_ends = layout.picks_of
        klass, grams, give_ends = layout.gives
        p = _spans(pick_ends, rows)
        g = _spans(give_ends, rows)
        one = np.ones(len(rows))
        where = np.concatenate([
            layout.sow[rows], layout.start[rows], layout.start[rows] + self._at["fill"][0],
            picks[p] + self._at["pick"][0], klass[g] + self._at["gram"][0],
            [self._at["column"][0] + sequence.kind],
        ])  # fmt: skip
        factor = np.concatenate([
            -layout.cells[rows], layout.cells[rows], one, np.ones(len(p)), -grams[g], [1.0]
        ])  # fmt: skip
        at, inverse = np.unique(where, return_inverse=True)
        total = np.bincount(inverse, factor, len(at))
        numbers = layout.columns[sequence.kind].numbers
        effort = sum(1.0 + lifts(Aim(effort=1.0), numbers[j]) for j, _, _ in sequence.batches)
        cost = -self.aim.uneven * float(grams[g].sum()) - self.aim.effort * effort
        keep = total != 0
        self._lp.addCol(cost, 0.0, self._infinite, int(keep.sum()),
                        at[keep].astype(np.int32), total[keep])  # fmt: skip
        self._grams.append(float(grams[g].sum()))
        self._effort.append(effort)
        self._known[sequence] = len(self.sequences)
        self.sequences.append(sequence)
        return len(self.sequences) - 1

    def number(self, sequence: Sequence) -> int:
        """The number of a sequence, added if it is new."""
        new = self.add(sequence)
        return self._known[sequence] if new is None else new

    def hold(self, numbers: np.ndarray, amounts: np.ndarray) -> None:
        """At least so many columns follow these sequences."""
        self._lp.changeColsBounds(
            len(numbers), (self._first + numbers).astype(np.int32), amounts.astype(float),
            np.full(len(numbers), self._infinite),
        )  # fmt: skip

    def solve(self) -> Prices | None:
        """The prices of the best mix of the sequences there are; None if what is held cannot be."""
        self._lp.run()
        if self._lp.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        answer = self._lp.getSolution()
        self.amounts = np.array(answer.col_value[self._first :])
        self.value = float(self._lp.getInfo().objective_function_value)
        self.value -= self.aim.uneven * float(self.layout.supply.given.sum())
        dual = np.array(answer.row_dual)
        part = {n: dual[a:b] for n, (a, b) in self._at.items()}
        shape = self.layout.supply.wish.shape
        return Prices(
            cells=part["cells"], fill=np.maximum(part["fill"], 0.0),
            pick=np.maximum(part["pick"], 0.0), gram=np.maximum(part["gram"], 0.0),
            wish=np.maximum(part["wish"], 0.0).reshape(shape),
            half=np.maximum(-part["half"], 0.0).reshape(shape),
            column=np.maximum(part["column"], 0.0),
        )  # fmt: skip


def _or(limit: int | None, otherwise: float) -> float:
    return otherwise if limit is None else float(limit)


def _spans(ends: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Places of all entries of ``rows``, where row r's lie from ends[r] to ends[r + 1]."""
    counts = ends[rows + 1] - ends[rows]
    offsets = np.repeat(ends[rows] - np.concatenate([[0], np.cumsum(counts)[:-1]]), counts)
    return np.arange(int(counts.sum())) + offsets if len(rows) else np.zeros(0, dtype=int)
