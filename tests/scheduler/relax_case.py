"""Small gardens whose best plan, and what each change brings, follow by hand.

`solver_case.tiny`: a lettuce is fit 10 days after sowing, ready 20 days after transplanting, holds
5 days; four heads of 100 g a tier; 4 cells a batch; one day from clearing to filling. So a tier is
filled on day 10 at the earliest, picked and cleared on day 30, filled again on day 31.
"""

from __future__ import annotations

from dataclasses import replace

from solver_case import STEADY, tiny
from verify_case import day

from scheduler.garden.model import Garden
from scheduler.search.solve import solve
from scheduler.shortfall.answer import MustGive, Tried
from scheduler.shortfall.must_give import must_give
from scheduler.shortfall.relaxation import Relaxation
from scheduler.solvers.cp_sat import Settings

# Enough for these gardens; no limit by the clock.
STEADILY: Settings = replace(STEADY, deterministic=0.5)


def wished(g: Garden, grams: float = 2000.0) -> Garden:
    """With more wished each week than these gardens give."""
    return replace(g, demands=(replace(g.demands[0], grams_per_week=grams),))


def crowded_nursery() -> Garden:
    """Four tiers, 8 cells: two batches are in the nursery at once.

    Two are filled on day 10, two on day 20 (sown when those left the nursery), the first two again
    on day 31; the other two would be free on day 41, and ready on 61, after day 59. Six batches.
    With 12 cells three are filled on day 10, one on day 20, the three again on day 31: seven.
    With 16 all four twice: eight.
    """
    return wished(tiny(60, 2, columns="AB", cells=8))


def out_of_step() -> Garden:
    """Two tiers, one fill a day, 53 days, and a lift limit under a filled vessel until its pick.

    Lower tier filled on day 10, upper on day 11. The upper, k days after filling, weighs
    2 + 12 - 0.4 k kg and its plants (0.4 kg when ready): never at most 6.2 kg before its pick on
    day 31 (6.4 kg), so the lower is cleared on day 31 only. Then one is filled on day 32 (ready on
    52, the last day), the other on 33, too late: 3 batches. The upper filled first, on day 10, the
    lower is reached on day 30, the upper filled again on day 31: 3 as well.

    A fourth batch, 400 g, comes by any of these: lifting 2 kg more (8.2 kg: the upper is light
    on day 30, when the lower is picked and cleared; lower again on 31, upper on 32); two lifting;
    two fills a day (both on day 10, again on 31); no turnaround (31 and 32); a longer season.
    """
    return wished(tiny(53, 2, lift_kg=6.2, fills_per_day=1))


def mondays() -> Garden:
    """One tier, work on Mondays only, seedlings that wait 4 days.

    Filled on day 14 (fit on day 10), ready on 34, picked and cleared on day 35, to be filled on day
    42 and ready on 62: one batch. With Tuesdays too: filled on day 14, cleared on 35, filled on
    Tuesday day 36 (sown on day 22), ready on Monday day 56: two.
    """
    g = wished(tiny(60, work=(0,)))
    return replace(g, crops={"lettuce": replace(g.crops["lettuce"], nursery_wait=4.0)})


def out_of_reach() -> Garden:
    """One tier, five weeks, 200 g wished a week: nothing is ripe before day 30.

    The one batch is picked in the last week, which is met; the 800 g of the four weeks before it
    are out of reach, whatever is eased.
    """
    return wished(tiny(35), 200.0)


def asked(g: Garden, settings: Settings = STEADILY) -> MustGive:
    return must_give(g, solve(g, settings).plan, settings)


def as_it_is(g: Garden) -> Relaxation:
    return Relaxation("", "", "as it is", g)


def find(m: MustGive, words: str) -> Tried:
    """The one relaxation whose text holds these words."""
    (found,) = [t for t in (*m.steps, *m.rules) if words in t.relaxation.text]
    return found


__all__ = [
    "STEADILY",
    "as_it_is",
    "asked",
    "crowded_nursery",
    "day",
    "find",
    "mondays",
    "out_of_reach",
    "out_of_step",
]
