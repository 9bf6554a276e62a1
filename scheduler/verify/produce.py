"""What comes to the table: wishes met week by week, and the values of the stages.

Weeks are named by their Mondays while counting, and by ISO 8601 when told.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from scheduler.plans.model import Shortfall
from scheduler.verify.case import Case

DAY, WEEK = timedelta(days=1), timedelta(days=7)


@dataclass(frozen=True)
class Outcome:
    """Wishes and grams served by (group, Monday); grams picked in vain."""

    wish: dict[tuple[str, date], int]
    served: dict[tuple[str, date], int]
    wasted: int

    @property
    def unmet(self) -> tuple[Shortfall, ...]:
        short = ((g, m, grams - self.served.get((g, m), 0)) for (g, m), grams in self.wish.items())
        return tuple(Shortfall(g, f"{m:%G}-W{m:%V}", grams) for g, m, grams in short if grams > 0)


def outcome(case: Case) -> Outcome:
    """Share what is picked out over the weekly wishes, group by group (`_shared`)."""
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
        events = [e.date for e in case.garden.events if e.group == group]
        weeks = _weeks(mondays, day, case.garden.crops[crop].storage_life, events)
        if group is None or not weeks:
            wasted += grams
        else:
            lots.setdefault(group, Counter())[weeks[0], weeks[-1]] += grams
    served: dict[tuple[str, date], int] = {}
    for group, mine in lots.items():
        got = _shared(mine, [wishes.get((group, monday), 0) for monday in mondays])
        served |= {(group, monday): grams for monday, grams in zip(mondays, got, strict=True)}
        wasted += sum(mine.values()) - sum(got)
    return Outcome(wishes, served, wasted)


def _shared(lots: Mapping[tuple[int, int], int], wish: Sequence[int]) -> list[int]:
    """Grams that each week gets: as many in all as can be, then as many of the halves, then early.

    ``lots`` [g] by first and last week they serve. Nothing is handed out to find it: how much any
    wishes can be met with is a smallest cut (`_Cut.most`), and what one week gets is by how much
    that grows when its wish is put to those of the weeks before. First the halves alone, week by
    week; then what lies above them, each week beside the whole wishes of those before and the
    halves of those after.
    """
    cut, half = _Cut(lots, len(wish)), [grams // 2 for grams in wish]
    got, asked = [0] * len(wish), [0] * len(wish)
    met = 0
    for wanted in (half, wish):
        for week, grams in enumerate(wanted):
            asked[week] = grams
            more = cut.most(asked)
            got[week] += more - met
            met = more
        asked = list(got)
    return got


class _Cut:
    """The most that can be met of any wishes, from what is there for spans of weeks.

    By the theorem of the largest flow and the smallest cut it is the least, over all choices of
    weeks, of what is wished in the other weeks and what is there for the chosen ones.
    """

    def __init__(self, lots: Mapping[tuple[int, int], int], weeks: int) -> None:
        # [k, s]: there for week s and for no week before the k-th.
        self.there = np.zeros((weeks + 1, weeks), dtype=np.int64)
        for (first, last), grams in lots.items():
            self.there[: first + 1, first : last + 1] += grams

    def most(self, wish: Sequence[int]) -> int:
        """Grams met of ``wish`` [weeks]. The last chosen week grows; behind it, the best before."""
        before = np.concatenate([[0], np.cumsum(wish)])
        least = np.zeros(len(wish) + 1, dtype=np.int64)  # less what is wished up to there
        for week in range(len(wish)):
            best = int((least[: week + 1] + self.there[: week + 1, week]).min())
            least[week + 1] = best + before[week] - before[week + 1]
        return int(least.min() + before[-1])


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
    wished = [d.group for d in case.garden.demands]
    for event in case.garden.events:
        if event.group not in wished or not season.start <= event.date <= season.end:
            continue
        monday = event.date - event.date.weekday() * DAY
        out[event.group, monday] = out.get((event.group, monday), 0) + round(event.grams)
    return out


def _weeks(
    mondays: list[date], picked: date, storage_days: float, events: Sequence[date] = ()
) -> list[int]:
    """Weeks a pick serves: its own, and the next ones while it keeps until their Wednesday.

    Not one with an event for which it comes too late, or until which it does not keep.
    """
    out = []
    for i, monday in enumerate(mondays):
        own = monday <= picked < monday + WEEK
        later = picked < monday and (monday + 2 * DAY - picked).days <= storage_days
        late = any(
            monday <= on < monday + WEEK and not 0 <= (on - picked).days <= storage_days
            for on in events
        )
        if (own or later) and not late:
            out.append(i)
    return out
