"""Plan within a risk: leave out what would run dry in too many weather years."""

from __future__ import annotations

import copy
import textwrap
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from scheduler.base.faults import NoPlan
from scheduler.batches.candidates import Candidates
from scheduler.batches.fixed import is_fixed
from scheduler.garden.model import Garden
from scheduler.garden.past_file import read_past
from scheduler.plans.model import RiskTaken
from scheduler.risk.dry_chance import dry_chances
from scheduler.words.words import Shown, _
from scheduler.years.weather_years import Spread, WeatherYears, resampled_years, spread_years

YEARS = 1000


def within_risk(cand: Candidates, years: WeatherYears, most: float) -> Candidates:
    """The candidates whose chance of running dry before the last pick is at most ``most`` [0..1].

    Raises
    ------
    NoPlan
        None is left.
    """
    chance = dry_chances(cand, years)
    within = np.flatnonzero((chance <= most) | is_fixed(cand))
    if not len(within):
        raise NoPlan(
            f"every batch that could be planted runs dry before its last pick in more than "
            f"{most:.1%} of {years.count:,} weather years; the safest in {chance.min():.1%}"
        )
    return only(cand, within)


def only(cand: Candidates, rows: np.ndarray) -> Candidates:
    """Some rows of the candidates."""
    return replace(
        cand,
        table=cand.table.iloc[rows].reset_index(drop=True),
        pick_day=cand.pick_day[rows],
        pick_plants=cand.pick_plants[rows],
        pick_grams=cand.pick_grams[rows],
    )


class RiskLimit:
    """A limit of the risk of running dry, to keep candidates by.

    The weather years are those that ``dryline risk`` makes with the same seed and without other
    options, so that it finds the same chances. ``past``: a table of past weather in place of the
    one that the garden may name.
    """

    def __init__(
        self,
        garden: Garden,
        most: float,
        seed: int,
        past: str | Path | None,
        garden_file: str | Path,
        count: int = YEARS,
    ) -> None:
        self.most = most
        self.taken = RiskTaken(most, seed, count, past is not None)
        own = garden.site.past
        self._rows = own if past is None else read_past(past, garden, garden_file)
        self._draw(garden)
        self.offered = self.kept = 0

    def _draw(self, garden: Garden) -> None:
        self._weather = garden.site.weather
        count, seed = self.taken.years, self.taken.seed
        if self._rows is None:
            self.years = spread_years(garden, count, Spread(), seed)
        else:
            self.years = resampled_years(garden, self._rows, count, seed=seed)

    def of(self, garden: Garden) -> RiskLimit:
        """The same limit for a changed garden, with years of its own where its days are others."""
        if garden.site.weather is self._weather:
            return self
        other = copy.copy(self)
        other._draw(garden)
        return other

    def kept_of(self, cand: Candidates) -> Candidates:
        """The candidates within the risk, be it none; nothing is counted for `lines`."""
        within = dry_chances(cand, self.years) <= self.most
        return only(cand, np.flatnonzero(within | is_fixed(cand)))

    def __call__(self, cand: Candidates) -> Candidates:
        self.offered = len(cand)
        kept = within_risk(cand, self.years, self.most)
        self.kept = len(kept)
        return kept

    def chances(self, cand: Candidates, rows: Sequence[int]) -> np.ndarray:
        """Chance of each of ``rows`` to run dry before its last pick [n]."""
        return dry_chances(only(cand, np.array(rows, dtype=int)), self.years)

    def lines(self) -> list[str]:
        """What was done, in lines of at most 79 characters."""
        text = _(
            "Weather: {kept:,} of {offered:,} possible batches were left out, "
            "because they run dry before their last pick in more than {most:.1%} "
            "of {count:,} weather years. What is said of 'no plan' holds among the "
            "rest. dryline risk tells what is assumed."
        ).format(
            kept=self.offered - self.kept,
            offered=self.offered,
            most=Shown(self.most),
            count=self.years.count,
        )
        return ["", *textwrap.wrap(text, 79)]

    def data(self) -> dict[str, Any]:
        """The same for machines."""
        return {
            "most": self.most,
            "years": self.years.count,
            "possible": self.offered,
            "kept": self.kept,
            "assumed": list(self.years.notes),
        }
