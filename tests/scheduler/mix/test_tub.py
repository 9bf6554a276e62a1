"""A mix that measures otherwise than wanted: what is added to it in the tub."""

from __future__ import annotations

import json

import numpy as np
import pytest
from click.testing import CliRunner

from crops.solution.acid import ACIDS
from crops.solution.conductivity import conductivity
from crops.solution.recipe import RecipeFault, Water
from crops.solution.salts import ELEMENTS
from crops.solution.shelf import Shelf
from crops.solution.tub import ALKALINE, FITS, SOUR, STRONG, WEAK, correction
from scheduler.base.faults import DrylineError
from scheduler.commands.mix import command

RAIN = Shelf(scale=0.1)
HARD = Shelf(water=Water(alkalinity=120.0, ph=7.6), acid=ACIDS["phosphoric 75 %"])


@pytest.mark.parametrize(("now", "wanted"), [(1.2, 1.6), (0.6, 2.0)])
def test_what_is_added_to_a_weak_mix_makes_it_the_one_wanted(now, wanted):
    """The ions of what is in the tub and of what is added have the EC wanted (`conductivity`)."""
    found = correction(RAIN, 18.0, wanted, None, ec=now)
    assert found.strength == WEAK
    before = RAIN.recipe(18.0, now)
    total = np.array([before.elements.get(e, 0.0) for e in ELEMENTS])
    for salt, grams, weighed in found.salts:
        total += grams * 1000 / 18.0 * np.array([salt.shares.get(e, 0.0) for e in ELEMENTS])
        assert weighed == pytest.approx(grams, abs=0.05)
    got = conductivity(dict(zip(ELEMENTS, total, strict=True)))
    assert got.value == pytest.approx(wanted, abs=0.005)


def test_plain_water_gets_the_whole_recipe():
    found = correction(RAIN, 10.0, 1.5, None, ec=0.0)
    assert [g for _, g, _ in found.salts] == list(RAIN.recipe(10.0, 1.5).grams)


def test_a_strong_mix_is_thinned_by_the_balance_of_two_waters():
    """C1 V1 + C2 V2 = C (V1 + V2): 20 L of 2.0 with rain (0) to 1.6 take 5 L; or 4 L replaced."""
    found = correction(RAIN, 20.0, 1.6, None, ec=2.0)
    water = RAIN.recipe(20.0, 1.6).water_ec.value
    assert found.strength == STRONG
    assert (found.water, found.swap) == (pytest.approx(5.0, abs=0.05), pytest.approx(4.0, abs=0.05))
    assert 2.0 * 20 + water * found.water == pytest.approx(1.6 * (20 + found.water))
    assert 2.0 * (20 - found.swap) + water * found.swap == pytest.approx(1.6 * 20)


@pytest.mark.parametrize(("ec", "word"), [(1.39, WEAK), (1.41, FITS), (1.59, FITS), (1.61, STRONG)])
def test_less_than_a_meter_shows_is_left_alone(ec, word):
    found = correction(RAIN, 18.0, 1.5, None, ec=ec)
    assert found.strength == word
    assert bool(found.salts or found.water) is (word != FITS)


def test_acid_takes_away_what_is_left_of_the_alkalinity():
    """By hand, with the first step of carbonic acid, pK 6.35 (a handbook value, from memory).

    Shares that bind acid: 0.9468 at pH 7.6, 0.8762 at 7.2, 0.5855 at 6.5. Of 120 mg/L 111.1 are
    left at 7.2 and 74.2 at 6.5: 36.9 mg/L, or 0.737 meq/L, go; in 20 L 14.74 meq. Phosphoric acid
    gives 1 + 1 / (1 + 10^(7.20 - 6.5)) = 1.166 eq/mol there, and 75 % of 1.579 g/mL are 12.08
    mol/L: 1.046 mL.
    """
    found = correction(HARD, 20.0, 1.6, (6.0, 7.0), ph=7.2)
    assert found.acidity == ALKALINE
    assert found.acid.amount == pytest.approx(1.046, abs=0.005)


@pytest.mark.parametrize(
    ("ph", "word"), [(5.79, SOUR), (5.81, FITS), (7.19, FITS), (7.21, ALKALINE)]
)
def test_what_stands_in_the_crops_range_is_left_alone(ph, word):
    assert correction(HARD, 20.0, 1.6, (6.0, 7.0), ph=ph).acidity == word


def test_without_alkalinity_or_acid_none_is_reckoned_and_the_reason_is_told():
    from dataclasses import replace

    assert "alkalinity" in correction(RAIN, 20.0, 1.6, (6.0, 7.0), ph=7.6).why
    found = correction(replace(HARD, acid=None), 20.0, 1.6, (6.0, 7.0), ph=7.6)
    assert (found.acid, found.acidity) == (None, ALKALINE)
    assert "acid" in found.why


@pytest.mark.parametrize("measured", [{"ec": -0.1}, {"ec": 10.1}, {"ph": 14.1}, {"ph": -1.0}])
def test_what_no_meter_shows_of_a_mix_is_refused(measured):
    with pytest.raises(RecipeFault, match="measured"):
        correction(RAIN, 18.0, 1.5, (6.0, 7.0), **measured)


GARDEN = "examples/balcony/garden.yaml"


def call(*args):
    return CliRunner().invoke(command, [GARDEN, *args, "--units", "metric"], standalone_mode=False)


def test_the_command_says_what_to_add_and_what_to_mind():
    out = call("--litres", "10 L", "--crop", "pak choi", "--measured-ec", "1.2").output
    said = " ".join(out.split())
    assert "EC 1.2 mS/cm measured, 1.8 wanted: add 3 g + " in said
    assert "Never add salts or acid where a crop stands." in said
    assert "Goggles and gloves on" in said
    assert max(map(len, out.splitlines())) <= 79
    fits = call("--litres", "10 L", "--crop", "pak choi", "--measured-ec", "1.8").output
    assert "it fits." in fits
    assert "Take care" not in fits


def test_for_machines():
    args = ("--litres", "10 L", "--ec", "1.8", "--measured-ec", "2.4", "--json")
    got = json.loads(call(*args).output)
    assert (got["strength"], got["add"]) == ("strong", [])
    assert got["water_litres"] > got["or_replace_litres"] > 0


def test_a_ph_needs_to_know_what_is_wanted():
    result = call("--litres", "10 L", "--ec", "1.8", "--measured-ph", "7")
    assert isinstance(result.exception, DrylineError)
    assert "--ph is missing" in result.exception.text()
