"""Functions are compiled once: for every garden, and even where no place is left for a cache."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numba
import pytest
from lived_case import bed, mean_years
from places_case import DIM, LIT
from verify_case import day

from scheduler.base import compiled as module
from scheduler.garden.model import Column, Stay, Tier
from scheduler.lived.world import world_of


def twice(x: float) -> float:
    return 2 * x


def test_without_a_place_for_a_cache_it_is_compiled_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked = []

    def njit(**options: Any) -> Callable[..., Any]:
        asked.append(options)
        if options.get("cache"):
            raise RuntimeError("cannot cache function: no locator available")
        return lambda function: function

    monkeypatch.setattr(module, "njit", njit)
    assert module.compiled(twice)(1.5) == 3.0
    assert asked == [{"cache": True, "nogil": True}, {"nogil": True}]


@pytest.mark.parametrize("count", [1, 3])
def test_gardens_of_any_shape_are_lived_by_what_was_compiled_for_the_first(count: int) -> None:
    """A balcony in the open, columns in several places: an array laid out otherwise is another
    type, for which a minute's work would be done once more."""
    always = (day(0), day(400))
    stays = [(), (Stay(*always, LIT),), (Stay(*always, DIM),)][:count]
    columns = tuple(
        Column(f"C{k}", tuple(Tier(n + 1, "box", 1.0 - 0.2 * n, 4, stays=s) for n in range(count)))
        for k, s in enumerate(stays)
    )
    one, other = bed(), replace(bed(), columns=columns)
    assert _types(other) == _types(one)


def _types(garden: Any) -> dict[str, str]:
    world = world_of(garden, mean_years(garden, 2))
    return {name: str(numba.typeof(part)) for name, part in world._asdict().items()}
