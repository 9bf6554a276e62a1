"""Two plans lived in the same years: the difference, and whether it can be told from none."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.stats import t as student

DOUBT = 0.05  # chance that of all differences without a cause one is told [0..1]


@dataclass(frozen=True)
class Paired:
    """What one plan brings more than another, year by year.

    Attributes
    ----------
    years : how many; more, less : of them that bring more, less.
    mean, spread : mean and standard deviation over the years [weighted g].
    low, high : one year in ten brings less than that, one in ten more [weighted g].
    sure : the mean over all such years is more, with the chance that was asked for [weighted g].
    """

    years: int
    more: int
    less: int
    mean: float
    spread: float
    low: float
    high: float
    sure: float


def paired(before: np.ndarray, after: np.ndarray, real: int, among: int = 1) -> Paired:
    """The difference of two plans lived in the same years.

    Years that were made come in pairs that stray to opposite sides (`years.generator`), so a pair
    counts as one thing seen and not as two: the standard error is that of clusters (Cochran 1977,
    Sampling Techniques, chapter 9A; from memory). Where many differences are looked at, each is
    held to a share of the doubt (Bonferroni; Dunn 1961, J. Am. Stat. Assoc. 56:52-64).

    Parameters
    ----------
    before, after : weighted grams [years]; real : of them past years, which come first.
    among : how many differences are looked at.
    """
    more = np.asarray(after, dtype=float) - np.asarray(before, dtype=float)
    n, mean = len(more), float(more.mean())
    cluster = np.r_[np.arange(real), real + np.arange(n - real) // 2]
    count = int(cluster[-1]) + 1
    sure = -math.inf
    if count > 1:
        off = np.bincount(cluster, weights=more - mean)
        error = math.sqrt(count / (count - 1) * float(off @ off)) / n
        sure = mean - float(student.ppf(1 - DOUBT / max(among, 1), count - 1)) * error
    low, high = np.quantile(more, (0.1, 0.9)).tolist()
    return Paired(
        n,
        int((more > 0).sum()),
        int((more < 0).sum()),
        mean,
        float(more.std(ddof=1)) if n > 1 else 0.0,
        low,
        high,
        sure,
    )
