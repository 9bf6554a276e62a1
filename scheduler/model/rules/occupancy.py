"""One crop at a time in a tier, with the turnaround between clearing and filling.

For each place and slot w, vessels are conserved:

    empty[w-1] + released[w] = fill[w] + empty[w]
    wait[w-1] + picked[w]    = clear[w] + wait[w]        (only with stack access)

where released[w] counts vessels cleared ``turnaround`` days or more ago. Without stack access a
tier is cleared on the day of its last pick: waiting would do no good.
"""

from __future__ import annotations

import numpy as np
from ortools.sat.python import cp_model

from scheduler.model.variables import Variables
from scheduler.schedule.problem import Place


def build(model: cp_model.CpModel, v: Variables) -> None:
    """Add the rule."""
    problem = v.problem
    turnaround = problem.cand.garden.limits.turnaround_days
    last, start = problem.column("last"), problem.column("transplant")
    filled = v.sums(problem.slot(start), ~v.started)
    release_slot = problem.slot(problem.days + turnaround)  # of a clearing on each slot
    opens = problem.opens or (0,) * len(problem.places)
    standing = np.zeros(len(problem.places), dtype=int)
    for group in problem.committed:
        if v.started[group[0]]:
            standing[problem.place_of[group[0]]] += 1
    if v.access:
        heavy = problem.heavy[2]
        picked = {h: v.sums(problem.slot(last), heavy == h) for h in (False, True)}
        sources: list[list[int]] = [[] for _ in range(v.slots + 1)]
        for w, r in enumerate(release_slot.tolist()):
            sources[r].append(w)
    else:
        released = v.sums(problem.slot(last + turnaround))
    for p, place in enumerate(problem.places):
        open_slot = int(problem.slot(np.array(opens[p])))
        for w in range(v.slots):
            key = int(v.key(np.array(p), np.array(w)))
            model.add(v.fill[p][w] == filled[key])
            before = v.empty[p][w - 1] if w else 0
            new = place.count - int(standing[p]) if w == open_slot else 0
            if v.access:
                free = sum(v.clear[h][p][s] for h in (False, True) for s in sources[w])
                for h in (False, True):
                    waiting = v.wait[h][p][w - 1] if w else 0
                    model.add(waiting + picked[h][key] == v.clear[h][p][w] + v.wait[h][p][w])
            else:
                free = released[key]
            model.add(before + new + free == v.fill[p][w] + v.empty[p][w])
        if v.access:
            # Whatever is picked is cleared before the season ends, or the tier is taken away.
            for w in _last_slots(v, place):
                for h in (False, True):
                    model.add(v.wait[h][p][w] == 0)
    for number, group in enumerate(problem.committed):
        one = sum(v.take[i] for i in group)  # counts, where tiers are pooled
        if number in problem.optional:
            model.add(one <= 1)
        else:
            model.add(one == 1)


def _last_slots(v: Variables, place: Place) -> list[int]:
    """The last work day of each span in which a place may hold a batch."""
    season = v.problem.cand.garden.season
    spans = v.problem.cand.kinds[place.kind].tier.available
    ends = {min(season.index(span.end), season.days - 1) for span in spans}
    slots = {int(np.searchsorted(v.problem.days, end, side="right")) - 1 for end in ends}
    return sorted({w for w in slots if w >= 0} | {v.slots - 1})
