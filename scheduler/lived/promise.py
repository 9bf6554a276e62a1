"""What a plan promises: what it brings to the table in years that had no part in making it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from scheduler.batches.candidates import Candidates
from scheduler.batches.courses import NEVER
from scheduler.garden.model import Garden
from scheduler.garden.weekly import season_weeks, weeks_served, wish
from scheduler.lived.doubt import Doubt
from scheduler.lived.grower import SENSIBLE, Grower
from scheduler.lived.live import Lived, live, wish_by_week
from scheduler.lived.worth import two_kinds
from scheduler.plans.model import Batch, Promise, TwoKinds
from scheduler.plans.part import lived_part
from scheduler.years.quantiles import share_below
from scheduler.years.weather_years import WeatherYears

ONE_IN_FIVE = 0.2


def promised(
    garden: Garden,
    batches: Sequence[Batch],
    years: WeatherYears,
    reachable: float,
    seed: int,
    today: int = 0,
    grower: Grower = SENSIBLE,
    doubt: Doubt | None = None,
) -> Promise:
    """Live a plan in ``years`` and sum up; ``doubt`` in the crops' numbers is part of it.

    Of a large garden some columns are lived (`plans.part`).
    """
    part, mine = lived_part(garden, batches)
    lived = live(part, mine, years, grower, Doubt() if doubt is None else doubt, seed, today)
    promise = summed_up(lived.share, reachable, seed)
    return replace(promise, two_kinds=kinds_counted(part, lived))


def kinds_counted(garden: Garden, lived: Lived) -> tuple[TwoKinds, ...]:
    """Weeks with two kinds on the table, of each group of which a garden has several crops."""
    full = wish_by_week(garden)
    weeks = (full > 0).sum(axis=1)
    counts = two_kinds(lived.others, full).sum(axis=1)
    return tuple(
        TwoKinds(d.group, int(weeks[g]), tuple(counts[g].tolist()))
        for g, d in enumerate(garden.demands)
        if sum(garden.demand_of(crop) == d for crop in garden.crops) > 1
    )


def summed_up(shares: np.ndarray, reachable: float, seed: int) -> Promise:
    """A usual year (the median), one year in five below, the mean of the worst fifth [0..1].

    What a further year stays below with a stated chance is `years.quantiles.share_below`; the worst
    fifth are as many years of the sample as a fifth of it is, rounded.
    """
    ranked = np.sort(np.asarray(shares, dtype=float))
    worst = max(1, round(ONE_IN_FIVE * len(ranked)))
    return Promise(
        usual=_round(float(share_below(shares, 0.5))),
        one_in_five=_round(float(share_below(shares, ONE_IN_FIVE))),
        worst_fifth=_round(ranked[:worst].mean()),
        reachable=_round(reachable),
        seed=seed,
        shares=tuple(_round(s) for s in shares.tolist()),
    )


def reachable_share(garden: Garden, cand: Candidates) -> float:
    """Weighted share [0..1] of the wishes in weeks that some batch could serve.

    The rest no plan can reach: nothing can be ripe by then, or nothing keeps until then.
    """
    weeks, wished = season_weeks(garden.season), wish(garden)
    covered: set[tuple[str, str]] = set()
    crop = cand.table["crop"].to_numpy(int)
    for number, name in enumerate(cand.crop_names):
        demand = garden.demand_of(name)
        if demand is None:
            continue
        days = np.unique(cand.pick_day[crop == number])
        for day in days[days < NEVER].tolist():
            life, events = garden.crops[name].storage_life, garden.event_weeks(name)
            served = weeks_served(garden.season.date(day), life, events)
            covered |= {(demand.group, week) for week in served}
    total = met = 0.0
    for demand in garden.demands:
        for week in weeks:
            grams = demand.weight * wished.get((demand.group, week), 0)
            total += grams
            met += grams * ((demand.group, week) in covered)
    return met / total if total > 0 else 1.0


def _round(share: float) -> float:
    """Shares are written to a ten thousandth: more would pretend to be known."""
    return round(float(share), 4)
