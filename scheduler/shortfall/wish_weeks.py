"""In which weeks a wish is worth having: those that the plan at hand serves, and how well.

A wish for weeks that nothing or little serves makes a good plan look poor, and is no help at the
table. Nothing is solved: a narrower wish never takes away from what the plan brings in those weeks.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from scheduler.base.weeks import week_start
from scheduler.garden.model import ONE_DAY, Garden
from scheduler.garden.weekly import season_weeks, wish
from scheduler.plans.model import Plan
from scheduler.schedule.assemble import serve

WORTH = 2  # a week is kept whose wish is met by a half or more: one part in so many
MOST_SPANS = 3  # of which to tell: more nobody keeps in mind


@dataclass(frozen=True)
class WishWeeks:
    """Weeks of one wish to keep.

    Attributes
    ----------
    group : of produce; spans : first and last day of weeks in a row, within the season.
    met : share of the wish of those weeks that is met [0..1]; before : of all its weeks.
    """

    group: str
    spans: tuple[tuple[date, date], ...]
    met: float
    before: float


def wish_weeks(
    garden: Garden, plan: Plan, served: Mapping[tuple[str, str], float] | None = None
) -> list[WishWeeks]:
    """For each wish that is not met in all its weeks, and in some by a half or more.

    ``served`` : by group and week [g]; None: as the plan expects.
    """
    wished = wish(garden)
    served = serve(garden, plan.batches).served if served is None else served
    weeks = season_weeks(garden.season)
    out = []
    for demand in garden.demands:
        mine = [w for w in weeks if wished.get((demand.group, w))]
        good = [w for w in mine if _half(served.get((demand.group, w), 0), wished, demand.group, w)]
        kept = _runs(good, weeks)
        inside = [w for run in kept for w in run]
        if not inside or len(inside) == len(mine):
            continue
        spans = tuple(
            (
                max(week_start(run[0]), garden.season.start, demand.start),
                min(week_start(run[-1]) + 6 * ONE_DAY, garden.season.end, demand.end),
            )
            for run in kept
        )
        parts = [
            sum(served.get((demand.group, w), 0) for w in of)
            / sum(wished[demand.group, w] for w in of)
            for of in (inside, mine)
        ]
        out.append(WishWeeks(demand.group, spans, *parts))
    return out


def _half(grams: float, wished: dict[tuple[str, str], int], group: str, week: str) -> bool:
    return WORTH * grams >= wished[group, week]


def _runs(good: Sequence[str], weeks: Sequence[str]) -> list[list[str]]:
    """Weeks in a row; of more runs than `MOST_SPANS` the longest, in their order."""
    at = {w: i for i, w in enumerate(weeks)}
    runs: list[list[str]] = []
    for week in good:
        if runs and at[week] == at[runs[-1][-1]] + 1:
            runs[-1].append(week)
        else:
            runs.append([week])
    longest = sorted(runs, key=lambda run: (-len(run), run[0]))[:MOST_SPANS]
    return sorted(longest, key=lambda run: run[0])
