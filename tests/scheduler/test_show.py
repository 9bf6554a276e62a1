"""Printed units. Outside values: NIST Handbook 44 (2024), appendix C, exact or rounded factors."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler import show
from scheduler.garden_fields import measure

# NIST Handbook 44, appendix C: 1 gal = 3.785 411 784 L; 1 in = 2.54 cm exactly;
# 1 lb = 453.592 37 g exactly; 1 oz avdp = 28.349 523 125 g exactly; 1 US fl oz = 29.573 53 mL.
FACTORS = [
    ("volume", 3.785411784, 1.0, "gal"),
    ("depth", 2.54, 1.0, "in"),
    ("mass", 453.59237, 1.0, "lb"),
    ("light_mass", 28.349523125, 1.0, "oz"),
    ("small_volume", 29.57353, 1.0, "fl oz"),
    ("load", 0.45359237, 1.0, "lb"),
    ("temperature", 100.0, 212.0, "°F"),
    ("temperature", -40.0, -40.0, "°F"),
]


@pytest.mark.parametrize(("kind", "inside", "number", "unit"), FACTORS)
def test_factors_are_those_of_the_handbook(kind, inside, number, unit):
    got = show.shown(kind, inside, "us")
    assert got[0] == pytest.approx(number, rel=1e-6)
    assert got[1] == unit


@pytest.mark.parametrize(("call", "metric", "us"), [
    (lambda u: show.volume(18, u), "18.0 L", "4.76 gal"),
    (lambda u: show.depth(19.05, u), "19.1 cm", "7.5 in"),
    (lambda u: show.mass(350, u), "350 g", "12.3 oz"),
    (lambda u: show.mass(1200, u), "1.20 kg", "2.65 lb"),
    (lambda u: show.mass(453.59237, u), "454 g", "1.00 lb"),
    (lambda u: show.mass(1000, u), "1.00 kg", "2.20 lb"),
    (lambda u: show.mass(999.4, u), "999 g", "2.20 lb"),
    (lambda u: show.load(16, u), "16.0 kg", "35 lb"),
    (lambda u: show.temperature(20, u), "20 °C", "68 °F"),
    (lambda u: show.temperature(-0.2, u), "0 °C", "32 °F"),
    (lambda u: show.small_volume(150, u), "150 mL", "5.1 fl oz"),
])  # fmt: skip
def test_texts(call, metric, us):
    assert (call("metric"), call("us")) == (metric, us)


@given(st.floats(0.1, 200))
def test_what_is_printed_reads_back(litres):
    """Printed and read again, a fill comes back to within the digits shown: 0.005 gal is 19 mL."""
    for units, error in (("metric", 0.05), ("us", 0.019)):
        assert measure(show.volume(litres, units), "litre") == pytest.approx(
            litres, abs=error + 1e-6
        )


def test_an_unknown_system_is_refused():
    with pytest.raises(KeyError):
        show.volume(1, "imperial")
