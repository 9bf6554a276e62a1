"""One rule on topping up, in every output that speaks of it, in the grower's units.

Kratky 2004, Acta Hort 648:83-89 (abstract): a rise of more than 2 cm once there is an air gap
injures plants. Two centimetres are 0.79 in, on a ruler of eighths 3/4 in.
"""

import io
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from scheduler.mix import text as mix_text
from scheduler.words.words import Units, top_up, use_language
from tests.scheduler import calendar_case, page_case, rebalance_case

RULE = {
    "metric": "Never top a tier up. After a spill, by 2.0 cm at most; once roots hang in air, not "
    "at all: they would drown.",
    "us": "Never top a tier up. After a spill, by 3/4 in at most; once roots hang in air, not at "
    "all: they would drown.",
}
SYSTEMS = pytest.mark.parametrize("units", ["metric", "us"])


@pytest.fixture(scope="module")
def season(tmp_path_factory):
    return page_case.planned(tmp_path_factory.mktemp("season"))


def _plain(text: str) -> str:
    return " ".join(text.split())


@SYSTEMS
def test_the_rule(units):
    assert top_up(Units(units)) == RULE[units]


@SYSTEMS
def test_mix_says_it(units):
    garden = calendar_case.garden()
    recipe = garden.solution.for_crop(garden.crops["leaf_lettuce"], 10.0)
    told = "\n".join(mix_text.how_lines(recipe, Units(units)))
    assert RULE[units] in _plain(told)


@pytest.mark.slow
@SYSTEMS
def test_the_level_cards_say_it(units):
    pytest.importorskip("reportlab")
    pypdf = pytest.importorskip("pypdf")
    from scheduler.outputs import pdf
    from scheduler.outputs.work import work_items

    garden = calendar_case.garden()
    plan = calendar_case.plan(garden)
    raw = pdf.document(garden, plan, work_items(garden, plan), Units(units))
    pages = [_plain(p.extract_text()) for p in pypdf.PdfReader(io.BytesIO(raw)).pages]
    cards = [p for p in pages if "holes" in p]
    assert cards
    assert all(RULE[units] in p for p in cards)


@SYSTEMS
def test_the_page_says_it(units, season):
    visitor = page_case.Visitor(season, date(2027, 5, 1), units=units)
    assert RULE[units] in _plain(visitor.get("/levels"))


@pytest.mark.slow
@SYSTEMS
def test_rebalance_says_it(units):
    garden = replace(rebalance_case.garden(), units=units)
    # So thirsty that the tier is dry before it is ready, as in test_rebalance.
    reading = rebalance_case.row(30, "level", "A2", f"{12 - 6.4} L")
    done = rebalance_case.go(30, reading, within=garden)
    assert any(RULE[units] in remark for remark in done.remarks)


def test_no_other_sentence_speaks_of_it():
    """A second sentence could say something else: the words stand in one place of the code."""
    root = Path(__file__).parents[3] / "scheduler"
    said = [
        f"{p.relative_to(root)}:{m[0]}"
        for p in [*root.rglob("*.py"), *root.rglob("*.html")]
        for m in re.finditer(r"[Nn]ever top(?!ped)[^.\n]*", p.read_text("utf-8"))
    ]
    assert [s.split(":")[0] for s in said] == ["words/words.py"]


def test_german_says_the_same():
    use_language("de")
    try:
        assert top_up(Units("metric")).startswith("Eine Etage nie nachfüllen. Nach einem ")
        assert "2,0 cm" in top_up(Units("metric"))
    finally:
        use_language(None)
