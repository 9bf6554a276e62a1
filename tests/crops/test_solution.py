"""The solution: fertilizers, recipes, acid, concentrates, what is left of it, pH."""

import contextlib
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crops.catalogue import catalogue
from crops.solution import acid, balance, cautions, formula, ph, salts, stock
from crops.solution.acid import ACIDS, AcidFault
from crops.solution.recipe import Goal, RecipeFault, Water, mix

WAY = salts.THREE_SALT.salts


def shelf(*texts):
    return [salts.from_formula(t, t) for t in texts]


# Formulas


def test_nitrogen_forms_of_a_double_salt():
    found = formula.mass_shares("5Ca(NO3)2.NH4NO3.10H2O")
    # 11 nitrate and 1 ammonium nitrogen in 1080.6 g: 14.26 % and 1.30 %.
    assert found["NO3"] == pytest.approx(11 * 14.007 / 1080.64, rel=1e-4)
    assert found["NH4"] == pytest.approx(14.007 / 1080.64, rel=1e-4)
    assert found["N"] == pytest.approx(found["NO3"] + found["NH4"])


@pytest.mark.parametrize("text", ["MgSO4.7H2O", "MgSO4·7H2O", "MgSO4 * 7 H2O", "MgSO₄·7H₂O"])
def test_ways_of_writing_water(text):
    assert formula.molar_mass(text) == pytest.approx(246.47, abs=0.01)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "   ",
        "Xx",
        "Ca(NO3",
        "Ca)NO3",
        "()",
        "Ca(NO3)0",
        "2",
        "KNO3.",
        ".7H2O",
        "K$",
        "KNO3-7",
        "N" * 81,
        "(" * 40,
        "K9999999",
        "5.5",
        "H2SO4;",
        "Am",
    ],
)
def test_what_is_no_formula(text):
    with pytest.raises(formula.FormulaFault):
        formula.molar_mass(text)


@given(st.text(max_size=30))
@settings(max_examples=200, deadline=None)
def test_any_text_is_a_formula_or_a_fault(text):
    with contextlib.suppress(formula.FormulaFault):
        assert formula.molar_mass(text) > 0


# Labels


def test_label_states_oxides():
    salt = salts.from_analysis("x", "4-18-38")
    # 18 % P2O5 is 7.86 % P, 38 % K2O is 31.55 % K.
    assert salt.shares["P"] == pytest.approx(0.0786, abs=1e-4)
    assert salt.shares["K"] == pytest.approx(0.3155, abs=1e-4)


def test_european_lines_are_oxides_too():
    us = salts.from_analysis("x", "5-12-26", {"Mg": 6.0})
    eu = salts.from_analysis("x", "5-12-26", {"MgO": 6.0 / 0.60304})
    assert eu.shares["Mg"] == pytest.approx(us.shares["Mg"], rel=1e-4)


def test_forms_of_nitrogen():
    salt = salts.from_analysis("x", "15.5-0-0", {"Ca": 19.0}, ammonium=1.1)
    assert salt.shares[salts.N_AMMONIUM] == pytest.approx(0.011)
    assert salt.shares[salts.N_NITRATE] == pytest.approx(0.144)


@pytest.mark.parametrize(
    ("grade", "others", "ammonium"),
    [
        ("4-18", {}, 0),
        ("a-b-c", {}, 0),
        ("60-60-0", {}, 0),
        ("5-0-0", {}, 6),
        ("0-0-0", {}, 0),
        ("5-10-0", {"P": 3}, 0),
        ("40-40-10", {"Ca": 60}, 0),
        ("5-0-0", {"X": 1}, 0),
        ("5-0-0", {"Ca": -1}, 0),
    ],
)
def test_what_is_no_label(grade, others, ammonium):
    with pytest.raises(salts.SaltFault):
        salts.from_analysis("x", grade, others, ammonium)


# Recipes


@pytest.mark.parametrize("way", salts.WAYS.values(), ids=lambda w: w.name)
def test_common_ways_reach_the_ec(way):
    recipe = mix(way.salts, Goal(ec=1.6), 18.0)
    assert recipe.ec.value == pytest.approx(1.6, abs=1e-6)
    parts = {s.name: s.parts for s in way.salts}
    first = recipe.salts[0]
    for salt, grams in zip(recipe.salts, recipe.grams, strict=True):
        assert grams / recipe.grams[0] == pytest.approx(parts[salt.name] / parts[first.name])
    assert recipe.cautions
    assert all(salts.main_elements(recipe.elements)[e] > 40 for e in ("N", "K", "Ca"))


def test_twice_the_volume_takes_twice_the_salt():
    one, two = (mix(WAY, Goal(ec=1.5), litres) for litres in (10.0, 20.0))
    assert two.grams == pytest.approx([2 * g for g in one.grams])


def test_water_counts():
    """Calcium in the water takes the place of calcium salt; the EC is the same."""
    far = shelf("KNO3", "KH2PO4", "Ca(NO3)2.4H2O", "MgSO4.7H2O")
    target = salts.TARGETS["leafy"]
    pure = mix(far, Goal(target=target), 10.0)
    hard = mix(far, Goal(target=target), 10.0, Water({"Ca": 60.0}))
    grams = [dict(zip([s.name for s in r.salts], r.grams, strict=True)) for r in (pure, hard)]
    # 60 mg/L of calcium over 10 L is 0.6 g, in a salt of 16.97 % calcium 3.5 g; nitrogen
    # pulls back.
    assert 1.0 < grams[0]["Ca(NO3)2.4H2O"] - grams[1]["Ca(NO3)2.4H2O"] < 3.6
    at_ec = mix(far, Goal(ec=1.5, target=target), 10.0, Water({"Ca": 60.0}, alkalinity=100))
    assert at_ec.ec.value == pytest.approx(1.5, abs=1e-6)


def test_misfit_is_mix_minus_wanted_and_shows_what_is_missing():
    recipe = mix(shelf("KNO3", "Ca(NO3)2.4H2O"), Goal(target=salts.TARGETS["leafy"]), 10.0)
    assert recipe.misfit["P"] == pytest.approx(-40.0)
    have = salts.main_elements(recipe.elements)
    assert recipe.misfit == pytest.approx(
        {e: have[e] - w for e, w in salts.TARGETS["leafy"].items()}
    )


@given(
    st.dictionaries(st.sampled_from(salts.MAIN), st.floats(1, 400), min_size=1),
    st.floats(1, 500),
)
@settings(max_examples=60, deadline=None)
def test_no_salt_is_ever_negative_and_none_fits_better(target, litres):
    far = shelf("KNO3", "KH2PO4", "Ca(NO3)2.4H2O", "MgSO4.7H2O", "K2SO4")
    try:
        recipe = mix(far, Goal(target=target), litres)
    except RecipeFault:
        return
    assert all(g >= 0 for g in recipe.grams)
    if recipe.misfit.keys() != {"S"}:
        miss = _miss(recipe.misfit, target)
        names = {s.name: g for s, g in zip(recipe.salts, recipe.grams, strict=True)}
        for salt in far:  # a little more of any salt is never nearer
            moved = dict(recipe.misfit)
            step = 0.01 * (names.get(salt.name, 0.0) + 1)
            for element, share in salts.main_elements(salt.shares).items():
                if element in moved:
                    moved[element] += share * step * 1000 / litres
            assert _miss(moved, target) >= miss - 1e-9


def _miss(misfit, target):
    return sum((m * (0.3 if e == "S" else 1) / max(target[e], 10)) ** 2 for e, m in misfit.items())


def test_rounding_on_a_coarse_scale_is_told():
    fine, coarse = (mix(WAY, Goal(ec=1.5), 10.9, scale=s) for s in (0.1, 5.0))
    assert not any("moves" in n for n in fine.notes)
    assert any("moves" in n and "Mg" in n for n in coarse.notes)
    assert all(g / 5 == round(g / 5) for g in coarse.weighed)
    assert coarse.weighed_ec.value != pytest.approx(coarse.ec.value, rel=1e-3)
    # Every gram weighed is at most half a step from the exact one.
    assert all(abs(w - g) <= 2.5 + 1e-9 for w, g in zip(coarse.weighed, coarse.grams, strict=True))


@pytest.mark.parametrize(
    ("goal", "litres", "says"),
    [
        (Goal(ec=1.5), 0.0, "0 L"),
        (Goal(ec=1.5), -3.0, "-3 L"),
        (Goal(ec=1.5), math.nan, "nan L"),
        (Goal(ec=1.5), 1e6, "at most"),
        (Goal(ec=0.0), 10.0, "EC 0"),
        (Goal(ec=6.1), 10.0, "burns roots"),
        (Goal(), 10.0, "nothing is wanted"),
        (Goal(target={"N": 1900.0}), 10.0, "burns roots"),
        (Goal(target={"N": -1.0}), 10.0, "0 to 2000"),
        (Goal(target={"N": 0.0}), 10.0, "not all 0"),
        (Goal(ec=1.5, ph=3.9), 10.0, "4 to 8"),
        (Goal(ec=1.5, ph=8.1), 10.0, "4 to 8"),
    ],
)
def test_refusals_say_why(goal, litres, says):
    with pytest.raises(RecipeFault, match=says):
        mix(WAY, goal, litres, Water(alkalinity=100))


@pytest.mark.parametrize("edge", [4.0, 8.0])
def test_ph_at_the_edge_is_taken(edge):
    assert mix(WAY, Goal(ec=1.5, ph=edge), 10.0, Water(alkalinity=100)).ec.value > 0


def test_water_that_is_too_strong_already():
    # 8.7 meq/L of each, which poisons nothing: 0.87 by Handbook 60, 10 ** ((log10 8.7 - 1.159) /
    # 1.009) = 0.61 by ionic strength, 0.74 on the mean.
    salty = Water({"Na": 200.0, "Cl": 308.4})
    with pytest.raises(RecipeFault, match=r"water alone has EC 0\.74"):
        mix(WAY, Goal(ec=0.73), 10.0, salty)
    assert mix(WAY, Goal(ec=0.75), 10.0, salty).grams[0] > 0


def test_urea_does_not_raise_the_ec():
    urea = salts.from_formula("urea", "CO(NH2)2", parts=1)
    with pytest.raises(RecipeFault, match="urea"):
        mix([urea], Goal(ec=1.0), 10.0)


def test_fertilizers_without_parts_need_a_target():
    with pytest.raises(RecipeFault, match="parts"):
        mix(shelf("KNO3"), Goal(ec=1.0), 10.0)


# Order and cautions


def test_calcium_is_dissolved_last_and_acid_comes_into_water():
    recipe = mix(WAY, Goal(ec=1.5, ph=6.0), 10.0, Water(alkalinity=150))
    assert [s.name for s in recipe.salts][-1] == "calcium nitrate"
    text = " ".join(recipe.steps)
    assert text.index("water") < text.index("acid") < text.index("Dissolve")
    assert any("acid into water, never water into acid" in c for c in recipe.cautions)
    assert not any("into water, never" in c for c in mix(WAY, Goal(ec=1.5), 10.0).cautions)


def test_every_recipe_speaks_of_goggles_and_local_rules():
    for dose in (None, acid.dose(ACIDS["nitric 67 %"], 100, 7.5, 6.0, 10)):
        text = " ".join(cautions.texts(dose)).lower()
        assert "goggles" in text
        assert "gloves" in text
        assert "local rules" in text
    assert any("fumes" in c for c in cautions.texts(dose))


# Acid


def test_stronger_alkalinity_takes_more_acid_in_proportion():
    one, two = (acid.dose(ACIDS["sulfuric 35 %"], a, 7.5, 6.0, 10).amount for a in (80, 160))
    assert two == pytest.approx(2 * one)


def test_alkalinity_left_at_the_first_dissociation_step_is_half():
    # At pH 6.35 half the carbon is bicarbonate; from pH 9 (almost all) half is left.
    assert acid.alkalinity_left(100, 9.0, 6.35) == pytest.approx(50, abs=0.2)


def test_no_acid_where_the_water_is_sour_enough():
    assert acid.dose(ACIDS["citric"], 50, 5.5, 6.0, 10).amount == 0
    assert mix(WAY, Goal(ec=1.5, ph=6.0), 10.0, Water(alkalinity=0)).dose is None


def test_citric_acid_is_held_back_for_the_roots():
    """At most 0.3 meq/L, 15 mg/L of alkalinity: just not held, just held."""
    edge = acid.EATEN_MOST * 50.04
    share = acid.bicarbonate_share(6.0) / acid.bicarbonate_share(7.5)
    for times, held in ((0.999, False), (1.001, True)):
        dose = acid.dose(ACIDS["citric"], times * edge / (1 - share), 7.5, 6.0, 10)
        assert dose.held == held
        assert dose.neutralized == pytest.approx(edge, rel=2e-3)
    assert dose.ph == pytest.approx(6.0, abs=0.01)
    much = acid.dose(ACIDS["citric"], 180.0, 7.5, 6.0, 10)
    assert much.neutralized == pytest.approx(edge, rel=1e-3)
    assert much.left == pytest.approx(180 - edge, rel=1e-3)
    assert 6.9 < much.ph < 7.2  # 165 of 180 mg/L, 0.856 of the carbon, bind acid: pH 7.12
    strong = acid.dose(ACIDS["sulfuric 35 %"], 180.0, 7.5, 6.0, 10)
    assert not strong.held
    assert strong.ph == 6.0


def test_what_microbes_take_to_eat_citric_acid():
    """C6H8O7 + 4.5 O2: the dose that would bring 180 mg/L of alkalinity at pH 7.5 to pH 6 takes
    about 157 mg/L of oxygen, where water holds 8: 2.41 meq/L over 2.23 per mole, 1.08 mmol/L.
    """
    citric = ACIDS["citric"]
    removed = 180.0 - acid.alkalinity_left(180.0, 7.5, 6.0)
    moles = removed / 50.04 / citric.equivalents(6.0)
    assert moles * citric.oxygen * 31.998 == pytest.approx(157, rel=0.02)
    dose = acid.dose(citric, 180.0, 7.5, 6.0, 10)
    # Held to 0.3 meq/L, at pH 7.12 2.8 equivalents a mole: 0.107 mmol/L, 15 mg/L of oxygen.
    assert dose.oxygen == pytest.approx(0.3 / 2.8 * 4.5 * 32, rel=0.03)
    assert acid.dose(ACIDS["nitric 67 %"], 180.0, 7.5, 6.0, 10).oxygen == 0


def test_ph_once_the_carbonic_acid_has_left():
    """Pure water open to the air stands at pH 5.6 (textbooks on rain water); water with 1 meq/L of
    alkalinity at 6.35 + log10(0.001 / 1.42e-5) = 8.2.
    """
    assert acid.open_ph(0.0) == pytest.approx(5.6, abs=0.05)
    assert acid.open_ph(50.04) == pytest.approx(8.2, abs=0.02)
    dose = acid.dose(ACIDS["sulfuric 35 %"], 180.0, 7.5, 6.0, 10)
    assert dose.open_ph == acid.open_ph(dose.left)
    assert dose.eaten_ph is None
    citric = acid.dose(ACIDS["citric"], 180.0, 7.5, 6.0, 10)
    assert citric.eaten_ph == acid.open_ph(180.0)
    assert citric.eaten_ph > citric.open_ph


@given(st.floats(4.0, 8.0))
def test_share_and_ph_are_each_others_inverse(value):
    assert acid.ph_of_share(acid.bicarbonate_share(value)) == pytest.approx(value)


def test_acids_are_ranked_by_hands_and_roots():
    """What is gentle to hands but eaten, and what feeds but burns and fumes, come last."""
    assert acid.RANKED[0] == "sulfuric 35 %"
    assert acid.RANKED[-2:] == ("citric", "nitric 67 %")


def test_a_recipe_says_what_becomes_of_the_ph():
    hard = Water({}, 180.0, 7.5)
    told = " ".join(mix(WAY, Goal(ec=1.5, ph=6.0), 10.0, hard).notes)
    assert "pH 8.7" in told  # 165 mg/L left, 3.3 meq/L: 6.35 + log10(0.0033 / 1.42e-5)
    assert "Citric acid is held to 0.3 meq/L" in told
    assert "sulfuric 35 %" in told
    plain = " ".join(mix(WAY, Goal(ec=1.5), 10.0, hard).notes)
    assert "No acid: the 180 mg/L of alkalinity keep it at about pH 8.8" in plain
    assert "lkalinity" not in " ".join(mix(WAY, Goal(ec=1.5), 10.0).notes)


def test_phosphoric_acid_at_its_limit():
    # 2.25 fl oz of 75 % in 100 US gal: 0.1758 mL/L. At pH 6 a mole gives 1.06 equivalents: just
    # feasible at 0.1758 x 1.579 x 0.75 / 97.99 x 1000 x 1.059 = 2.25 meq/L neutralized.
    weak = acid.dose(ACIDS["phosphoric 75 %"], 155.0, 8.5, 6.0, 10)
    assert weak.amount / 10 < acid.PHOSPHORIC_LIMIT
    with pytest.raises(AcidFault, match=r"2\.25 fl oz"):
        acid.dose(ACIDS["phosphoric 75 %"], 175.0, 8.5, 6.0, 10)


def test_acid_feeds():
    dose = acid.dose(ACIDS["nitric 67 %"], 100.0, 8.0, 5.8, 10)
    # Each meq/L of nitric acid brings 14.007 mg/L of nitrate nitrogen.
    assert dose.mg_per_l == pytest.approx(dose.neutralized / 50.04 * 14.007, rel=1e-3)
    with_it = mix(WAY, Goal(ec=1.5, ph=5.8), 10.0, Water({}, 100.0, 8.0), ACIDS["nitric 67 %"])
    assert with_it.elements[salts.N_NITRATE] > dose.mg_per_l


# Concentrates


def test_two_bottles_keep_calcium_apart():
    made = stock.concentrates(mix(WAY, Goal(ec=1.6), 20.0), 100)
    assert [s.name for s, _ in made.a] == ["calcium nitrate"]
    assert not any(s.calcium for s, _ in made.b)
    # 10 mL of each into a litre; 20 L take 0.2 L of each and 19.6 L of water.
    assert made.ml_per_litre == pytest.approx(10)
    assert made.litres_each == pytest.approx(0.2)
    assert made.water_l == pytest.approx(19.6)


def test_concentrate_beyond_what_dissolves():
    recipe = mix(shelf("K2SO4", "Ca(NO3)2.4H2O"), Goal(target={"K": 200.0, "Ca": 100.0}), 10.0)
    # 200 mg/L of K is 0.446 g/L of K2SO4; 111 g/L dissolve: up to 249 times.
    grams = dict(zip([s.name for s in recipe.salts], recipe.grams, strict=True))["K2SO4"] / 10
    edge = 111 / grams
    assert stock.concentrates(recipe, edge * 0.999).b
    with pytest.raises(RecipeFault, match="more than dissolves"):
        stock.concentrates(recipe, edge * 1.001)


def test_concentrates_that_leave_no_water():
    recipe = mix(WAY, Goal(ec=1.6), 20.0)
    with pytest.raises(RecipeFault, match="for water"):
        stock.concentrates(recipe, 2)
    assert stock.concentrates(recipe, 2.1).water_l > 0


def test_one_bag_is_never_a_concentrate():
    with pytest.raises(RecipeFault, match="falls out"):
        stock.concentrates(mix(salts.ONE_BAG.salts, Goal(ec=1.6), 20.0), 50)


# What two readings say

LETTUCE = catalogue()["leaf_lettuce"]


def test_verdict_is_strong_where_salts_pile_up():
    found = balance.judge(10.0, 2.0, 2.0, 5.0)  # taken up (20 - 10) / 8 = 1.25
    assert found.conclusion == balance.STRONG
    assert found.next_ec == pytest.approx(2.0 * 0.85)  # never more than 15 % at once


def test_verdict_waits_for_a_better_reading():
    sure = balance.judge(10.9, 1.38, 2.18, 0.82)
    unsure = balance.judge(10.9, 1.38, 2.18, 0.82, left_sd_l=2.0)
    assert sure.conclusion == balance.WEAK
    assert unsure.conclusion == balance.RIGHT
    assert unsure.next_ec == 1.38


def test_interval_of_the_change_covers_by_simulation():
    """Repeat both readings with their errors: the standard deviation told is the one found."""
    import numpy as np

    rng = np.random.default_rng(5)
    told = balance.judge(10.9, 1.38, 2.18, 0.82)
    changes = [
        balance.judge(
            10.9,
            1.38 * (1 + 0.02 * rng.standard_normal()),
            2.18 + 0.035 * 10.9 * rng.standard_normal(),
            0.82 * (1 + 0.02 * rng.standard_normal()),
        ).change
        for _ in range(4000)
    ]
    assert np.std(changes) == pytest.approx(told.change_sd, rel=0.1)


# pH


def test_direction_from_nitrate_and_ammonium():
    assert ph.drift({salts.N_NITRATE: 150.0}) == ph.RISES
    assert ph.drift({salts.N_NITRATE: 130.0, salts.N_AMMONIUM: 15.0}) == ph.STEADY
    assert ph.drift({salts.N_NITRATE: 100.0, salts.N_AMMONIUM: 50.0}) == ph.FALLS


def test_next_acid_is_small_and_capped():
    in_range = ph.next_acid(6.5, 5.5, 6.5, 150, 7.5, 6.0)
    a_little = ph.next_acid(7.0, 5.5, 6.5, 150, 7.5, 6.0)
    far = ph.next_acid(9.0, 5.5, 6.5, 300, 7.5, 6.3)
    assert in_range.meq == 0
    assert a_little.meq == pytest.approx(0.1)  # half a unit at 0.2 meq/L
    assert a_little.limited == ""
    assert far.meq == ph.SAFE_STEP_MEQ
    assert "safe step" in far.limited


def test_next_acid_never_takes_the_fill_below_the_range():
    soft = ph.next_acid(7.5, 5.5, 6.5, 20, 7.5, 5.6)
    left = acid.alkalinity_left(20, 7.5, 5.6) - soft.caco3
    assert left >= acid.alkalinity_left(20, 7.5, 5.5) - 1e-9
    assert "lowest pH" in soft.limited


@pytest.mark.parametrize("at", [1e-6, 0.37, 1.0, 2.9999, 700.0])
def test_a_root_is_where_a_reference_library_finds_it(at: float) -> None:
    """Against SciPy's brentq, of a function that bends as conductivity does."""
    from scipy.optimize import brentq

    from crops.solution.recipe import _root

    def over(k: float) -> float:
        return float((k**0.93 - at**0.93) * (1 + 0.1 * k))

    high = 2.0 ** math.ceil(math.log2(at) + 0.5)
    assert _root(over, high) == pytest.approx(
        brentq(over, 0.0, high, xtol=1e-12), rel=1e-9, abs=1e-11
    )
    assert _root(over, high) == pytest.approx(at, rel=1e-10)
