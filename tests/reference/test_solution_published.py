"""The solution against published recipes, methods and an independent library of molar masses."""

import re
from dataclasses import replace

import pytest

from crops.catalogue import catalogue
from crops.solution import acid, balance, formula, salts, strength
from crops.solution.acid import ACIDS
from crops.solution.conductivity import conductivity, equivalents
from crops.solution.recipe import Goal, mix

SALTS = [
    "Ca(NO3)2.4H2O",
    "5Ca(NO3)2.NH4NO3.10H2O",
    "KNO3",
    "KH2PO4",
    "MgSO4.7H2O",
    "NH4H2PO4",
    "K2SO4",
    "CaCl2.2H2O",
    "(NH4)2SO4",
    "(NH4)2HPO4",
    "CO(NH2)2",
    "H3BO3",
    "Na2MoO4.2H2O",
    "MnSO4.H2O",
    "C10H12FeN2NaO8",
    "KMgClSO4.3H2O",
    "Mg(NO3)2.6H2O",
]


@pytest.mark.parametrize("text", SALTS)
def test_molar_masses_and_shares_agree_with_an_independent_library(text):
    molmass = pytest.importorskip("molmass")
    other = molmass.Formula(_without_dot(text))
    # Sulfur and boron vary in nature; abridged weights differ by up to 0.02 %.
    assert formula.molar_mass(text) == pytest.approx(other.mass, rel=2e-4)
    theirs = {row.symbol: row.fraction for row in other.composition().values()}
    ours = formula.mass_shares(text)
    assert {e: ours[e] for e in theirs} == pytest.approx(theirs, rel=3e-4)


def _without_dot(text):
    """``5Ca(NO3)2.10H2O`` as ``(Ca(NO3)2)5(H2O)10``, which the library reads."""
    parts = [re.fullmatch(r"(\d*)(.+)", part) for part in text.split(".")]
    return "".join(f"({p[2]}){p[1] or 1}" for p in parts)


@pytest.mark.parametrize(
    ("oxide", "element", "factor"),
    # As handbooks print them: P2O5 0.4364, K2O 0.8301, CaO 0.7147, MgO 0.6030, SO3 0.4005
    [
        ("P2O5", "P", 0.43642),
        ("K2O", "K", 0.83015),
        ("CaO", "Ca", 0.71469),
        ("MgO", "Mg", 0.60304),
        ("SO3", "S", 0.4005),
    ],
)
def test_oxide_factors(oxide, element, factor):
    assert formula.oxide_factor(oxide, element) == pytest.approx(factor, abs=5e-5)


HOAGLAND = {  # Hoagland & Arnon 1950, Circular 347, mmol/L (recipes from memory)
    1: {"KH2PO4": 1, "KNO3": 5, "Ca(NO3)2.4H2O": 5, "MgSO4.7H2O": 2},
    2: {"NH4H2PO4": 1, "KNO3": 6, "Ca(NO3)2.4H2O": 4, "MgSO4.7H2O": 2},
}


def hoagland(number):
    out = dict.fromkeys(salts.ELEMENTS, 0.0)
    for text, mmol in HOAGLAND[number].items():
        salt = salts.from_formula(text, text)
        for element, share in salt.shares.items():
            out[element] += share * formula.molar_mass(text) * mmol
    return out


@pytest.mark.parametrize(
    ("number", "totals"),
    # Published totals of No. 1: N 210, P 31, K 235, Ca 200, Mg 48.6, S 64 mg/L; No. 2: Ca 160.
    [
        (1, {"N": 210, "P": 31, "K": 235, "Ca": 200, "Mg": 48.6, "S": 64}),
        (2, {"N": 210, "P": 31, "K": 235, "Ca": 160, "Mg": 48.6, "S": 64}),
    ],
)
def test_hoagland_totals(number, totals):
    assert salts.main_elements(hoagland(number)) == pytest.approx(totals, rel=5e-3)


def test_hoagland_ec_by_both_methods():
    # No. 1: cations 6 K + 10 Ca + 4 Mg = 20 meq/L, over 10 = 2.0 (USDA Handbook 60). Ionic strength
    # (6 + 15 + 1 + 4 * (5 + 2 + 2)) / 2 = 29; 10 ** ((log10 29 - 1.159) / 1.009) = 1.998.
    first = conductivity(hoagland(1))
    assert first.handbook == pytest.approx(2.0, abs=1e-3)
    assert first.ionic == pytest.approx(1.998, abs=1e-3)
    # No. 2: 1 NH4 + 6 K + 8 Ca + 4 Mg = 19 meq/L; ionic strength 27.
    second = conductivity(hoagland(2))
    assert second.handbook == pytest.approx(1.9, abs=1e-3)
    assert second.ionic == pytest.approx(1.862, abs=1e-3)
    half = {e: v / 2 for e, v in hoagland(1).items()}
    assert conductivity(half).ionic == pytest.approx(1.005, abs=1e-3)


@pytest.mark.parametrize("number", [1, 2])
def test_least_squares_finds_the_recipe_behind_the_totals(number):
    """From the totals alone back to the millimoles of the Circular."""
    texts = HOAGLAND[number]
    shelf = [salts.from_formula(t, t) for t in texts]
    target = salts.TARGETS[f"hoagland-{number}"]
    recipe = mix(shelf, Goal(target=target), 1.0)
    mmol = {
        s.name: g / formula.molar_mass(s.name) * 1000
        for s, g in zip(recipe.salts, recipe.grams, strict=True)
    }
    assert mmol == pytest.approx(texts, rel=2e-3)
    assert max(abs(m) for m in recipe.misfit.values()) < 0.2


def test_three_salt_way_in_its_usual_grams():
    # 0.60 g/L 4-18-38, 0.60 g/L 15.5-0-0, 0.30 g/L magnesium sulfate: N 117.0, P 47.1, K 189.3,
    # Ca 114.0, Mg 29.6, S 39.0 mg/L.
    way = salts.THREE_SALT.salts
    out = dict.fromkeys(salts.ELEMENTS, 0.0)
    for salt in way:
        for element, share in salt.shares.items():
            out[element] += share * 300 * salt.parts
    expected = {"N": 117.0, "P": 47.1, "K": 189.3, "Ca": 114.0, "Mg": 29.6, "S": 39.0}
    assert salts.main_elements(out) == pytest.approx(expected, abs=0.06)


def test_acid_dose_against_the_published_example():
    # UMass Extension, Adjusting alkalinity with acids: 1 fl oz of 93 % sulfuric acid (specific
    # gravity 1.835) in 100 US gal neutralizes 136 mg/L CaCO3 and brings 43.6 mg/L S; to remove
    # 100 mg/L takes 100 x 0.23 = 23 mL (29.57 / 136 = 0.217 rounded up).
    strong = acid.Acid("sulfuric 93 %", "H2SO4", 0.93, 1.835, (-3.0, 1.99), "S", 5)
    gallons = 378.5412
    ounce = 29.5735
    assert acid.neutralize(strong, 136, gallons, 6.0) == pytest.approx(ounce, rel=0.01)
    assert acid.neutralize(strong, 100, gallons, 6.0) == pytest.approx(23, rel=0.06)
    grams_s = ounce * 1.835 * strong.element_share
    assert grams_s * 1000 / gallons == pytest.approx(43.6, rel=0.01)


@pytest.mark.parametrize(
    ("name", "ounces", "brings"),
    # A grower's table of acids (seen on a substrate maker's training page): fluid ounces in 100 US
    # gal that neutralize 50 mg/L CaCO3, and the nutrient they bring.
    [("nitric 67 %", 0.87, 14.3), ("phosphoric 75 %", 0.94, 27.5), ("sulfuric 35 %", 1.42, 16.1)],
)
def test_acids_against_a_table(name, ounces, brings):
    # The table counts 1.13 steps for phosphoric acid, as at pH 6.35; the others do not care.
    found = ACIDS[name]
    ml = acid.neutralize(found, 50, 378.5412, 6.35)
    assert ml / 29.5735 == pytest.approx(ounces, rel=0.02)
    assert ml * found.density * found.element_share * 1000 / 378.5412 == pytest.approx(
        brings, rel=0.03
    )


# Two measured tiers. Common practice, no source.


def test_pak_choi_whose_fill_was_a_little_weak():
    # 10.9 L at 1.38; about 1.5 in of 7.5 in left at 0.82: 2.18 L. Taken up (10.9 x 1.38 - 2.18 x
    # 0.82) / 8.72 = 1.52 mS/cm, a tenth above the fill.
    found = balance.judge(10.9, 1.38, 10.9 * 1.5 / 7.5, 0.82)
    assert found.conclusion == balance.WEAK
    assert found.uptake_ec == pytest.approx(1.52, abs=0.005)
    assert found.change == pytest.approx(0.101, abs=0.002)
    low, high = found.interval
    assert 0.05 < low < found.change < high < 0.15
    assert found.next_ec == pytest.approx(1.52, abs=0.005)


def test_lettuce_whose_fill_was_about_right():
    # 0.75 in of 7.5 in left at 1.92: (10.9 x 1.38 - 1.09 x 1.92) / 9.81 = 1.32, 4 % under the fill.
    found = balance.judge(10.9, 1.38, 10.9 * 0.75 / 7.5, 1.92)
    assert found.conclusion == balance.RIGHT
    assert found.change == pytest.approx(-0.043, abs=0.002)
    assert found.next_ec == 1.38


def test_sign_of_the_drift_with_published_uptake():
    """Batavia lettuce (Frontiers in Plant Science 2024, 15:1411572, abstract) takes up K 10.2, Ca 3.13
    and Mg 0.86 mmol/L: 10.2 + 6.26 + 1.72 = 18.2 meq/L, 1.82 mS/cm by Handbook 60. A fill weaker
    than that falls, one stronger rises; of potassium (398.8 mg/L) both hold too little. At the
    reference water use that is the uptake of a crop with these numbers.
    """
    mmol = {
        "uptake_n": 13.4 * 14.007,
        "uptake_p": 1.72 * 30.974,
        "uptake_k": 10.2 * 39.098,
        "uptake_ca": 3.13 * 40.078,
        "uptake_mg": 0.86 * 24.305,
    }
    lettuce = replace(catalogue()["leaf_lettuce"], **mmol)
    assert balance.drawn(lettuce) == pytest.approx(1.82, abs=0.005)
    full = hoagland(1)
    half = {e: v / 2 for e, v in full.items()}
    weak, strong = (balance.expected_ec(lettuce, conductivity(s).value, 0.6) for s in (half, full))
    assert weak.ec < 0.95 * conductivity(half).value
    assert strong.ec > conductivity(full).value
    assert "K" in balance.used_up(lettuce, full, 0.3)
    assert "K" in balance.used_up(lettuce, half, 0.4)


def test_mass_balance_uptake_holds_the_strength():
    """3 g of dry mass per litre at tissue N 4.5, P 0.6, K 7, Ca 1.3, Mg 0.4 % (method of Langenfeld
    et al. 2022, tissue from memory) is N 135, P 18, K 210, Ca 39, Mg 12 mg/L: 5.37 + 1.95 + 0.99 =
    8.3 meq/L of cations. A fill of just that keeps its strength.
    """
    crop = replace(
        catalogue()["leaf_lettuce"],
        uptake_n=135,
        uptake_p=18,
        uptake_k=210,
        uptake_ca=39,
        uptake_mg=12,
    )
    start = {"K": 210.0, "Ca": 39.0, "Mg": 12.0, salts.N_NITRATE: 135.0, "P": 18.0, "S": 9.0}
    assert sum(equivalents(start)[0].values()) == pytest.approx(8.3, abs=0.05)
    fill = balance.strength(start)
    assert balance.expected_ec(crop, fill, 0.3).ec == pytest.approx(fill, rel=1e-6)


def test_the_two_measured_tiers_lie_within_what_is_expected():
    """The same tiers as above, foretold from the catalogue: 10.9 L at 1.38 mS/cm in open-air summer
    (lettuce drinks about 29, pak choi about 25 mL per g). Common practice, no source.
    """
    for crop, left, per_gram, measured in (
        ("leaf_lettuce", 1.09, 29.0, 1.92),
        ("pak_choi", 2.18, 25.0, 0.82),
    ):
        found = balance.expected_ec(catalogue()[crop], 1.38, left / 10.9, per_gram)
        assert abs(found.ec - measured) < found.spread
    assert found.spread > 0.5  # honest doubt: a fifth of the water holds what is left of the salts


def test_lettuce_in_solution_loses_above_two_and_a_half():
    """Andriolo et al. 2005, Horticultura Brasileira 23:931-934, abstract: lettuce fed with solution
    of 0.80, 1.93, 2.81, 3.73 and 4.72 dS/m loses fresh mass above 2.6, 16.5 % from 1.93 to 4.72.
    The response of Maas & Hoffman (1.3 dS/m, 13 %), whose extract is half as strong as the water
    the roots stand in, has its threshold at 2.6 and gives 13 % x (2.36 - 1.3) = 13.8 % at 4.72.
    """
    lettuce = catalogue()["leaf_lettuce"]
    assert strength.lost(lettuce, 1.93) == 0
    assert strength.lost(lettuce, 2.6) == pytest.approx(0, abs=1e-9)
    assert 0 < strength.lost(lettuce, 2.81) < 0.03
    assert strength.lost(lettuce, 4.72) == pytest.approx(0.165, abs=0.03)
