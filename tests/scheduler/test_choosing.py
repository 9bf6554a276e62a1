"""Which plan is kept, and what plan and plan again hand out with weather years."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from draws import some_in_ci

from scheduler.cli import cli
from scheduler.garden.file import load_garden
from scheduler.mix.fills import with_solution
from scheduler.plans.folder import read_plan_dir
from scheduler.search import living
from scheduler.search.living.search import MOVES_A_WORK
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases import choosing
from scheduler.usecases.planning import plan_season
from scheduler.usecases.promising import YearsOf
from scheduler.verify import verify

BALCONY = Path(__file__).parents[2] / "examples" / "balcony" / "garden.yaml"
QUICK = Settings(time_limit=600, workers=1, deterministic=0.02)


@pytest.fixture(scope="module", autouse=True)
def _as_heavy_as_found() -> Iterator[None]:
    """Which plan is kept is decided before vessels are made lighter, which takes most of the time."""
    patch = pytest.MonkeyPatch()
    patch.setattr("scheduler.search.lighter.lighter", lambda garden, season, *_: season.plan)
    yield
    patch.undo()


@pytest.fixture(scope="module")
def made() -> choosing.Made:
    garden = load_garden(BALCONY)
    known = YearsOf(garden, 8, 3)
    return choosing.best_lived(known.garden, garden, 8, known.choosing, QUICK, 3)


def lived_worth(monkeypatch: pytest.MonkeyPatch, *worths: float) -> list[object]:
    """Make out what each way's plan is worth when it is lived; the calls, as they come."""
    from scheduler.lived import live as lived

    left, seen, real = iter(worths), [], lived.worth_of

    def worth_of(*arguments: object) -> object:
        seen.append(arguments)
        return real(*arguments) * 0 + next(left)  # type: ignore[arg-type]

    monkeypatch.setattr(lived, "worth_of", worth_of)
    return seen


@pytest.mark.slow
@pytest.mark.parametrize("kept", some_in_ci(range(4)))
def test_whatever_way_is_kept_its_promise_is_that_of_the_garden(
    kept: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ripe heads only, young ones too, the mean year, the best lived on: lived again by the garden's share of young
    heads. One way was planned with a share of its own, and then judged by it."""
    lived_worth(monkeypatch, *(0.9 if way == kept else 0.1 for way in range(4)))
    made = plan_season(BALCONY, QUICK, years=4)
    assert made.garden.limits == load_garden(BALCONY).limits
    assert made.plan.promise is not None
    assert verify(made.garden, made.plan).ok


@pytest.mark.slow
def test_the_plan_that_brings_most_when_lived_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of three ways the second is made out to be the best: it is the one kept."""
    garden = load_garden(BALCONY)
    known = YearsOf(garden, 4, 3)
    seen = lived_worth(monkeypatch, 0.5, 0.7, 0.6)
    best = choosing.best_lived(known.garden, garden, 4, known.choosing, QUICK, 3)
    assert len(seen) == 3
    assert best.worth == pytest.approx(0.7)
    assert best.garden.limits.young == garden.limits.young
    assert best.years == 4


@pytest.mark.slow
def test_what_is_kept_keeps_every_rule_and_its_promise_is_of_other_years(
    made: choosing.Made,
) -> None:
    garden = load_garden(BALCONY)
    known = YearsOf(garden, 8, 3)
    plan = known.promised(made.plan, made)
    assert plan.promise is not None
    assert plan.years is not None
    assert plan.years.planned == made.years
    assert plan.years.judged == len(plan.promise.shares)
    assert plan.promise.worst_fifth <= plan.promise.one_in_five <= plan.promise.usual
    assert plan.promise.usual <= plan.promise.reachable + 0.01
    rows = {known.judging.tmin[k, :20].tobytes() for k in range(known.judging.count)}
    assert not rows & {known.choosing.tmin[k, :20].tobytes() for k in range(known.choosing.count)}


@pytest.mark.slow
def test_planned_and_planned_again_with_years_a_folder_verifies_by_itself(tmp_path: Path) -> None:
    def run(*arguments: object) -> str:
        done = CliRunner().invoke(cli, [str(a) for a in arguments])
        assert done.exit_code == 0, done.output
        return done.output

    first, second = tmp_path / "first", tmp_path / "second"
    options = ("--time-limit", 4, "--workers", 1)
    said = run("plan", BALCONY, "--out", first, "--years", 6, *options)
    assert "A usual year brings" in said
    assert "Judged in 200 weather years" in " ".join(said.split())
    run("verify", first)
    log = tmp_path / "log.csv"
    log.write_text("date,what,column,tier,crop,amount,unit,note\n")
    run("rebalance", first, "--log", log, "--on", "2027-05-03", "--out", second)
    run("verify", second)
    garden, plan = read_plan_dir(second)
    _, before = read_plan_dir(first)
    assert plan.promise is not None
    assert before.promise is not None
    # Nothing was said to have gone wrong: what is promised on the way is near what was promised.
    assert plan.promise.usual == pytest.approx(before.promise.usual, abs=0.15)
    assert verify(garden, plan).ok


def test_no_years_no_promise(tmp_path: Path) -> None:
    done = CliRunner().invoke(
        cli,
        ["plan", str(BALCONY), "--out", str(tmp_path / "p"), "--years", "0", "--time-limit", "1"],
    )
    assert done.exit_code == 0, done.output
    assert "This plan meets" in done.output
    assert "usual year" not in done.output
    garden, plan = read_plan_dir(tmp_path / "p")
    assert (plan.promise, plan.years) == (None, None)
    assert not garden.site.weather.attrs


@pytest.mark.slow
@pytest.mark.parametrize(("again", "kept"), [(0.9, 0.9), (0.3, 0.7)])
def test_the_best_first_look_is_lived_on_and_the_better_kept(
    again: float, kept: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second of three ways looks best; made better by living it, it brings more, or less."""
    garden = load_garden(BALCONY)
    known = YearsOf(garden, 4, 3)
    real, begun = living.improved, []

    def improved(*arguments: object, **named: object) -> living.Found:
        found = real(*arguments, **named)  # type: ignore[arg-type]
        begun.append((arguments, found))
        return found

    monkeypatch.setattr(living, "improved", improved)
    seen = lived_worth(monkeypatch, 0.5, 0.7, 0.6, again)
    best = choosing.best_lived(
        known.garden, garden, 4, known.choosing, QUICK, 3, planning=known.planning
    )
    assert len(seen) == 4
    assert best.worth == pytest.approx(kept)
    (((cand, years, starts, *_), found),) = begun
    assert cand.garden.limits.young == garden.limits.young  # of the second way
    assert years is known.planning
    assert len(starts) == 6  # it begins with the best of all three and of their rules of thumb
    assert found.worth >= found.begun
    assert found.moves[0] == round(MOVES_A_WORK * QUICK.deterministic)
    assert verify(known.garden, with_solution(garden, best.plan)).ok


@pytest.mark.slow
def test_the_mean_year_s_plan_is_lived_on_where_it_brings_most(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Its batches stay those that the mean year bears: other rules are kept, and it is told so."""
    garden = load_garden(BALCONY)
    known = YearsOf(garden, 4, 3)
    lived_worth(monkeypatch, 0.5, 0.6, 0.7, 0.9)
    best = choosing.best_lived(
        known.garden, garden, 4, known.choosing, QUICK, 3, planning=known.planning
    )
    assert best.years == 0
    assert best.worth == pytest.approx(0.9)
    # Living may bring less of what is expected than the rule would; no promise says so here yet.
    made = replace(best.plan, by_hand={})
    assert verify(garden, with_solution(garden, made)).ok


@pytest.mark.deep
def test_what_is_lived_on_brings_more_in_the_years_it_was_made_with() -> None:
    """The garden of the bench with most room for it, little work: by `live`, of the same years."""
    garden = load_garden(BALCONY)
    known = YearsOf(garden, 8, 3)
    first = choosing.best_lived(known.garden, garden, 8, known.planning, QUICK, 3)
    more = choosing.best_lived(
        known.garden, garden, 8, known.planning, QUICK, 3, planning=known.planning
    )
    assert more.worth >= first.worth
