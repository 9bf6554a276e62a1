"""What picks give, by produce group and the weeks they can serve."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from scheduler.batches.courses import NEVER
from scheduler.garden.weekly import season_weeks, weeks_served, wish

if TYPE_CHECKING:
    from scheduler.schedule.problem import Problem


@dataclass(frozen=True)
class Supply:
    """Picks grouped by (produce group, first week, last week) they can serve.

    Attributes
    ----------
    weeks : ISO weeks of the season; groups : produce groups; weights : worth of a gram.
    wish : [g], groups x weeks.
    classes : (group, first week, last week) positions.
    decision, week_class, grams : triplets: decision gives grams to class.
    given : grams of each class that are there whatever is decided.
    """

    weeks: tuple[str, ...]
    groups: tuple[str, ...]
    weights: tuple[float, ...]
    wish: np.ndarray
    classes: tuple[tuple[int, int, int], ...]
    decision: np.ndarray
    week_class: np.ndarray
    grams: np.ndarray
    given: np.ndarray

    def restricted(self, decisions: np.ndarray, total: int) -> Supply:
        """The same with only these of ``total`` decisions; classes that nothing gives to go."""
        at = np.full(total, -1)
        at[decisions] = np.arange(len(decisions))
        decision = at[self.decision]
        mine = decision >= 0
        # By decision, as if made anew.
        order = np.argsort(decision[mine], kind="stable")
        return replace(
            self,
            decision=decision[mine][order],
            week_class=self.week_class[mine][order],
            grams=self.grams[mine][order],
        )._without_idle()

    def with_stock(self, stock: Sequence[tuple[int, int, int, int]]) -> Supply:
        """The same with more that is there whatever is decided, as in `Problem.stock`."""
        classes = sorted({*self.classes, *((g, a, b) for g, a, b, _ in stock)})
        at = {k: n for n, k in enumerate(classes)}
        new = np.array([at[k] for k in self.classes], dtype=int)
        given = np.zeros(len(classes), dtype=int)
        given[new] = self.given
        for group, first, last, grams in stock:
            given[at[group, first, last]] += grams
        return replace(self, classes=tuple(classes), week_class=new[self.week_class], given=given)

    def _without_idle(self) -> Supply:
        used = self.given > 0
        used[self.week_class] = True
        at = np.cumsum(used) - 1
        return replace(
            self,
            classes=tuple(k for k, u in zip(self.classes, used, strict=True) if u),
            week_class=at[self.week_class],
            given=self.given[used],
        )


NO_WEEK = (1, 0)  # first and last week of what serves none: there is no week between them


def supply_of(problem: Problem) -> Supply:
    """What each pick of a problem gives."""
    cand, garden = problem.cand, problem.cand.garden
    weeks = season_weeks(garden.season)
    at = {w: i for i, w in enumerate(weeks)}
    groups = tuple(d.group for d in garden.demands)
    want = np.zeros((len(groups), len(weeks)), dtype=int)
    for (group, week), grams in wish(garden).items():
        want[groups.index(group), at[week]] = grams
    # Weeks served, by crop and pick day, looked up once.
    n_days = garden.season.days
    first = np.zeros((len(cand.crop_names), n_days), dtype=int)
    last = np.zeros((len(cand.crop_names), n_days), dtype=int)
    group_of = np.full(len(cand.crop_names), -1)
    for c, name in enumerate(cand.crop_names):
        demand = garden.demand_of(name)
        if demand is not None:
            group_of[c] = groups.index(demand.group)
        life = garden.crops[name].storage_life
        for i in range(n_days):
            found = weeks_served(garden.season.date(i), life, garden.event_weeks(name))
            served = [at[w] for w in found if w in at]
            # A pick that comes too late for an event, and does not keep, serves no week.
            first[c, i], last[c, i] = (served[0], served[-1]) if served else NO_WEEK
    crop = problem.column("crop")
    days, grams = cand.pick_day[problem.row_of], cand.pick_grams[problem.row_of]
    v, e = np.nonzero((days < NEVER) & (grams > 0))
    day = days[v, e]
    decisions = group_of[crop[v]] >= 0
    v, e, day = v[decisions], e[decisions], day[decisions]
    key = np.stack([group_of[crop[v]], first[crop[v], day], last[crop[v], day]], axis=1)
    stock = np.array(problem.stock, dtype=int).reshape(-1, 4)
    key = np.concatenate([key, stock[:, :3]])
    if len(key):
        unique, inverse = np.unique(key, axis=0, return_inverse=True)
    else:
        unique, inverse = np.zeros((0, 3), int), np.zeros(0, int)
    inverse = inverse.reshape(-1)
    given = np.zeros(len(unique), dtype=int)
    np.add.at(given, inverse[len(v) :], stock[:, 3])
    return Supply(
        weeks=tuple(weeks),
        groups=groups,
        weights=tuple(d.weight for d in garden.demands),
        wish=want,
        classes=tuple((int(a), int(b), int(c)) for a, b, c in unique),
        decision=v,
        week_class=inverse[: len(v)],
        grams=grams[v, e],
        given=given,
    )
