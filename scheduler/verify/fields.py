"""Every field of plan.json: how it is checked, or that it is not; and the checks of the small ones.

A field of the plan that is not on the list breaks a rule: nobody has checked what it says.
"""

from __future__ import annotations

from datetime import timedelta
from math import isfinite
from typing import Any

from scheduler.plans.model import CLEARED, FAILED, GROWING, PLANNED, SOWN, Batch
from scheduler.plans.rules import CLAIMS, VALUES
from scheduler.verify.case import Case

# By path, lists without their numbers. What begins with "not: " is not checked.
FIELDS: dict[str, str] = {
    "schema": "the one that is read; a plan of another is refused",
    "garden": "the name of the garden beside it",
    "status": "that of the first stage",
    "season.start": "the garden's",
    "season.end": "the garden's",
    "stages.name": "produce, evenness, effort; after a rebalance changes, last",
    "stages.status": "proven: value and bound meet; within_gap: by `gap`, later stages by 1 %",
    "stages.value": "computed again; of changes, that it is a whole number",
    "stages.bound": "on the far side of the value; not by how much it could be nearer",
    "stages.seconds": "not: what a clock showed; that it is a time",
    "batches.id": "no other has it",
    "batches.crop": "the garden grows it",
    "batches.column": "the garden has it",
    "batches.tier": "the garden has it",
    "batches.plants": "one for each hole",
    "batches.seeds": "enough in each cell",
    "batches.cells": "enough come up; never more in use than there are",
    "batches.sow": "work days, age of seedlings; what has happened by its order alone",
    "batches.transplant": "the same, and the tier is free",
    "batches.picks.date": "ripe, not dry, work days; what has happened by its order alone",
    "batches.picks.plants": "all heads are picked",
    "batches.picks.grams": "computed again; what has happened was weighed",
    "batches.picks.early": "no later day would do",
    "batches.picks.young": "not yet ripe, grown as far as the grower allows",
    "batches.picks.look_from": "lived again in all the years, of a large plan in some; of "
    "more than 3,000 batches and after a rebalance that it is in order",
    "batches.picks.from": "the same",
    "batches.picks.to": "the same",
    "batches.picks.share": "the same",
    "batches.transplant_until": "computed again",
    "batches.chances.dry": "lived again as a pick's share is",
    "batches.chances.bolted": "the same",
    "batches.chances.unripe": "the same",
    "batches.chances.cold": "the same",
    "batches.chances.heat": "the same",
    "batches.clear": "work days, after the last pick",
    "batches.fill_litres": "what the vessel takes",
    "batches.dry_date": "computed again",
    "batches.margin_days": "computed again",
    "batches.state": "what it says has happened by `as_of`",
    "batches.levels.date": "every day in the tier",
    "batches.levels.litres": "computed again",
    "batches.levels.depth_cm": "computed again",
    "batches.levels.low": "computed again, in every year that the plan was chosen with",
    "batches.levels.high": "the same",
    "batches.demand_factor": "1 in a plan from the start; else what levels can teach, 1/3 to 3",
    "batches.rest_until": "only where a batch has failed, after it was transplanted",
    "batches.fill_ec": "computed again where it is still to be filled; else 0 to 5 mS/cm",
    "batches.harvest_ec": "computed again where it is still to be filled; else 0 to 25 mS/cm",
    "batches.harvest_ec_spread": "0 to 25 mS/cm, beside a harvest_ec; not how wide it should be",
    "unmet.group": "computed again",
    "unmet.week": "computed again",
    "unmet.grams": "computed again",
    "by_hand.rule": "that it is named",
    "by_hand.produce": "not beyond the first stage's value in a plan from the start; not the rule",
    "by_hand.share": "its produce by all wishes",
    "by_hand.usual": "not: nobody keeps the rule's plan; that it is a share",
    "years.source": "not: a name",
    "years.planned": "not: the courses to expect are computed with so many",
    "years.judged": "as many as there are shares",
    "years.chosen_with": "so many are lived again for the spans",
    "years.columns": "computed again",
    "years.sample": "that there are as many columns",
    "years.worth": "not: how plans were chosen, not what this one brings",
    "years.real": "no more than were judged",
    "years.seed": "not: another seed gives other years, and other shares",
    "promise.usual": "computed again from the shares",
    "promise.one_in_five": "computed again from the shares",
    "promise.worst_fifth": "computed again from the shares",
    "promise.reachable": "that it is a share",
    "promise.seed": "not: another seed gives other shares",
    "promise.shares": "some of the years are lived again",
    "promise.foreseen_years": "that they are years of the promise, each once",
    "promise.foreseen": "that no year brings more",
    "promise.two_kinds.group": "its weeks are counted again: a group without a wish has none",
    "promise.two_kinds.weeks": "computed again",
    "promise.two_kinds.by_year": "some of the years are lived again",
    "gap": "0 to 1",
    "versions": "not: what was installed where it was made",
    "number": "a count",
    "made": "not: when it was made",
    "lifted.vessels": "computed again",
    "lifted.kg": "computed again",
    "lifted.heaviest_kg": "computed again",
    "seed": "not: any whole number gives a plan",
    "as_of": "a day of the season, or the day after it",
    "risk.most": "not: `dryline risk` replays the years; that it is a share",
    "risk.seed": "not: `dryline risk` replays the years",
    "risk.years": "not: `dryline risk` replays the years; that there are some",
    "risk.past": "not: `dryline risk` replays the years",
}
UNCHECKED = tuple(name for name, how in FIELDS.items() if how.startswith("not: "))

FROM_START = ("produce", "evenness", "effort")
MOST_FILL, MOST_END = 5.0, 25.0  # [mS/cm]; the sea has about 50
LEAST_FACTOR, MOST_FACTOR = 1 / 3, 3.0
DAY = timedelta(days=1)


def check(case: Case) -> None:
    """Check the fields that no rule and no computation is about."""
    plan = case.plan
    for name in plan.unknown:
        _unknown(case, name)
    name = case.garden.name
    case.check(
        CLAIMS,
        plan.garden in ("", name),
        f"a plan of {plan.garden}; the garden is {name}",
        witnesses=[plan.garden],
    )
    names = tuple(s.name for s in plan.stages)
    wanted = FROM_START if plan.as_of is None else (*FROM_START, "changes")
    case.check(
        VALUES,
        names == wanted,
        f"stages {', '.join(names) or 'none'}; expected {', '.join(wanted)}",
        witnesses=names,
    )
    for stage in plan.stages:
        case.check(
            VALUES,
            isfinite(stage.seconds) and stage.seconds >= 0,
            f"stage {stage.name}: {stage.seconds} seconds",
            witnesses=[stage.name],
        )
        if stage.name == "changes":
            case.check(
                VALUES,
                stage.value >= 0 and stage.value == round(stage.value),
                f"stage changes: {stage.value:g}; expected a count",
                witnesses=[stage.name],
            )
    if plan.gap is not None:
        case.check(VALUES, 0 <= plan.gap <= 1, f"gap {plan.gap}; expected 0 to 1")
    if plan.as_of is not None:
        season = case.garden.season
        case.check(
            CLAIMS,
            season.start <= plan.as_of <= season.end + DAY,
            f"as of {plan.as_of}; the season is {season.start} to {season.end}",
            witnesses=[plan.as_of],
        )
    case.check(CLAIMS, plan.number >= 0, f"number {plan.number}; expected 1 or more")
    risk = plan.risk
    if risk is not None:
        case.check(
            CLAIMS,
            0 <= risk.most <= 1 and risk.years >= 1,
            f"made within a risk of {risk.most} in {risk.years} years; expected a share "
            "and some years",
        )
    for batch in plan.batches:
        _state(case, batch)
        _measured(case, batch)


def _unknown(case: Case, name: str) -> None:
    case.check(
        CLAIMS,
        False,
        f"plan.json says {name}: no such field is known, so it is not checked",
        witnesses=[name],
    )


def _state(case: Case, b: Batch) -> None:
    """What a batch's state says has happened lies before the plan begins."""
    as_of = case.plan.as_of
    if as_of is None:
        case.check(
            CLAIMS,
            b.state == PLANNED,
            f"{b.id}: {b.state} in a plan from the start, where nothing has happened",
            witnesses=[b.id],
        )
        return
    done = [
        d
        for what, d in (("sow", b.sow), ("transplant", b.transplant), ("clear", b.clear))
        if what in _DONE.get(b.state, ())
    ]
    if b.state in (CLEARED, FAILED):
        done += [p.date for p in b.picks]
    late = [d for d in done if d > as_of]
    case.check(
        CLAIMS,
        not late,
        f"{b.id}: {b.state}, yet {late[0] if late else ''} is to come on {as_of}",
        witnesses=[b.id, *late],
    )


# Of a failed batch what is left of it may still have to be cleared, and seedlings may have failed.
_DONE = {
    SOWN: ("sow",),
    GROWING: ("sow", "transplant"),
    CLEARED: ("sow", "transplant", "clear"),
    FAILED: ("sow",),
}


def _measured(case: Case, b: Batch) -> None:
    """What was learned in a tier, and the strength of its solution."""
    fresh = case.plan.as_of is None
    good = b.demand_factor == 1 if fresh else LEAST_FACTOR <= b.demand_factor <= MOST_FACTOR
    case.check(
        CLAIMS,
        good,
        f"{b.id}: drinks {b.demand_factor:g} times what a crop does; expected "
        f"{'1 in a plan from the start' if fresh else '1/3 to 3'}",
        witnesses=[b.id],
    )
    if b.rest_until is not None:
        case.check(
            CLAIMS,
            b.state == FAILED and b.rest_until >= b.transplant,
            f"{b.id}: {b.state}, its tier rests until {b.rest_until}; expected of one that "
            f"failed, after {b.transplant}",
            witnesses=[b.id, b.rest_until],
        )
    for what, ec, most, needs in (
        ("fill_ec", b.fill_ec, MOST_FILL, None),
        ("harvest_ec", b.harvest_ec, MOST_END, None),
        ("harvest_ec_spread", b.harvest_ec_spread, MOST_END, "harvest_ec"),
    ):
        if ec is not None:
            case.check(
                CLAIMS,
                0 <= ec <= most and (needs is None or b.harvest_ec is not None),
                f"{b.id}: {what} {ec} mS/cm; expected 0 to {most:g}"
                + (f", beside a {needs}" if needs else ""),
                witnesses=[b.id],
            )


def by_rule(case: Case, wished: float, value: float) -> None:
    """What a simple rule is said to meet of all that is ``wished``, beside the plan's ``value``.

    Both in weighted grams.
    """
    stated: dict[str, Any] = dict(case.plan.by_hand)
    produce, share = stated.get("produce"), stated.get("share")
    if not stated:
        return
    for name in stated.keys() - {"rule", "produce", "share", "usual"}:
        _unknown(case, f"by_hand.{name}")
    if "rule" in stated:
        case.check(
            VALUES,
            bool(stated["rule"]) and isinstance(stated["rule"], str),
            f"by_hand: rule {stated['rule']!r}; expected a name",
        )
    numbers = all(isinstance(x, int | float) and isfinite(x) for x in (produce, share))
    case.check(VALUES, numbers, f"by_hand: produce {produce}, share {share}; expected numbers")
    if not numbers or produce is None or share is None:
        return
    slack = 0.01 + 1e-6 * max(wished, 1.0)
    part = produce / max(wished, 1.0)
    case.check(
        VALUES,
        abs(share - part) <= 1e-6,
        f"by_hand: share {share:g}; {produce:g} of {wished:g} weighted grams are {part:g}",
        abs(share - part),
    )
    # What was made by living it may bring less of what is expected than the rule would.
    begun = case.plan.as_of is None and case.plan.promise is None
    most = value if begun else wished
    case.check(
        VALUES,
        -slack <= produce <= most + slack,
        f"by_hand: {produce:g} weighted grams; at most {most:g} can be: a plan from the "
        "start is no worse than the rule it began with",
        produce - most,
    )
