"""Written quantities: what people write is read, what is no quantity says so at once."""

from __future__ import annotations

import pytest

from crops import units
from crops.units import UnitFault, quantity


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        # exact definitions (BIPM SI brochure; NIST SP 811: inch 2.54 cm, US gallon 3.785411784 L)
        ("20 L", "litre", 20),
        ("20L", "litre", 20),
        ("1e3 mL", "litre", 1),
        (".5 L", "litre", 0.5),
        ("7.5 in", "cm", 19.05),
        ("7.5in", "cm", 19.05),
        ("1 gallon", "litre", 3.785411784),
        ("212 degF", "degC", 100),
        ("60degF", "degC", 140 / 9),
        ("-3 °C", "degC", -3),
        ("1 lb", "g", 453.59237),
        ("45.2 degree", "degree", 45.2),
        ("75 %", "", 0.75),
        ("12 mol/m^2/day", "mol/m^2/day", 12),
        ("12 mol/m²/day", "mol/m^2/day", 12),
        ("12 mol m^-2 day^-1", "mol/m^2/day", 12),
        ("1.8 dS/m", "mS/cm", 1.8),
        # as on a ruler in inches
        ("7 7/8 in", "cm", 20.0025),
        ("7-7/8in", "cm", 20.0025),
        ("7⅞ in", "cm", 20.0025),
        ("7 ⅞ in", "cm", 20.0025),
        ("7/8 in", "cm", 2.2225),
        ("½ gallon", "litre", 1.892705892),
        ("7 7⁄8 in", "cm", 20.0025),
        ("-1/2 degC", "degC", -0.5),
        # a decimal comma that can be no thousands mark
        ("1,5 L", "litre", 1.5),
        ("19,05 cm", "cm", 19.05),
        ("0,125 L", "litre", 0.125),
    ],
)
def test_read(text, unit, value):
    assert quantity(text, unit) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "not a quantity"),
        ("litre", "not a quantity"),
        ("5", "no unit"),
        ("5 foo", "unknown unit"),
        ("5 kg", "another kind"),
        ("inf L", "not a quantity"),
        ("nan L", "not a quantity"),
        ("1e400 L", "too large"),
        # one and a half, or fifteen hundred
        ("1,500 L", "not a quantity"),
        ("1,5,5 L", "not a quantity"),
        ("1.5.5 L", "not a quantity"),
        # no fraction of a ruler
        ("7 9/8 L", "not a quantity"),
        ("8/8 L", "not a quantity"),
        ("1/0 L", "not a quantity"),
        ("5/4/2 L", "not a quantity"),
        ("7.5 1/2 L", "not a quantity"),
        ("7⅞⅞ L", "not a quantity"),
        ("1/2e3 L", "unknown unit"),
        # powers of powers would be computed for hours
        ("9**9**9**9 L", "not a quantity"),
        ("1 L**9**9**9", "unknown unit"),
        ("1 m^999999999", "unknown unit"),
        ("1 L*(9^9)^9", "unknown unit"),
    ],
)
def test_refused(text, says):
    with pytest.raises(UnitFault, match=says):
        quantity(text, "litre")


@pytest.mark.slow
def test_the_short_table_says_what_the_unit_library_says():
    held = 0
    for named, kind in units._KIND.items():
        for unit in (n for n, k in units._KIND.items() if k == kind):
            for number in (-40.0, 0.0, 0.3, 1234.5):
                long = units.registry().Quantity(number, named).to(unit).magnitude
                got = quantity(f"{number!r} {named}", unit)
                assert units.converted(number, named, unit) == got
                assert got == pytest.approx(long, rel=1e-12, abs=1e-9), (named, unit)
                held += 1
    assert held > 1000


def test_what_is_of_another_kind_in_the_short_table_is_so_in_the_unit_library():
    for named, kind in units._KIND.items():
        for unit in ("litre", "cm", "g", "day", "degree", "mS/cm", "degC"):
            if units._KIND[unit] != kind:
                with pytest.raises(Exception, match="annot convert"):
                    units.registry().Quantity(1.0, named).to(unit)
                with pytest.raises(UnitFault, match="another kind"):
                    quantity(f"1 {named}", unit)


def test_no_unit_stands_in_two_kinds_of_the_short_table():
    names = [*(n for kind in units._KINDS for n in kind), *units._CELSIUS, *units._FAHRENHEIT]
    assert len(names) == len(set(names)) == len(units._KIND)
