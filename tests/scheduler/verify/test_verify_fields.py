"""Every field of plan.json is checked, or said not to be: one change of each is found out."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import lru_cache
from typing import Any

import pytest
from draws import some_now
from pydantic import TypeAdapter
from verify_case import day, garden, good_plan, with_stages

from scheduler.lived.promise import promised
from scheduler.lived.spans import spanned
from scheduler.lived.water import with_water
from scheduler.mix.fills import with_solution
from scheduler.plans.fields import drop_unknown
from scheduler.plans.json_schemas import plan_schema
from scheduler.plans.model import CLEARED, FAILED, Plan, RiskTaken, YearsTaken
from scheduler.plans.reading import name_inside, parse_plan
from scheduler.schedule.masses import Standing
from scheduler.verify import verify
from scheduler.verify.fields import FIELDS, UNCHECKED
from scheduler.years.purposes import years_for
from scheduler.years.weather_years import WeatherYears

Body = dict[str, Any]
Change = Callable[[Body], object]


@lru_cache(maxsize=1)
def full_plan() -> Plan:
    """`good_plan` with every field filled in: by rule 2,000 of 2,571 weighted grams."""
    made = good_plan()
    made = replace(
        made,
        garden=garden().name,
        gap=0.01,
        risk=RiskTaken(0.05, 0, 1000),
        by_hand={"rule": "lagging group", "produce": 2000.0, "share": 2000 / 2571},
        versions={"solver": "1"},
        number=2,
        made=day(0),
    )
    made = with_solution(garden(), made)
    made = replace(made, lifted=Standing(garden(), made).lifted(made))
    return with_promise(made)


@pytest.fixture(autouse=True)
def _few_years(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two years are lived again; as many as ever where a change of the promise is to be found."""
    if "promise" not in request.node.name and "years" not in request.node.name:
        monkeypatch.setattr("scheduler.verify.promise.BATCH_YEARS", 1)


@lru_cache(maxsize=1)
def years() -> WeatherYears:
    return years_for(garden(), 40, 5, "promise")


def with_promise(made: Plan) -> Plan:
    """Forty years around the constant weather; the first of them are lived again."""
    promise = promised(garden(), made.batches, years(), 1.0, 5)
    # No more than what the plan brings in two of them: the least that may be said.
    least = tuple(promise.shares[number] for number in (0, 3))
    promise = replace(promise, foreseen_years=(0, 3), foreseen=least)
    batches = spanned(garden(), made.batches, years_for(garden(), 4, 5, "choose"), 5)
    made = replace(made, batches=batches, by_hand={**made.by_hand, "usual": 0.5})
    return replace(made, promise=promise, years=YearsTaken("made", 0, 40, 0, 5, 4))


@lru_cache(maxsize=1)
def later_plan() -> Plan:
    """The same on day 35: b1 is over, b3 and b5 grow, b4 has failed, and nothing was planned anew.

    Of b4, transplanted on day 34, nothing is picked; what grows had drunk what was expected.
    """
    made = full_plan()
    lost = next(b for b in made.batches if b.id == "b4")
    lost = replace(
        lost, state=FAILED, picks=(), clear=day(35), rest_until=day(60), levels=lost.levels[:2]
    )
    batches = tuple(
        lost
        if b.id == "b4"
        else replace(b, state=CLEARED)
        if b.id == "b1"
        else replace(b, state="growing")
        if b.transplant < day(35)
        else b
        for b in made.batches
    )
    batches = tuple(
        b
        if b.state == "planned"
        else replace(b, transplant_until=None, chances=b.chances if b.state == "growing" else None)
        for b in batches
    )
    known = years_for(garden(), 4, 5, "choose", as_of=day(35))  # the same up to then
    batches = with_water(garden(), batches, known, 5)
    made = replace(made, batches=batches, stages=(), as_of=day(35), status="best_found")
    made = replace(made, lifted=Standing(garden(), made).lifted(made))
    return with_stages(garden(), made)


def put(value: Any, *path: Any) -> Change:
    """Set a field; the last part of the path is its name."""

    def change(body: Body) -> None:
        at: Any = body
        for part in path[:-1]:
            at = at[part]
        assert path[-1] in at
        assert at[path[-1]] != value
        at[path[-1]] = value

    return change


FIRST = ("batches", 0)


def swapped(body: Body) -> None:
    """The first year for the best one: every sum stays what it was."""
    shares = body["promise"]["shares"]
    best = shares.index(max(shares))
    shares[0], shares[best] = shares[best], shares[0]


def two_kinds(**wrong: Any) -> Change:
    """Tell of two kinds of lettuce in none of its five weeks, but for what is ``wrong``."""

    def change(body: Body) -> None:
        told = {"group": "lettuce", "weeks": 5, "by_year": 40 * [0], **wrong}
        body["promise"]["two_kinds"] = [told]

    return change


EACH: dict[str, list[Change]] = {
    "garden": [put("another garden", "garden")],
    "status": [put("superb", "status"), put("proven", "status")],
    "season.start": [put("2027-04-06", "season", "start")],
    "season.end": [put("2027-07-05", "season", "end")],
    "stages.name": [
        put("yield", "stages", 0, "name"),
        put([], "stages"),
        lambda body: body["stages"].pop(),
        lambda body: body["stages"].reverse(),
        lambda body: body["stages"].append(dict(body["stages"][2], name="changes")),
    ],
    "stages.status": [
        put("superb", "stages", 1, "status"),
        put("proven", "stages", 0, "status"),
        put("within_gap", "stages", 1, "status"),
    ],
    "stages.value": [
        put(2381.0, "stages", 0, "value"),
        put(359.0, "stages", 1, "value"),
        put(33.0, "stages", 2, "value"),
        put(float("nan"), "stages", 0, "value"),
    ],
    # 2,380 and 2,405 are 1.04 % apart; fifteen times the value was once within the gap.
    "stages.bound": [
        put(2405.0, "stages", 0, "bound"),
        put(15 * 2380.0, "stages", 0, "bound"),
        put(2379.0, "stages", 0, "bound"),
        put(361.0, "stages", 1, "bound"),
        put(float("inf"), "stages", 0, "bound"),
        put(None, "stages", 0, "bound"),
    ],
    "batches.id": [put("b2", *FIRST, "id")],
    "batches.crop": [put("moss", *FIRST, "crop"), put("chard", *FIRST, "crop")],
    "batches.column": [put("Z", *FIRST, "column")],
    "batches.tier": [put(9, *FIRST, "tier"), put(2, *FIRST, "tier")],
    "batches.plants": [put(3, *FIRST, "plants"), put(5, *FIRST, "plants")],
    "batches.seeds": [put(7, *FIRST, "seeds"), put(1000, *FIRST, "seeds")],
    "batches.cells": [put(3, *FIRST, "cells")],
    "batches.sow": [put(day(-1).isoformat(), *FIRST, "sow")],
    "batches.transplant": [put(day(9).isoformat(), *FIRST, "transplant")],
    "batches.picks.date": [put(day(29).isoformat(), *FIRST, "picks", 0, "date")],
    "batches.picks.plants": [put(3, *FIRST, "picks", 0, "plants")],
    "batches.picks.grams": [
        put(1_000_000, *FIRST, "picks", 0, "grams"),
        put(201, *FIRST, "picks", 0, "grams"),
    ],
    "batches.picks.early": [put(True, *FIRST, "picks", 0, "early")],
    "batches.picks.young": [put(True, "batches", 1, "picks", 0, "young")],
    "batches.picks.look_from": [
        put(None, *FIRST, "picks", 0, "look_from"),
        put(day(0).isoformat(), *FIRST, "picks", 0, "look_from"),
        put(day(80).isoformat(), *FIRST, "picks", 0, "look_from"),
    ],
    "batches.picks.from": [
        put(None, *FIRST, "picks", 0, "from"),
        put(day(80).isoformat(), *FIRST, "picks", 0, "from"),
    ],
    "batches.picks.to": [
        put(None, *FIRST, "picks", 0, "to"),
        put(day(80).isoformat(), *FIRST, "picks", 0, "to"),
    ],
    "batches.picks.share": [
        put(None, *FIRST, "picks", 0, "share"),
        put(0.5, *FIRST, "picks", 0, "share"),
        put(1.1, *FIRST, "picks", 0, "share"),
    ],
    "batches.transplant_until": [
        put(None, *FIRST, "transplant_until"),
        put(day(80).isoformat(), *FIRST, "transplant_until"),
    ],
    "batches.chances.dry": [
        put(0.75, *FIRST, "chances", "dry"),
        put(None, *FIRST, "chances"),
    ],
    "batches.chances.bolted": [put(0.75, *FIRST, "chances", "bolted")],
    "batches.chances.cold": [put(0.75, *FIRST, "chances", "cold")],
    "batches.chances.heat": [put(0.75, *FIRST, "chances", "heat")],
    "batches.chances.unripe": [
        lambda body: put(
            1 - body["batches"][0]["chances"]["unripe"] / 2, *FIRST, "chances", "unripe"
        )(body),
        put(1.1, *FIRST, "chances", "unripe"),
    ],
    "batches.clear": [
        put(day(32).isoformat(), *FIRST, "clear"),
        put(day(34).isoformat(), *FIRST, "clear"),
    ],
    "batches.fill_litres": [put(11.9, *FIRST, "fill_litres")],
    "batches.dry_date": [put(None, *FIRST, "dry_date")],
    "batches.margin_days": [put(99, *FIRST, "margin_days")],
    "batches.state": [
        put("lost", *FIRST, "state"),
        put("failed", *FIRST, "state"),
        put("cleared", *FIRST, "state"),
        lambda body: [b.update(state="failed") for b in body["batches"]],
    ],
    "batches.levels.date": [put(day(3).isoformat(), *FIRST, "levels", 2, "date")],
    "batches.levels.litres": [put(3.0, *FIRST, "levels", 2, "litres")],
    "batches.levels.depth_cm": [put(3.0, *FIRST, "levels", 2, "depth_cm")],
    "batches.levels.low": [
        put(3.0, *FIRST, "levels", 9, "low"),
        put(None, *FIRST, "levels", 9, "low"),
    ],
    "batches.levels.high": [put(3.0, *FIRST, "levels", 9, "high")],
    "batches.demand_factor": [put(1.1, *FIRST, "demand_factor")],
    "batches.rest_until": [put(day(70).isoformat(), *FIRST, "rest_until")],
    "batches.fill_ec": [
        put(99.0, *FIRST, "fill_ec"),
        put(-0.1, *FIRST, "fill_ec"),
        put(float("nan"), *FIRST, "fill_ec"),
    ],
    "batches.harvest_ec": [
        put(99.0, *FIRST, "harvest_ec"),
        put(float("inf"), *FIRST, "harvest_ec"),
    ],
    "batches.harvest_ec_spread": [
        put(99.0, *FIRST, "harvest_ec_spread"),
        put(None, *FIRST, "harvest_ec"),
    ],
    "unmet.group": [put("moss", "unmet", 0, "group")],
    "unmet.week": [put("2027-W21", "unmet", 0, "week")],
    "unmet.grams": [put(70, "unmet", 0, "grams")],
    "by_hand.rule": [put("", "by_hand", "rule"), put(None, "by_hand", "rule")],
    "by_hand.produce": [
        put(2381.0, "by_hand", "produce"),
        put("much", "by_hand", "produce"),
        put({"rule": "lagging group", "produce": 2600.0, "share": 2600 / 2571}, "by_hand"),
    ],
    "by_hand.share": [put(1.9, "by_hand", "share")],
    "number": [put(-1, "number")],
    "lifted.vessels": [put(99, "lifted", "vessels")],
    "lifted.kg": [put(9999.0, "lifted", "kg"), put(0.0, "lifted", "kg")],
    "lifted.heaviest_kg": [put(999.0, "lifted", "heaviest_kg")],
    "years.judged": [put(39, "years", "judged"), put(41, "years", "judged")],
    "years.chosen_with": [put(0, "years", "chosen_with"), put(3, "years", "chosen_with")],
    "years.real": [put(41, "years", "real"), put(-1, "years", "real")],
    "years.columns": [put(1, "years", "columns"), put(2, "years", "columns")],
    "years.sample": [put(0, "years", "sample"), put(3, "years", "sample")],
    "promise.usual": [put(0.99, "promise", "usual")],
    "promise.one_in_five": [put(0.99, "promise", "one_in_five")],
    "promise.worst_fifth": [put(0.99, "promise", "worst_fifth")],
    "promise.reachable": [put(1.1, "promise", "reachable"), put(-0.1, "promise", "reachable")],
    "promise.foreseen_years": [
        put([3, 0], "promise", "foreseen_years"),
        put([0, 0], "promise", "foreseen_years"),
        put([0, 40], "promise", "foreseen_years"),
    ],
    "promise.foreseen": [
        lambda body: body["promise"]["foreseen"].pop(),
        lambda body: body["promise"].update(foreseen=[-0.01, 1.0]),
    ],
    # The garden's groups have one crop each, of which there never is a second.
    "promise.two_kinds.group": [two_kinds(group="basil", weeks=0)],
    "promise.two_kinds.weeks": [two_kinds(weeks=4), two_kinds(weeks=6)],
    "promise.two_kinds.by_year": [
        two_kinds(by_year=[1] + 39 * [0]),
        two_kinds(by_year=39 * [0]),
        two_kinds(by_year=39 * [0] + [6]),
    ],
    "promise.shares": [swapped, lambda body: body["promise"]["shares"].pop()],
    "gap": [put(1.5, "gap"), put(0.001, "gap"), put(float("nan"), "gap")],
}
# Only a plan that is under way has these.
LATER: dict[str, list[Change]] = {
    "as_of": [
        put(day(-1).isoformat(), "as_of"),
        put(day(92).isoformat(), "as_of"),
        put(None, "as_of"),
        put(day(20).isoformat(), "as_of"),
    ],
    "batches.state": [put("cleared", "batches", 1, "state"), put("failed", "batches", 4, "state")],
    "batches.demand_factor": [
        put(99.0, "batches", 4, "demand_factor"),
        put(0.0, "batches", 4, "demand_factor"),
    ],
    "batches.rest_until": [put(day(30).isoformat(), "batches", 3, "rest_until")],
    "stages.value": [put(-1.0, "stages", 3, "value"), put(0.5, "stages", 3, "value")],
    "stages.name": [lambda body: body["stages"].pop()],
}


def changed(made: Plan, change: Change) -> Plan:
    body = json.loads(made.to_json())
    change(body)
    # Read without the reader's own checks, which refuse some of it before `verify` is asked.
    drop_unknown(body)
    name_inside(body["batches"])
    del body["schema"]
    body.update(body.pop("season"))
    return TypeAdapter(Plan).validate_python(body)


def test_both_plans_keep_every_rule() -> None:
    for made in (full_plan(), later_plan(), changed(full_plan(), two_kinds())):
        verdict = verify(garden(), parse_plan(made.to_json()))
        assert verdict.ok, verdict.broken


@pytest.mark.parametrize(
    ("name", "at"), some_now((n, i) for n, all_ in EACH.items() for i in range(len(all_)))
)
def test_a_changed_field_is_found_out(name: str, at: int) -> None:
    assert not verify(garden(), changed(full_plan(), EACH[name][at])).ok


@pytest.mark.parametrize(
    ("name", "at"), [(n, i) for n, all_ in LATER.items() for i in range(len(all_))]
)
def test_a_changed_field_of_a_plan_under_way_is_found_out(name: str, at: int) -> None:
    assert not verify(garden(), changed(later_plan(), LATER[name][at])).ok


def leaves(schema: Body, spec: Body, path: str = "") -> Iterator[str]:
    """Paths of all that a schema lets a plan say."""
    for kind in [spec, *spec.get("anyOf", ())]:
        if "$ref" in kind:
            yield from leaves(schema, schema["$defs"][kind["$ref"].split("/")[-1]], path)
        elif kind.get("type") == "array":
            yield from leaves(schema, kind["items"], path)
        elif "properties" in kind:
            for name, inner in kind["properties"].items():
                below = list(leaves(schema, inner, f"{path}{name}."))
                yield from below or [f"{path}{name}"]


def test_every_field_is_on_the_list_and_every_checked_one_is_changed_here() -> None:
    schema = plan_schema()
    assert set(leaves(schema, schema)) == set(FIELDS)
    assert set(FIELDS) - set(UNCHECKED) - {"schema"} == set(EACH) | set(LATER)


@pytest.mark.parametrize(
    "where",
    ["", "season", "stages", "batches", "unmet", "by_hand", "risk", "lifted", "years", "promise"],
)
def test_a_field_that_nothing_knows_is_told(where: str) -> None:
    def add(body: Body) -> None:
        at = body[where] if where else body
        (at[0] if isinstance(at, list) else at)["guarantee"] = "lifelong"

    body = json.loads(full_plan().to_json())
    add(body)
    text = json.dumps(body)
    for made in (parse_plan(text), parse_plan(text.encode())):
        (found,) = verify(garden(), made).broken
        assert f"{where}.guarantee".lstrip(".") in found.message
        assert "not checked" in found.message


def test_unknown_fields_are_told_however_deep_and_never_taken_from_the_file() -> None:
    body = json.loads(full_plan().to_json())
    body["unknown"] = ["nothing"]
    body["batches"][0]["picks"][0]["taste"] = body["batches"][0]["levels"][3]["pH"] = 6
    made = parse_plan(json.dumps(body).encode())
    assert made.unknown == ("batches.levels.pH", "batches.picks.taste", "unknown")
    assert replace(made, unknown=()) == parse_plan(full_plan().to_json().encode())


def test_what_is_made_within_a_risk_is_said_not_to_be_checked() -> None:
    from scheduler.verify.text import lines

    said = " ".join(" ".join(lines(verify(garden(), full_plan()), "metric")).split())
    assert "Not checked: " in said
    for name in UNCHECKED:
        assert name in said
    for body in ({"most": 1.5}, {"most": -0.1}, {"years": 0}):
        made = replace(full_plan(), risk=replace(RiskTaken(0.05, 0, 1000), **body))
        assert not verify(garden(), made).ok


@pytest.mark.parametrize(("produce", "good"), [(2380.0, True), (2500.0, False)])
def test_for_the_mean_year_no_plan_is_worse_than_the_rule_it_began_with(
    produce: float, good: bool
) -> None:
    """Of years it may be: what was made by living it is judged by what arrives."""
    rule = {"rule": "lagging group", "produce": produce, "share": produce / 2571}
    lived = replace(full_plan(), by_hand={**rule, "usual": 0.5})
    assert verify(garden(), lived).ok
    plain = with_solution(garden(), replace(good_plan(), garden=garden().name, by_hand=rule))
    assert verify(garden(), plain).ok is good
