"""What whole columns give, and how they become batches in tiers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence as Many

import numpy as np

from scheduler.schedule import value as worth
from scheduler.schedule.assemble import Stand
from scheduler.schedule.effort import above, points
from scheduler.search.columns.layout import Layout, Sequence
from scheduler.search.columns.master import Master


def values(layout: Layout, sequences: Many[Sequence], held: Counter[int]) -> tuple[int, int, int]:
    """Produce [weighted g, scaled], unevenness [g] and effort [points] of whole columns.

    ``held`` says how many columns follow each of the ``sequences``.
    """
    s = layout.supply
    taken = np.zeros(len(layout), dtype=int)
    works = np.zeros(layout.slots + 1, dtype=bool)
    effort = 0
    picks, ends = layout.picks_of
    for number, amount in held.items():
        numbers = layout.columns[sequences[number].kind].numbers
        for j, row, clear in sequences[number].batches:
            taken[row] += amount
            effort += amount * points(above(numbers[j]))
            works[clear] = True
    rows = np.flatnonzero(taken)
    for row in rows.tolist():
        works[picks[ends[row] : ends[row + 1]]] = True
    works[layout.sow[rows]] = works[layout.start[rows]] = True
    grams = s.given + np.bincount(s.week_class, s.grams * taken[s.decision], len(s.classes)).astype(
        int
    )
    effort += int(works[: layout.slots].sum())
    return worth.produce(s, grams), worth.unevenness(s, grams), effort


def stands(layout: Layout, sequences: Many[Sequence], held: Counter[int]) -> list[Stand]:
    """The batches of whole columns, tier by tier."""
    names = [iter(column.names) for column in layout.columns]
    days, row_of = layout.problem.days, layout.problem.row_of
    out = []
    for number in sorted(held):
        sequence = sequences[number]
        tiers = layout.columns[sequence.kind].numbers
        for _ in range(held[number]):
            column = next(names[sequence.kind])
            out += [
                Stand(int(row_of[row]), column, tiers[j], int(days[clear]))
                for j, row, clear in sequence.batches
            ]
    return out


def adopt(layout: Layout, master: Master, made: Many[Stand]) -> Counter[int]:
    """Batches in tiers as sequences of the master; how many columns follow each."""
    at = {int(row): i for i, row in enumerate(layout.problem.row_of)}
    columns: dict[str, list[Stand]] = {}
    for stand in made:
        columns.setdefault(stand.column, []).append(stand)
    held: Counter[int] = Counter()
    for kind, column in enumerate(layout.columns):
        place = {number: j for j, number in enumerate(column.numbers)}
        for name in column.names:
            batches = sorted(
                (place[s.tier], at[s.row], int(layout.problem.slot(np.array(s.clear))))
                for s in columns.get(name, ())
            )
            held[master.number(Sequence(kind, tuple(batches)))] += 1
    return held
