"""One lot more brings min(x, A[first, length]): held against eating it all up, week by week."""

from __future__ import annotations

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.optimize import linprog

from scheduler.search.living.worth import extra


def eaten(wish: np.ndarray, lots: np.ndarray) -> float:
    """The most that can come to the table, as a transport problem (HiGHS by SciPy's linprog)."""
    weeks, lengths = lots.shape
    pairs = [
        (f, n, w)
        for f in range(weeks)
        for n in range(lengths)
        for w in range(f, min(f + n, weeks - 1) + 1)
    ]
    rows, limits = [], []
    for f in range(weeks):
        for n in range(lengths):
            rows.append([1.0 if p[:2] == (f, n) else 0.0 for p in pairs])
            limits.append(lots[f, n])
    for week in range(weeks):
        rows.append([1.0 if p[2] == week else 0.0 for p in pairs])
        limits.append(wish[week])
    return -float(linprog(-np.ones(len(pairs)), rows, limits).fun)


SIZES = st.tuples(st.integers(1, 5), st.integers(1, 3))


@st.composite
def kitchens(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:
    weeks, lengths = draw(SIZES)
    grams = st.integers(0, 5).map(float)
    wish = draw(arrays(float, weeks, elements=grams))
    return wish, draw(
        arrays(float, (weeks, lengths), elements=st.sampled_from((0.0, 0.0, 1.0, 4.0)))
    )


@fixed(200)
@given(kitchens(), st.sampled_from((1.0, 3.0, 1000.0)))
def test_one_lot_more_brings_what_is_foretold(
    kitchen: tuple[np.ndarray, np.ndarray], grams: float
) -> None:
    wish, lots = kitchen
    more = np.zeros_like(lots)
    extra(wish, lots, more)
    before = eaten(wish, lots)
    for first in range(lots.shape[0]):
        for length in range(lots.shape[1]):
            with_one = lots.copy()
            with_one[first, length] += grams
            brings = eaten(wish, with_one) - before
            assert min(grams, more[first, length]) == pytest.approx(brings, abs=1e-6)
