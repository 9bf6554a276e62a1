"""What finished crops teach: numbers of each, estimates by crop between these and the catalogue.

Seen against expected, each finished crop gives up to four factors: days to harvest, demand, mass of
a plant, uptake per litre. `crops.learning` turns them into estimates; `overrides` into the text of
a file that ``crops: learned:`` of garden.yaml names. The catalogue itself is never changed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from crops import development, learning
from crops.catalogue import catalogue
from crops.crop import Crop
from crops.learning import Estimate
from crops.solution import balance, ph, strength
from scheduler.garden.placed import weather_at
from scheduler.log.finished import Season, Stand, finished
from scheduler.replanning.measured import READING_CM
from scheduler.review.thirst import demand_factor

if TYPE_CHECKING:
    import pandas as pd


UPTAKE_KEYS = ("uptake_n", "uptake_p", "uptake_k", "uptake_ca", "uptake_mg")
# Keys of a crop file that each estimate scales.
KEYS = {
    learning.DAYS.name: ("days_to_harvest",),
    learning.DEMAND.name: ("peak_demand",),
    learning.MASS.name: ("fresh_mass",),
    learning.UPTAKE.name: UPTAKE_KEYS,
}

# Common practice, no source: a level within a fifth of the keep level was a reason to pick; where
# the readings leave more doubt than this share of what should be taken up, they say more of the
# meters than of the crop. A solution used up to nothing shows only the least a crop would take.
DRY, SUREST = 1.2, 0.15


@dataclass(frozen=True)
class Seen:
    """What one finished crop shows.

    Attributes
    ----------
    days : transplanting to first pick [d]; grams_per_plant [g]; drunk [L]; mL_per_g [mL/g].
    end_ec, end_ph : measured at the end.
    factors : name of a prior to seen over expected.
    doubts : one standard deviation of the logarithm of a factor, where it is not next to nothing.
    verdict : what fill and rest say of the strength.
    """

    stand: Stand
    days: int
    grams_per_plant: float | None
    drunk: float | None
    mL_per_g: float | None
    end_ec: float | None
    end_ph: float | None
    factors: dict[str, float]
    doubts: dict[str, float]
    verdict: balance.Verdict | None


@dataclass(frozen=True)
class CropReview:
    """One crop over all logs.

    Attributes
    ----------
    catalogue : its numbers as they ship (a grower's own crop: as its file says).
    estimates : by name of the prior; tiers : the same for each tier, with the crop's own estimate
        in the catalogue's place.
    """

    catalogue: Crop
    seen: tuple[Seen, ...]
    estimates: dict[str, Estimate]
    tiers: dict[str, dict[str, Estimate]] = field(default_factory=dict)

    @property
    def learned(self) -> Crop:
        """The crop with what was learned."""
        return scaled(self.catalogue, {n: e.factor for n, e in self.estimates.items() if e.n})


def review(seasons: Iterable[Season]) -> list[CropReview]:
    """What the finished crops of all seasons teach, crops by name."""
    stands: dict[str, list[Stand]] = {}
    for season in seasons:
        for stand in finished(season):
            stands.setdefault(stand.crop, []).append(stand)
    return [_crop(name, stands[name]) for name in sorted(stands)]


def scaled(crop: Crop, factors: dict[str, float]) -> Crop:
    """A crop with the numbers that each factor is about multiplied by it."""
    return replace(
        crop,
        **{
            key: getattr(crop, key) * factor
            for name, factor in factors.items()
            for key in KEYS[name]
        },
    )


def _crop(name: str, stands: Sequence[Stand]) -> CropReview:
    base = catalogue().get(name) or stands[-1].garden.crops[name]
    # Days first: demand and mass follow from how far a crop had come.
    days = {
        id(s): f
        for s in stands
        if (f := _days_factor(base, s)) is not None and learning.believable(f)
    }
    estimates = {learning.DAYS.name: learning.estimate(learning.DAYS, list(days.values()))}
    paced = scaled(base, {learning.DAYS.name: estimates[learning.DAYS.name].factor})
    seen = tuple(_seen(paced, s, days.get(id(s))) for s in stands)
    for prior in (learning.DEMAND, learning.MASS, learning.UPTAKE):
        estimates[prior.name] = learning.estimate(prior, *_told(prior, seen))
    tiers = {}
    for place in sorted({s.place for s in stands}):
        mine = [x for x in seen if x.stand.place == place]
        tiers[place] = {p.name: _tier(p, mine, estimates[p.name]) for p in learning.PRIORS}
    return CropReview(base, seen, estimates, tiers)


def _told(prior: learning.Prior, seen: Sequence[Seen]) -> tuple[list[float], list[float]]:
    """What each crop that speaks of a number says of it: factors and their doubts."""
    name = prior.name
    speak = [x for x in seen if name in x.factors]
    return [x.factors[name] for x in speak], [x.doubts.get(name, 0.0) for x in speak]


def _tier(prior: learning.Prior, seen: Sequence[Seen], whole: Estimate) -> Estimate:
    """A tier's own estimate, drawn towards the crop's as the crop's is to the catalogue."""
    found, doubts = _told(prior, seen)
    # Tiers of one garden are nearer to each other than gardens are: half the doubt.
    nearer = replace(prior, doubt=prior.doubt / 2)
    e = learning.estimate(nearer, [f / whole.factor for f in found], doubts)
    scale = whole.factor
    return Estimate(
        e.n,
        e.seen * scale,
        e.factor * scale,
        e.low * scale,
        e.high * scale,
        e.share,
        e.next_low * scale,
        e.next_high * scale,
    )


def _days_factor(base: Crop, stand: Stand) -> float | None:
    """Days to harvest, seen over expected: how far the catalogue's crop had come on the day.

    A pick on the very day the plan asked for tells only that the crop was ready by then, so it says
    nothing unless it was early by the catalogue. A tier picked when it ran dry says nothing either.
    Readiness fell some time in the day before the pick.
    """
    left = stand.end_level()
    if left is not None and left <= stand.vessel.floor_l * DRY:
        return None
    garden = stand.garden
    seen = stand.first_pick if stand.ripe is None else min(stand.ripe, stand.first_pick)
    start, first = (garden.season.index(d) for d in (stand.transplant, seen))
    rate = development.daily_rate(base, _weather(stand), _light(stand))
    if not 0 <= start < first <= len(rate):
        return None
    factor = float(rate[start:first].sum() - rate[first - 1] / 2)
    on_the_day = stand.planned_pick == stand.first_pick and stand.ripe is None
    return None if on_the_day and factor > 1 else factor


def _light(stand: Stand) -> float:
    return stand.garden.tier(stand.column, stand.tier).light


def _weather(stand: Stand) -> pd.DataFrame:
    return weather_at(stand.garden, stand.garden.tier(stand.column, stand.tier))


def _seen(paced: Crop, stand: Stand, days_factor: float | None) -> Seen:
    factors = {} if days_factor is None else {learning.DAYS.name: days_factor}
    left, grams = stand.end_level(), stand.grams
    drunk = stand.vessel.fill_l - left + stand.came_in if left is not None else None
    per_gram = drunk * 1000 / grams if drunk and grams and drunk > 0 else None
    drinks = demand_factor(paced, stand)
    candidates = {
        learning.DEMAND.name: None if drinks is None else drinks[0],
        learning.MASS.name: _mass_factor(paced, stand, days_factor is not None),
    }
    verdict = _verdict(stand, left)
    start = stand.start_ec()
    if verdict is not None and start is not None and verdict.uptake_ec > 0:
        taken = balance.strength(balance.uptake(paced, per_gram, start))
        if verdict.sd < SUREST * taken:
            # Only part of a change in the catalogue's uptake shows: the rest follows the fill.
            seen = verdict.uptake_ec / taken
            candidates[learning.UPTAKE.name] = seen ** (1 / (1 - strength.OFFERED))
    factors |= {n: f for n, f in candidates.items() if f is not None and learning.believable(f)}
    return Seen(
        stand,
        (stand.first_pick - stand.transplant).days,
        grams / stand.picked if grams else None,
        drunk,
        per_gram,
        stand.end_of(stand.ecs),
        stand.end_of(stand.phs),
        factors,
        {} if drinks is None else {learning.DEMAND.name: drinks[1]},
        verdict,
    )


def _mass_factor(paced: Crop, stand: Stand, ripe: bool) -> float | None:
    """Mass of a plant, weighed over expected on the day; only where everything was picked.

    ``ripe``: it was picked when it was ready, whatever its pace, so its whole mass is expected.
    """
    if stand.grams is None or (not stand.whole and (paced.cuts > 1 or not stand.cleared)):
        return None
    garden = stand.garden
    total = development.running_sum(development.daily_rate(paced, _weather(stand), _light(stand)))
    start = garden.season.index(stand.transplant)
    if paced.cuts > 1 or ripe:
        return stand.grams / (stand.picked * paced.fresh_mass)
    shares = [
        float(development.harvest_share(total[garden.season.index(d)] - total[start]))
        for d in stand.picks
        if garden.season.index(d) < len(total)
    ]
    if len(shares) < len(stand.picks):
        return None
    counts = [p for p, _ in stand.picks.values()]
    weights = [c or stand.plants / len(counts) for c in counts]  # weighed, not counted: alike
    expected = paced.fresh_mass * sum(w * s for w, s in zip(weights, shares, strict=True))
    return stand.grams / expected if expected > 0 else None


def _verdict(stand: Stand, left: float | None) -> balance.Verdict | None:
    start, end = stand.start_ec(), stand.end_of(stand.ecs)
    fill = stand.vessel.fill_l
    if stand.water:  # what came in has thinned it, or was no solution of the recipe
        return None
    if left is None or start is None or end is None or not left < fill or start <= 0:
        return None
    depth = float(stand.vessel.depth(left))
    more = float(stand.vessel.volume(min(depth + READING_CM, stand.vessel.height_cm)))
    return balance.judge(fill, start, left, end, max(more - left, 1e-3))


# The next fill


def next_fill(crop: CropReview) -> tuple[str, float, float, float] | None:
    """Conclusion on the strength over a crop's finished tiers, and the change.

    Returns
    -------
    (weak, right or strong; change; low and high of its 90 % interval), changes as shares of the
    fill; None without two strengths and a level. Verdicts are weighed by their certainty.
    """
    verdicts = [x.verdict for x in crop.seen if x.verdict is not None]
    if not verdicts:
        return None
    weights = np.array([1 / max(v.change_sd, 1e-3) ** 2 for v in verdicts])
    changes = np.array([v.change for v in verdicts])
    change = float(changes @ weights / weights.sum())
    # Tiers differ by more than their readings do: the scatter between them counts too.
    scatter = float(changes.std(ddof=1)) / np.sqrt(len(changes)) if len(changes) > 1 else 0.0
    sd = max(float(np.sqrt(1 / weights.sum())), scatter)
    low, high = change - balance.NINETY * sd, change + balance.NINETY * sd
    sure = abs(change) > balance.LEAST_CHANGE and (low > 0 or high < 0)
    name = balance.RIGHT if not sure else balance.WEAK if change > 0 else balance.STRONG
    return name, change, low, high


def next_acid(crop: CropReview) -> ph.NextAcid | None:
    """More acid for the next fill, from the middle of the measured end pH; None without one."""
    ends = [x.end_ph for x in crop.seen if x.end_ph is not None]
    if not ends:
        return None
    shelf = crop.seen[-1].stand.garden.solution
    base = crop.catalogue
    start = shelf.ph if shelf.ph is not None else (base.ph_low + base.ph_high) / 2
    return ph.next_acid(
        float(np.median(ends)),
        base.ph_low,
        base.ph_high,
        shelf.water.alkalinity,
        shelf.water.ph,
        start,
    )
