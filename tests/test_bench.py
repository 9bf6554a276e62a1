"""The benchmark's gardens are what they are said to be; what it reads and reckons is right."""

from pathlib import Path

import pytest

from scheduler.batches.candidates import build
from scheduler.garden.file import load_garden
from tests.bench import growth, scale_table, weak_gardens, write_gardens
from tests.bench.other_solvers import read_scip_log
from tests.bench.scale_bench import SIZES, WEEKS

GARDENS = Path(__file__).parent / "bench" / "gardens"
# Columns, tiers and kinds of column of each size.
SHAPES = {
    "balcony": (1, 3, 1),
    "courtyard": (6, 24, 2),
    "terrace": (100, 500, 15),
    "estate": (1000, 5000, 20),
    "region": (10_000, 50_000, 60),
}


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("weeks", WEEKS)
def test_a_garden_has_the_size_and_season_of_its_name(size, weeks):
    path = GARDENS / f"{size}-{weeks}.yaml"
    garden = load_garden(path)
    shape = (
        len(garden.columns),
        sum(len(c.tiers) for c in garden.columns),
        len({c.tiers for c in garden.columns}),
    )
    assert shape == SHAPES[size]
    assert garden.season.days == 7 * weeks
    assert garden.invented
    assert path.stat().st_size < 100_000
    heaviest = max(v.mass_kg + v.fill_l for v in garden.vessels.values())
    assert size == "balcony" or heaviest > garden.limits.lift_kg  # the lift limit bites


def test_the_files_are_those_that_the_writer_writes(tmp_path, monkeypatch):
    monkeypatch.setattr(write_gardens, "OUT", tmp_path)
    write_gardens.main()
    made = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
    others = {p.name: p.read_bytes() for p in GARDENS.iterdir() if not p.name.startswith("weak-")}
    assert made == others


@pytest.mark.parametrize("name", weak_gardens.NAMES)
def test_so_are_those_where_a_limit_binds_hard(name):
    path = GARDENS / f"weak-{name}.yaml"
    assert weak_gardens.made(name) == path.read_text(encoding="utf-8")
    garden = load_garden(path)
    assert garden.invented
    assert garden.name == name


def test_three_vessels_and_five_exposures_on_the_terrace():
    garden = load_garden(GARDENS / "terrace-13.yaml")
    assert len(garden.vessels) == 3
    assert len({tuple(t.light for t in c.tiers) for c in garden.columns}) == 5


@pytest.mark.deep
def test_columns_alike_add_no_candidates():
    assert len(build(growth.tiers(100))[0]) == len(build(growth.tiers(5000))[0])


# Two lines of each kind as SCIP 10 prints them, cut short in the middle: its log is no interface
# that is promised, so what is read of it is held here.
LOG = """\
 time | node  | left  |LP iter|LP it/n|mem/heur|mdpt |vars |cons |rows |cuts |sepa|confs|strbr|  dualbound   | primalbound  |  gap   | compl.
p 0.1s|     1 |     0 |     0 |     - | clique |   0 | 759 | 353 | 353 |   0 |  0 |   0 |   0 | 4.402000e+03 | 4.260000e+02 | 933.33%| unknown
  0.2s|     1 |     0 |   402 |     - |  8090k |   0 | 759 | 354 | 353 |   0 |  0 |   1 |   0 | 1.323897e+03 |      --      |    Inf | unknown
* 12.5s|    70 |     3 |   900 |  10.1 | strongbr|   9 | 759 | 354 | 353 |   0 |  0 |   1 |   0 | 1.322000e+03 | 1.321000e+03 |   0.08%| unknown
SCIP Status        : problem is solved [optimal solution found]
"""


def test_times_values_and_bounds_are_read_from_the_log():
    assert read_scip_log(LOG) == [
        (0.1, 426.0, 4402.0),
        (0.2, None, 1323.897),
        (12.5, 1321.0, 1322.0),
    ]


ROW = {
    "method": "dryline",
    "bound": 1000.0,
    "value": 995.0,
    "proven": False,
    "seconds": 30.0,
    "track": [[0.5, 700.0, None], [2.0, 950.0, 1010.0], [8.0, 989.0, 1000.0], [9.0, 995.0, 1000.0]],
}


def test_gaps_count_against_the_best_bound_of_anyone():
    other = {**ROW, "method": "highs", "bound": 998.0, "track": [[1.0, 500.0, 998.0]]}
    bound = scale_table.best_bound([ROW, other])
    assert bound == 998.0
    # 5 % of 998 is 49.9: 950 is 48 short. 1 % is 9.98: 989 is 9 short.
    assert scale_table.reached(ROW, bound, 0.05) == 2.0
    assert scale_table.reached(ROW, bound, 0.01) == 8.0
    assert scale_table.reached(other, bound, 0.05) is None
    assert scale_table.gap_at(ROW, bound, 5.0) == pytest.approx(48 / 998)
    assert scale_table.gap_at(ROW, bound, 0.1) is None


def test_a_time_to_proof_needs_a_proof():
    assert scale_table.proof(ROW) is None
    proven = {**ROW, "proven": True, "track": [*ROW["track"], [20.0, 1000.0, 1000.0]]}
    assert scale_table.proof(proven) == 20.0


def test_ratios_say_what_is_only_known_to_be_longer():
    assert scale_table.ratio(30.0, 10.0, 60.0) == "3.0"
    assert scale_table.ratio(None, 10.0, 60.0) == "> 6"
    assert scale_table.ratio(12.0, None, 60.0) == "only this one"
    assert scale_table.ratio(None, None, 60.0) == ""


def test_an_exponent_is_that_of_the_power():
    rows = [{"n": n, "s": 0.5 * n**1.5} for n in (1, 2, 5, 9)]
    assert growth.exponent(rows, "n", "s") == pytest.approx(1.5)
    assert growth.exponent([{"n": 3, "s": s} for s in (1, 2, 3)], "n", "s") is None
