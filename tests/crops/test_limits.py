"""What a mix may hold: what is short is told, what is too much is told, what poisons is refused."""

import pytest

from crops.solution import limits, salts
from crops.solution.conductivity import conductivity
from crops.solution.recipe import Goal, RecipeFault, Water, mix

WAY = salts.THREE_SALT.salts
GOOD = dict(mix(WAY, Goal(ec=1.5), 20.0).elements)
ALL = frozenset(salts.ELEMENTS)

# Copper 1.0 and zinc 2.0 mg/L: FAO Irrigation and Drainage Paper 29, Table 21 (from memory). Boron
# 3.0 and chloride 355 mg/L (10 meq/L): the same, Table 1, severe restriction (seen in a copy).
TOXIC = {"Cu": 1.0, "Zn": 2.0, "B": 3.0, "Cl": 355.0, "Na": 230.0, "Mn": 5.0, "Fe": 20.0, "Mo": 1.0}


@pytest.mark.parametrize(("element", "most"), TOXIC.items())
def test_poison_at_its_limit(element, most):
    assert limits.toxic(GOOD | {element: most}) == ()
    (said,) = limits.toxic(GOOD | {element: most * 1.01})
    assert limits.LIMITS[element].name in said


@pytest.mark.parametrize(("form", "name"), [("N_other", "urea"), ("N_NH4", "ammonium")])
def test_half_of_the_nitrogen_at_most(form, name):
    plain = {e: 0.0 if e in salts.NITROGEN else v for e, v in GOOD.items()}
    assert limits.toxic(plain | {"N_NO3": 75.0, form: 75.0}) == ()
    (said,) = limits.toxic(plain | {"N_NO3": 74.0, form: 75.0})
    assert name in said


@pytest.mark.parametrize("element", [e for e, v in limits.LIMITS.items() if v.low is not None])
def test_short_below_its_limit(element):
    low = limits.LIMITS[element].low
    key = "N_NO3" if element == "N" else element
    base = GOOD | dict.fromkeys(salts.NITROGEN, 0.0) if element == "N" else GOOD
    assert limits.remarks(base | {key: low}, ALL) == ()
    (said,) = limits.remarks(base | {key: low * 0.98}, ALL)
    assert said.startswith(f"Short of {limits.LIMITS[element].name}")


@pytest.mark.parametrize("element", [e for e, v in limits.LIMITS.items() if v.high is not None])
def test_much_above_its_limit(element):
    high = limits.LIMITS[element].high
    key = "N_NO3" if element == "N" else element
    base = GOOD | dict.fromkeys(salts.NITROGEN, 0.0) if element == "N" else GOOD
    assert limits.remarks(base | {key: high}, ALL) == ()
    (said,) = limits.remarks(base | {key: high * 1.02}, ALL)
    assert said.startswith(f"Much {limits.LIMITS[element].name}")


@pytest.mark.parametrize("way", salts.WAYS)
@pytest.mark.parametrize("ec", [1.0, 1.5, 2.0, 2.5])
def test_the_common_ways_of_mixing_pass(way, ec):
    """They are what growers mix: nothing in them is toxic at any strength a leaf crop is given."""
    assert limits.toxic(mix(salts.WAYS[way].salts, Goal(ec=ec), 20.0).elements) == ()


def test_published_solutions_pass():
    """Hoagland No. 1 with the micronutrients of 1950 (B 0.5, Mn 0.5, Zn 0.05, Cu 0.02, Mo 0.011
    mg/L, seen in a secondary copy; iron 1 to 5, from memory) is neither short nor high.
    """
    hoagland = {
        "N_NO3": 210.1,
        "P": 31.0,
        "K": 234.6,
        "Ca": 200.4,
        "Mg": 48.6,
        "S": 64.1,
        "Fe": 2.5,
        "B": 0.5,
        "Mn": 0.5,
        "Zn": 0.05,
        "Cu": 0.02,
        "Mo": 0.011,
    }
    assert limits.toxic(hoagland) == ()
    assert limits.remarks(hoagland, ALL) == ()


def test_a_bag_with_copper_in_it_is_refused():
    bad = salts.from_analysis("blue bag", "4-18-38", {"Cu": 20.0}, parts=2)
    with pytest.raises(RecipeFault, match="125 mg/L of copper|of copper; expected at most 1"):
        mix([bad, *WAY[1:]], Goal(ec=1.5), 20.0)


def test_urea_alone_is_refused():
    urea = salts.from_formula("urea", "CO(NH2)2", parts=1)
    potash = salts.from_formula("potash", "KH2PO4", parts=2)
    with pytest.raises(RecipeFault, match="are urea"):
        mix([urea, potash], Goal(ec=1.5), 20.0)


def test_no_iron_on_any_label_is_told():
    bare = salts.from_analysis("complete fertilizer", "4-18-38", parts=2)
    made = mix([bare, *WAY[1:]], Goal(ec=1.5), 20.0)
    (said,) = [n for n in made.notes if "No label names" in n]
    assert "iron" in said
    assert not [n for n in mix(WAY, Goal(ec=1.5), 20.0).notes if "No label" in n]


def test_sodium_of_the_water_is_told_and_refused():
    told = mix(WAY, Goal(ec=1.5), 20.0, Water({"Na": 150.0}))
    assert [n for n in told.notes if n.startswith("Much sodium: 150 mg/L")]
    with pytest.raises(RecipeFault, match="231 mg/L of sodium"):
        mix(WAY, Goal(ec=1.8), 20.0, Water({"Na": 231.0}))


def test_useful_strength_is_told_from_the_waters_own():
    made = mix(WAY, Goal(ec=1.5), 20.0, Water({"Na": 46.0, "Cl": 71.0}))
    # 2 meq/L of each: 0.2 by Handbook 60.
    assert made.water_ec.handbook == pytest.approx(0.2, abs=0.001)
    assert made.water_ec == conductivity({"Na": 46.0, "Cl": 71.0})
    assert made.ec.value == pytest.approx(1.5)
