"""A grower without a plan: every tier keeps its crop, sown anew at a fixed interval.

Tiers go to the groups by how many tier-weeks their wishes take, the brightest to those with the
most light wished for. In a tier stands the crop of its group that bears the light there, or else
the one that asks for least; groups with several such crops take them in turn. It is sown so that the
seedling is of its nominal age when the tier is due, every so many weeks as its days to harvest,
half its hold and the turnaround fill, and the tiers of a group begin evenly spread over the first
of these intervals. Common practice, no source. It is lived by the same growers as a plan.
"""

from __future__ import annotations

import math
from datetime import date, timedelta

from scheduler.garden.model import Garden
from scheduler.plans.model import Batch, Pick


def fixed_interval(garden: Garden) -> tuple[Batch, ...]:
    """The batches of such a grower; dates are work days of the season."""
    tiers = [(c.name, t) for c in garden.columns for t in c.tiers]
    tiers.sort(key=lambda one: -one[1].light)
    light = float(garden.site.weather["dli"].iloc[: garden.season.days].mean())
    weight = []
    for demand in garden.demands:
        crop = garden.crops[demand.crops[0]]
        plants = sum(t.plants for _, t in tiers) / len(tiers)
        weight.append(demand.grams_per_week / (crop.fresh_mass * plants) * weeks(garden, crop.name))
    share, batches, at = [w / sum(weight) for w in weight], [], 0
    order = sorted(
        range(len(share)),
        key=lambda i: -max(garden.crops[c].dli_min for c in garden.demands[i].crops),
    )
    for k, i in enumerate(order):
        left = len(order) - k - 1
        count = max(1, round(share[i] * len(tiers)))
        mine = tiers[at:] if not left else tiers[at : at + min(count, len(tiers) - at - left)]
        at += len(mine)
        for number, (column, tier) in enumerate(mine):
            names = garden.demands[i].crops
            bright = [c for c in names if garden.crops[c].dli_min <= light * tier.light]
            dark = [min(names, key=lambda c: garden.crops[c].dli_min)]
            name = (bright or dark)[number % len(bright or dark)]
            batches += _in_tier(garden, column, tier.number, name, number / len(mine))
    return tuple(batches)


def weeks(garden: Garden, name: str) -> int:
    """Weeks from one transplanting into a tier to the next."""
    crop = garden.crops[name]
    stands = crop.days_to_harvest + (crop.cuts - 1) * crop.cut_interval + crop.hold / 2
    return math.ceil((stands + garden.limits.turnaround_days) / 7)


def _in_tier(garden: Garden, column: str, number: int, name: str, part: float) -> list[Batch]:
    """What stands in one tier, the first of it after a ``part`` [0..1] of an interval."""
    crop, season = garden.crops[name], garden.season
    tier = garden.tier(column, number)
    interval = timedelta(weeks=weeks(garden, name))
    age = timedelta(days=round(crop.nursery_days))
    start = season.start + age + part * interval
    out: list[Batch] = []
    while start + timedelta(days=crop.days_to_harvest) <= season.end:
        transplant = _work_day(garden, start)
        sow = _work_day(garden, transplant - age)
        picks, when = [], transplant + timedelta(days=round(crop.days_to_harvest))
        for cut in range(crop.cuts):
            day = _work_day(garden, when)
            if day is None or day >= transplant + interval or day > season.end:
                break
            grams = tier.plants * crop.fresh_mass * (crop.cut_shares[cut] if crop.cuts > 1 else 1)
            picks.append(Pick(day, tier.plants, round(grams)))
            when = day + timedelta(days=round(crop.cut_interval))
        if picks and sow < transplant:
            out.append(
                Batch(
                    f"{column}{number}-{len(out) + 1}",
                    name,
                    column,
                    number,
                    tier.plants,
                    tier.plants,
                    tier.plants,
                    sow,
                    transplant,
                    tuple(picks),
                    picks[-1].date,
                    garden.vessels[tier.vessel].fill_l,
                    None,
                    None,
                )
            )
        start += interval
    return out


def _work_day(garden: Garden, day: date) -> date:
    """The first work day from ``day`` on, or the last of the season."""
    season = garden.season
    day = max(day, season.start)
    while day < season.end and not season.is_work_day(day):
        day += timedelta(days=1)
    return day
