"""The linear program over sequences: how many columns of each kind follow which.

    most   aim.produce * met - aim.uneven * (wasted + short) - aim.effort * (fills + lifts)
    held[w] - held[w-1]   = begun[w] - over[w],  0 <= held[w] <= limit   (what is held, by slot)
    used[w]               <= limit                                       (what is used on its day)
    handed out of a class <= picked of it
    handed out to a week  <= its wish;  + short >= half of it
    sequences of a kind   <= columns of the kind

Rows of sequences are added as they are found; HiGHS goes on from the basis it has.
"""

from __future__ import annotations

import highspy
import numpy as np

from scheduler.schedule.effort import points
from scheduler.schedule.resources import spans
from scheduler.schedule.stages import whole_weights
from scheduler.search.columns.layout import Layout, Sequence
from scheduler.search.columns.prices import Aim, Prices
from scheduler.solvers.quiet_highs import QuietHighs


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
        names = (*(r.name for r in layout.resources), "gram", "wish", "half", "column")
        sizes = (
            *(slots for _ in layout.resources),
            len(s.classes),
            weeks,
            weeks,
            len(layout.columns),
        )
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
        layout, s, open_ = self.layout, self.layout.supply, self._infinite
        most = {
            **{
                r.name: np.zeros(layout.slots) if r.held else r.limits(layout.slots)
                for r in layout.resources
            },
            "gram": s.given.astype(float),
            "wish": s.wish.ravel().astype(float),
            "half": np.full(s.wish.size, open_),
            "column": layout.counts.astype(float),
        }
        upper = np.concatenate(list(most.values()))
        lower = np.full(len(upper), -open_)
        for r in layout.resources:
            if r.held:
                a, b = self._at[r.name]
                lower[a:b] = 0.0
        a, b = self._at["half"]
        lower[a:b] = (s.wish // 2).ravel()
        for low, high in zip(lower.tolist(), upper.tolist(), strict=True):
            self._lp.addRow(low, high, 0, np.zeros(0, np.int32), np.zeros(0))

    def _columns(self) -> None:
        layout, s = self.layout, self.layout.supply
        self._levels = 0  # variables of what is held
        for r in layout.resources:
            if not r.held:
                continue
            begin, end = self._at[r.name]
            for w in range(begin, end):
                rows = [w, w + 1] if w + 1 < end else [w]
                self._add(0.0, float(r.limit), np.array(rows), np.array([1.0, -1.0])[: len(rows)])
            self._levels += layout.slots
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
        self._first = self._levels + len(self._flows) + self._shorts

    def _add(self, low: float, high: float, rows: np.ndarray, factors: np.ndarray) -> None:
        self._lp.addCol(0.0, low, high, len(rows), rows.astype(np.int32), factors)

    def turn(self, aim: Aim) -> None:
        """Aim at another mix of the stages; the sequences stay."""
        self.aim = aim
        groups = np.array(self._flows, dtype=int)
        cost = np.concatenate(
            [
                np.zeros(self._levels),
                aim.produce * self.weights[groups] + aim.uneven,
                np.full(self._shorts, -aim.uneven),
                -aim.uneven * np.array(self._grams) - aim.effort * np.array(self._effort),
            ]
        )
        self._lp.changeColsCost(len(cost), np.arange(len(cost), dtype=np.int32), cost)

    def add(self, sequence: Sequence) -> int | None:
        """Its number; None if it was there already."""
        if sequence in self._known:
            return None
        layout = self.layout
        rows = np.array([row for _, row, _ in sequence.batches], dtype=int)
        week_class, grams, give_ends = layout.gives
        g = spans(give_ends, rows)
        numbers = np.array(layout.columns[sequence.kind].numbers, dtype=int)
        above = numbers[[j for j, _, _ in sequence.batches]] - 1 if len(rows) else rows
        clear = np.array([slot for _, _, slot in sequence.batches], dtype=int)
        where = [
            week_class[g] + self._at["gram"][0],
            np.array([self._at["column"][0] + sequence.kind]),
        ]
        factor = [-grams[g].astype(float), np.ones(1)]
        for r in layout.resources:
            begin, uses = self._at[r.name][0], r.uses_of(rows)
            where.append(r.first[uses] + begin)
            factor.append(r.amount[uses] * (-1.0 if r.held else 1.0))
            if r.held:
                over = uses[r.last[uses] < layout.slots]
                where.append(r.last[over] + begin)
                factor.append(r.amount[over].astype(float))
            if r.services:
                where += [layout.start[rows] + begin, clear + begin]
                factor += [
                    np.broadcast_to(r.filling(above), len(rows)),
                    np.broadcast_to(r.clearing(above), len(rows)),
                ]
        at, inverse = np.unique(np.concatenate(where), return_inverse=True)
        total = np.bincount(inverse, np.concatenate(factor), len(at))
        effort = float(points(above).sum())
        cost = -self.aim.uneven * float(grams[g].sum()) - self.aim.effort * effort
        nonzero = total != 0
        self._lp.addCol(
            cost,
            0.0,
            self._infinite,
            int(nonzero.sum()),
            at[nonzero].astype(np.int32),
            total[nonzero],
        )
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
            len(numbers),
            (self._first + numbers).astype(np.int32),
            amounts.astype(float),
            np.full(len(numbers), self._infinite),
        )

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
            shared=tuple(
                part[r.name] if r.held else np.maximum(part[r.name], 0.0)
                for r in self.layout.resources
            ),
            gram=np.maximum(part["gram"], 0.0),
            wish=np.maximum(part["wish"], 0.0).reshape(shape),
            half=np.maximum(-part["half"], 0.0).reshape(shape),
            column=np.maximum(part["column"], 0.0),
        )
