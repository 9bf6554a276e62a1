"""What comes to the table: picks are kept, what spoils first is eaten first, week by week."""

from __future__ import annotations

import numpy as np

from scheduler.garden.model import Garden
from scheduler.garden.weekly import eaten_on, season_weeks, weeks_served, wish


class Kitchen:
    """Stock and meals of every year at once.

    Attributes
    ----------
    wish : [g], groups x weeks; met : [g], groups x weeks x years, of weeks that are over; others :
        of it, of other kinds than the one that was eaten most, alike.
    stock : [g] by the last week in which it can be eaten, groups x weeks x years; kinds : the same
        by crop, crops x weeks x years.
    """

    def __init__(self, garden: Garden, years: int, group_of: np.ndarray) -> None:
        """``group_of`` : of each crop that may be put into it, -1 for none [crops]."""
        season = garden.season
        self.groups = [d.group for d in garden.demands]
        self.weeks = season_weeks(season)
        wished = wish(garden)
        self.wish = np.array(
            [[wished.get((g, w), 0) for w in self.weeks] for g in self.groups], dtype=float
        ).reshape(len(self.groups), len(self.weeks))
        self.weight = np.array([d.weight for d in garden.demands], dtype=float)
        self.met = np.zeros((*self.wish.shape, years))
        self.others = np.zeros_like(self.met)
        self.stock = np.zeros((*self.wish.shape, years))
        self.group_of = group_of
        self.kinds = np.zeros((len(group_of), len(self.weeks), years))
        self._season = season
        self._eaten = eaten_on(garden)
        self._events = [garden.event_weeks_of(g) for g in self.groups]
        self._last: dict[tuple[int, int, float], int] = {}

    def put(self, crop: int, day: int, storage_days: float, grams: np.ndarray) -> None:
        """What is picked of a crop on a day [years] goes into the stock if it serves a week."""
        group = int(self.group_of[crop])
        if group >= 0:
            last = self._last_week(group, day, storage_days)
            if last >= 0:
                self.stock[group, last] += grams
                self.kinds[crop, last] += grams

    def short(self, group: int, day: int) -> np.ndarray:
        """What the week eaten next still lacks with what is in stock [g, years]."""
        week = self.next_week(group, day) if group >= 0 else len(self.weeks)
        if week == len(self.weeks):
            return np.zeros(self.met.shape[2])
        there = self.stock[group, week:].sum(axis=0)
        lacking: np.ndarray = np.maximum(self.wish[group, week] - there, 0.0)
        return lacking

    def next_week(self, group: int, day: int) -> int:
        """The week whose wish is served next, on a day or later; the number of weeks if none."""
        return int(np.searchsorted(self._eaten[group], day))

    def end_of(self, day: int) -> None:
        """A day is over: where it is the last of a week, or its event, the wish is served.

        What spoils first goes first; the rest of that spoils.
        """
        for group, week in np.argwhere(self._eaten == day).tolist():
            need = np.full(self.met.shape[2], self.wish[group, week])
            mine = np.flatnonzero(self.group_of == group)
            eaten = np.zeros((len(mine), len(need)))
            for last in range(week, len(self.weeks)):
                there = self.stock[group, last]
                used = np.minimum(need, there)
                # Of what keeps alike each kind is eaten in proportion.
                part = used / np.where(there > 0, there, 1.0)
                eaten += part * self.kinds[mine, last]
                self.kinds[mine, last] *= 1 - part
                self.stock[group, last] -= used
                need -= used
            self.met[group, week] = self.wish[group, week] - need
            self.others[group, week] = eaten.sum(axis=0) - eaten.max(axis=0, initial=0.0)

    def share(self) -> np.ndarray:
        """Weighted share of the wishes that was met [years]; 0 where nothing is wished."""
        total = float(self.weight @ self.wish.sum(axis=1))
        met = np.einsum("g,gwy->y", self.weight, self.met)
        share: np.ndarray = met / total if total > 0 else met
        return share

    def _last_week(self, group: int, day: int, storage_days: float) -> int:
        """The last week that a pick serves; -1 if none."""
        key = (group, day, storage_days)
        if key not in self._last:
            found = weeks_served(self._season.date(day), storage_days, self._events[group])
            served = [w for w in found if w in self.weeks]
            self._last[key] = self.weeks.index(served[-1]) if served else -1
        return self._last[key]
