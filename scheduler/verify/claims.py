"""What the plan says of itself: levels, dates, masses, seeds, stage values, what stays unmet."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from math import isfinite

from scheduler.plans.model import (
    BEST_FOUND,
    CLEARED,
    FAILED,
    GROWING,
    PLANNED,
    PROVEN,
    SOWN,
    WITHIN_GAP,
    Shortfall,
    Stage,
)
from scheduler.plans.rules import CLAIMS, VALUES
from scheduler.verify import water
from scheduler.verify.case import Case, Standing
from scheduler.verify.shared_rules import lifted

LITRES, CM = 0.01, 0.1  # what levels may be off by [L], [cm]
NEAR = 0.01  # gap of the later stages, and of the first where the plan tells none
SAME = 0.01  # what a stage's value may be off by: values are whole grams times weights
STATES = (PLANNED, SOWN, GROWING, CLEARED, FAILED)


def check(case: Case, values: dict[str, float], unmet: tuple[Shortfall, ...]) -> None:
    """Check every claim."""
    _season_and_ids(case)
    case.each(_figures)
    # What a plan made here says of levels is one list for all batches alike; what was read from a
    # file is compared batch by batch.
    case.each(_levels, lambda s: id(s.batch.levels))
    _stages(case, values)
    _lifted(case)
    _unmet(case, unmet)


def _season_and_ids(case: Case) -> None:
    plan, season = case.plan, case.garden.season
    case.check(
        CLAIMS,
        (plan.start, plan.end) == (season.start, season.end),
        f"season {plan.start} to {plan.end}; the garden's is {season.start} to {season.end}",
        witnesses=[plan.start, plan.end],
    )
    case.check(
        CLAIMS,
        plan.number >= 0 and (plan.number == 0) == (plan.made is None),
        f"plan number {plan.number}, made {plan.made or 'on no day'}; expected both, or 0 "
        "and no day",
        witnesses=["number"],
    )
    times = Counter(b.id for b in plan.batches)
    for name, count in times.items():
        case.check(
            CLAIMS, count == 1, f"{count} batches have the id {name}", count - 1, [name], "batches"
        )
    for b in plan.batches:
        case.check(
            CLAIMS,
            b.state in STATES,
            f"{b.id}: state {b.state}; expected {', '.join(STATES)}",
            witnesses=[b.id],
        )


def _lifted(case: Case) -> None:
    """What is said to be lifted; each level told is good to `LITRES`, so each mass is."""
    stated = case.plan.lifted
    if stated is None:
        return
    kg, vessels, heaviest = lifted(case)
    case.check(
        CLAIMS,
        stated.vessels == vessels,
        f"{stated.vessels} vessels lifted; computed {vessels}",
        abs(stated.vessels - vessels),
        ["lifted"],
        "vessels",
    )
    for said, true, off in (
        (stated.kg, kg, LITRES * max(vessels, 1)),
        (stated.heaviest_kg, heaviest, LITRES),
    ):
        case.check(
            CLAIMS,
            _near(said, true, off + 0.005),
            f"{said:g} kg lifted; computed {true:.2f} kg",
            abs(said - true),
            ["lifted"],
            "kg",
        )


def _near(a: float, b: float, by: float) -> bool:
    return abs(a - b) <= by  # false for a value that is no number


def _figures(case: Case, s: Standing) -> None:
    if not s.over:
        _grams(case, s)
        _water(case, s)


def _grams(case: Case, s: Standing) -> None:
    show = case.units.exact_text
    crop = s.crop
    for k, p in enumerate(s.batch.picks):
        if s.is_fact("pick", p.date):
            continue  # weighed, not computed
        if k >= len(crop.cut_shares) > 1:
            continue  # a cut too many: named where picks are checked
        share = crop.cut_shares[k] if crop.cuts > 1 else 1.0
        if (p.early or p.young) and s.course is not None and case.physics.inside(p.date):
            plant = case.physics.at(s.tier).plant(crop, s.tier.light, s.course.start)
            grown = plant.mass_g[case.physics.index(p.date) - s.course.start]
            mass = min(grown, s.crop.fresh_mass)  # a late head is promised no heavier
        else:
            mass = crop.fresh_mass
        grams = round(p.plants * mass * share)
        case.check(
            CLAIMS,
            abs(p.grams - grams) <= (1 if p.early or p.young else 0),
            f"{s.name}: {show(p.grams, 'g')} picked on {p.date}; {show(grams, 'g')} computed",
            abs(p.grams - grams),
            [s.batch.id, p.date],
            "g",
        )


def _water(case: Case, s: Standing) -> None:
    show = case.units.exact_text
    b, course = s.batch, s.course
    case.check(
        CLAIMS,
        _near(b.fill_litres, s.vessel.fill_l, LITRES),
        f"{s.name}: filled with {show(b.fill_litres, 'L')}; the vessel takes "
        f"{show(s.vessel.fill_l, 'L')}",
        abs(b.fill_litres - s.vessel.fill_l),
        [b.id],
        "L",
    )
    if course is None or water.told(case):  # over the years: in `verify.water`
        return
    first = case.physics.first
    dry = None if course.dry is None else first + timedelta(days=course.dry)
    off = abs((b.dry_date - dry).days) if b.dry_date and dry else 1
    case.check(
        CLAIMS,
        b.dry_date == dry,
        f"{s.name}: dry on {b.dry_date or 'no day'}; computed {dry or 'no day'}",
        off,
        [b.id],
        "days",
    )
    if b.picks:
        margin = None if dry is None else (dry - b.picks[-1].date).days
        off = 1
        if b.margin_days is not None and margin is not None:
            off = abs(b.margin_days - margin)
        case.check(
            CLAIMS,
            b.margin_days == margin,
            f"{s.name}: margin {_days(b.margin_days)}; computed {_days(margin)}",
            off,
            [b.id],
            "days",
        )


def _days(count: int | None) -> str:
    return "none" if count is None else f"{count} days"


def _levels(case: Case, s: Standing) -> None:
    """Every day from transplanting to clearing, in order, with level and depth."""
    show = case.units.exact_text
    b, course = s.batch, s.course
    if course is None or s.over:
        return
    want = [b.transplant + timedelta(days=k) for k in range(len(course.litres))]
    stated = [v.date for v in b.levels]
    if stated != want:
        wrong = _first_difference(stated, want)
        case.check(
            CLAIMS,
            False,
            f"{s.name}: levels for {len(stated)} days; expected every day from "
            f"{b.transplant} to {want[-1]}, first difference at {wrong}",
            abs(len(stated) - len(want)) or 1,
            [b.id, wrong],
            "days",
        )
        return
    litres = [abs(v.litres - x) for v, x in zip(b.levels, course.litres, strict=True)]
    depths = [abs(v.depth_cm - x) for v, x in zip(b.levels, course.depth_cm, strict=True)]
    for unit, off, by, computed in (
        ("L", litres, LITRES, course.litres),
        ("cm", depths, CM, course.depth_cm),
    ):
        bad = next((k for k, x in enumerate(off) if not x <= by), None)
        if bad is None:
            case.check(CLAIMS, True, "")
            continue
        level = b.levels[bad]
        said = level.litres if unit == "L" else level.depth_cm
        worst = max(x if x == x else float("inf") for x in off)
        case.check(
            CLAIMS,
            False,
            f"{s.name}: level of {show(said, unit)} on {level.date}; computed "
            f"{show(computed[bad], unit)}",
            worst,
            [b.id, level.date],
            unit,
        )


def _first_difference(stated: list[date], want: list[date]) -> date:
    for a, b in zip(stated, want, strict=False):
        if a != b:
            return b
    return want[len(stated)] if len(stated) < len(want) else stated[len(want)]


def _stages(case: Case, values: dict[str, float]) -> None:
    stages = case.plan.stages
    for stage in stages:
        if stage.name in values:
            case.check(
                VALUES,
                _near(stage.value, values[stage.name], SAME),
                f"stage {stage.name}: value {stage.value:g}; computed {values[stage.name]:g}",
                abs(stage.value - values[stage.name]),
                [stage.name],
            )
        _bound(case, stage)
    if stages:
        case.check(
            VALUES,
            case.plan.status == stages[0].status,
            f"status {case.plan.status}; the first stage says {stages[0].status}",
            witnesses=[stages[0].name],
        )


def _bound(case: Case, stage: Stage) -> None:
    """A bound lies on the far side of the value; ``proven`` means that they meet."""
    known = stage.status in (PROVEN, WITHIN_GAP, BEST_FOUND)
    case.check(
        VALUES,
        known,
        f"stage {stage.name}: status {stage.status}; expected {PROVEN}, "
        f"{WITHIN_GAP} or {BEST_FOUND}",
        witnesses=[stage.name],
    )
    if stage.bound is None:
        case.check(
            VALUES,
            stage.status == BEST_FOUND,
            f"stage {stage.name}: {stage.status} without a bound",
            witnesses=[stage.name],
        )
        return
    if not isfinite(stage.bound):
        case.check(
            VALUES, False, f"stage {stage.name}: bound {stage.bound}", witnesses=[stage.name]
        )
        return
    beyond = stage.bound - stage.value  # the most is sought of produce, the least of the others
    if stage.name != "produce":
        beyond = -beyond
    slack = max(SAME, 1e-6 * abs(stage.value))
    case.check(
        VALUES,
        beyond >= -slack,
        f"stage {stage.name}: bound {stage.bound:g} on the wrong side of {stage.value:g}",
        -beyond,
        [stage.name],
    )
    if stage.status == WITHIN_GAP:
        gap = NEAR if stage.name != "produce" or case.plan.gap is None else case.plan.gap
        off = abs(beyond) / max(abs(stage.value), abs(stage.bound), 1e-9)
        case.check(
            VALUES,
            off <= gap + 1e-9,
            f"stage {stage.name}: {WITHIN_GAP}, but {stage.value:g} and {stage.bound:g} are "
            f"{off:.1%} apart; at most {gap:.1%}",
            off - gap,
            [stage.name],
        )
    if stage.status == PROVEN:
        case.check(
            VALUES,
            _near(beyond, 0, max(0.05, slack)),
            f"stage {stage.name}: {PROVEN}, but bound {stage.bound:g} is not {stage.value:g}",
            abs(beyond),
            [stage.name],
        )


def _unmet(case: Case, unmet: tuple[Shortfall, ...]) -> None:
    show = case.units.exact_text
    stated: Counter[tuple[str, str]] = Counter()
    for u in case.plan.unmet:
        stated[u.group, u.week] += u.grams
    fresh = {(u.group, u.week): u.grams for u in unmet}
    for key in sorted(set(stated) | set(fresh)):
        said, true = stated.get(key, 0), fresh.get(key, 0)
        case.check(
            VALUES,
            said == true,
            f"unmet {key[0]} in {key[1]}: {show(said, 'g')}; computed {show(true, 'g')}",
            abs(said - true),
            key,
            "g",
        )
