"""What will be on the table, week by week and group by group."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from scheduler.base.weeks import week_of, week_start
from scheduler.garden.model import Garden
from scheduler.garden.weekly import season_weeks, wish
from scheduler.plans.model import Plan
from scheduler.words.words import Units, _, group_title

NO_GROUP = ""  # produce of a crop nobody wished for


@dataclass(frozen=True)
class TableWeek:
    """One group in one ISO week, masses in [g].

    Attributes
    ----------
    week, monday, group : which.
    picked : picked in that week.
    served : of the wish, met that week from fresh picks and from what is still good in the store.
    wish, short : wished for; not met. ``served + short == wish``.
    crops : what is picked that week, crop name and mass, most first.
    """

    week: str
    monday: date
    group: str
    picked: int
    served: int
    wish: int
    short: int
    crops: tuple[tuple[str, int], ...] = ()


def table_weeks(garden: Garden, plan: Plan) -> tuple[TableWeek, ...]:
    """One row per week and group, weeks in order, groups in the order of the wishes.

    What is served follows from the plan's own count of unmet wishes, which knows how long each
    crop keeps. Produce nobody wished for comes last, with an empty group, where there is any.
    """
    picked: dict[tuple[str, str], dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for batch in plan.batches:
        demand = garden.demand_of(batch.crop)
        for pick in batch.picks:
            group = demand.group if demand else NO_GROUP
            picked[group, week_of(pick.date)][batch.crop] += pick.grams
    unmet = {(u.group, u.week): u.grams for u in plan.unmet}
    wanted = wish(garden)
    groups = [d.group for d in garden.demands]
    if any(group == NO_GROUP for group, _week in picked):
        groups.append(NO_GROUP)
    rows = []
    for week in season_weeks(garden.season):
        for group in groups:
            crops = picked.get((group, week), {})
            want = wanted.get((group, week), 0)
            short = min(unmet.get((group, week), 0), want)
            if want or crops:
                rows.append(
                    TableWeek(
                        week,
                        week_start(week),
                        group,
                        sum(crops.values()),
                        want - short,
                        want,
                        short,
                        tuple(sorted(crops.items(), key=lambda c: (-c[1], c[0]))),
                    )
                )
    return tuple(rows)


def produce(rows: Iterable[TableWeek], units: Units) -> str:
    """What is served of each wish, the wish where that is more, and what nobody wished for."""
    served = []
    for row in rows:
        if not row.wish:
            served.append(f"{group_title(row.group)} {units.mass_text(row.picked)}")
            continue
        text = f"{group_title(row.group)} {units.mass_text(row.served)}"
        if row.short:
            text = _("{served} of {wish}").format(served=text, wish=units.mass_text(row.wish))
        served.append(text)
    return ", ".join(served)
