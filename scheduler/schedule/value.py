"""What a fixed schedule is worth to a stage, by arithmetic alone: the same as a model would say.

How produce is shared out is not part of a schedule. Of all ways the best for the stage counts:
`met` meets as many grams as any way can, and does so group by group. A plan shares out the same
way (`scheduler.schedule.produce.most_even`), so that its values are these.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scheduler.batches.courses import NEVER
from scheduler.schedule.effort import points
from scheduler.schedule.problem import Choice, Problem
from scheduler.schedule.produce import Lot, shared_out
from scheduler.schedule.stages import EFFORT, EVENNESS, PRODUCE, whole_weights
from scheduler.schedule.supply import Supply


def worth(problem: Problem, name: str, choices: Sequence[Choice], access: bool = True) -> float:
    """The value of a schedule for one stage.

    Parameters
    ----------
    name : `stages.PRODUCE` [g, weighted and scaled as in `stages.whole_weights`],
        `stages.EVENNESS` [g] or `stages.EFFORT` [points].
    choices : that keep every rule (`schedule.check`); where tiers are pooled a decision may
        come several times.
    access : whether tiers are cleared on days of their own, as in `build_model`.

    Raises
    ------
    ValueError
        Another name.
    """
    if name == PRODUCE:
        return float(produce(problem.supply, picked(problem, choices)))
    if name == EVENNESS:
        return float(unevenness(problem.supply, picked(problem, choices)))
    if name == EFFORT:
        return float(effort(problem, choices, access))
    raise ValueError(f"no stage is called {name!r}")


def picked(problem: Problem, choices: Sequence[Choice]) -> np.ndarray:
    """What the choices give, and what is there anyhow, by class of the supply [g]."""
    supply = problem.supply
    taken = np.bincount(np.array([c.decision for c in choices], dtype=int), minlength=len(problem))
    given = np.bincount(
        supply.week_class, supply.grams * taken[supply.decision], len(supply.classes)
    )
    in_all: np.ndarray = supply.given + given.astype(int)
    return in_all


def produce(supply: Supply, grams: np.ndarray) -> int:
    """Stage 1: grams of wishes met, by the whole weights."""
    _, weights = whole_weights(supply.weights)
    got = met(supply, grams, supply.wish)
    return sum(weight * g for weight, g in zip(weights, got, strict=True))


def unevenness(supply: Supply, grams: np.ndarray) -> int:
    """Stage 2: grams picked in vain, and grams short below half of each weekly wish.

    What can be met in one week or another is a polymatroid: one way to share it out meets the most
    of all wishes and, of the ways that do, another meets the most of their halves as well. So the
    two are counted one by one.
    """
    half = supply.wish // 2
    wasted = int(grams.sum()) - sum(met(supply, grams, supply.wish))
    return wasted + int(half.sum()) - sum(met(supply, grams, half))


def lots(supply: Supply, grams: np.ndarray) -> list[list[Lot]]:
    """What there is [g, by class], group by group."""
    out: list[list[Lot]] = [[] for _ in supply.groups]
    for k in np.flatnonzero(grams).tolist():
        group, first, last = supply.classes[k]
        if last < first:
            continue  # picked in vain
        out[group].append((first, last, k, int(grams[k])))
    return out


def met(supply: Supply, grams: np.ndarray, wish: np.ndarray) -> list[int]:
    """Grams of ``wish`` [groups, weeks] that ``grams`` [by class] can meet, by group."""
    return [
        int(shared_out(mine, wish[group])[1].sum())
        for group, mine in enumerate(lots(supply, grams))
    ]


def effort(problem: Problem, choices: Sequence[Choice], access: bool) -> int:
    """Stage 3: fills, vessels lifted, work days used."""
    if problem.used is None:
        works, out = np.zeros(len(problem.days), dtype=bool), 0
    else:
        works, out = problem.used.works.copy(), problem.used.effort
    which = np.array([c.decision for c in choices], dtype=int)
    rows, place = problem.row_of[which], problem.place_of[which]
    start = problem.column("transplant")[which]
    filled = start >= problem.free_from
    # Without access a tier is cleared on the day of its last pick, as often as it is filled.
    cleared = 1 if access else filled.astype(int)
    out += int(points(problem.above[place], filled.astype(int), cleared).sum())
    days = problem.cand.pick_day[rows]
    done = [days[days < NEVER], problem.column("sow")[which], start[filled]]
    if access:
        done.append(np.array([c.clear for c in choices], dtype=int))
    slots = problem.slot(np.concatenate(done))
    works[slots[slots < len(works)]] = True
    return out + int(works.sum())
