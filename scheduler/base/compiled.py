"""Functions compiled when they are first called, and kept beside their source for the next time."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any, TypeVar, cast

from numba import njit

F = TypeVar("F", bound=Callable[..., object])

ROOT = Path(__file__).parents[2]
# What compiled functions are made of: they take over what they call, and constants as they were.
MADE_OF = (
    "crops",
    "scheduler/base/compiled.py",
    "scheduler/batches/courses.py",
    "scheduler/lived",
    "scheduler/search/living",
)


def compiled(function: F) -> F:
    """``function`` compiled; it holds no lock of the interpreter while it runs.

    What is kept counts as long as nothing in `MADE_OF` has changed: the compiler itself looks at
    the function's own file alone, and would go on with what another file said before.

    Where nothing can be written, neither beside the source nor in the user's cache, it is compiled
    anew in each process.
    """
    try:
        made: Any = njit(cache=True, nogil=True)(function)
        made._cache._cache_file._source_stamp = made_of()
    except (RuntimeError, AttributeError):  # no place for a cache, or none that could go stale
        return cast(F, njit(nogil=True)(function))
    return cast(F, made)


@cache
def made_of(root: Path = ROOT) -> str:
    """A digest of all source that compiled functions are made of."""
    files = [
        f
        for name in MADE_OF
        for f in ([root / name] if name.endswith(".py") else sorted((root / name).glob("*.py")))
    ]
    digest = sha256()
    for file in files:
        text = file.read_bytes()
        digest.update(f"{file.relative_to(root)} {len(text)}\n".encode() + text)
    return digest.hexdigest()
