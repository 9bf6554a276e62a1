"""A small garden with a plan of its own, for the tests of rebalancing.

The garden is `verify_case.garden`: five tiers, constant weather, closed forms.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache

import verify_case as case

from scheduler.garden.model import Garden
from scheduler.log.model import HEADER, Log, read_log
from scheduler.plans.model import Plan, Stage
from scheduler.replanning.rebalance import Rebalanced, rebalance
from scheduler.schedule import assemble
from scheduler.solvers.cp_sat import Settings

QUICK = Settings(time_limit=4.0, workers=1, deterministic=1.0)


@lru_cache(maxsize=1)
def garden() -> Garden:
    return case.garden()


@lru_cache(maxsize=1)
def plan() -> Plan:
    """Five batches, each figure of which follows by hand (`verify_case.batch`).

    Lettuce wishes: 300 g in weeks 18 to 21, 171 g in week 22; 400 g each picked on days 30 (weeks
    18, 19), 40 (19, 20), 44 (20, 21), 54 (21, 22): all 1371 g are met. Chard: 360 g on day 34
    (weeks 18 and 19: Wednesday day 37 is 3 days on, it keeps 5), 240 g on day 41 (19): 600 g.
    Produce 1371 + 2 * 600 = 2571, all there is to wish.
    """
    made = (
        case.batch("b001", "lettuce", "B1", 0, 10, [(30, 4)], 30),
        case.batch("b002", "chard", "A1", 4, 14, [(34, 4), (41, 4)], 54),
        case.batch("b003", "lettuce", "A2", 10, 20, [(40, 4)], 44),
        case.batch("b004", "lettuce", "B2", 14, 24, [(44, 4)], 54),
        case.batch("b005", "lettuce", "B1", 24, 34, [(54, 4)], 54),
    )
    table = assemble.serve(garden(), made)
    stages = (
        Stage("produce", "proven", 2571.0, 2571.0, 1.0),
        Stage("evenness", "best_found", assemble.evenness_value(table), None, 1.0),
        Stage("effort", "best_found", assemble.effort_value(made), None, 1.0),
    )
    return case.plan(*made, status="proven", stages=stages, unmet=table.unmet())


def row(
    day: int | date, what: str, place: str = "", amount: str = "", crop: str = "", note: str = ""
) -> str:
    """One line of a log; ``day`` counts from the season's first."""
    column, tier = (place[0], place[1:]) if place else ("", "")
    when = case.day(day) if isinstance(day, int) else day
    return f"{when},{what},{column},{tier},{crop},{amount},,{note}"


def log(*lines: str, of: Garden | None = None) -> Log:
    return read_log("\n".join([HEADER, *lines]).encode(), "log.csv", of or garden())


def go(
    on: int, *lines: str, of: Plan | None = None, within: Garden | None = None, **options: object
) -> Rebalanced:
    """Rebalance on a day of the season."""
    within = within or garden()
    options.setdefault("settings", QUICK)
    return rebalance(within, of or plan(), log(*lines, of=within), case.day(on), **options)  # type: ignore[arg-type]


def full_log(made: Plan, until: date) -> list[str]:
    """A log that tells of everything the plan asks for before a day, as planned."""
    events: list[tuple[date, str]] = []
    for b in made.batches:
        place = f"{b.column}{b.tier}"
        events.append((b.sow, row(b.sow, "sown", place, f"{b.cells} cells", b.crop)))
        events.append((b.transplant, row(b.transplant, "transplanted", place, "", b.crop)))
        events += [
            (p.date, row(p.date, "picked", place, f"{p.plants} plants", b.crop)) for p in b.picks
        ]
        events.append((b.clear, row(b.clear, "cleared", place, "", b.crop)))
    return [line for day, line in sorted(events, key=lambda e: e[0]) if day < until]
