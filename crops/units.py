"""Quantities with units, converted once at the edge.

The whole program has one unit registry, made here on first use. Past this module every
number is a plain float of a declared unit: L, cm, kg, g, mL, degC, mm, d, mS/cm.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import Any

import pint


@lru_cache(maxsize=1)
def registry() -> pint.UnitRegistry:
    """The one unit registry of the program."""
    ureg: pint.UnitRegistry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    ureg.define("percent_share = 0.01 = %")
    return ureg


# A number with a decimal point, then a unit that begins with no digit, comma or sign: "1,5 L" is
# refused, because a decimal comma read as a thousands mark would make it fifteen.
_WRITTEN = re.compile(
    r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)((?:\s*[^\W\d_]|\s*[°%µ]).*)?"
)
_POWERS = re.compile(r"[0-9]{2}|\)\s*(\^|\*\*)|(\^|\*\*)[\s(+-]*[0-9]*[\s)]*(\^|\*\*)")


class UnitFault(ValueError):
    """A text that is no quantity, or one of another kind; says what was expected."""


@lru_cache(maxsize=8192)
def quantity(text: str, unit: str) -> float:
    """Magnitude of a written quantity in ``unit``.

    Parameters
    ----------
    text : written quantity, such as ``"20 L"``, ``"9 in"``, ``"45.2 degree"``, ``"60 degF"``.
    unit : the unit wanted, such as ``"litre"``, ``"cm"``, ``"degC"``.

    Returns
    -------
    Magnitude [unit].

    Raises
    ------
    UnitFault
        No number, no unit, an unknown unit, or a unit of another kind.
    """
    example = f"a number with a unit that converts to {unit}"
    parts = _WRITTEN.fullmatch(text.strip())
    if parts is None:
        raise UnitFault(f"{text!r} is not a quantity; expected {example}")
    number, named = float(parts[1]), (parts[2] or "").strip()
    if not named:
        raise UnitFault(f"{text!r} has no unit; expected {example}")
    if not math.isfinite(number):
        raise UnitFault(f"{text!r} is too large; expected {example}")
    # Powers of powers would be worked out as whole numbers of any length.
    if len(named) > 40 or _POWERS.search(named):
        raise UnitFault(f"{text!r} has an unknown unit; expected {example}")
    try:
        got: Any = registry().Quantity(number, named)
    except Exception as error:
        raise UnitFault(f"{text!r} has an unknown unit; expected {example}") from error
    try:
        return float(got.to(unit).magnitude)
    except Exception as error:
        raise UnitFault(f"{text!r} is of another kind; expected {example}") from error
