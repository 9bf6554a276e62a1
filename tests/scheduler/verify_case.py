"""A tiny garden with constant weather, and plans whose every figure follows by hand.

Weather: 20 degC, ET0 5 mm/d, 20 mol m-2 d-1, day length 14 h, every day. Crops develop at 20 degC
with more light than they ask for, so that a head is ready 20 days after transplanting, a seedling
fit after 10 days. Every plant drinks 100 mL a day from the first to the last.

Vessel: 20 x 20 cm, so that 1 L stands 2.5 cm deep; 12 L filled, dry at 10 % = 1.2 L; 2 kg empty.
Four plants drink 0.4 L a day: after k days 12 - 0.4 k litres are left, and the tier is dry on
day 27 (12 - 10.8 = 1.2).

Day 0 is Monday 5 April 2027; ``day(k)`` is k days later.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pandas as pd

from crops.crop import Crop
from crops.vessel import Vessel
from scheduler.garden.model import Column, Demand, Garden, Limits, Nursery, Season, Site, Span, Tier
from scheduler.plans.model import Batch, Level, Pick, Plan, Shortfall, Stage
from scheduler.schedule import assemble

START = date(2027, 4, 5)
DAYS = 91  # 13 weeks


def day(k: int) -> date:
    return START + timedelta(days=k)


def crop(name: str, **changes: Any) -> Crop:
    """A crop in 20 degC: fit in 10 days, ready in 20, 100 mL a day, 100 g a head."""
    base: dict[str, Any] = {
        "name": name,
        "title": name,
        "group": name,
        "family": "Asteraceae",
        "emergence": ((20.0, 3.0),),
        "nursery_days": 10.0,
        "nursery_temperature": 20.0,
        "nursery_wait": 3.0,
        "days_to_harvest": 20.0,
        "reference_temperature": 20.0,
        "t_base": 4.0,
        "t_opt": 20.0,
        "t_max": 35.0,
        "dli_min": 8.0,
        "dli_target": 10.0,
        "light_exponent": 1.0,
        "plants_per_hole": 1,
        "seeds_per_cell": 2,
        "germination": 0.9,
        "peak_demand": 100.0,
        "demand_et0": 5.0,
        "stage_initial": 1.0,
        "stage_late": 1.0,
        "stage_start": 0.2,
        "stage_full": 0.7,
        "fresh_mass": 100.0,
        "hold": 5.0,
        "cuts": 1,
        "cut_interval": 0.0,
        "cut_shares": (1.0,),
        "after_cut": 1.0,
        "storage_life": 7.0,
        "storage_temperature": 2.0,
        "bolt_heat": None,
        "bolt_daylength": None,
        "bolt_both": False,
        "bolt_days": 0.0,
        "ec_low": 1.2,
        "ec_high": 1.8,
        "ph_low": 5.5,
        "ph_high": 6.5,
        "support_mass": None,
        "uptake_n": 150.0,
        "uptake_p": 40.0,
        "uptake_k": 250.0,
        "uptake_ca": 100.0,
        "uptake_mg": 30.0,
    }
    return Crop(**{**base, **changes})


# Two seeds a cell at 0.9: a cell fails with 0.01; four of four come up with 0.99^4 = 0.961, which
# is 95 % or more, so 4 cells do for 4 plants. One seed a cell at 0.8 needs 7 cells: at least 4 of 7
# with 0.967, of 6 only with 0.901.
LETTUCE = crop("lettuce")
CHARD = crop(
    "chard",
    title="Swiss chard",
    group="greens",
    family="Amaranthaceae",
    germination=0.8,
    seeds_per_cell=1,
    fresh_mass=150.0,
    cuts=2,
    cut_interval=7.0,
    cut_shares=(0.6, 0.4),
    after_cut=0.5,
    storage_life=5.0,
)
CELLS = {"lettuce": (4, 8), "chard": (7, 7)}  # cells, seeds for four plants


def garden(**changes: Any) -> Garden:
    """Column A of three tiers, column B of two, all alike."""
    index = pd.date_range(START, periods=DAYS + 120, freq="D")
    weather = pd.DataFrame(
        {
            "tmin": 20.0,
            "tmax": 20.0,
            "tmean": 20.0,
            "ra": 35.0,
            "rs": 10.0,
            "daylength": 14.0,
            "et0": 5.0,
            "dli": 20.0,
        },
        index=index,
    )
    tiers = tuple(Tier(k, "box", 1.0, 4) for k in (1, 2, 3))
    made = Garden(
        name="test garden (invented)",
        site=Site(45.0, 100.0, weather),
        season=Season(day(0), day(DAYS - 1), away=(Span(day(60), day(66)),)),
        vessels={"box": Vessel("box", "rectangular", (20.0, 20.0), 40.0, 12.0, mass_kg=2.0)},
        columns=(Column("A", tiers), Column("B", tiers[:2])),
        nursery=Nursery(cells=12),
        demands=(
            Demand("lettuce", ("lettuce",), 300.0, day(28), day(59)),
            Demand("greens", ("chard",), 300.0, day(28), day(41), weight=2.0),
        ),
        limits=Limits(lift_kg=13.5, fills_per_day=1, picks_per_day=1),
        crops={"lettuce": LETTUCE, "chard": CHARD},
        invented=True,
    )
    return replace(made, **changes)


def batch(
    name: str,
    kind: str,
    place: str,
    sow: int,
    transplant: int,
    picks: Sequence[tuple[int, int]],
    clear: int,
    **changes: Any,
) -> Batch:
    """A batch with its figures in closed form.

    ``picks`` are (day, plants). Heads: the plants left drink 0.1 L each. Chard: after the first
    cut the four plants drink 0.2 L instead of 0.4 L.
    """
    grams = [100 * n for _, n in picks] if kind == "lettuce" else [360, 240][: len(picks)]
    cells, seeds = CELLS[kind]
    last = picks[-1][0]
    litres = [12.0]
    for k in range(transplant, clear):
        litres.append(litres[-1] - (_litres(kind, picks, k) if k < last else 0.0))
    # Dry: the last pick left out.
    level, dry = 12.0, transplant
    while level > 1.2 + 1e-9:
        level -= _litres(kind, picks[:-1], dry)
        dry += 1
    made = Batch(
        id=name,
        crop=kind,
        column=place[0],
        tier=int(place[1]),
        plants=4,
        seeds=seeds,
        cells=cells,
        sow=day(sow),
        transplant=day(transplant),
        picks=tuple(Pick(day(d), n, g) for (d, n), g in zip(picks, grams, strict=True)),
        clear=day(clear),
        fill_litres=12.0,
        dry_date=day(dry),
        margin_days=dry - last,
        levels=tuple(Level(day(transplant + i), x, 2.5 * x) for i, x in enumerate(litres)),
    )
    return replace(made, **changes)


def _litres(kind: str, picks: Sequence[tuple[int, int]], k: int) -> float:
    if kind == "chard":
        return 0.2 if any(d <= k for d, _ in picks) else 0.4
    return 0.1 * (4 - sum(n for d, n in picks if d <= k))


def heads(name: str, place: str, transplant: int, **changes: Any) -> Batch:
    """Lettuce, sown 10 days before, picked when ready, cleared the day after."""
    ready = transplant + 20
    return batch(
        name, "lettuce", place, transplant - 10, transplant, [(ready, 4)], ready + 1, **changes
    )


def plan(*batches: Batch, **changes: Any) -> Plan:
    made = Plan("best_found", (), day(0), day(DAYS - 1), batches, ())
    return replace(made, **changes)


def with_stages(made_for: Garden, made: Plan) -> Plan:
    """A plan made without stages, with those that its batches reach and what they leave unmet."""
    if made.stages:
        return made
    table = assemble.serve(made_for, made.batches)
    values = {
        "produce": assemble.produce_value(made_for, table),
        "evenness": assemble.evenness_value(table),
        "effort": assemble.effort_value(made.batches),
    } | ({} if made.as_of is None else {"changes": 0.0})
    stages = tuple(Stage(name, "best_found", value, None, 0.0) for name, value in values.items())
    return replace(made, stages=stages, unmet=table.unmet())


def good_plan() -> Plan:
    """Five batches that use every rule.

    Lettuce picks: 200 g on days 30 and 33 (weeks 18, 19), 400 g on day 40 (19, 20: Wednesday day
    44 is 4 days on), 400 g on day 42, a Monday (20 alone: Wednesday day 51 is 9 days on, it keeps
    7), 400 g on day 54 (21, 22). Wishes: 300 g in weeks 18 to 21, 300 * 4/7 = 171 g in week 22.
    Week 18 takes 300 of 400; 19 the 100 left and 200 of day 40; 20 the other 200 and 100 of day 42
    (300 g spoil); 21 takes 300 of day 54; 22 gets 100: 71 g short. Met: 1300 g.
    Chard: 360 g on day 31 (week 18 alone: Wednesday day 37 is 6 days on, it keeps 5), 240 g on
    day 38 (19). Wishes 300 and 300: 540 g met, 60 g spoil, 60 g short in week 19.
    Produce 1300 + 2 * 540 = 2380. Evenness 300 + 60 spoilt, no week under half its wish: 360.
    Effort: 5 fills; lifts 2 * 2 (A3), 2 * 2 (A3), 2 * 1 (B2) = 10; work days 0, 1, 10, 11, 12, 20,
    22, 24, 30, 31, 33, 34, 38, 39, 40, 41, 42, 43, 54 = 19; together 34.
    """
    return plan(
        batch("b1", "lettuce", "A3", 0, 10, [(30, 2), (33, 2)], 33),
        batch("b2", "chard", "A1", 1, 11, [(31, 4), (38, 4)], 39),
        batch("b3", "lettuce", "B1", 10, 20, [(40, 4)], 41),
        batch("b4", "lettuce", "A3", 24, 34, [(54, 4)], 54),
        batch("b5", "lettuce", "B2", 12, 22, [(42, 4)], 43),
        status="within_gap",
        stages=(
            Stage("produce", "within_gap", 2380.0, 2400.0, 1.0),
            Stage("evenness", "best_found", 360.0, 0.0, 1.0),
            Stage("effort", "proven", 34.0, 34.0, 1.0),
        ),
        unmet=(Shortfall("lettuce", "2027-W22", 71), Shortfall("greens", "2027-W19", 60)),
    )


def changed(made: Plan, name: str, **changes: Any) -> Plan:
    """The plan with one batch changed."""
    return replace(
        made,
        batches=tuple(replace(b, **changes) if b.id == name else b for b in made.batches),
    )
