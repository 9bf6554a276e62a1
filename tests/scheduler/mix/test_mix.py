"""``dryline mix``, recipes for a plan's fills, and the strength at harvest in plan.json."""

import json
from dataclasses import replace
from datetime import date

import pytest

from crops.solution import balance
from crops.solution.acid import ACIDS
from crops.solution.recipe import Water
from crops.solution.shelf import Shelf
from scheduler.cli import main
from scheduler.mix import fills as mix
from scheduler.plans.model import FAILED, GROWING, Plan
from scheduler.plans.reading import parse_plan
from tests.scheduler import calendar_case

GARDEN = calendar_case.garden()
DAY = date(2027, 4, 10)


def plan_of(*batches) -> Plan:
    return Plan("best_found", (), GARDEN.season.start, GARDEN.season.end, batches, ())


def batch(name="b1", crop="leaf_lettuce", tier=1, day=DAY, column="A"):
    return calendar_case.batch(GARDEN, name, crop, column, tier, day)


def test_fill_recipe_is_the_strength_of_the_batch():
    """The recipe of a batch is for the fill that its solution was chosen with."""
    b = batch()
    recipe = mix.fill_recipe(GARDEN, b)
    assert recipe.litres == b.fill_litres
    assert recipe.ec.value == pytest.approx(mix.solution_of(GARDEN, b).fill, abs=1e-6)
    told = mix.with_solution(GARDEN, plan_of(b)).batches[0]
    assert recipe.ec.value == pytest.approx(told.fill_ec, abs=1e-6)


def test_fills_alike_on_a_day_are_mixed_together():
    a, b, c = batch("b1"), batch("b2", tier=2), batch("b3", "pak_choi", 3)
    made = mix.recipes_on(
        GARDEN, plan_of(a, b, c, batch("b4", column="B", day=date(2027, 4, 12))), DAY
    )
    assert [[x.id for x in m.batches] for m in made] == [["b1", "b2"], ["b3"]]
    assert made[0].recipe.litres == pytest.approx(2 * a.fill_litres)


def test_with_solution_tells_fill_and_harvest():
    b = batch()
    out = mix.with_solution(GARDEN, plan_of(b)).batches[0]
    left = next(v.litres for v in b.levels if v.date == b.picks[-1].date)
    found = balance.expected_ec(
        GARDEN.crops[b.crop],
        out.fill_ec,
        left / b.fill_litres,
        (b.fill_litres - left) * 1000 / b.grams,
    )
    assert out.harvest_ec == pytest.approx(found.ec, abs=0.005)
    assert out.harvest_ec_spread == pytest.approx(found.spread, abs=0.005)
    assert replace(out, fill_ec=None, harvest_ec=None, harvest_ec_spread=None) == b
    again = mix.with_solution(GARDEN, mix.with_solution(GARDEN, plan_of(b)))
    assert again.batches[0] == out  # a second time changes nothing
    assert parse_plan(again.to_json()).batches[0] == out


def test_a_plan_again_tells_strengths_if_the_one_before_did():
    plain = plan_of(batch())
    told = mix.with_solution(GARDEN, plain)
    assert mix.renewed(GARDEN, plain, plain) == plain
    assert mix.renewed(GARDEN, told, plain) == told
    assert mix.renewed(GARDEN, told, told) == told


def test_a_failed_batch_has_no_strength_at_harvest():
    out = mix.with_solution(GARDEN, plan_of(replace(batch(), state=FAILED))).batches[0]
    assert out.harvest_ec is None


def test_no_recipe_no_strength():
    salty = replace(GARDEN, solution=Shelf(water=Water({"Na": 900.0, "Cl": 1400.0}), known=True))
    assert mix.with_solution(salty, plan_of(batch())).batches[0].fill_ec is None


def test_warning_at_the_limits():
    """Lettuce: 1.2 to 1.8 mS/cm, so 0.6 to 2.7 at the end."""
    crop = GARDEN.crops["leaf_lettuce"]
    b = replace(batch(), fill_ec=1.5)

    def warned(end):
        return mix.end_warning(crop, mix.solution_of(GARDEN, replace(b, harvest_ec=end)))

    assert warned(2.7) == ""
    assert warned(0.6) == ""
    assert "salty" in warned(2.71)
    assert "weak" in warned(0.59)


def greedy(**changes):
    """The garden with lettuce that takes next to nothing up, so that all the salt stays."""
    crop = replace(
        GARDEN.crops["leaf_lettuce"],
        uptake_n=1,
        uptake_p=0.1,
        uptake_k=0.001,
        uptake_ca=0,
        uptake_mg=0,
        **changes,
    )
    return replace(GARDEN, crops={**GARDEN.crops, "leaf_lettuce": crop})


def thirsty():
    """The batch where 2.5 of 18 L are left at its last pick: the salt of each litre stays in them."""
    b = batch()
    gone = (18 - 2.5) / (18 - b.levels[-1].litres)
    levels = tuple(replace(v, litres=18 - gone * (18 - v.litres)) for v in b.levels)
    return replace(b, levels=levels)


def test_remarks_tell_what_salt_costs():
    """The weakest fill is taken, and what is lost by the published response stands beside it."""
    b = thirsty()
    for slope, says in ((0.13, "under 1 %"), (0.9, "salt costs about")):
        garden = greedy(salt_slope=slope, salt_threshold=0.9 if slope > 0.5 else 1.3)
        told = " ".join(mix.remarks(garden, b, mix.fill_recipe(garden, b)))
        assert mix.solution_of(garden, b).fill == GARDEN.crops["leaf_lettuce"].ec_low
        assert "salty" in told
        assert says in told


def test_learned_uptake_reaches_the_fill():
    """What `review` learned changes the crop's uptake, and with it the fill that is chosen."""
    b = thirsty()
    crop = GARDEN.crops[b.crop]
    fills = []
    for times in (0.2, 1.0, 4.0):
        keys = ("uptake_n", "uptake_p", "uptake_k", "uptake_ca", "uptake_mg")
        learned = replace(crop, **{k: getattr(crop, k) * times for k in keys})
        garden = replace(GARDEN, crops={**GARDEN.crops, b.crop: learned})
        fills.append(mix.with_solution(garden, plan_of(b)).batches[0].fill_ec)
    assert fills == sorted(fills)
    assert fills[0] < fills[-1]


def test_what_is_filled_keeps_its_strength():
    b = replace(thirsty(), fill_ec=1.7, state=GROWING)
    assert mix.with_solution(greedy(), plan_of(b)).batches[0].fill_ec == 1.7
    planned = replace(b, state="planned")
    assert mix.with_solution(greedy(), plan_of(planned)).batches[0].fill_ec == 1.2


# The command


@pytest.fixture
def folder(tmp_path):
    from scheduler.base.files import write_atomic

    source = "examples/balcony"
    import shutil
    from pathlib import Path

    here = Path(__file__).parents[3] / source
    for name in ("garden.yaml", "climate.csv"):
        shutil.copy(here / name, tmp_path)
    from scheduler.garden.file import load_garden

    garden = load_garden(tmp_path / "garden.yaml")
    plan = Plan(
        "best_found",
        (),
        garden.season.start,
        garden.season.end,
        tuple(
            calendar_case.batch(garden, f"b{n}", crop, "balcony", n, date(2027, 4, 17))
            for n, crop in ((1, "leaf_lettuce"), (2, "pak_choi"))
        ),
        (),
    )
    write_atomic(tmp_path / "plan.json", mix.with_solution(garden, plan).to_json())
    return tmp_path


def run(capsys, *arguments):
    with pytest.raises(SystemExit) as ended:
        main(["mix", *map(str, arguments)])
    out = capsys.readouterr()
    return ended.value.code, out.out, out.err


def test_text_fits_a_terminal_and_tells_all(folder, capsys):
    code, out, _ = run(capsys, folder, "--date", "2027-04-17", "--units", "metric")
    assert code == 0
    assert max(map(len, out.splitlines())) <= 79
    for word in (
        "calcium nitrate",
        "as weighed",
        "Handbook",
        "Marion",
        "At harvest",
        "Goggles",
        "NO3-N",
        "urea",
        "Mo",
        "last, when all else is clear",
    ):
        assert word in out, word
    assert out.index("leaf lettuce") != out.index("pak choi")


def test_json_of_a_batch(folder, capsys):
    code, out, _ = run(capsys, folder, "--batch", "b1", "--json")
    body = json.loads(out)
    made = body["mixes"][0]
    assert code == 0
    assert made["litres"] == pytest.approx(3 * 3.785412, rel=1e-6)
    told = json.loads((folder / "plan.json").read_text())["batches"][0]["fill_ec"]
    assert made["ec"]["value"] == pytest.approx(told, abs=1e-6)
    assert all(s["weighed"] == round(s["weighed"]) for s in made["salts"])  # kitchen scale of 1 g
    assert made["cautions"]


def test_volume_and_strength(folder, capsys):
    code, out, _ = run(capsys, folder / "garden.yaml", "--litres", "5 gal", "--ec", "1.6", "--json")
    made = json.loads(out)["mixes"][0]
    assert code == 0
    assert made["litres"] == pytest.approx(18.927, abs=1e-3)
    assert made["ec"]["value"] == pytest.approx(1.6)


def test_target_and_concentrates(folder, capsys):
    code, out, _ = run(
        capsys, folder, "--litres", "20 L", "--target", "N 150 P 40 K 190 Ca 140", "--stock", "100"
    )
    assert code == 0
    assert "misfit" in out
    assert "wanted" in out
    assert "Never pour A and B together" in out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--batch", "zz"], "b1"),
        (["--date", "2027-04-18"], "2027-04-17"),
        (["--date", "18.4.2027"], "2027-05-12"),
        (["--litres", "20"], "5 gal"),
        (["--litres", "20 kg", "--ec", "1.6"], "5 gal"),
        (["--litres", "-20 L", "--ec", "1.6"], "more than 0"),
        (["--litres", "20 L"], "--ec is missing"),
        (["--litres", "20 L", "--ec", "9"], "burns roots"),
        (["--litres", "20 L", "--ec", "nan"], "EC nan"),
        (["--crop", "pack choi"], "pak_choi"),
        (["--target", "N lots"], "N 150"),
        (["--target", "N 100 N 200"], "N 150"),
        (["--scale", "0 g", "--ec", "1.6"], "--scale"),
        (["--litres", "20 L", "--ec", "1.6", "--scale", "60 g"], "weigh finer"),
        (["--litres", "20 L", "--ec", "1.6", "--ph", "8.1"], "4 to 8"),
        (["--litres", "20 L", "--crop", "pak_choi", "--ph", "3.9"], "4 to 8"),
        (["--batch", "b1", "--ph", "nan"], "4 to 8"),
        (["--batch", "b1", "--ec", "1.6"], "one of"),
        (["--litres", "20 L", "--ec", "1.6", "--way", "one-bag", "--stock", "100"], "falls out"),
        (["--litres", "20 L", "--ec", "1.6", "--stock", "2"], "for water"),
        (["--litres", "20 L", "--ec", "1.6", "--stock", "399"], "more than dissolves"),
    ],
)
def test_refusals(folder, capsys, arguments, says):
    code, _, err = run(capsys, folder, *arguments)
    assert code == 2
    assert says in err
    assert "Traceback" not in err


def test_ph_outside_four_to_eight(folder, capsys):
    text = (folder / "garden.yaml").read_text()
    (folder / "garden.yaml").write_text(text + "\nsolution:\n  water: {alkalinity: 150 mg/L}\n")
    for value, code in (("3.9", 2), ("4", 0), ("8", 0), ("8.1", 2)):
        got, _, err = run(capsys, folder, "--litres", "20 L", "--ec", "1.6", "--ph", value)
        assert got == code, err
    _, out, _ = run(capsys, folder, "--litres", "20 L", "--ec", "1.6", "--ph", "6")
    assert "citric acid" in out
    assert "Pour acid into water" in out


def test_no_place(tmp_path, capsys):
    code, _, err = run(capsys, tmp_path / "none.yaml", "--ec", "1.6")
    assert code == 2
    assert "none.yaml" in err


def test_acid_of_the_shelf_is_dosed_for_the_crop():
    shelf = Shelf(water=Water({}, 150.0, 7.8), known=True, acid=ACIDS["sulfuric 35 %"])
    recipe = mix.fill_recipe(replace(GARDEN, solution=shelf), batch())
    crop = GARDEN.crops["leaf_lettuce"]
    assert recipe.dose.ph == pytest.approx((crop.ph_low + crop.ph_high) / 2)
    # 150 mg/L CaCO3 is 3.0 meq/L; at pH 6.15 with pK 6.35 39 % is left of 97 %: 1.8 meq/L, in 18 L
    # 32.3 meq; 35 % sulfuric acid of 1.26 g/mL is 9.0 eq/L: 3.6 mL.
    assert recipe.dose.amount == pytest.approx(3.6, abs=0.1)


def test_tiers_of_a_day_stand_in_the_order_of_the_garden():
    """K1, K2, K10, not K1, K10, K2; and by tier within a column, whatever the plan's order."""
    (a, *_) = GARDEN.columns
    names = ("K1", "K2", "K10")
    garden = replace(GARDEN, columns=tuple(replace(a, name=n) for n in names))
    plan = plan_of(
        *(
            replace(batch(f"b{i}", tier=t), column=c)
            for i, (c, t) in enumerate([("K10", 1), ("K2", 2), ("K1", 1), ("K2", 1)])
        )
    )
    (made,) = mix.recipes_on(garden, plan, DAY)
    assert [(b.column, b.tier) for b in made.batches] == [
        ("K1", 1),
        ("K2", 1),
        ("K2", 2),
        ("K10", 1),
    ]


def test_remarks_tell_what_is_used_up():
    """Lettuce that holds ten times the nitrogen takes more than a fill has."""
    b = batch()
    crop = GARDEN.crops[b.crop]
    for times, told in ((0.1, False), (10, True)):
        changed = replace(crop, uptake_n=crop.uptake_n * times)
        garden = replace(GARDEN, crops={**GARDEN.crops, b.crop: changed})
        lines = mix.remarks(garden, b, mix.fill_recipe(garden, b))
        assert any(x.startswith("Nitrogen") for x in lines) == told
