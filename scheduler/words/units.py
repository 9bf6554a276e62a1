"""Numbers in the grower's units: L or US gal, cm or in, g and kg or oz and lb, degC or degF.

Inside, every number is metric; this is the one edge where quantities are printed. What is printed
here can be typed in again, in a log or a garden (`crops.units` reads fractions of an inch).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from crops.units import quantity
from scheduler.words.language import N_, _

METRIC, US = "metric", "us"
SYSTEMS = (METRIC, US)


@lru_cache(maxsize=65536)
def convert(value: float, unit: str, wanted: str) -> float:
    """``value`` [unit] in ``wanted``."""
    return quantity(f"{value!r} {unit}", wanted)


@lru_cache(maxsize=32)
def _factor(unit: str, to: str) -> float:
    return 1.0 if unit == to else convert(1.0, unit, to)


def _number(value: float, digits: int) -> str:
    """With the decimal sign of the language in use, and no "-0"."""
    # The outputs need this module while they are loaded themselves.
    from scheduler.words.language import Shown

    return f"{Shown(round(value, digits) + 0.0):.{digits}f}"


@dataclass(frozen=True)
class Units:
    """The grower's units. Numbers in are L, cm, g, kg; numbers and texts out are the grower's.

    Raises
    ------
    KeyError
        ``system`` is neither ``metric`` nor ``us``.
    """

    system: str

    def __post_init__(self) -> None:
        if self.system not in SYSTEMS:
            raise KeyError(self.system)

    @property
    def us(self) -> bool:
        return self.system == US

    @property
    def depth_unit(self) -> str:
        return "in" if self.us else "cm"

    @property
    def volume_unit(self) -> str:
        return "gal" if self.us else "L"

    @property
    def mass_unit(self) -> str:
        return "oz" if self.us else "g"

    @property
    def weight_unit(self) -> str:
        return "lb" if self.us else "kg"

    def depth(self, cm: float) -> float:
        return cm * _factor("cm", "inch" if self.us else "cm")

    def volume(self, litres: float) -> float:
        """US liquid gallons."""
        return litres * _factor("litre", "gallon" if self.us else "litre")

    @property
    def small_volume_unit(self) -> str:
        return "fl oz" if self.us else "mL"

    def small_volume(self, millilitres: float) -> float:
        """US fluid ounces."""
        return millilitres * _factor("mL", "fluid_ounce" if self.us else "mL")

    def mass(self, grams: float) -> float:
        return grams * _factor("gram", "ounce" if self.us else "gram")

    def weight(self, kg: float) -> float:
        return kg * _factor("kg", "pound" if self.us else "kg")

    def depth_text(self, cm: float) -> str:
        """To 1 mm, or to the eighth of an inch a ruler shows: ``19.1 cm``, ``7 1/2 in``."""
        if not self.us:
            return f"{_number(cm, 1)} cm"
        whole, eighths = divmod(round(self.depth(cm) * 8), 8)
        if not eighths:
            return f"{whole} in"
        g = math.gcd(eighths, 8)
        part = f"{eighths // g}/{8 // g}"
        return f"{whole} {part} in" if whole else f"{part} in"

    def volume_text(self, litres: float) -> str:
        """``18.0 L``, ``4.76 gal``."""
        return f"{_number(self.volume(litres), 2 if self.us else 1)} {self.volume_unit}"

    def small_volume_text(self, millilitres: float) -> str:
        """``150 mL``, ``5.1 fl oz``."""
        number = _number(self.small_volume(millilitres), 1 if self.us else 0)
        return f"{number} {self.small_volume_unit}"

    def mass_text(self, grams: float) -> str:
        """``350 g``, ``1.20 kg``; ``12.3 oz``, ``2.65 lb``: the larger unit from 1 kg or lb on."""
        if self.us:
            ounces = self.mass(grams)
            small = abs(round(ounces, 1)) < 16
            return f"{_number(ounces, 1)} oz" if small else f"{_number(ounces / 16, 2)} lb"
        return f"{_number(grams, 0)} g" if round(abs(grams)) < 1000 else _kilograms(grams)

    def weighed_text(self, amount: float, unit: str) -> str:
        """Salts and acid as a scale or a syringe shows them: grams, or hundredths of an ounce."""
        if self.us and unit == "g":
            return f"{_number(self.mass(amount), 2)} oz"
        digits = next((n for n in range(4) if round(amount, n) == amount), 3)
        return f"{_number(amount, digits)} {unit}"

    def weight_text(self, kg: float) -> str:
        """Of a vessel to lift: ``16.0 kg``, ``35 lb``."""
        return f"{_number(self.weight(kg), 0 if self.us else 1)} {self.weight_unit}"

    def exact_text(self, amount: float, unit: str) -> str:
        """An amount in L, cm, g or kg to five figures, for faults of a hair; others as they are."""
        say = {
            "L": (self.volume, self.volume_unit),
            "cm": (self.depth, self.depth_unit),
            "g": (self.mass, self.mass_unit),
            "kg": (self.weight, self.weight_unit),
        }
        change, shown = say.get(unit, (float, unit))
        return f"{change(amount):.5g} {shown}"

    def temperature_text(self, celsius: float) -> str:
        """``20 °C``, ``68 °F``."""
        shown = convert(celsius, "degC", "degF") if self.us else celsius
        return f"{_number(shown, 0)} °{'F' if self.us else 'C'}"

    def warmer_text(self, kelvin: float) -> str:
        """A difference of temperatures: ``3.0 °C``, ``5.4 °F``."""
        return f"{_number(kelvin * (1.8 if self.us else 1), 1)} °{'F' if self.us else 'C'}"


def _kilograms(grams: float) -> str:
    return f"{_number(grams / 1000, 2)} kg"


def mass(grams: float, units: str = METRIC) -> str:
    """See `Units.mass_text`."""
    return Units(units).mass_text(grams)


def load(kg: float, units: str = METRIC) -> str:
    """See `Units.weight_text`."""
    return Units(units).weight_text(kg)


def temperature(celsius: float, units: str = METRIC) -> str:
    """See `Units.temperature_text`."""
    return Units(units).temperature_text(celsius)


BY_WEIGHTS = N_("of the wish, by the garden's weights")  # where a gram of one group counts for more


def percent(part: float, up: bool = False) -> float:
    """A share [0..1] in per cent, to a tenth.

    What is not quite nothing or all does not read as such. ``up``: what cannot be exceeded, never
    rounded down.
    """
    number = math.ceil(part * 1000 - 1e-6) / 10 if up else round(100 * part, 1)
    if part > 1e-9:
        number = max(number, 0.1)
    return min(number, 99.9) if part < 1 - 1e-9 and not up else number


def share(part: float, up: bool = False) -> str:
    """``61.3 %``: a share as `percent` rounds it."""
    return f"{_number(percent(part, up), 1)} %"


def of_the_wish(weighted: bool) -> str:
    """What follows a share of the wish: whether grams are counted by weights."""
    return _(BY_WEIGHTS) if weighted else _("of the wish")
