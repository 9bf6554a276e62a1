"""Readings that disagree: which of them does not fit, and what is the likelier reason.

The model, a mixture. A reading is right; or it was misread, and then shows any level between
nothing and the fill, each as likely; or before it water got in that the log does not tell of, or
ran out, an amount that is normal. A hypothesis says which of these each reading is; its weight is
that of the model times the density of all readings under it, which the filter gives exactly. The
odds are the weights shared out among those that differ in the one reading that does not fit.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import exp, log, pi, sqrt
from typing import NamedTuple

from scheduler.levels.estimate import Course, Estimate, Event, Inflow, Reading

# What may have happened to a reading.
RIGHT, MISREAD, RAINED, LEAKED = "right", "misread", "rained", "leaked"
# How often, of readings. Own judgement, no source.
ODDS = {MISREAD: 0.02, RAINED: 0.005, LEAKED: 0.005}
# How much then comes in, of the fill: mean and one standard deviation [-]. Own judgement.
FLOWS = {RAINED: (0.15, 0.10), LEAKED: (-0.25, 0.20)}
FAR_OFF = 3.5  # standard deviations: such a reading is looked at twice
_MOST_LEFT_OUT = 2


class Found(NamedTuple):
    """What the readings say.

    Attributes
    ----------
    state : by the likeliest hypothesis; out : readings (by place among the readings) that it takes
        for misread; suspect : the one that does not fit, None where all agree.
    odds : what may have happened to that one, the likeliest first, and its share [0..1].
    states : the estimate under each of these, with its share: of what is foretold, all count.
    """

    state: Estimate
    out: tuple[int, ...]
    suspect: int | None
    odds: dict[str, float]
    states: tuple[tuple[float, Estimate], ...]


def estimated(course: Course, events: Sequence[Event], most: float) -> Found:
    """What readings, and what else happened, say.

    Parameters
    ----------
    events : by day; of readings no two of one day; within the course.
    most : the fill [L].
    """
    count = sum(isinstance(e, Reading) for e in events)
    found, score, far = _told(course, events, {}, most)
    if far <= FAR_OFF:
        return Found(found, (), None, {}, ((1.0, found),))
    best: dict[int, str] = {}
    for wrong in _hypotheses(count):
        _, value, _ = _told(course, events, wrong, most)
        if value > score:
            score, best = value, wrong
    if not best:
        return Found(found, (), None, {}, ((1.0, found),))
    suspect = max(best)
    told = {
        what: _told(course, events, {**best, suspect: what}, most)
        for what in (RIGHT, MISREAD, RAINED, LEAKED)
    }
    weight = {what: exp(value - score) for what, (_, value, _) in told.items()}
    total = sum(weight.values())
    odds = {w: weight[w] / total for w in sorted(weight, key=lambda w: -weight[w])}
    out = tuple(sorted(i for i, what in best.items() if what == MISREAD))
    states = tuple((share, told[what][0]) for what, share in odds.items() if share > 0.001)
    return Found(told[best[suspect]][0], out, suspect, odds, states)


def _hypotheses(count: int) -> list[dict[int, str]]:
    """What may be wrong with which readings, all others right."""
    out: list[dict[int, str]] = [{i: what} for i in range(count) for what in FLOWS]
    for n in range(1, min(_MOST_LEFT_OUT, count) + 1):
        out += [dict.fromkeys(places, MISREAD) for places in combinations(range(count), n)]
    return out


def _told(
    course: Course, events: Sequence[Event], wrong: dict[int, str], most: float
) -> tuple[Estimate, float, float]:
    """Estimate under a hypothesis, its logarithm of likelihood, its worst surprise [sd]."""
    state, score, far, at = Estimate(course), 0.0, 0.0, -1
    for event in events:
        if not isinstance(event, Reading):
            state.take(event)
            continue
        at += 1
        what = wrong.get(at, RIGHT)
        score += log(ODDS.get(what, 1 - sum(ODDS.values())))
        if what == MISREAD:
            score -= log(most)
            continue
        if what in FLOWS:
            mean, sd = FLOWS[what]
            state.take(Inflow(event.day, mean * most, sd * most))
        expected, spread = state.read(event)
        off = (event.gone - expected) / spread
        score -= log(spread * sqrt(2 * pi)) + off * off / 2
        far = max(far, abs(off))
    return state, score, far
