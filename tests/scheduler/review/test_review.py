"""``dryline review``: finished crops of a log, what they teach, the file for `plan`."""

import json
import math
import shutil
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
import yaml

from crops import learning
from crops.catalogue import catalogue, with_overrides
from scheduler.base.faults import BadInput
from scheduler.cli import main
from scheduler.garden.file import load_garden
from scheduler.log.finished import Season, finished
from scheduler.log.model import HEADER, read_log
from scheduler.plans.model import FAILED, Plan
from scheduler.review import learned_file
from scheduler.review import text as review_text
from scheduler.review.estimates import next_acid, next_fill, review, scaled
from scheduler.words.words import Units
from scheduler.years import PLANNED
from scheduler.years.expected import expecting
from tests.bench.bench_review import dry_tiers, growing_garden, reviewed, with_learned
from tests.scheduler import calendar_case
from tests.scheduler.review_case import PRIOR, Grower, grown

GARDEN = calendar_case.garden()
EXACT = dict.fromkeys(PRIOR, 1.0)


def season(*rows, plan=None, garden=GARDEN):
    log = read_log("\n".join([HEADER, *rows]).encode(), "log.csv", garden)
    assert not log.faults, log.faults
    return Season(garden, log, plan)


ONE = (
    "2027-04-12,transplanted,A,1,leaf_lettuce,3,plants,",
    "2027-04-12,ec,A,1,,1.38,mS/cm,",
    "2027-05-01,level,A,1,,20,cm,",
    "2027-05-24,level,A,1,,8,cm,",
    "2027-05-24,ec,A,1,,0.82,mS/cm,",
    "2027-05-24,ph,A,1,,7.1,,",
    "2027-05-24,picked,A,1,,3,plants,",
    "2027-05-24,picked,A,1,,300,g,",
    "2027-05-24,cleared,A,1,,,,",
)


# Finding finished crops


def test_one_finished_crop():
    (stand,) = finished(season(*ONE))
    assert (stand.crop, stand.plants, stand.transplant) == ("leaf_lettuce", 3, date(2027, 4, 12))
    assert stand.grams == 300
    assert stand.picked == 3
    assert stand.end_level() == pytest.approx(float(stand.vessel.volume(8.0)))
    assert (stand.start_ec(), stand.end_of(stand.ecs), stand.end_of(stand.phs)) == (1.38, 0.82, 7.1)


def test_not_yet_cleared_nor_wholly_picked_is_not_finished():
    rows = [r for r in ONE if "cleared" not in r]
    assert len(finished(season(*rows))) == 1  # all three plants are picked
    rows = [r.replace("picked,A,1,,3,plants", "picked,A,1,,2,plants") for r in rows]
    assert finished(season(*rows)) == []


def test_failed_crops_teach_nothing():
    rows = [r.replace("cleared", "failed") for r in ONE]
    before = [r for r in rows if "picked" not in r]
    assert finished(season(*before)) == []
    column = [
        *[r for r in before if "failed" not in r],
        "2027-05-20,failed,A,,,,,",
        "2027-05-24,picked,A,1,,3,plants,",
    ]
    assert finished(season(*column)) == []


def test_a_pick_that_was_not_weighed_leaves_the_mass_unknown():
    rows = [*ONE[:6], "2027-05-20,picked,A,1,,1,plants,", *ONE[6:]]
    (stand,) = finished(
        season(
            *[
                r.replace(",3,plants", ",2,plants") if "picked" in r and "24" in r else r
                for r in rows
            ]
        )
    )
    assert stand.grams is None


def test_two_crops_after_each_other_on_the_same_day():
    second = [
        r.replace("2027-05-24", "2027-07-05")
        .replace("2027-05-01", "2027-06-01")
        .replace("2027-04-12", "2027-05-24")
        for r in ONE
    ]
    first, last = finished(season(*ONE, *second[:1], *second[2:]))
    assert first.transplant == date(2027, 4, 12)
    assert last.transplant == date(2027, 5, 24)
    # Levels and EC measured on the day of transplanting are of the new fill; those before are not.
    assert last.start_ec() == 0.82 or last.start_ec() is None
    assert first.grams == last.grams == 300


def plan_of(*batches):
    return Plan("best_found", (), GARDEN.season.start, GARDEN.season.end, batches, ())


def test_the_plan_tells_crop_and_day_where_the_log_does_not():
    batch = calendar_case.batch(GARDEN, "b1", "butterhead", "A", 1, date(2027, 4, 12))
    day = batch.picks[0].date
    rows = [f"{day},level,A,1,,9,cm,", f"{day},picked,A,1,,300,g,", f"{day},cleared,A,1,,,,"]
    (stand,) = finished(season(*rows, plan=plan_of(batch)))
    assert (stand.crop, stand.transplant) == ("butterhead", batch.transplant)
    assert stand.planned_pick == day
    assert finished(season(*rows)) == []
    assert finished(season(*rows, plan=plan_of(replace(batch, state=FAILED)))) == []


# What they teach


def test_without_noise_the_truth_is_found():
    """Twelve crops without scatter, 1.25, 0.95, 1.1 and 0.8 times the catalogue."""
    garden = growing_garden()
    truth = {"demand": 1.25, "days": 0.95, "mass": 1.1, "uptake": 0.8}
    log = read_log(grown(garden, truth, 12, 3, spread=1e-6).log().encode(), "log", garden)
    (found,) = review([Season(garden, log)])
    for name, factor in truth.items():
        # Readiness falls within a day of some 45 days: half a day either way is one hundredth. Tiers
        # in more light than the target share one day, so that it does not cancel; mass and what
        # leaves drink are told by how far the crop is, so both take it on. Levels are read to 0.01 cm.
        near = 0.006 if name == "uptake" else 0.012
        assert found.estimates[name].seen == pytest.approx(factor, rel=near), name


def test_a_pick_on_the_planned_day_says_nothing_of_the_days():
    """The grower picked when the plan said so: only that it was ready by then is known."""
    garden = GARDEN
    late = calendar_case.batch(garden, "b1", "leaf_lettuce", "A", 1, date(2027, 4, 12))
    day = late.picks[0].date + timedelta(days=4)
    late = replace(late, picks=(replace(late.picks[0], date=day),), clear=day)
    rows = [
        f"{late.transplant},transplanted,A,1,leaf_lettuce,3,plants,",
        f"{day},picked,A,1,,3,plants,",
        f"{day},cleared,A,1,,,,",
    ]
    (alone,) = review([season(*rows)])
    (planned,) = review([season(*rows, plan=plan_of(late))])
    assert alone.estimates["days"].n == 1
    assert alone.estimates["days"].seen > 1
    assert planned.estimates["days"].n == 0
    early = day - timedelta(days=14)  # earlier than the catalogue thinks possible
    early_plan = plan_of(replace(late, picks=(replace(late.picks[0], date=early),), clear=early))
    early_rows = [r.replace(str(day), str(early)) for r in rows]
    (told,) = review([season(*early_rows, plan=early_plan)])
    assert told.estimates["days"].n == 1
    assert told.estimates["days"].seen < 1


def test_a_tier_that_ran_dry_says_nothing_of_the_days():
    rows = [r.replace("level,A,1,,8,cm", "level,A,1,,3.5,cm") for r in ONE]
    dry = GARDEN.vessels["pail"].floor_l
    assert float(GARDEN.vessels["pail"].volume(3.5)) < 1.2 * dry
    (found,) = review([season(*rows)])
    assert found.estimates["days"].n == 0
    (wet,) = review([season(*ONE)])
    assert wet.estimates["days"].n == 1


def test_a_leak_is_not_learned():
    """The tier lost far more than three times what the crop drinks."""
    rows = [
        r.replace("2027-05-01,level,A,1,,20,cm", "2027-04-22,level,A,1,,4,cm").replace(
            "level,A,1,,8,cm", "level,A,1,,3,cm"
        )
        for r in ONE
    ]
    (found,) = review([season(*rows)])
    assert found.estimates["demand"].n == 0


@pytest.mark.slow
@pytest.mark.parametrize("n", [3, 10])
def test_intervals_cover_the_truth_through_log_and_review(n):
    """Gardens whose truth lies around the catalogue: of the 90 % intervals nine in ten hold it.

    The full table, 300 gardens with 3, 10 and 30 crops, is in tests/bench/review.md.
    """
    garden = growing_garden()
    held = []
    for seed in range(40):
        rng = np.random.default_rng([n, seed])
        truth = {k: math.exp(rng.normal(0, p.doubt * 0.7)) for k, p in PRIOR.items()}
        found = reviewed(garden, truth, n, seed, "leaf_lettuce")
        held += [e.low <= truth[k] <= e.high for k, e in found.estimates.items()]
    # 160 intervals, four of each garden: standard error about 0.03.
    assert 0.82 <= np.mean(held) <= 0.98


def test_a_season_planned_with_learned_numbers_has_fewer_dry_tiers():
    """True crops drink 1.4 times the catalogue. Plans by the rules of thumb, which are the same
    every time; plans of the solver are compared in tests/bench/review.md."""
    from scheduler.search.solve import Settings, solve

    truth = {"demand": 1.4, "days": 1.0, "mass": 1.0, "uptake": 1.0}
    example = Path(__file__).parents[3] / "examples/balcony/garden.yaml"
    garden = load_garden(example)
    taught = with_learned(garden, 10, 100, truth)
    dry = []
    for planning in (garden, taught):
        plan = solve(planning, Settings(time_limit=0.5, workers=1)).by_hand
        assert plan is not None
        assert plan.batches
        dry.append(dry_tiers(garden, plan, truth, 10) / len(plan.batches))
    assert dry[0] > 0.3
    assert dry[1] < 0.7 * dry[0]


# The next fill


def two(level, ec):
    rows = [r.replace(",8,cm", f",{level},cm").replace(",0.82,", f",{ec},") for r in ONE]
    return review([season(*rows)])[0]


def test_conclusion_on_the_fill():
    # 18 L at 1.38; 8 cm are 4.3 L at 0.82: taken up (18 x 1.38 - 4.3 x 0.82) / 13.7 = 1.56, +13 %.
    name, change, low, high = next_fill(two(8, 0.82))
    assert name == "weak"
    assert change == pytest.approx(0.127, abs=0.01)
    assert low < change < high
    told = " ".join(review_text.advice(two(8, 0.82)))
    assert "a little weak" in told
    assert "stronger" in told
    name, change, _, _ = next_fill(two(8, 1.5))
    assert name == "right"
    assert "stronger" not in " ".join(review_text.advice(two(8, 1.5)))
    assert next_fill(two(8, 4.0))[0] == "strong"


def test_ph_that_ended_too_high():
    from crops.solution.recipe import Water
    from crops.solution.shelf import Shelf

    hard = replace(GARDEN, solution=Shelf(water=Water({}, 200.0, 7.6), known=True))
    (found,) = review([season(*ONE, garden=hard)])
    acid = next_acid(found)
    # Lettuce up to pH 6.5, ended at 7.1: 0.6 units at 0.2 meq/L.
    assert acid.meq == pytest.approx(0.12)
    assert "0.12 meq more acid" in " ".join(review_text.advice(found))


# The file


def test_the_file_is_read_by_the_garden_and_gives_what_was_learned():
    found = reviewed(growing_garden(), {**EXACT, "demand": 1.3}, 6, 4, "leaf_lettuce")
    data = yaml.safe_load(learned_file.text([found]))
    made = with_overrides(catalogue()["leaf_lettuce"], data["leaf_lettuce"])
    assert made.peak_demand == pytest.approx(found.learned.peak_demand, rel=1e-3)
    assert made.days_to_harvest == pytest.approx(found.learned.days_to_harvest, rel=1e-3)
    assert made.uptake_k == pytest.approx(found.learned.uptake_k, rel=1e-3)
    source = made.parameters["peak_demand"].source
    assert "6 finished crops" in source
    assert "90 %" in source
    assert catalogue()["leaf_lettuce"].peak_demand != made.peak_demand


def test_what_no_crop_speaks_of_is_not_written():
    rows = [r for r in ONE if "ec" not in r and "level" not in r]
    keys = learned_file.overrides(review([season(*rows)]))["leaf_lettuce"]
    assert set(keys) == {"days_to_harvest", "fresh_mass"}


def test_nothing_learned_is_a_sound_file(tmp_path):
    learned_file.write(tmp_path / "x.yaml", [])
    assert yaml.safe_load((tmp_path / "x.yaml").read_text()) == {}


def test_it_writes_over_its_own_and_nothing_else(tmp_path):
    file = tmp_path / "learned.yaml"
    found = review([season(*ONE)])
    learned_file.write(file, [])
    learned_file.write(file, found)
    assert "leaf_lettuce" in file.read_text()
    other = tmp_path / "garden.yaml"
    other.write_text("name: mine\n")
    with pytest.raises(BadInput):
        learned_file.write(other, found)
    assert other.read_text() == "name: mine\n"


def test_estimates_of_tiers_are_drawn_to_the_crop():
    """A tier that drinks more than the others stands between its own crops and all of them."""
    garden = growing_garden()
    rng = np.random.default_rng(2)
    thirsty = Grower(garden, {**EXACT, "demand": 1.5}, rng, 0.3)
    usual = Grower(garden, EXACT, rng, 0.3)
    start = garden.season.start + timedelta(days=20)
    for i in range(6):
        usual.grow("leaf_lettuce", f"C{i}", 1, start)
    thirsty.grow("leaf_lettuce", "C7", 1, start)
    text = usual.log() + "\n".join(thirsty.rows) + "\n"
    (found,) = review([Season(garden, read_log(text.encode(), "log", garden))])
    whole, tier = found.estimates["demand"].factor, found.tiers["C7 1"]["demand"]
    assert whole < tier.factor < 1.5
    assert found.tiers["C1 1"]["demand"].factor < whole


def test_scaled_moves_only_what_it_is_about():
    crop = catalogue()["pak_choi"]
    out = scaled(crop, {learning.UPTAKE.name: 2.0})
    assert out.uptake_k == 2 * crop.uptake_k
    assert (
        replace(
            out,
            **{
                k: getattr(crop, k)
                for k in ("uptake_n", "uptake_p", "uptake_k", "uptake_ca", "uptake_mg")
            },
        )
        == crop
    )


def test_text_fits_a_terminal():
    found = reviewed(growing_garden(), {**EXACT, "demand": 1.3}, 6, 4, "leaf_lettuce")
    for units in ("metric", "us"):
        lines = review_text.lines([found], Units(units))
        assert max(map(len, lines)) <= 79
    assert "nothing is learned" in "\n".join(review_text.lines([], Units("us")))


# The command


@pytest.fixture
def folder(tmp_path, monkeypatch):
    here = Path(__file__).parents[3] / "examples/balcony"
    for name in ("garden.yaml", "climate.csv"):
        shutil.copy(here / name, tmp_path)
    rows = [r.replace(",A,1,", ",balcony,1,") for r in ONE]
    (tmp_path / "log.csv").write_text("\n".join([HEADER, *rows]) + "\n")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(capsys, *arguments):
    with pytest.raises(SystemExit) as ended:
        main(["review", *map(str, arguments)])
    out = capsys.readouterr()
    return ended.value.code, out.out, out.err


def test_from_log_to_a_garden_that_plans_with_it(folder, capsys):
    code, out, _ = run(capsys, "log.csv")
    assert code == 0
    assert "leaf lettuce: 1 finished crop" in out
    assert "learned: learned.yaml" in out
    text = (folder / "garden.yaml").read_text()
    before = load_garden(folder / "garden.yaml").crops["leaf_lettuce"]
    (folder / "garden.yaml").write_text(
        text.replace("crops:\n", "crops:\n  learned: learned.yaml\n")
    )
    after = load_garden(folder / "garden.yaml").crops["leaf_lettuce"]
    assert after.peak_demand != before.peak_demand
    assert after.parameters["peak_demand"].source.startswith("learned from 1 finished crop:")


def test_two_seasons_count_together(folder, capsys):
    other = folder / "other"
    other.mkdir()
    for name in ("garden.yaml", "climate.csv", "log.csv"):
        shutil.copy(folder / name, other)
    code, out, _ = run(capsys, "log.csv", "other", "--json", "--dry-run")
    assert code == 0
    body = json.loads(out)
    assert body["crops"]["leaf_lettuce"]["learned"]["demand"]["n"] == 2
    assert body["file"] is None
    assert not (folder / "learned.yaml").exists()


def test_faults_of_all_logs_at_once(folder, capsys):
    (folder / "log.csv").write_text(f"{HEADER}\n2027-04-12,transplantd,balcony,1,,,,\n")
    other = folder / "other"
    other.mkdir()
    (other / "log.csv").write_text(f"{HEADER}\n")
    code, _, err = run(capsys, "log.csv", "other", "none.csv")
    assert code == 2
    for name in ("log.csv:2", "other/garden.yaml", "none.csv"):
        assert name in err
    assert not (folder / "learned.yaml").exists()


def test_garden_from_elsewhere(folder, capsys):
    (folder / "logs").mkdir()
    (folder / "log.csv").rename(folder / "logs" / "2026.csv")
    assert run(capsys, "logs/2026.csv")[0] == 2
    assert run(capsys, "logs/2026.csv", "--garden", "garden.yaml")[0] == 0


def test_a_log_without_a_plan_is_held_against_the_years_to_expect(folder, capsys):
    """As a plan is; the mean year alone drinks more, and would teach that a crop drinks less."""
    _, out, _ = run(capsys, "log.csv", "--dry-run", "--json")
    (told,) = json.loads(out)["crops"]["leaf_lettuce"]["finished"]
    garden = load_garden(folder / "garden.yaml")
    log = read_log((folder / "log.csv").read_bytes(), "log.csv", garden)
    years, mean = (
        review([Season(g, log)])[0].seen[0].factors["demand"]
        for g in (expecting(garden, PLANNED, 0), garden)
    )
    assert told["factors"]["demand"] == pytest.approx(years)
    assert told["doubts"]["demand"] > 0
    assert mean < years


def test_an_empty_log_teaches_nothing(folder, capsys):
    (folder / "log.csv").write_text(HEADER + "\n")
    code, out, _ = run(capsys, "log.csv")
    assert code == 0
    assert "nothing is learned yet" in out


# What else a log tells of a stand

MILD = tuple(r.replace(",20,cm", ",24,cm").replace(",8,cm", ",20,cm") for r in ONE)


def stand_of(*more):
    (stand,) = finished(season(*sorted([*MILD, *more])))
    return stand


def test_water_that_came_in_was_drunk_too_and_spoils_what_its_strength_would_teach():
    plain, topped = reviewed_one(*MILD), reviewed_one(*MILD, "2027-05-10,topped,A,1,,1.5,L,")
    assert topped.drunk == pytest.approx(plain.drunk + 1.5)
    assert topped.factors["demand"] > plain.factors["demand"]
    assert plain.verdict is not None
    assert topped.verdict is None


def reviewed_one(*rows):
    (crop,) = review([season(*sorted(rows))])
    return crop.seen[0]


def test_plants_that_were_lost_are_neither_picked_nor_weighed():
    """Two of three are picked: 150 g each; and fewer plants should have drunk less."""
    rows = [r.replace("picked,A,1,,3,plants", "picked,A,1,,2,plants") for r in MILD]
    stand = stand_of()
    assert (stand.left, stand.picked) == (3, 3)
    lost = "2027-04-30,lost,A,1,,1 of 3,,"
    one = reviewed_one(*rows, lost)
    assert (one.stand.left, one.stand.whole, one.grams_per_plant) == (2, True, 150)
    assert one.factors["demand"] > reviewed_one(*MILD).factors["demand"]


def test_a_tier_in_shade_or_moved_teaches_nothing_of_thirst():
    for what in ("shaded,A,1", "moved,A,"):
        assert "demand" not in reviewed_one(*MILD, f"2027-05-01,{what},,,,").factors
    assert "demand" in reviewed_one(*MILD, "2027-05-01,covered,A,,,,,").factors


def test_a_crop_that_looked_ripe_before_it_was_picked_was_quicker():
    plain, seen = (reviewed_one(*MILD, *m) for m in ((), ("2027-05-18,ripe,A,1,,,,",)))
    assert seen.factors["days"] < plain.factors["days"]


def test_rain_counts_in_the_topmost_tier_alone():
    assert stand_of("2027-05-10,rain,,,,20,mm,").came_in > 0
    below = [r.replace(",A,1,", ",A,2,") for r in MILD]
    (stand,) = finished(season(*below, "2027-05-10,rain,,,,20,mm,"))
    assert stand.came_in == 0
