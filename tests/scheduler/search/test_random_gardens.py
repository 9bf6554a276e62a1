"""Random gardens: never a traceback, every plan passes the verifier, the same again is the same.

How many is chosen by the profile of `draws` (20, in CI 40, by hand 10,000); the slower tests take a
share of that.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
import yaml
from click.testing import CliRunner
from draws import profiled
from hypothesis import assume, given, reject
from hypothesis import strategies as st
from random_gardens import mostly, small_gardens
from solver_case import rows_of, sound
from verify_case import day

from scheduler.base.faults import DrylineError, NoPlan
from scheduler.cli import cli
from scheduler.garden.model import ONE_DAY, Garden
from scheduler.log.model import HEADER, read_log
from scheduler.outputs import text
from scheduler.outputs.work import work_items
from scheduler.plans.model import Plan
from scheduler.plans.reading import parse_plan
from scheduler.replanning.rebalance import rebalance
from scheduler.search.solve import solve
from scheduler.solvers.cp_sat import Settings
from scheduler.verify import verify
from scheduler.words.words import Units
from scheduler.years.expected import expecting

# A limit by work done, so that a busy machine changes nothing; the clock's limit is never reached.
STEADY = Settings(time_limit=600.0, gap=0.0, seed=1, workers=1, deterministic=0.01)


def untimed(plan: Plan) -> Plan:
    """A plan without the seconds its search took."""
    return replace(plan, stages=tuple(replace(s, seconds=0.0) for s in plan.stages))


@profiled()
@given(small_gardens(), st.sampled_from([False, False, False, True]))
def test_every_plan_is_sound_or_there_is_a_reason_why_there_is_none(g: Garden, twice: bool) -> None:
    try:
        season = solve(g, STEADY)
    except NoPlan as error:
        assert len(rows_of(g)) == 0
        assert error.text()
        return
    sound(g, season)
    plan = season.plan
    again = parse_plan(plan.to_json().encode())
    assert again == plan
    assert verify(g, again).ok
    if twice:
        assert untimed(solve(g, STEADY).plan) == untimed(plan)


@profiled(10)
@given(small_gardens())
def test_every_plan_can_be_printed(g: Garden) -> None:
    try:
        plan = solve(g, replace(STEADY, deterministic=0.001)).plan
    except NoPlan:
        return
    units = Units(g.units)
    printed = text.calendar(g, plan, work_items(g, plan), units)
    assert max(map(len, printed.splitlines())) <= 80
    for batch in plan.batches:
        assert g.crops[batch.crop].title in printed


@st.composite
def mishaps(draw: st.DrawFn, plan: Plan, on: date) -> list[str]:
    """Lines of a log about batches of the plan, before a day; not all of them can be true."""
    lines = []
    for batch in draw(st.lists(st.sampled_from(plan.batches), max_size=3)):
        last = max(min(on - ONE_DAY, batch.clear), batch.sow)
        when = draw(st.dates(batch.sow, last))
        place = f"{batch.column},{batch.tier}"
        left = f"{batch.fill_litres * draw(st.sampled_from([1.0, 0.6, 0.2])):.2f}"
        if when < batch.transplant:
            lines.append(f"{when},failed,,,{batch.crop},,,")
            continue
        lines.append(
            draw(
                st.sampled_from(
                    [
                        f"{when},failed,{place},,,,",
                        f"{when},failed,{place},,,,root disease",
                        f"{when},failed,{batch.column},,,,,wind",
                        f"{when},level,{place},,{left},L,",
                        f"{when},cleared,{place},,,,",
                        f"{when},picked,{place},,1,plants,",
                        f"{when},transplanted,{place},{batch.crop},,,",
                    ]
                )
            )
        )
    return lines


@pytest.mark.slow
@profiled(10)
@given(small_gardens(), st.data())
def test_every_plan_can_be_planned_again(g: Garden, data: st.DataObject) -> None:
    planned_again(g, data, 0)


@profiled(4)
@given(small_gardens(), st.data())
def test_every_plan_with_years_can_be_planned_again(g: Garden, data: st.DataObject) -> None:
    """Young heads go on as what they are, planned before or only now."""
    planned_again(g, data, 4)


def planned_again(mean: Garden, data: st.DataObject, years: int) -> None:
    g = expecting(mean, years, 1)
    quick = replace(STEADY, deterministic=0.001)
    try:
        plan = solve(g, quick).plan
    except DrylineError:
        reject()
    assume(plan.batches)
    assert verify(g, plan).ok
    on = data.draw(st.dates(plan.batches[0].transplant, g.season.end))
    g = expecting(mean, years, 1, on)  # what has happened is the same in every year
    lines = data.draw(mishaps(plan, on))
    log = read_log("\n".join([HEADER, *lines]).encode(), "log.csv", g)
    try:
        done = rebalance(
            g, plan, log, on, quick, change_grams=0.0, complete=data.draw(mostly(False, True))
        )
    except DrylineError as error:
        assert error.text()
        return
    verdict = verify(g, done.plan)
    assert verdict.ok, verdict.broken[:3]


_DAY = st.integers(0, 55).map(day).map(str)
_SPAN = st.tuples(_DAY, _DAY).map(lambda ends: dict(zip(("from", "to"), sorted(ends), strict=True)))


def _some(**keys: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries({}, optional=keys)


# As a grower writes it; some of these are refused, with every fault told.
_FILE = st.fixed_dictionaries(
    {
        "site": st.fixed_dictionaries(
            {
                "latitude": st.sampled_from(["45 degree", "-38.5 degree", "71 degree"]),
                "elevation": st.just("100 m"),
                "climate": st.just("climate.csv"),
            }
        ),
        "season": st.builds(
            lambda weeks, more: {"start": str(day(0)), "end": str(day(7 * weeks)), **more},
            st.integers(4, 8),
            _some(
                work_days=st.sampled_from([["mon", "thu"], "all", ["sun"]]),
                away=st.lists(_SPAN, max_size=2),
            ),
        ),
        "vessels": st.just(
            {
                "pail": {
                    "shape": "straight",
                    "diameter": "30 cm",
                    "height": "40 cm",
                    "fill": "18 L",
                    "keep": "2 cm",
                    "mass": "1.4 kg",
                },
                "jar": {
                    "shape": "table",
                    "table": {"0 cm": "0 L", "20 cm": "4 L"},
                    "fill": "6 in",
                    "mass": "1 lb",
                },
            }
        ),
        "columns": st.lists(
            st.fixed_dictionaries(
                {
                    "name": st.sampled_from(["A", "B", "C 1"]),
                    "tiers": st.lists(
                        st.builds(
                            lambda tier, more: {**tier, **more},
                            st.fixed_dictionaries(
                                {
                                    "vessel": st.sampled_from(["pail", "pail", "jar"]),
                                    "light": st.sampled_from([1.0, "60 %", 0.2]),
                                    "plants": st.integers(1, 6),
                                }
                            ),
                            _some(
                                available=_SPAN,
                                rests=st.just({"family": "Asteraceae", "until": str(day(20))}),
                            ),
                        ),
                        min_size=1,
                        max_size=3,
                    ),
                }
            ),
            min_size=1,
            max_size=3,
            unique_by=lambda c: c["name"],
        ),
        "nursery": st.builds(
            lambda cells, more: {"cells": cells, **more},
            st.sampled_from([24, 6, 0]),
            _some(temperature=st.sampled_from(["20 degC", "60 degF"])),
        ),
        "demand": st.just(
            [
                {"group": "lettuce", "per_week": "400 g"},
                {"group": "greens", "per_week": "0.5 lb", "weight": 2},
            ]
        ),
        "limits": _some(
            lift=st.sampled_from(["12 kg", "30 lb", "2 kg"]),
            fills_per_day=st.integers(1, 2),
            picks_per_day=st.integers(1, 2),
            dry_margin=st.sampled_from(["0 days", "4 days"]),
            turnaround=st.sampled_from(["0 days", "1 week"]),
        ),
        "crops": st.fixed_dictionaries(
            {
                "which": st.sampled_from(
                    [["leaf_lettuce", "pak_choi"], ["leaf_lettuce", "kale"], "all"]
                ),
                "overrides": st.fixed_dictionaries(
                    {
                        "leaf_lettuce": st.fixed_dictionaries(
                            {
                                "days_to_harvest": st.sampled_from(["12 day", "25 day"]),
                                "nursery_days": st.sampled_from(["8 day", "14 day"]),
                            }
                        )
                    }
                ),
            }
        ),
    }
)
CLIMATE = "month,tmin,tmax\n" + "\n".join(f"{m},{11 + m % 3},{21 + m % 4}" for m in range(1, 13))


@pytest.mark.slow
@profiled(20)
@given(_FILE)
def test_every_file_is_planned_verified_and_printed_or_refused(body: dict[str, Any]) -> None:
    with TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "climate.csv").write_text(CLIMATE)
        (folder / "garden.yaml").write_text(yaml.safe_dump(body))
        out = str(folder / "plan")
        run = CliRunner().invoke
        asked = [
            "plan",
            str(folder / "garden.yaml"),
            "--out",
            out,
            "--time-limit",
            "0.1",
            "--years",
            "0",
            "--workers",
            "1",
            "--json",
        ]
        planned = run(cli, asked, standalone_mode=False)
        if isinstance(planned.exception, DrylineError):
            assert planned.exception.exit_code in (2, 3, 4)
            assert not Path(out).exists()
            return
        assert planned.exception is None, planned.exc_info
        assert planned.return_value == 0
        for command in (["verify", out], ["calendar", out, "--format", "csv"]):
            done = run(cli, command, standalone_mode=False)
            assert done.exception is None, done.exc_info
            assert done.return_value == 0, done.output
