"""Every sentence that a recipe can say has a German one: those of real recipes, of all kinds."""

from __future__ import annotations

import pytest

from crops.solution import limits, salts, stock
from crops.solution.acid import ACIDS
from crops.solution.recipe import Goal, Recipe, Water, mix
from scheduler.mix.recipe_words import SENTENCES, _patterns, recipe_text
from scheduler.words.language import use_language

WAY = salts.WAYS["three-salt"].salts
HARD = Water({}, 180.0, 7.5)
EVERY = frozenset(limits.LIMITS)


@pytest.fixture(autouse=True)
def english_after():
    yield
    use_language(None)


def recipes() -> list[Recipe]:
    bare = salts.from_analysis("complete fertilizer", "4-18-38", parts=2)
    return [
        mix(WAY, Goal(ec=1.5, ph=6.0), 10.0, HARD),
        mix(WAY, Goal(ec=1.5, ph=6.0), 10.0, HARD, ACIDS["sulfuric 35 %"]),
        mix(WAY, Goal(ec=1.5, ph=6.0), 10.0, HARD, ACIDS["nitric 67 %"]),
        mix(WAY, Goal(ec=1.5), 10.0, HARD),
        mix(WAY, Goal(ec=0.5), 2.0, scale=0.2),
        mix(WAY, Goal(ec=1.5), 20.0, Water({"Na": 150.0})),
        mix([bare, *WAY[1:]], Goal(ec=1.5), 20.0),
    ]


def texts() -> list[str]:
    out = [t for r in recipes() for t in (*r.notes, *r.steps)]
    for r in (mix(WAY, Goal(ec=1.5), 10.0), mix(WAY, Goal(ec=1.5, ph=6.0), 10.0, HARD)):
        out += stock.concentrates(r, 50.0).steps
    # 40 of 100 mg/L of nitrogen as ammonium, 20 as urea: more than is usual, less than poisons.
    out += limits.remarks({"N_NO3": 40.0, "N_NH4": 40.0, "N_other": 20.0}, EVERY)
    return out


def test_every_sentence_is_known_and_each_of_the_list_is_said() -> None:
    use_language("de")
    said = texts()
    assert [t for t in said if recipe_text(t) == t] == []
    german = {recipe_text(t) for t in said}
    assert len(german) == len(set(said))  # no two have run into one
    use_language(None)
    assert [t for t in said if recipe_text(t) != t] == []
    met = {next(s for s, pattern in _patterns() if pattern.fullmatch(t)) for t in said}
    assert set(SENTENCES) - met == set()


def test_names_and_numbers_in_german() -> None:
    use_language("de")
    assert recipe_text("Much iron: 6.5 mg/L, usual is up to 6.") == (
        "Viel Eisen: 6,5 mg/L, üblich ist bis zu 6."
    )
    said = recipe_text(
        "Short of calcium (9.5 mg/L, 50 or more is usual), iron (0.1 mg/L, 0.5 or more is usual)."
    )
    assert said == (
        "Zu wenig Calcium (9,5 mg/L, üblich sind 50 oder mehr), Eisen (0,1 mg/L, üblich sind 0,5 "
        "oder mehr)."
    )


def test_what_no_recipe_says_stays_english() -> None:
    use_language("de")
    assert recipe_text("Sing to the salts.") == "Sing to the salts."
