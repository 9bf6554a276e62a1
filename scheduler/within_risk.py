"""Plan within a risk: leave out what would run dry in too many weather years."""

from __future__ import annotations

import textwrap
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from scheduler.candidates import Candidates
from scheduler.dry_chance import dry_chances
from scheduler.faults import NoPlan
from scheduler.garden import Garden
from scheduler.past_file import read_past
from scheduler.weather_years import Spread, WeatherYears, resampled_years, spread_years

YEARS = 1000


def within_risk(cand: Candidates, years: WeatherYears, most: float) -> Candidates:
    """The candidates whose chance of running dry before the last pick is at most ``most`` [0..1].

    Raises
    ------
    NoPlan
        None is left.
    """
    chance = dry_chances(cand, years)
    keep = np.flatnonzero(chance <= most)
    if not len(keep):
        raise NoPlan(
            f"every batch that could be planted runs dry before its last pick in more than "
            f"{most:.1%} of {years.count:,} weather years; the safest in {chance.min():.1%}"
        )
    return replace(cand, table=cand.table.iloc[keep].reset_index(drop=True),
                   pick_day=cand.pick_day[keep], pick_plants=cand.pick_plants[keep],
                   pick_grams=cand.pick_grams[keep])  # fmt: skip


class RiskLimit:
    """A limit of the risk of running dry, for `scheduler.solve.solve` to keep candidates by.

    The weather years are those that ``dryline risk`` makes with the same seed and without other
    options, so that it finds the same chances.
    """

    def __init__(
        self, garden: Garden, most: float, seed: int, past: str | None, garden_file: str | Path
    ) -> None:
        self.most = most
        if past is None:
            self.years = spread_years(garden, YEARS, Spread(), seed)
        else:
            rows = read_past(past, garden, garden_file)
            self.years = resampled_years(garden, rows, YEARS, seed=seed)
        self.offered = self.kept = 0

    def __call__(self, cand: Candidates) -> Candidates:
        self.offered = len(cand)
        kept = within_risk(cand, self.years, self.most)
        self.kept = len(kept)
        return kept

    def lines(self) -> list[str]:
        """What was done, in lines of at most 79 characters."""
        text = (
            f"Weather: {self.offered - self.kept:,} of {self.offered:,} possible batches were "
            f"left out, because they run dry before their last pick in more than {self.most:.1%} "
            f"of {self.years.count:,} weather years. What is said of 'no plan' holds among the "
            "rest. dryline risk tells what is assumed."
        )
        return ["", *textwrap.wrap(text, 79)]

    def data(self) -> dict[str, Any]:
        """The same for machines."""
        return {"most": self.most, "years": self.years.count, "possible": self.offered,
                "kept": self.kept, "assumed": list(self.years.told)}  # fmt: skip
