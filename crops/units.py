"""Quantities with units, converted once at the edge.

The whole program has one unit registry, made here on first use. Past this module every
number is a plain float of a declared unit: L, cm, kg, g, mL, degC, mm, d, mS/cm.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import pint


@lru_cache(maxsize=1)
def registry() -> pint.UnitRegistry:
    """The one unit registry of the program."""
    ureg: pint.UnitRegistry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    ureg.define("percent_share = 0.01 = %")
    return ureg


class UnitFault(ValueError):
    """A text that is no quantity, or one of another kind; says what was expected."""


@lru_cache(maxsize=8192)
def quantity(text: str, unit: str) -> float:
    """Magnitude of a written quantity in ``unit``.

    Parameters
    ----------
    text : written quantity, such as ``"20 L"``, ``"7.5 in"``, ``"45.2 degree"``, ``"60 degF"``.
    unit : the unit wanted, such as ``"litre"``, ``"cm"``, ``"degC"``.

    Returns
    -------
    Magnitude [unit].

    Raises
    ------
    UnitFault
        No number, no unit, an unknown unit, or a unit of another kind.
    """
    ureg = registry()
    example = f"a number with a unit that converts to {unit}"
    try:
        # Offset temperatures are no products ("60 degF"), so number and unit are split.
        head, _, tail = text.strip().partition(" ")
        number, named = float(head), tail.strip()
        if not named:
            raise UnitFault(f"{text!r} has no unit; expected {example}")
        got: Any = ureg.Quantity(number, named)
    except UnitFault:
        raise
    except ValueError:
        try:
            got = ureg.Quantity(text)
        except Exception as error:
            raise UnitFault(f"{text!r} is not a quantity; expected {example}") from error
    except Exception as error:
        raise UnitFault(f"{text!r} has an unknown unit; expected {example}") from error
    try:
        return float(got.to(unit).magnitude)
    except Exception as error:
        raise UnitFault(f"{text!r} is of another kind; expected {example}") from error
