"""Numbers in the grower's units: L or US gal, cm or in, g and kg or oz and lb, degC or degF.

Inside, every number is metric; this is the edge where it is printed. Conversions are pint's.
"""

from __future__ import annotations

from functools import lru_cache

from crops.units import registry

METRIC, US = "metric", "us"
SYSTEMS = (METRIC, US)

# Kind of quantity: unit inside the program, then unit shown and its decimals by system.
_KINDS = {
    "volume": ("litre", {METRIC: ("litre", "L", 1), US: ("gallon", "gal", 2)}),
    "small_volume": (
        "milliliter", {METRIC: ("milliliter", "mL", 0), US: ("fluid_ounce", "fl oz", 1)}
    ),
    "depth": ("cm", {METRIC: ("cm", "cm", 1), US: ("inch", "in", 1)}),
    "light_mass": ("g", {METRIC: ("g", "g", 0), US: ("oz", "oz", 1)}),
    "mass": ("g", {METRIC: ("kg", "kg", 2), US: ("lb", "lb", 2)}),
    "load": ("kg", {METRIC: ("kg", "kg", 1), US: ("lb", "lb", 0)}),
    "temperature": ("degC", {METRIC: ("degC", "°C", 0), US: ("degF", "°F", 0)}),
}  # fmt: skip
_KILO, _POUND = 1000.0, 453.59237  # [g] from which masses are shown in kg and lb


@lru_cache(maxsize=65536)
def convert(value: float, unit: str, wanted: str) -> float:
    """``value`` [unit] in ``wanted``; pint's names."""
    return float(registry().Quantity(value, unit).to(wanted).magnitude)


def shown(kind: str, value: float, units: str = METRIC) -> tuple[float, str]:
    """Number (not rounded) and unit as printed.

    Parameters
    ----------
    kind : ``volume`` [L], ``small_volume`` [mL], ``depth`` [cm], ``light_mass`` [g], ``mass`` [g],
        ``load`` [kg] or ``temperature`` [degC].
    value : in the unit given with the kind.
    units : ``metric`` or ``us``.

    Raises
    ------
    KeyError
        Unknown kind or system.
    """
    inside, systems = _KINDS[kind]
    wanted, label, _ = systems[units]
    return convert(float(value), inside, wanted), label


def _text(kind: str, value: float, units: str, digits: int | None = None) -> str:
    number, label = shown(kind, value, units)
    places = _KINDS[kind][1][units][2] if digits is None else digits
    rounded = round(number, places) + 0.0  # no "-0"
    return f"{rounded:.{places}f} {label}"


def volume(litres: float, units: str = METRIC, digits: int | None = None) -> str:
    """``18.0 L`` or ``4.76 gal`` (US liquid gallons)."""
    return _text("volume", litres, units, digits)


def small_volume(millilitres: float, units: str = METRIC, digits: int | None = None) -> str:
    """``150 mL`` or ``5.1 fl oz``."""
    return _text("small_volume", millilitres, units, digits)


def depth(cm: float, units: str = METRIC, digits: int | None = None) -> str:
    """``24.0 cm`` or ``9.4 in``: to what a ruler shows."""
    return _text("depth", cm, units, digits)


def mass(grams: float, units: str = METRIC, digits: int | None = None) -> str:
    """``350 g``, ``1.20 kg``; ``12.3 oz``, ``2.65 lb``: the larger unit from 1 kg or 1 lb on."""
    limit = _KILO if units == METRIC else _POUND
    kind = "mass" if abs(grams) >= limit * (1 - 1e-12) else "light_mass"
    return _text(kind, grams, units, digits)


def load(kg: float, units: str = METRIC, digits: int | None = None) -> str:
    """Mass of a vessel to lift: ``16.0 kg`` or ``35 lb``."""
    return _text("load", kg, units, digits)


def temperature(celsius: float, units: str = METRIC, digits: int | None = None) -> str:
    """``20 °C`` or ``68 °F``."""
    return _text("temperature", celsius, units, digits)
