"""What comes to the table: picks are kept, what spoils first is eaten first, week by week."""

from __future__ import annotations

import numpy as np

from scheduler.garden.model import Garden
from scheduler.garden.weekly import season_weeks, weeks_served, wish


class Kitchen:
    """Stock and meals of every year at once.

    Attributes
    ----------
    wish : [g], groups x weeks; met : [g], groups x weeks x years, of weeks that are over.
    """

    def __init__(self, garden: Garden, years: int) -> None:
        season = garden.season
        self.groups = [d.group for d in garden.demands]
        self.weeks = season_weeks(season)
        wished = wish(garden)
        self.wish = np.array(
            [[wished.get((g, w), 0) for w in self.weeks] for g in self.groups], dtype=float
        ).reshape(len(self.groups), len(self.weeks))
        self.weight = np.array([d.weight for d in garden.demands], dtype=float)
        self.met = np.zeros((*self.wish.shape, years))
        # Stock by the last week in which it can be eaten.
        self.stock = np.zeros((*self.wish.shape, years))
        self._season = season
        self._last: dict[tuple[int, float], int] = {}

    def put(self, group: int, day: int, storage_days: float, grams: np.ndarray) -> None:
        """What is picked on a day [years] goes into the stock."""
        if group >= 0:
            self.stock[group, self._last_week(day, storage_days)] += grams

    def short(self, group: int, week: int) -> np.ndarray:
        """What a week still lacks with what is in stock [g, years]; none for no group."""
        if group < 0:
            return np.zeros(self.met.shape[2])
        there = self.stock[group, week:].sum(axis=0)
        lacking: np.ndarray = np.maximum(self.wish[group, week] - there, 0.0)
        return lacking

    def eat(self, week: int) -> None:
        """A week is over: its wish is served.

        What spoils first goes first; the rest of that spoils.
        """
        need = np.repeat(self.wish[:, week, None], self.met.shape[2], axis=1)
        for last in range(week, len(self.weeks)):
            used = np.minimum(need, self.stock[:, last])
            self.stock[:, last] -= used
            need -= used
        self.met[:, week] = self.wish[:, week, None] - need

    def share(self) -> np.ndarray:
        """Weighted share of the wishes that was met [years]; 0 where nothing is wished."""
        total = float(self.weight @ self.wish.sum(axis=1))
        met = np.einsum("g,gwy->y", self.weight, self.met)
        share: np.ndarray = met / total if total > 0 else met
        return share

    def _last_week(self, day: int, storage_days: float) -> int:
        key = (day, storage_days)
        if key not in self._last:
            served = weeks_served(self._season.date(day), storage_days)
            first = self.weeks.index(served[0])
            self._last[key] = min(first + len(served) - 1, len(self.weeks) - 1)
        return self._last[key]
