"""What is ahead of a growing batch: when it is ready, when its tier is dry, what can be done.

A tier is never topped up: roots that grew in moist air would drown (Kratky 2004, Acta Hort
648:83-89, abstract). What is left is to pick early, or to give up.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from crops import development
from crops.crop import Crop
from crops.level import BatchCourse
from scheduler.batches import rules
from scheduler.batches.courses import NEVER
from scheduler.batches.rules import Grown, Picks
from scheduler.garden.model import ONE_DAY, Garden
from scheduler.garden.placed import weather_at
from scheduler.log.state import Followed
from scheduler.plans.model import Batch
from scheduler.replanning.measured import course_of, standing_on
from scheduler.words.language import N_, _, plural
from scheduler.words.units import mass

RIPE, EARLY, TODAY, GIVE_UP = (
    N_("pick when ready"),
    N_("pick early"),
    N_("pick today"),
    N_("give up"),
)

# How long a crop can still be eaten once it is past its best. Own judgement, common practice, no
# source: leaves get tough and bitter by and by; without solution they wilt within days.
PAST_HOLD = 7  # days after the end of its hold, and at least as long again as it holds
PAST_BOLTING = 7  # days
PAST_DRY = 2  # days


@dataclass(frozen=True)
class Choice:
    """One thing that can be done with a batch: what, on which day, mass to expect [g].

    ``why`` tells what is wrong with a pick that is not ripe and sound.
    """

    what: str
    date: date
    grams: int
    why: str = ""

    def text(self, units: str) -> str:
        if self.what == GIVE_UP:
            return _("{give_up} and clear from {date}").format(give_up=_(GIVE_UP), date=self.date)
        when = (
            _(self.what)
            if self.what == TODAY
            else _("{what} on {date}").format(what=_(self.what), date=self.date)
        )
        return _("{when}, about {grams}").format(when=when, grams=mass(self.grams, units)) + (
            f" ({self.why})" if self.why else ""
        )


@dataclass(frozen=True)
class Outlook:
    """What is ahead of a growing batch.

    Attributes
    ----------
    batch : with its demand factor.
    first, last : first and last morning on which the next pick is good (ready, or grown back;
        held, not bolted, and the margin before the dry date kept).
    dry : first morning on which the tier is dry, were nothing more picked; None: not seen.
    bolts : first morning from which it counts as bolted; None: not seen.
    days : work days between first and last from the day on.
    choices : what can be done. To pick it today is one as long as it can be eaten; to give it up
        only if there is no work day to pick it ripe.
    """

    batch: Batch
    on: date
    first: date | None
    last: date | None
    dry: date | None
    bolts: date | None
    days: tuple[date, ...]
    choices: tuple[Choice, ...]

    @property
    def urgent(self) -> bool:
        """Whether it cannot be picked ripe."""
        return not self.days

    def text(self) -> str:
        """One line: dry in 3 days, ready in 5."""
        batch = self.batch
        parts = [
            _("{id} ({crop}) in {column} {tier}:").format(
                id=batch.id, crop=batch.crop, column=batch.column, tier=batch.tier
            )
        ]
        if self.dry is not None:
            parts.append(_("dry {on},").format(on=_when(self.dry, self.on)))
        if self.bolts is not None and (self.first is None or self.bolts <= self.first):
            parts.append(_("bolted {on},").format(on=_when(self.bolts, self.on)))
        parts.append(
            _("ready {on}").format(on=_when(self.first, self.on))
            if self.first
            else _("not ready in time")
        )
        return " ".join(parts)


def _when(day: date, on: date) -> str:
    days = (day - on).days
    if days == 0:
        return _("today ({day})").format(day=day)
    count = plural("{n} day", "{n} days", abs(days))
    return (
        _("in {count} ({day})").format(count=count, day=day)
        if days > 0
        else _("{count} ago ({day})").format(count=count, day=day)
    )


def outlook(garden: Garden, followed: Followed, batch: Batch, on: date) -> Outlook:
    """What is ahead of a growing batch that still holds plants.

    ``batch`` is the followed batch with its corrected demand factor.
    """
    season, crop = garden.season, garden.crops[batch.crop]
    done = batch.picks[: followed.done]
    first: date | None
    # As if nothing more were picked: the last pick is never made in `unpicked`.
    beyond = standing_on(garden, batch, followed.done)
    course = course_of(garden, beyond)
    dry = None if course.dry_index is None else season.date(course.dry_index)
    ready = None if course.ready_index is None else season.date(course.ready_index)
    if crop.cuts > 1 and done:
        first = done[-1].date + timedelta(days=round(crop.cut_interval))
    else:
        first = ready
    grown = grown_of(garden, batch, course)
    bolts = None if grown.bolted[0] >= NEVER else season.date(int(grown.bolted[0]))
    good = _good_days(garden, grown, [season.index(p.date) for p in done], first)
    last = good[-1] if good else None
    soonest = max(on, done[-1].date + ONE_DAY if done else on)
    days = [day for day in good if day >= soonest and season.is_pick_day(day)]
    choices = [Choice(RIPE, days[0], _grams(garden, followed, batch, days[0]))] if days else []
    if not days:
        early = _early_day(garden, on, dry, bolts, first)
        if early is not None and not (crop.cuts > 1 and done):
            choices.append(Choice(EARLY, early, _grams(garden, followed, batch, early)))
    if (
        on not in days
        and season.is_work_day(on)
        and not any(c.date == on for c in choices)
        and not (crop.cuts > 1 and done and (first is None or on < first))
    ):
        wrong = _wrong(crop, on, first, dry, bolts)
        if wrong is not None:
            choices.append(Choice(TODAY, on, _grams(garden, followed, batch, on), wrong))
    if not days:
        choices.append(Choice(GIVE_UP, on, 0))
    return Outlook(batch, on, first, last, dry, bolts, tuple(days), tuple(choices))


def _wrong(
    crop: Crop, on: date, first: date | None, dry: date | None, bolts: date | None
) -> str | None:
    """What is wrong with a batch that is picked on a day it is not at its best; None: inedible."""
    out = []
    if first is None or on < first:
        out.append(_("not ripe yet"))
    else:
        past = (on - first).days - int(crop.hold)
        if past > max(PAST_HOLD, int(crop.hold)):
            return None
        if past > 0:
            out.append(plural("past its best for {n} day", "past its best for {n} days", past))
    if bolts is not None and bolts <= on:
        if (on - bolts).days > PAST_BOLTING:
            return None
        out.append(_("bolting since {bolts}, taste it first").format(bolts=bolts))
    if dry is not None and dry <= on:
        if (on - dry).days > PAST_DRY:
            return None
        out.append(_("without solution since {dry}").format(dry=dry))
    return ", ".join(out) or _("with little solution left")


def grown_of(garden: Garden, batch: Batch, course: BatchCourse) -> Grown:
    """One batch as the rules about one batch look at it, salt left out."""
    crop, tier = garden.crops[batch.crop], garden.tier(batch.column, batch.tier)
    start = np.array([garden.season.index(batch.transplant)])
    ready, dry = (
        np.array([NEVER if day is None else day]) for day in (course.ready_index, course.dry_index)
    )
    return Grown(
        crop,
        garden.limits.dry_margin_days,
        start,
        ready,
        dry,
        rules.bolted_from(garden, crop, tier, start),
        rules.light_sum(garden, tier),
    )


def _good_days(garden: Garden, grown: Grown, done: list[int], first: date | None) -> list[date]:
    """Mornings from ``first`` on on which the next pick keeps every rule asked of what grows."""
    if first is None:
        return []
    day = garden.season.index(first) + np.arange(int(grown.crop.hold) + 1)
    days = np.array([[*done, int(d)] for d in day])
    judged = np.zeros(days.shape, dtype=bool)
    judged[:, -1] = True
    good = rules.keeps(grown, Picks(days, judged), growing=True)
    return [garden.season.date(int(d)) for d in day[good]]


def _early_day(
    garden: Garden, on: date, dry: date | None, bolts: date | None, first: date | None
) -> date | None:
    """The last work day on which to pick before it is dry, bolts or the season ends.

    The usual margin before the dry date is kept where a work day is left for it. None also for a
    batch past its hold: there is nothing early about it.
    """
    season = garden.season
    if first is not None and first <= on and (dry is None or first <= dry):
        return None
    end = min([season.end, *([dry] if dry else []), *([bolts - ONE_DAY] if bolts else [])])
    if first is not None:
        end = min(end, first - ONE_DAY)
    days: list[date] = []
    day = on
    while day <= end:
        if season.is_work_day(day):
            days.append(day)
        day += ONE_DAY
    if not days:
        return None
    margin = timedelta(days=garden.limits.dry_margin_days)
    calm = [d for d in days if dry is None or d + margin <= dry]
    return calm[-1] if calm else days[0]


def _grams(garden: Garden, followed: Followed, batch: Batch, day: date) -> int:
    """Mass of all that is left if picked on ``day`` [g]; of the next cut for a crop cut again."""
    crop = garden.crops[batch.crop]
    if crop.cuts > 1:
        share = crop.cut_shares[min(followed.done, len(crop.cut_shares) - 1)]
        grown = 1.0 if followed.done else mass_share_on(garden, batch, day)
        return round(batch.plants * crop.fresh_mass * share * grown)
    return round(followed.standing * crop.fresh_mass * mass_share_on(garden, batch, day))


def mass_share_on(garden: Garden, batch: Batch, day: date) -> float:
    """Share of its harvest mass that a plant of the batch has reached on a morning [0..1]."""
    tier, season = garden.tier(batch.column, batch.tier), garden.season
    rate = development.daily_rate(garden.crops[batch.crop], weather_at(garden, tier), tier.light)
    total = development.running_sum(rate)
    grown = total[season.index(day)] - total[season.index(batch.transplant)]
    # A hair is added, as where readiness is judged: sums of equal parts reach 1 on their day.
    return float(development.harvest_share(np.array(grown + 1e-9)))
