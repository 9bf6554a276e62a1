"""A plan lived in weather years: chances and days worked out by hand; the command tells its promise.

One tier of lettuce, transplanted on day 30, dry on the morning of day 57 (see `lived_case`).
"""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from lived_case import bed, head, ripe_after
from verify_case import good_plan

from scheduler.cli import cli
from scheduler.plans.folder import read_plan
from scheduler.risk.lived_plan import BatchLived, LivedPlan, lived_plan

BALCONY = Path(__file__).parents[3] / "examples" / "balcony" / "garden.yaml"


def lived(pick: int, days: list[int]) -> LivedPlan:
    plan = replace(good_plan(), batches=(head(pick),), unmet=())
    return lived_plan(bed(), plan, ripe_after(days), 0)


def only(found: LivedPlan) -> BatchLived:
    (batch,) = found.batches
    return batch


def test_days_late_are_those_of_one_year_in_five() -> None:
    """Nine years: the k-th latest stands for k in 10, so the second latest is one in five."""
    assert only(lived(50, [20, 20, 20, 21, 22, 23, 24, 25, 26])).late == 5
    assert only(lived(50, [20, 20, 20, 20, 20, 20, 20, 20, 26])).late == 0
    # Ripe after 29 days it is dry before: in two years of nine it never comes.
    assert only(lived(50, [20, 20, 20, 21, 22, 23, 24, 29, 29])).late is None


def test_chances_and_mass() -> None:
    found = lived(53, [20, 22, 23, 24, 29])
    batch = only(found)
    assert (batch.unripe, batch.dry, batch.bolted, batch.too_old) == (0.4, 0.2, 0.0, 0.0)
    assert (batch.lost, batch.mass, found.any_lost) == (0.2, 0.8, 0.2)
    assert only(lived(53, [20, 22, 23])).lost == 0


def test_what_a_week_gets_in_a_poor_and_a_good_year() -> None:
    """400 g on day 53 or not at all: in two years of nine nothing comes."""
    found = lived(53, [20] * 7 + [29, 29])
    weeks = [w for w in found.weeks if w.served[2]]
    assert weeks
    assert weeks[0].served == (0, 400, 400)
    assert (found.years, found.real) == (9, 0)


def run(*arguments: object) -> tuple[int, str]:
    done = CliRunner().invoke(cli, [str(a) for a in arguments])
    return done.exit_code, done.output


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("lived") / "season"
    code, said = run("plan", BALCONY, "--out", folder, "--years", 4, "--time-limit", 1)
    assert code == 0, said
    return folder


def told(*arguments: object) -> Any:
    code, said = run("risk", *arguments, "--json")
    assert code == 0, said
    return json.loads(said)


@pytest.mark.slow
def test_it_is_the_promise_of_the_plan(planned: Path) -> None:
    """The same grower in the same years: figure for figure."""
    promise = read_plan(planned).promise
    assert promise is not None
    body = told(planned)
    assert body["wish_met"]["shares"] == list(promise.shares)
    assert body["wish_met"]["one_in_five"] == promise.one_in_five
    assert (body["years"], body["real"]) == (200, 0)
    assert told(planned, "--seed", 9)["wish_met"]["shares"] != list(promise.shares)


def test_the_calendar_to_the_day_is_another_question(planned: Path, tmp_path: Path) -> None:
    code, said = run("risk", planned, "--years", 20)
    assert code == 0
    assert max(map(len, said.splitlines())) <= 79
    assert "20 weather years (none real)" in said
    assert "waits until a crop is ripe" in " ".join(said.split())
    _, day = run("risk", planned, "--years", 20, "--to-the-day")
    assert "The calendar is followed to the day" in day
    _, spread = run("risk", planned, "--years", 20, "--spread", 0)
    assert "The calendar is followed to the day" in spread


def test_a_plan_of_the_mean_year_is_lived_as_well(planned: Path, tmp_path: Path) -> None:
    folder = tmp_path / "mean"
    assert run("plan", BALCONY, "--out", folder, "--years", 0, "--time-limit", 1)[0] == 0
    body = told(folder, "--years", 30)
    assert len(body["wish_met"]["shares"]) == 30
    assert body["batches"]


def test_how_many_years_are_real_is_told(planned: Path, tmp_path: Path) -> None:
    from test_risk_command import past_csv

    folder = tmp_path / "own"
    shutil.copytree(planned, folder)
    body = told(folder, "--years", 3, "--past", past_csv(tmp_path / "past.csv", days=4000))
    assert body["real"] >= 1
