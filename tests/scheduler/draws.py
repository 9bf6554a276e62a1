"""Random cases that are the same each time, whatever is rewritten around them.

Hypothesis's ``derandomize`` draws by the source text of a test, and it also draws numbers that it
reads in the source of the package: laying a file out anew then draws other gardens, of which some
are harder by minutes. Here a number says what is drawn. A newer hypothesis may still draw others.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis.internal import conjecture

# Numbers and words of our own source are not drawn (versions before 6.130 never did).
providers = getattr(conjecture, "providers", None)
if hasattr(providers, "_get_local_constants"):
    _NONE = type(providers._local_constants)()
    providers._get_local_constants = lambda: _NONE

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]

# How many random gardens, by the environment variable ``DRYLINE_GARDENS``.
settings.register_profile("fast", max_examples=20)
settings.register_profile("ci", max_examples=26)
settings.register_profile("by-hand", max_examples=10_000, print_blob=True)
NAME = os.environ.get("DRYLINE_GARDENS", "ci" if os.environ.get("CI") else "fast")
BY_HAND = NAME == "by-hand"
FULL = settings.get_profile(NAME).max_examples
SHARE = {"fast": 4, "ci": 3}.get(NAME, 1)  # one in so many of the cases that a test names itself


def fixed(examples: int, draw: int = 1) -> Decorator:
    """So many random cases, the same each time, fewer in the fast run; another ``draw`` has others."""

    def decorate(test: Callable[..., Any]) -> Callable[..., Any]:
        return seed(draw)(_quiet(max(examples // SHARE, 2))(test))

    return decorate


def profiled(of: int = 1, examples: int | None = None) -> Decorator:
    """As many as the profile says (``of``: one in so many), by hand other ones each time."""
    count = max((examples or FULL) // of, 1)
    return _quiet(count, print_blob=True) if BY_HAND else fixed(count * SHARE)


def some_now(cases: Iterable[Any], of: int = 4) -> list[Any]:
    """Cases of a table for a test: one in ``of`` in the default run, all in CI."""
    slow = pytest.mark.slow
    return [
        c if n % of == 0 else pytest.param(*(c if isinstance(c, tuple) else (c,)), marks=slow)
        for n, c in enumerate(cases)
    ]


def some_in_ci(cases: Iterable[Any], of: int = 3) -> list[Any]:
    """Cases of a table for a slow test: one in ``of`` in CI, all with ``--deep``."""
    return [
        c if n % of == 0 else pytest.param(c, marks=pytest.mark.deep) for n, c in enumerate(cases)
    ]


def _quiet(examples: int, **more: Any) -> Any:
    # A failing garden is made smaller by hand alone: that takes minutes of solvers.
    phases = tuple(Phase) if BY_HAND else (Phase.explicit, Phase.generate)
    return settings(
        phases=phases,
        max_examples=examples,
        deadline=None,
        derandomize=False,
        database=None,
        suppress_health_check=list(HealthCheck),
        **more,
    )
