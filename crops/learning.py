"""What finished crops teach: estimates between the catalogue and what was seen.

The rule. Each finished crop gives a factor: what was seen over what the catalogue expects, taken
as a logarithm x. Crops of one kind scatter around their own mean mu with a variance s2, both
unknown; before any crop is seen, mu lies around 0 (the catalogue is right) and s2 around what is
usual. With the normal-inverse-gamma prior, which is conjugate,

    mu | s2 ~ N(0, s2 / k0),   k0 = noise^2 / doubt^2        1 / s2 ~ Gamma(v0/2, v0 noise^2 / 2)

n crops of mean m and sum of squares S about it give

    k = k0 + n,  v = v0 + n,  centre = n m / k,  s2 = (v0 noise^2 + S + k0 n m^2 / k) / v

and mu is Student's t with v degrees of freedom around the centre, scale sqrt(s2 / k). So n crops
pull the estimate n / (k0 + n) of the way from the catalogue to what was seen. A crop whose factor
is known but roughly, with a standard deviation d, counts as w = noise^2 / (noise^2 + d^2) of one:
x ~ N(mu, s2 / w), which is conjugate too, with sums over w in the place of n, m and S. (Gelman et
al. 2013, Bayesian Data Analysis, 3rd ed., section 3.3; section from memory.)
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from crops.crop import Crop

INTERVAL = 0.90
LEARNED = "learned from"  # so begins the source of a crop's number that finished crops have taught


def is_learned(crop: Crop, key: str) -> bool:
    """Whether finished crops have taught a number of this crop: its source says so."""
    written = crop.parameters.get(key)
    return written is not None and written.source.startswith(LEARNED)


@dataclass(frozen=True)
class Prior:
    """What is believed before a crop is seen, on the log scale.

    Attributes
    ----------
    name : of the number it is about.
    doubt : how far the truth of a place may lie from the catalogue, standard deviation.
    noise : how far crops of one place differ among themselves, standard deviation.
    weight : v0, how many crops the belief about the noise is worth.
    """

    name: str
    doubt: float
    noise: float
    weight: float = 6.0

    @property
    def worth(self) -> float:
        """k0: how many crops the catalogue is worth."""
        return (self.noise / self.doubt) ** 2


# Common practice, no source: the catalogue's figures come from elsewhere, and a fifth to a third of
# error in them is usual; two tiers of one garden differ by a tenth to a quarter.
DEMAND = Prior("demand", doubt=0.30, noise=0.12)
DAYS = Prior("days", doubt=0.15, noise=0.08)
MASS = Prior("mass", doubt=0.35, noise=0.20)
# What a tier shows of its uptake is the third root of this factor; see `solution.strength.OFFERED`.
UPTAKE = Prior("uptake", doubt=0.60, noise=0.30)
PRIORS = (DEMAND, DAYS, MASS, UPTAKE)

# A crop this far from what is expected tells of a leak, a pest or a slip, not of the crop.
FARTHEST = math.log(3)


@dataclass(frozen=True)
class Estimate:
    """What is believed after n crops: a factor on the catalogue's number.

    Attributes
    ----------
    n : crops behind it.
    seen : what they show on their own (geometric mean); 1 without any.
    factor : the estimate; low, high : its 90 % interval.
    share : how far it went from the catalogue to what was seen [0..1].
    next_low, next_high : 90 % interval of the next single crop.
    """

    n: int
    seen: float
    factor: float
    low: float
    high: float
    share: float
    next_low: float
    next_high: float


def estimate(
    prior: Prior, factors: Sequence[float], doubts: Sequence[float] = (), level: float = INTERVAL
) -> Estimate:
    """The estimate from the factors of finished crops (seen over expected, above 0).

    Parameters
    ----------
    doubts : how surely each factor is known, one standard deviation of its logarithm [-]; none
        given: all are known for sure.

    Raises
    ------
    ValueError
        A factor that is no positive number, or doubts that are not one a factor, 0 or above.
    """
    if any(not math.isfinite(f) or f <= 0 for f in factors):
        raise ValueError(f"factors {list(factors)}; expected numbers above 0")
    if len(doubts) not in (0, len(factors)) or any(not d >= 0 for d in doubts):
        raise ValueError(f"doubts {list(doubts)}; expected {len(factors)} numbers, 0 or above")
    from scipy.special import stdtrit  # quantile of Student's t

    x = np.log(np.asarray(factors, float)) if len(factors) else np.zeros(0)
    n = len(x)
    own = prior.noise**2
    w = own / (own + np.asarray(doubts, float) ** 2) if len(doubts) else np.ones(n)
    worth = float(w.sum())
    mean = float(w @ x) / worth if n else 0.0
    squares = float(w @ (x - mean) ** 2)
    k0, v0 = prior.worth, prior.weight
    k, v = k0 + worth, v0 + n
    centre = worth * mean / k
    s2 = (v0 * own + squares + k0 * worth * mean**2 / k) / v
    t = float(stdtrit(v, 0.5 + level / 2))
    half, single = t * math.sqrt(s2 / k), t * math.sqrt(s2 * (1 + 1 / k))
    return Estimate(
        n,
        math.exp(mean),
        math.exp(centre),
        math.exp(centre - half),
        math.exp(centre + half),
        worth / k,
        math.exp(centre - single),
        math.exp(centre + single),
    )


def believable(factor: float | None) -> bool:
    """Whether a factor can come from the crop itself: from a third to three times."""
    return factor is not None and factor > 0 and abs(math.log(factor)) <= FARTHEST
