"""The amounts of `dryline mix` in calendar, level cards and shopping list."""

import csv
import io
from dataclasses import replace

import pytest

from crops.solution.acid import ACIDS
from crops.solution.recipe import Water
from crops.solution.salts import TWO_PART
from crops.solution.shelf import Shelf
from scheduler.mix import fills as mix
from scheduler.outputs import csv as sheets
from scheduler.outputs import pdf, work
from scheduler.outputs.paper.cards import _strength
from scheduler.outputs.sentences import fill_and_plant, sentence
from scheduler.outputs.shopping import shopping
from scheduler.outputs.work import work_items
from scheduler.words.words import Units
from tests.scheduler import calendar_case

METRIC, US = Units("metric"), Units("us")
HARD = Shelf(
    TWO_PART.salts, "", None, Water({"Ca": 40.0}, 150.0, 7.8), True, ACIDS["nitric 67 %"], None, 0.1
)


@pytest.fixture(scope="module")
def case():
    garden = replace(calendar_case.garden(), solution=HARD)
    plan = mix.with_solution(garden, calendar_case.plan(garden))
    return garden, plan, work_items(garden, plan)


def test_a_fill_carries_what_mix_weighs_for_its_batch(case):
    garden, plan, items = case
    fills = {w.batch: w for w in items if w.kind == work.FILL}
    assert set(fills) == {b.id for b in plan.batches}
    for b in plan.batches:
        recipe = mix.fill_recipe(garden, b)
        (acid, amount, unit), *salts = fills[b.id].weigh
        assert (acid, unit) == ("nitric 67 % acid", "mL")
        assert amount == pytest.approx(recipe.dose.amount, abs=0.05)
        assert salts == [
            (s.name, g, "g") for s, g in zip(recipe.salts, recipe.weighed, strict=True)
        ]
        assert salts[-1][0] == "calcium nitrate"  # in the order of dissolving
    assert all(not w.weigh for w in items if w.kind != work.FILL)


def test_in_words_metric_and_us(case):
    garden, _, items = case
    fill = next(w for w in items if w.kind == work.FILL)
    plant = next(w for w in items if w.kind == work.TRANSPLANT and w.batch == fill.batch)
    (_, ml, _), (_, first, _), (_, last, _) = fill.weigh
    for text in (sentence(garden, fill, METRIC), fill_and_plant(garden, fill, plant, METRIC)):
        assert f": {ml:g} mL nitric 67 % acid, {first:g} g complete fertilizer" in text
        assert f"{last:g} g calcium nitrate" in text
    assert f"{last / 28.3495:.2f} oz calcium nitrate" in sentence(garden, fill, US)


def test_in_the_table(case):
    garden, plan, items = case
    rows = list(csv.DictReader(io.StringIO(sheets.work_csv(garden, items, METRIC))))
    fills = [r for r in rows if r["work"] == "fill"]
    assert all("g calcium nitrate" in r["to weigh"] for r in fills)
    assert not any(r["to weigh"] for r in rows if r["work"] != "fill")
    batch = next(csv.DictReader(io.StringIO(sheets.batches_csv(garden, plan, METRIC))))
    assert float(batch["EC at last pick [mS/cm]"]) == plan.batches[0].harvest_ec


def test_shopping_is_the_sum_of_the_fills(case):
    garden, plan, items = case
    need = shopping(garden, plan)
    total: dict[str, float] = {}
    for w in items:
        for name, amount, _ in w.weigh:
            total[name] = total.get(name, 0.0) + amount
    assert dict(need.salts) | {name: n for name, n, _ in need.acid} == pytest.approx(total)
    assert [name for name, _, _ in need.acid] == ["nitric 67 % acid"]
    assert need.way == ""
    assert need.known_water


def test_water_that_makes_no_recipe_leaves_the_calendar_whole():
    salty = Shelf(water=Water({"Na": 900.0, "Cl": 1400.0}), known=True)
    garden = replace(calendar_case.garden(), solution=salty)
    plan = calendar_case.plan(garden)
    items = work_items(garden, plan)
    assert all(w.weigh == () for w in items)
    assert shopping(garden, plan).salts == ()
    assert pdf.document(garden, plan, items, METRIC, "a4")[:5] == b"%PDF-"


def test_the_level_card_tells_the_strength_at_the_last_pick(case):
    garden, plan, _ = case
    b = replace(plan.batches[0], fill_ec=1.5, harvest_ec=2.2)
    crop = garden.crops[b.crop]
    assert _strength(garden, b) == "; EC 1.5, about 2.2 at the last pick"
    high = 1.5 * crop.ec_high
    assert _strength(garden, replace(b, harvest_ec=high + 0.1)).endswith(": salt costs under 1 %")
    assert "salt" not in _strength(garden, replace(b, harvest_ec=high))
    assert _strength(garden, replace(b, harvest_ec=0.1)).endswith(": too weak")
    assert _strength(garden, replace(b, harvest_ec=None)) == ""
