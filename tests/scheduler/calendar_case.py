"""A small invented garden and a plan made by hand, for the tests of the calendar and its outputs.

Two columns of three tiers. The plan is what a careful grower would write down: each batch stands
its days, is picked once ready and is cleared at its last pick. Levels follow the rule of the
reservoir (solution left after each day's drinking), computed here and not taken from a solver.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pandas as pd

from crops import climate, demand, development
from crops.catalogue import catalogue
from crops.crop import Crop
from crops.vessel import Vessel
from scheduler.base.weeks import week_of
from scheduler.garden.model import Column, Demand, Garden, Limits, Nursery, Season, Site, Span, Tier
from scheduler.garden.weekly import wish
from scheduler.plans.model import Batch, Level, Pick, Plan, Shortfall, Stage

DAY = timedelta(days=1)

# Invented normals of a mild inland town [degC].
NORMALS = pd.DataFrame(
    {
        "month": range(1, 13),
        "tmin": [-2, -1, 2, 5, 9, 13, 15, 15, 11, 7, 3, -1],
        "tmax": [5, 7, 12, 16, 21, 25, 28, 27, 23, 17, 10, 6],
    }
)


# Days to harvest and response to light of these crops, stated here: days and masses of this case
# are told in many tests, and do not move when the catalogue's numbers are mended.
PACE = {
    "leaf_lettuce": (28.0, 1.0),
    "butterhead": (26.0, 1.0),
    "pak_choi": (28.0, 0.6),
    "swiss_chard": (34.0, 0.5),
    "basil": (30.0, 0.6),
}


def paced(name: str) -> Crop:
    """A crop of the catalogue at the pace of this case."""
    days, light = PACE[name]
    return replace(
        catalogue()[name],
        days_to_harvest=days,
        light_exponent=light,
        light_gain=0.0,
        t_exponent=1.0,
    )


def garden(start: date = date(2027, 3, 22), end: date = date(2027, 8, 14), **changes) -> Garden:
    """The invented garden; ``changes`` replace fields of it."""
    crops = {n: paced(n) for n in PACE}
    tiers = tuple(Tier(n, "pail", light, 3) for n, light in ((1, 1.0), (2, 0.85), (3, 0.8)))
    rows = climate.monthly_to_daily(NORMALS, start, end + 120 * DAY)
    made = Garden(
        name="Yard of the test kitchen",
        site=Site(44.0, 200.0, climate.weather(rows, 44.0, 200.0)),
        season=Season(
            start, end, frozenset({0, 2, 4, 5}), (Span(date(2027, 6, 21), date(2027, 6, 27)),)
        ),
        vessels={"pail": Vessel("pail", "round", (26.0, 29.0), 37.0, 18.0, 2.0, 1.6)},
        columns=(Column("A", tiers), Column("B", tiers)),
        nursery=Nursery(24, 20.0),
        demands=(
            Demand("lettuce", ("leaf_lettuce", "butterhead"), 700, start + 56 * DAY, end),
            Demand("greens", ("pak_choi", "swiss_chard"), 500, start + 56 * DAY, end),
        ),
        limits=Limits(lift_kg=20.0, fills_per_day=4),
        crops=crops,
        invented=True,
    )
    return replace(made, **changes)


def work_day(season: Season, day: date) -> date:
    """``day``, or the first work day after it; OverflowError if the season has none left."""
    while not season.is_work_day(day):
        day += DAY
        if day > season.end:
            raise OverflowError("no work day left in the season")
    return day


def batch(
    g: Garden, id: str, crop: str, column: str, tier: int, transplant: date, spread: int = 1
) -> Batch:
    """One batch by hand: sown on a work day in time, picked on ``spread`` work days, cleared."""
    c, t = g.crops[crop], g.tier(column, tier)
    vessel = g.vessels[t.vessel]
    weather = g.site.weather
    at = g.season.index(transplant)
    total = development.running_sum(development.daily_rate(c, weather, t.light))
    progress = total - total[at]
    ready = transplant
    while progress[g.season.index(ready)] < 1 - 1e-9:
        ready += DAY
    picks = []
    day = work_day(g.season, ready)
    for n in range(c.cuts if c.cuts > 1 else spread):
        plants = t.plants if c.cuts > 1 else t.plants // spread
        share = c.cut_shares[n] if c.cuts > 1 else 1
        picks.append(Pick(day, plants, round(plants * c.fresh_mass * share)))
        gap = timedelta(days=round(c.cut_interval)) if c.cuts > 1 else DAY
        day = work_day(g.season, day + gap)
    last = picks[-1].date
    litres, levels, dry, after_dry = vessel.fill_l, [], None, transplant
    et0, sun, air = demand.taken(weather)
    while after_dry <= last or (dry is None and g.season.index(after_dry) < len(et0)):
        if after_dry <= last:
            levels.append(Level(after_dry, round(litres, 3), round(float(vessel.depth(litres)), 2)))
        if litres <= vessel.floor_l and dry is None:
            dry = after_dry
        i = g.season.index(after_dry)
        stand: float = t.plants
        if c.cuts == 1:
            stand -= sum(p.plants for p in picks[:-1] if p.date <= after_dry)
        elif picks[0].date <= after_dry:
            stand *= c.after_cut
        drink = (
            float(demand.plant_demand(c, et0[i], t.light, progress[i], sun[i], air[i]))
            * stand
            / 1000
        )
        litres = max(litres - drink, 0.0)
        after_dry += DAY
    sow = transplant - timedelta(days=round(c.nursery_days))
    while not g.season.is_work_day(sow):
        sow -= DAY
    cells = development.cells_to_sow(c, t.plants)
    return Batch(
        id,
        crop,
        column,
        tier,
        t.plants,
        cells * c.seeds_per_cell,
        cells,
        sow,
        transplant,
        tuple(picks),
        last,
        vessel.fill_l,
        dry,
        (dry - last).days if dry else None,
        levels=tuple(levels),
    )


def plan(g: Garden | None = None) -> Plan:
    """Seven batches; two of them meet on one day in column A: tier 1 is cleared, tier 3 filled."""
    g = g or garden()
    d = date
    made = [
        batch(g, "b001", "leaf_lettuce", "A", 1, d(2027, 4, 24), spread=3),
        batch(g, "b002", "pak_choi", "A", 2, d(2027, 4, 30)),
        batch(g, "b003", "butterhead", "B", 1, d(2027, 5, 1), spread=3),
        batch(g, "b004", "swiss_chard", "B", 3, d(2027, 4, 30)),
    ]
    first_clear = made[0].clear
    made.append(batch(g, "b005", "pak_choi", "A", 3, first_clear))
    made.append(batch(g, "b006", "leaf_lettuce", "A", 1, work_day(g.season, first_clear + DAY)))
    made.append(batch(g, "b007", "butterhead", "B", 2, d(2027, 5, 15)))
    want = wish(g)
    got: dict[tuple[str, str], int] = {}
    for b in made:
        who = g.demand_of(b.crop)
        for p in b.picks:
            if who:  # cautious: only the week of the pick is served
                key = (who.group, week_of(p.date))
                got[key] = got.get(key, 0) + p.grams
    unmet = tuple(
        Shortfall(*key, grams - min(grams, got.get(key, 0)))
        for key, grams in want.items()
        if grams > got.get(key, 0)
    )
    stage = Stage("produce", "best_found", 1.0, None, 0.1)
    return Plan(
        "best_found", (stage,), g.season.start, g.season.end, tuple(made), unmet, garden=g.name
    )


def full_plan(g: Garden) -> Plan:
    """Every tier of a garden of your own kept busy, crops in turn, no rule minded but the water's.

    For size and speed: about as many batches as a real plan of the same garden.
    """
    names = sorted(g.crops)
    made: list[Batch] = []
    turn = 0
    for column in g.columns:
        for tier in column.tiers:
            day = work_day(g.season, g.season.start + (30 + 3 * tier.number) * DAY)
            misses = 0
            while misses < len(names):
                turn += 1
                crop = names[turn % len(names)]
                try:
                    b = batch(g, f"b{len(made) + 1:03d}", crop, column.name, tier.number, day)
                except (OverflowError, IndexError):  # not ready in the season
                    misses += 1
                    continue
                if b.margin_days is not None and b.margin_days < 1:
                    misses += 1
                    continue
                made.append(b)
                try:
                    day = work_day(g.season, b.clear + DAY)
                except OverflowError:
                    break
    stage = Stage("produce", "within_gap", 1.0, 2.0, 1.0)
    unmet = tuple(Shortfall(*key, grams // 2) for key, grams in wish(g).items() if grams > 1)
    return Plan("within_gap", (stage,), g.season.start, g.season.end, tuple(made), unmet)
