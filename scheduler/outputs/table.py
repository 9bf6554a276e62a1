"""What each event gets, and what is over: picked, and more than any wish it keeps for.

Both follow from the plan's own count of unmet wishes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from scheduler.base.weeks import week_of
from scheduler.garden.model import Event, Garden
from scheduler.garden.weekly import season_weeks, weeks_served, wish
from scheduler.plans.model import Plan
from scheduler.schedule.produce import Lot, shared_out
from scheduler.words.words import N_, Units, _, group_title, short_date, weekday

# Units of a wish, beside grams (`garden.wishes`).
_AMOUNTS = (N_("head"), N_("heads"), N_("bunch"), N_("bunches"), N_("salad"), N_("salads"))


@dataclass(frozen=True)
class EventMet:
    """An event and how much of it is there [g]."""

    event: Event
    grams: int

    @property
    def wanted(self) -> int:
        """In whole grams."""
        return round(self.event.grams)


@dataclass(frozen=True)
class Over:
    """What of a day's picks of a group meets no wish [g]: to give away, to sell, to keep."""

    date: date
    group: str
    grams: int


def events_met(garden: Garden, plan: Plan) -> tuple[EventMet, ...]:
    """Each event in the order of dates: it has the first claim on what its week is served."""
    wanted = wish(garden)
    left = dict(wanted)
    for short in plan.unmet:
        key = (short.group, short.week)
        left[key] = max(0, left.get(key, 0) - short.grams)
    out = []
    for event in sorted(garden.events, key=lambda e: e.date):
        key = (event.group, week_of(event.date))
        got = min(round(event.grams), left.get(key, 0))
        left[key] = left.get(key, 0) - got
        out.append(EventMet(event, got))
    return tuple(out)


def over(garden: Garden, plan: Plan) -> tuple[Over, ...]:
    """What is over, by day and group; of what keeps equally long the later pick is over."""
    weeks = season_weeks(garden.season)
    at = {week: i for i, week in enumerate(weeks)}
    wanted, unmet = wish(garden), {(u.group, u.week): u.grams for u in plan.unmet}
    found: Counter[tuple[date, str]] = Counter()
    for demand in garden.demands:
        picked: Counter[tuple[date, str]] = Counter()
        for batch in plan.batches:
            if batch.crop in demand.crops:
                for pick in batch.picks:
                    picked[pick.date, batch.crop] += pick.grams
        lots: list[Lot] = []
        left = Counter[int]()
        days = sorted(picked)
        for k, (day, crop) in enumerate(days):
            life = garden.crops[crop].storage_life
            served = [at[w] for w in weeks_served(day, life, garden.event_weeks(crop)) if w in at]
            left[k] = picked[day, crop]
            if served:
                lots.append((served[0], served[-1], k, picked[day, crop]))
        met = [
            max(0, wanted.get((demand.group, w), 0) - unmet.get((demand.group, w), 0))
            for w in weeks
        ]
        flow, _met = shared_out(lots, _whole(met))
        for (k, _week), used in flow.items():
            left[k] -= used
        for k, (day, _crop) in enumerate(days):
            if left[k] > 0:
                found[day, demand.group] += left[k]
    return tuple(Over(day, group, grams) for (day, group), grams in sorted(found.items()))


def _whole(grams: Sequence[int]) -> np.ndarray:
    return np.array(grams, dtype=int)


def event_text(one: EventMet, units: Units) -> str:
    """``for summer lunch on Saturday 17 July lettuce 20 heads (4.00 kg): all of it``."""
    event = one.event
    amount = units.mass_text(one.wanted)
    if event.said:
        amount = f"{_said(event.said)} ({amount})"
    when = f"{weekday(event.date)} {short_date(event.date)}"
    got = (
        _("all of it")
        if one.grams >= one.wanted
        else _("{grams} of it").format(grams=units.mass_text(one.grams))
        if one.grams
        else _("nothing of it")
    )
    text = (
        _("for {name} on {date} {group} {amount}: {got}")
        if event.name
        else _("for {date} {group} {amount}: {got}")
    )
    return text.format(
        name=event.name, date=when, group=group_title(event.group), amount=amount, got=got
    )


def over_text(found: Sequence[Over], units: Units) -> str:
    """``over: lettuce 230 g on 22 May``; empty for none."""
    parts = [
        _("{group} {grams} on {date}").format(
            group=group_title(o.group), grams=units.mass_text(o.grams), date=short_date(o.date)
        )
        for o in found
    ]
    return _("over: {what}").format(what=", ".join(parts)) if parts else ""


def over_of_week(found: Sequence[Over], units: Units) -> str:
    """``over: lettuce 230 g, herbs 42 g``: the same without days."""
    grams: dict[str, int] = {}
    for o in found:
        grams[o.group] = grams.get(o.group, 0) + o.grams
    parts = [f"{group_title(group)} {units.mass_text(n)}" for group, n in grams.items()]
    return _("over: {what}").format(what=", ".join(parts))


def _said(said: str) -> str:
    """An amount as the garden has it, in the language in use: ``20 heads``."""
    number, _space, unit = said.partition(" ")
    return f"{number} {_(unit)}"
