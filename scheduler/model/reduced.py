"""Small and strong relaxations, and the one bound that all who need one ask for (`bound`).

Three things make the plain model's bound weak, and all can be told before it is solved:

- a batch that stands longer than another and feeds no week better is never needed (`thin`);
- where the model takes half of a batch, that half feeds a week at most half of its wish
  (`keeping_cuts`), even if the whole harvest is three times the wish, and however often it is
  picked for that week;
- so it does where a small nursery has room for two batches and a half (`room_cuts`).

What is thinned leaves out the nursery and the limits of a day, which could ask for a batch that is
no better: its optimum is a bound of the garden's, and reached wherever those limits do not bite.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable

import numpy as np

from scheduler.model.build import Built, build_model
from scheduler.model.linear import relax
from scheduler.model.variables import Expr, Sums
from scheduler.schedule.problem import Problem, pooled

FEW = 6  # batches held at a time up to which it counts that they are whole
Lots = list[tuple[int, int, int, int]]  # (group, first week, last week, grams)


def undominated(problem: Problem) -> np.ndarray:
    """Decisions that are enough for the most produce, where only tiers are short [k], rising.

    One is left out where another of its place begins no earlier, frees the tier no later and can
    feed whatever it could feed.

    Raises
    ------
    ValueError
        Something is settled already: then a batch may have to stay though it is no better.
    """
    if problem.committed:
        raise ValueError("a problem with settled batches cannot be thinned")
    supply = problem.supply
    lots: list[Lots] = [[] for _ in range(len(problem))]
    for v, k, g in zip(
        supply.decision.tolist(), supply.week_class.tolist(), supply.grams.tolist(), strict=True
    ):
        lots[v].append((*supply.classes[k], g))
    # More than all the weeks a class can serve wish for is of no use.
    wish = np.concatenate([np.zeros((len(supply.groups), 1), int), supply.wish.cumsum(axis=1)], 1)
    useful = [
        [(group, a, b, min(g, int(wish[group, b + 1] - wish[group, a]))) for group, a, b, g in mine]
        for mine in lots
    ]
    start = problem.slot(problem.column("transplant"))
    turnaround = problem.cand.garden.limits.turnaround_days
    free = problem.slot(problem.column("last") + turnaround)
    needed = np.ones(len(problem), dtype=bool)
    for place in range(len(problem.places)):
        mine = np.flatnonzero(problem.place_of == place)
        for x in mine.tolist():
            rivals = mine[(start[mine] >= start[x]) & (free[mine] <= free[x]) & needed[mine]]
            needed[x] = not any(y != x and _feeds(lots[y], useful[x]) for y in rivals.tolist())
    return np.flatnonzero(needed)


def _feeds(lots: Lots, wanted: Lots) -> bool:
    """Whether ``lots`` can stand in for all of ``wanted``, week by week."""
    left = sorted(([*lot] for lot in lots), key=lambda lot: lot[2])  # what spoils first, first
    for group, first, last, grams in sorted(wanted, key=lambda lot: lot[2]):
        for lot in left:
            if lot[0] == group and lot[1] <= first and lot[2] >= last:
                used = min(grams, lot[3])
                lot[3] -= used
                grams -= used
        if grams:
            return False
    return True


def bound(
    problem: Problem,
    aim: Callable[[Built], None],
    maximise: bool,
    seconds: float | None = None,
    access: bool = False,
) -> int | None:
    """The one linear bound: no schedule of a problem is better than that, by what ``aim`` wants.

    Search, what holds a plan back and planning again all ask for it.

    Parameters
    ----------
    problem : with alike tiers pooled (`schedule.problem.pooled`) where that may be; ``access`` :
        stack access is kept, tiers stand apart. Slower, and no weaker.
    aim : gives a model its objective, of whole numbers, and what else must hold.
    seconds : for each of the two methods of the solver; None: as long as it takes.

    Returns
    -------
    None where the solver was not through in time.
    """
    got = relax(loose(problem, aim, access).model, maximise, seconds)
    return None if got is None else got.whole(maximise)


def most_produce(built: Built) -> None:
    """Aim for the first stage: the most of the wishes met."""
    built.model.maximize(built.produce.value())


def pooled_alike(problem: Problem) -> Problem:
    """A problem with alike tiers pooled; where something is settled it stays as it is."""
    return problem if problem.committed else pooled(problem.cand)


def loose(problem: Problem, aim: Callable[[Built], None], access: bool = False) -> Built:
    """A model whose relaxation bounds every plan: with cuts, by default without stack access.

    ``aim`` gives it its objective.
    """
    built = build_model(problem, access)
    aim(built)
    keeping_cuts(built)
    room_cuts(built)
    return built


def keeping_cuts(built: Built) -> int:
    """Add to a model that weeks are fed only by the batches taken; returns how many cuts.

    For a class of picks and weeks from a to b that it can serve, of which the wishes sum to W:

        flow[a] + ... + flow[b] <= sum of min(grams, W) * taken

    For one week w and all classes that can serve it (a batch picked twice in time for a week feeds
    it once), where that says more:

        flow[., w] <= sum of min(grams of all its picks good in w, wish[w]) * taken

    Whole numbers keep both anyway; without them a fraction of a large batch feeds a whole week.
    """
    return _class_cuts(built) + _week_cuts(built)


def _class_cuts(built: Built) -> int:
    produce, supply = built.produce, built.produce.supply
    batches = defaultdict(list)
    for v, k, g in zip(
        supply.decision.tolist(), supply.week_class.tolist(), supply.grams.tolist(), strict=True
    ):
        batches[k].append((v, g))
    count = 0
    for k, (group, first, last) in enumerate(supply.classes):
        weeks = [w for w in range(first, last + 1) if (k, w) in produce.flow]
        most = max([g for _, g in batches[k]], default=0)
        for i in range(len(weeks)):
            for j in range(i, len(weeks)):
                some = weeks[i : j + 1]
                wish = sum(int(supply.wish[group, w]) for w in some)
                if wish >= most:
                    break  # the class as a whole says the same
                fed = sum(produce.flow[k, w] for w in some)
                taken = sum(min(g, wish) * built.v.take[v] for v, g in batches[k])
                built.model.add(fed <= taken + min(int(supply.given[k]), wish))
                count += 1
    return count


def _week_cuts(built: Built) -> int:
    produce, supply = built.produce, built.produce.supply
    lots: dict[tuple[int, int], dict[int, list[int]]] = defaultdict(lambda: defaultdict(list))
    for v, k, g in zip(
        supply.decision.tolist(), supply.week_class.tolist(), supply.grams.tolist(), strict=True
    ):
        group, first, last = supply.classes[k]
        for week in range(first, last + 1):
            lots[group, week][v].append(g)
    classes: dict[tuple[int, int], list[int]] = defaultdict(list)
    for k, week in produce.flow:
        classes[supply.classes[k][0], week].append(k)
    count = 0
    for (group, week), of in lots.items():
        wish, mine = int(supply.wish[group, week]), classes[group, week]
        if wish <= 0 or all(sum(min(g, wish) for g in one) <= wish for one in of.values()):
            continue  # each class for itself says the same
        fed = sum(produce.flow[k, week] for k in mine)
        taken = sum(min(sum(one), wish) * built.v.take[v] for v, one in of.items())
        there = sum(int(supply.given[k]) for k in mine)
        built.model.add(fed <= taken + min(there, wish))
        count += 1
    return count


def room_cuts(built: Built) -> int:
    """Add that only whole batches are held at a time, where few have room; returns how many cuts.

    Of what is held from day to day (nursery cells), with at most M of it and batches that take c:

        sum of floor(c / d) * held <= floor(M / d)      for every d that some batch takes

    Of 14 cells three batches of 4 or two of 5 are sown at a time, not 3.5 or 2.8 (the rounding of
    Chvatal and Gomory). Where there is room for more than `FEW` it says too little for its rows.
    """
    v = built.v
    count = 0
    for r in v.problem.resources:
        left = v.problem.left(r)
        if not r.held or r.begun.any() or left.min(initial=r.limit) < 0:
            continue
        for d in np.unique(r.amount).tolist():
            if d < 2 or r.limit // d > FEW or not (left % d).any():
                continue
            whole = r.amount // d
            begun = Sums(v.take, r.first, r.which, whole)
            over = Sums(v.take, r.last, r.which, whole)
            before: Expr = 0
            for w, most in enumerate((left // d).tolist()):
                now = built.model.new_int_var(0, most, f"{r.name} of {d}, {w}")
                built.model.add(now == before + begun[w] - over[w])
                before = now
                count += 1
    return count
