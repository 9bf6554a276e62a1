"""``dryline risk`` and ``dryline plan --risk``, from folder to folder."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from solver_case import EXAMPLES, example

from crops.climate import monthly_to_daily
from crops.development import bolting_days
from crops.years import lost_at_most
from scheduler.base.faults import NoPlan
from scheduler.cli import main
from scheduler.garden.climate_file import read_climate
from scheduler.garden.file import load_garden
from scheduler.garden.past_file import read_past
from scheduler.plans.folder import read_plan_dir
from scheduler.risk.dry_chance import dry_chances
from scheduler.risk.limit import RiskLimit, within_risk
from scheduler.years.weather_years import Spread, spread_years

COURTYARD = EXAMPLES / "courtyard" / "garden.yaml"


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as ended:
        main([str(a) for a in arguments])
    out, err = capsys.readouterr()
    return int(ended.value.code or 0), out, err


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A courtyard planned within a risk of 2 %."""
    folder = tmp_path_factory.mktemp("plans") / "careful"
    with pytest.raises(SystemExit) as ended:
        main(
            [
                "plan",
                str(COURTYARD),
                "--out",
                str(folder),
                "--time-limit",
                "2",
                "--workers",
                "1",
                "--seed",
                "3",
                "--risk",
                "2%",
                "--years",
                "0",
                "--json",
            ]
        )
    assert not ended.value.code
    return folder


def replayed(capsys: pytest.CaptureFixture[str], *arguments: object) -> Any:
    code, out, _ = run(capsys, "risk", *arguments, "--to-the-day", "--json")
    assert code == 0
    return json.loads(out)


@pytest.mark.slow
@pytest.mark.slow
def test_no_batch_of_a_plan_within_a_risk_exceeds_it(
    planned: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same seed gives the same years, so that the limit holds exactly, not nearly."""
    body = replayed(capsys, planned)
    assert body["years"] == 1000
    assert body["seed"] == 3
    assert len(body["batches"]) > 40
    assert max(b["dry"] for b in body["batches"]) <= 0.02
    assert max(b["dry"] for b in body["batches"]) > 0.0  # near enough to the limit to be a limit


@pytest.mark.slow
@pytest.mark.slow
def test_other_years_find_about_the_same(planned: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A chance of 2 % in 1,000 years is known to 0.44 %; five errors above it is a bug."""
    body = replayed(capsys, planned, "--seed", 77)
    assert max(b["dry"] for b in body["batches"]) <= 0.02 + 5 * 0.0044


@pytest.mark.slow
def test_the_limit_leaves_out_what_exceeds_it_and_nothing_else() -> None:
    g, cand, _ = example("courtyard")
    years = spread_years(g, 100, Spread(), seed=1)
    chance = dry_chances(cand, years)
    kept = within_risk(cand, years, 0.05)
    assert 0 < (chance > 0.05).sum() == len(cand) - len(kept)
    assert dry_chances(kept, years).max() <= 0.05
    assert (chance == 0.05).any()  # just at the limit: kept
    assert len(within_risk(cand, years, 1.0)) == len(cand)


@pytest.mark.slow
def test_with_years_the_share_holds_for_bolting_and_drying_alike(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of 20 years 4 % are none and 6 % one; the folder that is read again keeps to it."""
    balcony = EXAMPLES / "balcony" / "garden.yaml"
    few = ("--time-limit", 2, "--workers", 1)
    for share, most in (("4%", 0), ("6%", 1)):
        folder = tmp_path / share
        code, _, err = run(capsys, "plan", balcony, "--out", folder, *few, "--risk", share)
        assert code == 0, err
        garden, plan = read_plan_dir(folder)
        weather = garden.site.weather
        assert lost_at_most(weather, 20) == most
        assert plan.batches
        for b in plan.batches:
            crop = garden.crops[b.crop]
            stood = slice(garden.season.index(b.transplant), garden.season.index(b.picks[-1].date))
            days = bolting_days(crop, weather)[:, stood].sum(axis=1)
            assert (days > crop.bolts_after + 1e-9).sum() <= most


def test_no_candidate_left_is_told() -> None:
    _, cand, _ = example("courtyard")
    hot = spread_years(cand.garden, 20, Spread(), seed=1)
    dry = type(hot)(hot.first, hot.tmin, hot.tmax, hot.et0 * 50, hot.dli, hot.daylength)
    with pytest.raises(NoPlan, match="runs dry"):
        within_risk(cand, dry, 0.05)


@pytest.mark.slow
def test_it_reads_well_in_80_columns(planned: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "risk", planned, "--to-the-day", "--years", 50)
    assert code == 0
    assert max(map(len, out.splitlines())) <= 79
    for said in ("50 weather years", "stated, not measured", "calendar is followed", "20%"):
        assert said in out
    _, more, _ = run(capsys, "risk", planned, "--to-the-day", "--years", 50, "--all")
    assert len(more.splitlines()) > len(out.splitlines())


@pytest.mark.slow
def test_no_spread_is_the_plan(planned: Path, capsys: pytest.CaptureFixture[str]) -> None:
    body = replayed(capsys, planned, "--years", 2, "--spread", 0)
    assert body["any_dry"] == 0
    met = body["wish_met"]
    assert met["p5"] == met["p95"] == pytest.approx(met["planned"])


def past_csv(path: Path, days: int = 800, warmer: float = 0.0) -> Path:
    """Daily rows like the courtyard's climate, from 2019 on."""
    table, _ = read_climate((EXAMPLES / "courtyard" / "climate.csv").read_text(), "climate.csv")
    assert table is not None
    start = date(2019, 1, 1)
    rows = monthly_to_daily(table, start, start + timedelta(days=days - 1))
    lines = ["date,tmin,tmax,rs"]
    lines += [
        f"{when:%Y-%m-%d},{r.tmin + warmer:.3f},{r.tmax + warmer:.3f},{r.rs:.3f}"
        for when, r in zip(rows.index, rows.itertuples(), strict=True)
    ]
    path.write_text("\n".join(lines) + "\n")
    return path


@pytest.mark.slow
def test_past_years_like_the_climate_keep_the_plan_and_hot_ones_do_not(
    planned: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    same = replayed(capsys, planned, "--years", 60, "--past", past_csv(tmp_path / "same.csv"))
    hot = replayed(
        capsys, planned, "--years", 60, "--past", past_csv(tmp_path / "hot.csv", warmer=6.0)
    )
    # The stretches shift by a week at most, in which a climate without spells hardly moves.
    assert same["lost"] < 0.5 < hot["lost"]
    assert any("6.0 °C warmer" in line for line in hot["assumed"])


@pytest.mark.slow
@pytest.mark.slow
def test_the_garden_s_own_past_is_taken_unless_another_or_a_spread_is_given(
    planned: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "own"
    shutil.copytree(planned, folder)
    hot = past_csv(tmp_path / "hot.csv", warmer=6.0)
    shutil.copy(hot, folder / "inputs" / "hot.csv")
    text = (folder / "garden.yaml").read_text()
    (folder / "garden.yaml").write_text(text.replace("site:\n", "site:\n  past: inputs/hot.csv\n"))
    own = replayed(capsys, folder, "--years", 60)
    named = replayed(capsys, planned, "--years", 60, "--past", hot)
    assert own["assumed"] == named["assumed"]
    assert own["lost"] == named["lost"] > 0.5
    mild = past_csv(tmp_path / "same.csv")
    assert replayed(capsys, folder, "--years", 60, "--past", mild)["lost"] < 0.5
    stated = replayed(capsys, folder, "--years", 60, "--spread", "1")
    assert stated["lost"] == replayed(capsys, planned, "--years", 60)["lost"]
    assert stated["assumed"] != own["assumed"]


def test_a_plan_within_a_risk_draws_from_the_garden_s_own_past(tmp_path: Path) -> None:
    hot, mild = past_csv(tmp_path / "hot.csv", warmer=6.0), past_csv(tmp_path / "mild.csv")
    garden = load_garden(COURTYARD)
    own = replace(garden, site=replace(garden.site, past=read_past(hot, garden, COURTYARD)))
    limit = RiskLimit(own, 0.05, 1, None, COURTYARD, 20)
    same = RiskLimit(garden, 0.05, 1, hot, COURTYARD, 20)
    assert (limit.years.tmax == same.years.tmax).all()
    assert (limit.taken.past, same.taken.past) == (False, True)  # which table lies beside the plan
    other = RiskLimit(own, 0.05, 1, mild, COURTYARD, 20)  # what is named wins
    assert other.years.tmax.mean() == pytest.approx(limit.years.tmax.mean() - 6.0, abs=0.5)


@pytest.mark.slow
@pytest.mark.slow
def test_bad_input_is_told_at_once(
    planned: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    short = past_csv(tmp_path / "short.csv", days=300)
    for arguments, said in (
        (["risk", tmp_path / "none"], "not there"),
        (["risk", planned, "--past", tmp_path / "none.csv"], "not there"),
        (["risk", planned, "--past", short], "365 days or more"),
        (["risk", planned, "--past", EXAMPLES / "courtyard" / "climate.csv"], "daily rows"),
        (["risk", planned, "--et0", "20"], "5% or 0.05"),
        (["risk", planned, "--years", "0"], "0"),
        (["plan", COURTYARD, "--out", tmp_path / "p", "--risk", "5"], "5% or 0.05"),
        (["plan", COURTYARD, "--out", tmp_path / "p", "--past", short, "--years", "0"], "--risk"),
        (["plan", COURTYARD, "--out", tmp_path / "p", "--past", short], "365 days or more"),
    ):
        code, out, err = run(capsys, *arguments)
        assert code == 2, arguments
        assert said in out + err, arguments
        assert "Traceback" not in out + err


@pytest.mark.slow
def test_a_plan_that_breaks_a_rule_is_not_replayed(
    planned: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = tmp_path / "broken"
    shutil.copytree(planned, broken)
    body = json.loads((broken / "plan.json").read_bytes())
    body["batches"][0]["cells"] += 1
    (broken / "plan.json").write_text(json.dumps(body))
    code, _, err = run(capsys, "risk", broken)
    assert code == 1
    assert "breaks a rule" in err
