"""Compiled functions where nothing can be written beside their source."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from scheduler.base import compiled as module


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
