"""Functions compiled when they are first called, and kept beside their source for the next time."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, cast

from numba import njit

F = TypeVar("F", bound=Callable[..., object])


def compiled(function: F) -> F:
    """``function`` compiled; it holds no lock of the interpreter while it runs.

    Where nothing can be written, neither beside the source nor in the user's cache, it is compiled
    anew in each process.
    """
    try:
        return cast(F, njit(cache=True, nogil=True)(function))
    except RuntimeError:  # no place for a cache
        return cast(F, njit(nogil=True)(function))
