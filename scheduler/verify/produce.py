"""What comes to the table: wishes met week by week, and the values of the stages.

Weeks are named by their Mondays while counting, and by ISO 8601 when told.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.plan import Shortfall
from scheduler.verify.case import Case

DAY, WEEK = timedelta(days=1), timedelta(days=7)


@dataclass(frozen=True)
class Outcome:
    """Wishes and grams served by (group, Monday); grams picked for nothing."""

    wish: dict[tuple[str, date], int]
    served: dict[tuple[str, date], int]
    wasted: int

    @property
    def unmet(self) -> tuple[Shortfall, ...]:
        short = ((g, m, grams - self.served.get((g, m), 0)) for (g, m), grams in self.wish.items())
        return tuple(Shortfall(g, f"{m:%G}-W{m:%V}", grams) for g, m, grams in short if grams > 0)


def outcome(case: Case) -> Outcome:
    """Meet each week's wish in turn, with what spoils first.

    Serving the soonest to spoil first never serves less than any other way: swapping a later lot
    for a sooner one leaves the later lot for every week the sooner could have served.
    """
    wishes = _wishes(case)
    # What was picked of a crop on a day is weighed together, and so is what serves the same weeks.
    picked: Counter[tuple[str, date]] = Counter()
    for s in case.standing:
        for pick in s.batch.picks:
            picked[s.crop.name, pick.date] += pick.grams
    lots: dict[str, Counter[tuple[int, int]]] = {}
    wasted = 0
    mondays = _mondays(case)
    group_of = {crop: d.group for d in case.garden.demands for crop in d.crops}
    for (crop, day), grams in picked.items():
        group = group_of.get(crop)
        weeks = _weeks(mondays, day, case.garden.crops[crop].storage_life)
        if group is None or not weeks:
            wasted += grams
        else:
            lots.setdefault(group, Counter())[weeks[-1], weeks[0]] += grams
    served: dict[tuple[str, date], int] = {}
    for group, stock in lots.items():
        soonest = sorted(stock)
        for week, monday in enumerate(mondays):
            need = wishes.get((group, monday), 0)
            for last, first in soonest:
                if first <= week <= last:
                    used = min(need, stock[last, first])
                    stock[last, first] -= used
                    need -= used
            served[group, monday] = wishes.get((group, monday), 0) - need
        wasted += sum(stock.values())
    return Outcome(wishes, served, wasted)


def values(case: Case, got: Outcome) -> dict[str, float]:
    """The stages' values: ``produce``, ``evenness``, ``effort``."""
    weight = {d.group: d.weight for d in case.garden.demands}
    produce = sum(weight[group] * grams for (group, _), grams in got.served.items())
    deep = 0
    for key, grams in got.wish.items():
        deep += max(0, grams // 2 - got.served.get(key, 0))
    days: set[date] = set()
    lifts = 0
    for b in case.plan.batches:
        lifts += (b.tier - 1) + (b.tier - 1)  # once to fill it, once to clear it
        days.update([b.sow, b.transplant, b.clear])
        days.update(p.date for p in b.picks)
    return {
        "produce": float(produce),
        "evenness": float(got.wasted + deep),
        "effort": float(len(case.plan.batches) + lifts + len(days)),
    }


def _mondays(case: Case) -> list[date]:
    season = case.garden.season
    monday = season.start - season.start.weekday() * DAY
    out = []
    while monday <= season.end:
        out.append(monday)
        monday += WEEK
    return out


def _wishes(case: Case) -> dict[tuple[str, date], int]:
    """Whole grams by (group, Monday): a week's wish in the share of its days that count."""
    season = case.garden.season
    out: dict[tuple[str, date], int] = {}
    for d in case.garden.demands:
        for monday in _mondays(case):
            days = 0
            for k in range(7):
                day = monday + k * DAY
                if season.start <= day <= season.end and d.start <= day <= d.end:
                    days += 1
            if days:
                out[d.group, monday] = round(d.grams_per_week * days / 7)
    return out


def _weeks(mondays: list[date], picked: date, storage_days: float) -> list[int]:
    """Weeks a pick serves: its own, and the next ones while it keeps until their Wednesday."""
    out = []
    for i, monday in enumerate(mondays):
        own = monday <= picked < monday + WEEK
        later = picked < monday and (monday + 2 * DAY - picked).days <= storage_days
        if own or later:
            out.append(i)
    return out
