"""What is to be bought: counted by hand, by its day; packets and money from a table of prices."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from standing_case import write

from scheduler.base.faults import BadInput
from scheduler.cli import main
from scheduler.garden.file import garden_sources, load_garden
from scheduler.garden.model import Garden
from scheduler.mix.buying import buying
from scheduler.mix.fills import season_total
from scheduler.mix.prices_file import SEEDS, Price, read_prices
from scheduler.outputs.buying_text import lines
from scheduler.plans.folder import write_plan_dir
from scheduler.plans.model import GROWING, SOWN, Batch, Pick, Plan, Stage
from scheduler.usecases.planning_standing import bare_plan
from scheduler.words.words import Units, use_language

HEAD = "what,packet,unit,price,have\n"


@pytest.fixture
def garden(tmp_path: Path) -> Garden:
    return load_garden(write(tmp_path, ""))


def batch(garden: Garden, number: int, month: int, crop: str = "leaf_lettuce") -> Batch:
    """8 seeds in 4 cells on the 7th, planted on the 21st, 3 heads of 100 g picked a month on."""
    fill = garden.vessels["tub"].fill_l
    picks = (Pick(date(2027, month + 1, 21), 3, 300),)
    return Batch(
        f"b{number:03d}", crop, "A", 1, 3, 8, 4, date(2027, month, 7), date(2027, month, 21),
        picks, picks[0].date, fill, None, None,
    )  # fmt: skip


def plan_of(garden: Garden, *batches: Batch) -> Plan:
    return replace(bare_plan(garden), batches=batches)


def seeds(garden: Garden, plan: Plan, price: Price | None):
    prices = {} if price is None else {"leaf_lettuce": price}
    return next(i for i in buying(garden, plan, prices).items if i.unit == SEEDS)


def test_three_sowings_of_eight(garden: Garden) -> None:
    """24 seeds; with 16 in stock the third sowing runs short, with 24 none does."""
    plan = plan_of(garden, *(batch(garden, n, 5 + n) for n in (1, 2, 3)))
    assert seeds(garden, plan, None).need == 24
    assert seeds(garden, plan, None).by == date(2027, 6, 7)
    for have, by, packets in (
        (0, date(2027, 6, 7), 3),
        (7, date(2027, 6, 7), 2),
        (8, date(2027, 7, 7), 2),
        (15, date(2027, 7, 7), 1),
        (16, date(2027, 8, 7), 1),
        (23, date(2027, 8, 7), 1),
        (24, None, 0),
    ):
        item = seeds(garden, plan, Price(10, SEEDS, 2.0, have))
        assert (item.by, item.packets, item.paid) == (by, packets, 2.0 * packets), have
        assert item.used == pytest.approx(24 / 10 * 2.0)


def test_what_is_sown_or_filled_already_is_not_bought_again(garden: Garden) -> None:
    planned, sown, grows = (batch(garden, n, 5 + n) for n in (1, 2, 3))
    plan = plan_of(garden, planned, replace(sown, state=SOWN), replace(grows, state=GROWING))
    found = buying(garden, plan)
    assert next(i.need for i in found.items if i.unit == SEEDS) == 8
    two = season_total(garden, plan_of(garden, planned, sown))
    assert {(i.name, i.unit): i.need for i in found.items if i.unit != SEEDS} == {
        (name, unit): pytest.approx(amount) for name, amount, unit in two
    }
    assert buying(garden, plan_of(garden)).items == ()


def test_what_a_kilogram_costs(garden: Garden) -> None:
    """One batch: 8 of 80 seeds at 4.00 are 0.40; each salt at 10.00 a kilogram; 300 g picked."""
    plan = plan_of(garden, batch(garden, 1, 6))
    prices = {s.name: Price(1000, "g", 10.0) for s in garden.solution.salts}
    grams = sum(a for _, a, unit in season_total(garden, plan) if unit == "g")
    prices |= {n: Price(1000, "mL", 10.0) for n, _, u in season_total(garden, plan) if u == "mL"}
    found = buying(garden, plan, {**prices, "leaf_lettuce": Price(80, SEEDS, 4.0)})
    (cost,) = found.crops
    assert cost.seeds == pytest.approx(0.40)
    assert cost.salts == pytest.approx(grams / 100)
    assert found.unpriced == ()
    told = "\n".join(lines(garden, plan, found, Units("metric")))
    assert f"{(0.40 + grams / 100) / 0.3:.2f}" in told
    assert f"{(0.40 + grams / 100) / 3:.2f} a head" in told
    assert buying(garden, plan, prices).crops == ()  # seeds without a price
    assert buying(garden, plan, prices).unpriced == ("leaf_lettuce",)


def test_a_table_is_read_in_its_units(garden: Garden, tmp_path: Path) -> None:
    salt = garden.solution.salts[0].name
    file = tmp_path / "prices.csv"
    file.write_text(f"# mine\n{HEAD}Leaf lettuce,300,seeds,2.5,40\n{salt},2,kg,12,500\n")
    with pytest.raises(BadInput):
        read_prices(tmp_path / "none.csv", garden)
    assert read_prices(file, garden)[salt] == Price(2000, "g", 12.0, 500_000, 4)
    file.write_text(f"{HEAD.replace(',', ';')}kale;100;seeds;2,50;\n{salt};1;lb;;\n")
    got = read_prices(file, garden)
    assert got["kale"] == Price(100, SEEDS, 2.5, 0.0, 2)
    assert got[salt].packet == pytest.approx(453.592, abs=1e-3)
    assert got[salt].price is None


def test_every_fault_of_a_table_at_once(garden: Garden, tmp_path: Path) -> None:
    file = tmp_path / "prices.csv"
    file.write_text(
        f"{HEAD}kail,100,seeds,2,\nkale,100,g,2,\nkale,0,seeds,2,\nkale,100,seeds,-1,x\n"
        "leaf_lettuce,10\nleaf_lettuce,10,seeds,1,0\nleaf_lettuce,10,seeds,1,0\n"
    )
    with pytest.raises(BadInput) as caught:
        read_prices(file, garden)
    assert [(f.line, f.path) for f in caught.value.faults] == [
        (2, "what"), (3, "unit"), (4, "packet"), (5, "price"), (5, "have"), (6, ""), (8, "what"),
    ]  # fmt: skip
    file.write_text("what,pack,unit\n")
    with pytest.raises(BadInput) as caught:
        read_prices(file, garden)
    assert {f.path for f in caught.value.faults} == {"packet", ""}
    for nothing in ("", "# only\n"):
        file.write_text(nothing)
        with pytest.raises(BadInput):
            read_prices(file, garden)


def test_the_list_in_lines_and_in_german(garden: Garden) -> None:
    plan = plan_of(garden, *(batch(garden, n, 5 + n) for n in (1, 2, 3)))
    found = buying(garden, plan, {"leaf_lettuce": Price(20, SEEDS, 2.0, 8)})
    told = lines(garden, plan, found, Units("us"))
    assert "  leaf lettuce: 24 seeds, 8 seeds in stock, by 7 July: buy 1 packet of 20" in told
    assert all(len(line) < 80 for line in told)
    use_language("de")
    try:
        assert any(
            "8 Samen vorrätig" in line for line in lines(garden, plan, found, Units("metric"))
        )
    finally:
        use_language(None)


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write(tmp_path, "")
    garden = load_garden(path)
    stage = Stage("produce", "best_found", 0.0, None, 0.0)
    plan = replace(plan_of(garden, batch(garden, 1, 6)), stages=(stage,))
    season = tmp_path / "season"
    write_plan_dir(season, plan, garden_sources(path))
    prices = tmp_path / "prices.csv"
    prices.write_text(f"{HEAD}leaf_lettuce,5,seeds,3,\n")
    for more, paid in (([], None), (["--prices", str(prices)], 6.0)):
        with pytest.raises(SystemExit) as end:
            main(["shopping", str(season), *more, "--json"])
        assert not end.value.code
        first = json.loads(capsys.readouterr().out)["items"][0]
        assert (first["name"], first["need"], first["paid"]) == ("leaf_lettuce", 8, paid)
    with pytest.raises(SystemExit) as end:
        main(["shopping", str(season), "--prices", str(tmp_path / "none.csv")])
    assert end.value.code == 2
    assert "not there" in capsys.readouterr().err
