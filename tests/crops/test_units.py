"""Written quantities: what people write is read, what is no quantity says so at once."""

from __future__ import annotations

import pytest

from crops.units import UnitFault, quantity


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        # exact definitions (BIPM SI brochure; NIST SP 811: inch 2.54 cm, US gallon 3.785411784 L)
        ("20 L", "litre", 20), ("20L", "litre", 20), ("1e3 mL", "litre", 1), (".5 L", "litre", 0.5),
        ("7.5 in", "cm", 19.05), ("7.5in", "cm", 19.05), ("1 gallon", "litre", 3.785411784),
        ("212 degF", "degC", 100), ("60degF", "degC", 140 / 9), ("-3 °C", "degC", -3),
        ("1 lb", "g", 453.59237), ("45.2 degree", "degree", 45.2), ("75 %", "", 0.75),
        ("12 mol/m^2/day", "mol/m^2/day", 12), ("12 mol/m²/day", "mol/m^2/day", 12),
        ("12 mol m^-2 day^-1", "mol/m^2/day", 12),
        ("1.8 dS/m", "mS/cm", 1.8),
    ],
)  # fmt: skip
def test_read(text, unit, value):
    assert quantity(text, unit) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "not a quantity"), ("litre", "not a quantity"), ("5", "no unit"),
        ("5 foo", "unknown unit"), ("5 kg", "another kind"), ("inf L", "not a quantity"),
        ("nan L", "not a quantity"), ("1e400 L", "too large"),
        # a decimal comma must not turn one and a half into fifteen
        ("1,5 L", "not a quantity"),
        # powers of powers would be computed for hours
        ("9**9**9**9 L", "not a quantity"), ("1 L**9**9**9", "unknown unit"),
        ("1 m^999999999", "unknown unit"), ("1 L*(9^9)^9", "unknown unit"),
    ],
)  # fmt: skip
def test_refused(text, says):
    with pytest.raises(UnitFault, match=says):
        quantity(text, "litre")
