"""Quantities with units, converted once at the edge.

The whole program has one unit registry, made here on first use. Past this module every
number is a plain float of a declared unit: L, cm, kg, g, mL, degC, mm, d, mS/cm.

What growers write most stands in a short table, so that a line of the log does not wait half a
second for the registry and a hundred thousand lines not for as many conversions; everything else
goes to the registry. A test holds every entry of the table against it.
"""

from __future__ import annotations

import math
import re
import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pint

# One of each in the first of its kind. Inch, pound and US gallon by definition: 2.54 cm,
# 453.59237 g, 3.785411784 L (NIST SP 811, appendix B).
_GALLON, _POUND = 3.785411784, 453.59237
_KINDS: tuple[dict[str, float], ...] = (
    {
        **dict.fromkeys(("L", "l", "litre", "litres", "liter", "liters"), 1.0),
        **dict.fromkeys(("mL", "ml"), 0.001),
        **dict.fromkeys(("gal", "gallon", "gallons"), _GALLON),
        **dict.fromkeys(("qt", "quart", "quarts"), _GALLON / 4),
        **dict.fromkeys(("pint", "pints"), _GALLON / 8),
        **dict.fromkeys(("fluid_ounce", "floz"), _GALLON / 128),
    },
    {
        **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), 1.0),
        **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 100.0),
        "mm": 0.1,
        **dict.fromkeys(("in", "inch", "inches"), 2.54),
        **dict.fromkeys(("ft", "foot", "feet"), 30.48),
    },
    {
        **dict.fromkeys(("g", "gram", "grams"), 1.0),
        **dict.fromkeys(("kg", "kilogram", "kilograms"), 1000.0),
        **dict.fromkeys(("lb", "lbs", "pound", "pounds"), _POUND),
        **dict.fromkeys(("oz", "ounce", "ounces"), _POUND / 16),
    },
    {
        **dict.fromkeys(("d", "day", "days"), 1.0),
        **dict.fromkeys(("h", "hour", "hours"), 1 / 24),
        **dict.fromkeys(("min", "minute", "minutes"), 1 / 1440),
        **dict.fromkeys(("week", "weeks"), 7.0),
    },
    dict.fromkeys(("degree", "degrees", "deg"), 1.0),
    {**dict.fromkeys(("mS/cm", "dS/m"), 1.0), **dict.fromkeys(("µS/cm", "uS/cm"), 0.001)},
)
_KIND = {name: kind for kind, names in enumerate(_KINDS) for name in names}
_WARMTH = len(_KINDS)
_CELSIUS = frozenset(("degC", "°C", "celsius"))
_FAHRENHEIT = frozenset(("degF", "°F", "fahrenheit"))
_KIND |= dict.fromkeys(_CELSIUS | _FAHRENHEIT, _WARMTH)


@lru_cache(maxsize=1)
def registry() -> pint.UnitRegistry[Any]:
    """The one unit registry of the program, loaded when it is first needed."""
    import pint

    ureg: pint.UnitRegistry[Any] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    ureg.define("percent_share = 0.01 = %")
    return ureg


_MARKS = "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"  # fractions as one sign
_FRACTION = rf"(?:(\d+)(?:\s+|-|\s*(?=[{_MARKS}])))?(?:(\d{{1,3}})[/⁄](\d{{1,3}})|([{_MARKS}]))"
# A decimal comma where it can be no thousands mark: 1,500 may be one and a half or fifteen hundred.
_COMMA = r"0,\d+|\d+,\d{1,2}"
_PLAIN = r"\d+\.?\d*|\.\d+"
# A written number, as a pattern for others: decimal or fraction, without what follows it.
NUMBER = (
    rf"[+-]?(?:(?:\d+(?:\s+|-|\s*(?=[{_MARKS}])))?(?:\d{{1,3}}[/⁄]\d{{1,3}}|[{_MARKS}])"
    rf"|(?:{_COMMA}|{_PLAIN})(?:[eE][+-]?\d{{1,3}})?)"
)
_NUMBER = re.compile(rf"([+-]?)(?:{_FRACTION}|((?:{_COMMA}|{_PLAIN})(?:[eE][+-]?\d+)?))", re.ASCII)


def number(text: str) -> tuple[float, str] | None:
    """The number that a text begins with, and the text behind it; None if it begins with none.

    Reads ``7.5``, ``1e3``, a decimal comma that can be no thousands mark (``7,5``), and what stands
    on a ruler: ``7 7/8``, ``7-7/8``, ``7⅞``, ``7/8``. A fraction of one or more, and a number that
    goes on in digits, commas or strokes, are none.
    """
    found = _NUMBER.match(text)
    if found is None:
        return None
    sign, whole, above, below, mark, plain = found.groups()
    rest = text[found.end() :]
    if rest[:1].isdigit() or rest[:1] in (",", ".", "/", "⁄") or rest[:1] in tuple(_MARKS):
        return None
    if plain is not None:
        value = float(plain.replace(",", "."))
    else:
        if above is not None and not 0 < int(above) < int(below):
            return None
        part = unicodedata.numeric(mark) if mark else int(above) / int(below)
        value = float(whole or 0) + part
    return (-value if sign == "-" else value), rest


# What may follow: a unit that begins with no digit, comma or sign.
_UNIT = re.compile(r"(?:\s*[^\W\d_]|\s*[°%µ]).*|")
_POWERS = re.compile(r"[0-9]{2}|\)\s*(\^|\*\*)|(\^|\*\*)[\s(+-]*[0-9]*[\s)]*(\^|\*\*)")


class UnitFault(ValueError):
    """A text that is no quantity, or one of another kind; says what was expected."""


@lru_cache(maxsize=8192)
def quantity(text: str, unit: str) -> float:
    """Magnitude of a written quantity in ``unit``.

    Parameters
    ----------
    text : written quantity, such as ``"20 L"``, ``"7 7/8 in"``, ``"45.2 degree"``, ``"60 degF"``.
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
    parts = number(text.strip())
    if parts is None or not _UNIT.fullmatch(parts[1]):
        raise UnitFault(f"{text!r} is not a quantity; expected {example}")
    value, named = parts[0], parts[1].strip()
    if not named:
        raise UnitFault(f"{text!r} has no unit; expected {example}")
    if not math.isfinite(value):
        raise UnitFault(f"{text!r} is too large; expected {example}")
    # Powers of powers would be worked out as whole numbers of any length.
    if len(named) > 40 or _POWERS.search(named):
        raise UnitFault(f"{text!r} has an unknown unit; expected {example}")
    kind, wanted = _KIND.get(named), _KIND.get(unit)
    if kind is not None and wanted is not None:
        if kind != wanted:
            raise UnitFault(f"{text!r} is of another kind; expected {example}")
        return _short_way(value, named, unit, kind)
    try:
        got: Any = registry().Quantity(value, named)
    except Exception as error:
        raise UnitFault(f"{text!r} has an unknown unit; expected {example}") from error
    try:
        return float(got.to(unit).magnitude)
    except Exception as error:
        raise UnitFault(f"{text!r} is of another kind; expected {example}") from error


def converted(value: float, named: str, unit: str) -> float:
    """``value`` of a unit ``named`` in ``unit``; raises as `quantity` does."""
    kind = _KIND.get(named)
    if kind is not None and kind == _KIND.get(unit) and math.isfinite(value):
        return _short_way(value, named, unit, kind)
    return quantity(f"{value!r} {named}", unit)


def _short_way(value: float, named: str, unit: str, kind: int) -> float:
    """``value`` converted by the short table, both units being of one ``kind`` in it."""
    if kind != _WARMTH:
        names = _KINDS[kind]
        return value * (names[named] / names[unit])
    if (named in _CELSIUS) == (unit in _CELSIUS):
        return value
    return (value - 32) * 5 / 9 if unit in _CELSIUS else value * 9 / 5 + 32
