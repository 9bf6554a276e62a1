"""Printed units. Outside values: NIST Handbook 44 (2024), appendix C, exact or rounded factors."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crops.units import number
from scheduler.garden.fields import measure
from scheduler.log.amounts import LEVEL, PICKED, kept
from scheduler.words import units as show
from scheduler.words.language import use_language
from scheduler.words.units import Units

METRIC, US = Units("metric"), Units("us")

# NIST Handbook 44, appendix C: 1 gal = 3.785 411 784 L; 1 in = 2.54 cm exactly;
# 1 lb = 453.592 37 g exactly; 1 oz avdp = 28.349 523 125 g exactly; 1 US fl oz = 29.573 53 mL.
FACTORS = [
    ("volume", 3.785411784, 1.0, "gal"),
    ("depth", 2.54, 1.0, "in"),
    ("mass", 28.349523125, 1.0, "oz"),
    ("weight", 0.45359237, 1.0, "lb"),
]


@pytest.mark.parametrize(("kind", "inside", "number", "unit"), FACTORS)
def test_factors_are_those_of_the_handbook(kind, inside, number, unit):
    assert getattr(US, kind)(inside) == pytest.approx(number, rel=1e-9)
    assert getattr(US, f"{kind}_unit") == unit


@pytest.mark.parametrize(
    ("call", "metric", "us"),
    [
        (lambda u: u.volume_text(18), "18.0 L", "4.76 gal"),
        (lambda u: u.depth_text(19.05), "19.1 cm", "7 1/2 in"),
        (lambda u: u.depth_text(20.0025), "20.0 cm", "7 7/8 in"),
        (lambda u: u.depth_text(0.3), "0.3 cm", "1/8 in"),
        (lambda u: u.depth_text(0.1), "0.1 cm", "0 in"),
        (lambda u: u.mass_text(350), "350 g", "12.3 oz"),
        (lambda u: u.mass_text(1200), "1.20 kg", "2.65 lb"),
        (lambda u: u.mass_text(453.59237), "454 g", "1.00 lb"),
        (lambda u: u.mass_text(453), "453 g", "1.00 lb"),
        (lambda u: u.mass_text(450), "450 g", "15.9 oz"),
        (lambda u: u.mass_text(1000), "1.00 kg", "2.20 lb"),
        (lambda u: u.mass_text(999.4), "999 g", "2.20 lb"),
        (lambda u: u.mass_text(-0.2), "0 g", "0.0 oz"),
        (lambda u: u.weighed_text(7.5, "g"), "7.5 g", "0.26 oz"),
        (lambda u: u.weighed_text(12.0, "mL"), "12 mL", "12 mL"),
        (lambda u: u.weight_text(16), "16.0 kg", "35 lb"),
        (lambda u: u.temperature_text(20), "20 °C", "68 °F"),
        (lambda u: u.temperature_text(-0.2), "0 °C", "32 °F"),
    ],
)
def test_texts(call, metric, us):
    assert (call(METRIC), call(US)) == (metric, us)


# What is printed last: 1 mm or 1/8 in; 0.1 L or 0.01 gal; 1 g up to 1 kg and 10 g above, 0.1 oz up
# to 1 lb and 0.01 lb above; 0.1 kg or 1 lb; a degree. Half of it is what may be lost.
KINDS = [
    ("depth", "cm", (0, 300), 0.05, 2.54 / 16),
    ("volume", "litre", (0, 500), 0.05, 3.785411784 / 200),
    ("mass", "g", (0, 20_000), 5.0, 453.59237 / 200),
    ("weighed", "g", (0, 2_000), 0.0005, 28.349523125 / 200),
    ("weight", "kg", (0, 500), 0.05, 0.45359237 / 2),
    ("temperature", "degC", (-30, 60), 0.5, 0.5),
]


@pytest.mark.parametrize("language", [None, "de"])
@pytest.mark.parametrize(("kind", "unit", "span", "metric", "us"), KINDS)
def test_everything_printed_can_be_typed_in_again(kind, unit, span, metric, us, language):
    """In a garden file and, what a log takes, in a log: to within half of what is printed last."""

    @given(st.floats(*span))
    def back(value):
        use_language(language)
        for units, lost in ((METRIC, metric), (US, us)):
            say = getattr(units, f"{kind}_text")
            text = say(round(value, 2), "g") if kind == "weighed" else say(value)
            got = measure(text, unit)
            assert got == pytest.approx(value, abs=lost + (0.005 if kind == "weighed" else 1e-6))
            if kind in ("depth", "volume"):
                what = LEVEL
            elif kind == "mass":
                what = PICKED
            else:
                continue
            parts = number(text)
            assert kept(what, parts[0], parts[1].strip())[0] == pytest.approx(got)

    back()


def test_an_unknown_system_is_refused():
    with pytest.raises(KeyError):
        show.mass(1, "imperial")
