"""The plan of `verify_case` with weather that strays, for the tests of the file for a phone."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import verify_case as case
from lived_case import KNOWN

from crops.vessel import Vessel
from scheduler.log.model import HEADER, Log, read_log
from scheduler.outputs.act import with_act
from scheduler.outputs.work import work_items
from scheduler.watch.forecast import parsed, written
from scheduler.watch.made import foretold
from scheduler.words.units import Units
from scheduler.years.weather_years import Spread, spread_years

VESSELS = {
    "rectangular": Vessel("box", "rectangular", (20.0, 20.0), 40.0, 12.0, mass_kg=2.0),
    "round": Vessel("box", "round", (18.0, 24.0), 40.0, 12.0, 2.0, 2.0),
    "table": Vessel("box", "table", (0.0, 10.0, 20.0, 40.0), 40.0, 12.0, 1.0, 2.0, (0, 5, 9, 16)),
}


def garden(shape: str = "rectangular", units: str = "metric"):
    crops = {n: replace(c, parameters=KNOWN) for n, c in case.garden().crops.items()}
    return case.garden(crops=crops, vessels={"box": VESSELS[shape]}, units=units)


def made(shape: str = "rectangular", units: str = "metric"):
    """Garden, plan, table, work."""
    g, plan = garden(shape, units), replace(case.good_plan(), number=2)
    table = foretold(g, plan, spread_years(g, 8, Spread(), 1))
    table = parsed(written(table, plan), plan)  # as it lies beside a plan
    return g, plan, table, with_act(plan, work_items(g, plan), table)


def log_of(lines: list[str], g) -> Log:
    return read_log("\n".join([HEADER, *lines, ""]).encode(), "log.csv", g)


def random_log(random: Random, plan, last: int) -> list[str]:
    """Levels of some tiers up to a day, a few of them misread, and a pick a day or two off."""
    lines = []
    for b in plan.batches:
        start = (b.transplant - case.day(0)).days
        f, level = random.uniform(0.5, 1.9), 12.0
        read = random.sample(range(1, 40), random.choice([0, 1, 2, 3, 5]))
        for k in range(start + 1, min(last, start + 30) + 1):
            level = max(level - 0.4 * f * random.uniform(0.7, 1.3), 0.0)
            if k - start in read:
                shown = random.uniform(0, 12) if random.random() < 0.2 else level
                lines.append(f"{case.day(k)},level,{b.column},{b.tier},,{shown:.2f},L,")
        first = (b.picks[0].date - case.day(0)).days + random.choice([-1, 0, 0, 1])
        if first <= last and random.random() < 0.3:
            how = random.choice([f"{b.picks[0].plants},plants", "150,g"])
            lines.append(f"{case.day(first)},picked,{b.column},{b.tier},,{how},")
    return sorted(lines)


def units(g) -> Units:
    return Units(g.units)
