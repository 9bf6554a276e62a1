"""Work that the weather asks for: hardening off, protection on cold nights, shade for the solution.

Judged over weather years such as a plan is made with; what is told is a rule for the forecast, as
nobody knows which night it will be.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from crops import survival
from crops.solution_heat import WHITE, sun_gain, temperatures
from scheduler.garden.baths import bath_of, lamp_light
from scheduler.garden.model import ONE_DAY, Garden, Tier
from scheduler.garden.placed import place_on, weather_at
from scheduler.outputs.item import Work
from scheduler.outputs.on_columns import work_day_by
from scheduler.plans.model import CLEARED, FAILED, GROWING, Batch, Plan
from scheduler.words.work_kinds import HARDEN, PROTECT, SHADE
from scheduler.years import CHOOSING
from scheduler.years.expected import without_years
from scheduler.years.placed import years_at
from scheduler.years.purposes import years_for

if TYPE_CHECKING:
    from scheduler.years.weather_years import WeatherYears

# Seven to ten days outdoors before planting, not in nights near frost: common practice in growers'
# guides. Seedlings of an indoor nursery are hardened where a usual night of their first week out
# is below this [degC]: own judgement.
HARDEN_DAYS, COOL_NIGHT = 7, 10.0
SAFE = 1.0  # [K] that a forecast may err; own judgement
OFTEN, HOT_DAYS = 0.2, 3  # share of the years, and days, from which warm solution is worth a line


# Fast growth in still air leaves the youngest leaves of lettuce without calcium; air blown on them
# undid it at 57.6 mol m-2 d-1 (Frantz, Ritchie, Cometti, Robinson & Bugbee 2004, J. Amer. Soc.
# Hort. Sci. 129:331-338, abstract). 17 mol is the usual ceiling (from memory); outdoors is wind.
STILL_AIR, MOST_LIGHT, LETTUCES = ("fleece", "frame", "indoors"), 17.0, "Asteraceae"
FORTNIGHT = 14


@dataclass(frozen=True)
class Care:
    """What the weather asks for one batch.

    Attributes
    ----------
    kind : HARDEN, PROTECT or SHADE; batch : for which.
    first, last : days; of hardening ``last`` is that of planting.
    celsius : PROTECT: when less is forecast; SHADE: what the solution comes to [degC].
    bears : SHADE: what the crop bears; white : by how much a white wall is cooler [K]; 0: it is.
    light : SHADE: that its tips may burn in [mol m-2 d-1]; 0: it is the solution that is too warm.
    chance : PROTECT, SHADE: share of the years in which it comes to that [0..1].
    room : PROTECT: where its vessel can be brought in; empty where that is too heavy, or nowhere.
    kg : what the vessel weighs at most [kg].
    """

    kind: str
    batch: Batch
    first: date
    last: date
    celsius: float = 0.0
    bears: float = 0.0
    white: float = 0.0
    light: float = 0.0
    chance: float = 0.0
    room: str = ""
    kg: float = 0.0


def weather_items(garden: Garden, plan: Plan) -> list[Work]:
    """The same as items of work, on the last work day in time; none of it lies in the past."""
    out = []
    for care in cares(garden, plan):
        b = care.batch
        day = max(
            work_day_by(garden.season, care.first), b.sow if care.kind == HARDEN else b.transplant
        )
        if plan.as_of is not None and care.last < plan.as_of:
            continue
        out.append(
            Work(
                day if plan.as_of is None else max(day, plan.as_of),
                care.kind,
                b.column,
                b.tier,
                b.id,
                b.crop,
                plants=b.plants,
                until=care.last,
                celsius=care.celsius,
                bears=care.bears,
                white=care.white,
                light=care.light,
                in_years=care.chance or None,
                place=care.room,
                lift_kg=care.kg if care.room else 0.0,
            )
        )
    return out


def cares(garden: Garden, plan: Plan, years: WeatherYears | None = None) -> Iterator[Care]:
    """What the weather asks for every batch that is not over, by batch."""
    mean = without_years(garden)
    if years is None:
        years = years_of(garden, plan)
    known: dict[object, list[Care]] = {}
    for batch in plan.batches:
        if batch.state in (CLEARED, FAILED) or not batch.picks:
            continue
        tier = garden.tier(batch.column, batch.tier)
        alike = (
            batch.crop,
            tier.light,
            tier.stays,
            tier.vessel,
            batch.transplant,
            batch.picks[-1].date,
        )
        if alike not in known:
            known[alike] = [
                *_harden(mean, batch, tier),
                *_protect(mean, batch, tier, years),
                *_shade(mean, batch, tier, years),
                *_tips(mean, batch, tier, years),
            ]
        for care in known[alike]:
            if care.kind != HARDEN or batch.state != GROWING:
                own = replace(care, batch=batch)
                if care.kind == PROTECT:
                    room, kg = _brought_in(garden, batch, tier)
                    own = replace(own, room=room, kg=kg)
                yield own


def years_of(garden: Garden, plan: Plan) -> WeatherYears:
    """The years in which plans are compared, as `watch` takes them; made once for a garden."""
    seed = plan.seed if plan.years is None else plan.years.seed
    known: dict[object, WeatherYears] = vars(garden).setdefault("_cared", {})
    if seed not in known:
        mean = without_years(garden)
        known[seed] = years_for(mean, CHOOSING, seed, "choose", mean.site.past)
    return known[seed]


def _harden(garden: Garden, batch: Batch, tier: Tier) -> Iterator[Care]:
    """Where the nursery is warmer than the nights that wait outdoors."""
    warm, day = garden.nursery.temperature, batch.transplant
    if warm is None or place_on(tier, day).temperature is not None:
        return
    nights = weather_at(garden, tier)["tmin"].to_numpy(float)
    at = garden.season.index(day)
    if nights[at : at + HARDEN_DAYS].min(initial=warm) < min(COOL_NIGHT, warm):
        first = max(batch.sow + ONE_DAY, day - HARDEN_DAYS * ONE_DAY)
        yield Care(HARDEN, batch, first, day)


def _protect(garden: Garden, batch: Batch, tier: Tier, years: WeatherYears) -> Iterator[Care]:
    """Nights on which it would die in any of the years, if nothing is done."""
    crop = garden.crops[batch.crop]
    there = years_at(garden, years, tier)
    start, last = (garden.season.index(d) for d in (batch.transplant, batch.picks[-1].date))
    low = there.tmin[:, start:last]
    sums = np.concatenate([np.zeros((len(low), 1)), np.cumsum(survival.hardening(low), axis=1)], 1)
    days = np.arange(low.shape[1])
    hard = (sums[:, days] - sums[:, np.maximum(days - survival.NIGHTS, 0)]) / survival.NIGHTS
    deadly = np.flatnonzero((low < survival.kills_below(crop, hard)).any(axis=0))
    if len(deadly):
        first, end = (batch.transplant + int(d) * ONE_DAY for d in (deadly[0], deadly[-1]))
        celsius = crop.kill_temperature + SAFE
        chance = float((low < survival.kills_below(crop, hard)).any(axis=1).mean())
        yield Care(PROTECT, batch, first, end, celsius, chance=chance)


def _brought_in(garden: Garden, batch: Batch, tier: Tier) -> tuple[str, float]:
    """A place indoors that the garden lists, and the heaviest that the vessel can be there [kg].

    Empty where there is none, where a full vessel with ripe plants is heavier than may be lifted,
    or other vessels stand on it.
    """
    kg = (
        garden.vessels[tier.vessel].full_kg
        + batch.plants * garden.crops[batch.crop].fresh_mass / 1000
    )
    limit = garden.limits.lift_kg
    if not garden.rooms or tier.number > 1 or (limit is not None and kg > limit + 1e-9):
        return "", 0.0
    return garden.rooms[0], kg


def _shade(garden: Garden, batch: Batch, tier: Tier, years: WeatherYears) -> Iterator[Care]:
    """Days on which its solution is warmer than it bears, in one year of five."""
    crop, vessel = garden.crops[batch.crop], garden.vessels[tier.vessel]
    there = years_at(garden, years, tier)
    start, last = (garden.season.index(d) for d in (batch.transplant, batch.picks[-1].date))
    span = slice(start, last)
    bath = bath_of(garden, tier)
    lamps = lamp_light(there.first, there.days, tier.stays)
    sun = sun_gain(np.maximum(there.dli - lamps, 0.0)[:, span], bath.light, bath.takes)
    air = (there.tmin[:, span] + there.tmax[:, span]) / 2
    half = (vessel.fill_l + vessel.floor_l) / 2
    if not air.shape[1] or float((air + sun).max()) <= crop.heat_limit:
        return
    warm = temperatures(air + sun, half)
    usual = np.sort(warm, axis=0)[-max(int(OFTEN * len(warm) + 1e-9), 1)]
    hot = np.flatnonzero(usual > crop.heat_limit)
    if len(hot) >= HOT_DAYS:
        first, end = (batch.transplant + int(d) * ONE_DAY for d in (hot[0], hot[-1]))
        cooler = float(sun[:, hot].mean()) * (1 - WHITE / bath.takes)
        most = float(usual[hot].max())
        chance = float(((warm > crop.heat_limit).sum(axis=1) >= HOT_DAYS).mean())
        yield Care(SHADE, batch, first, end, most, crop.heat_limit, cooler, chance=chance)


def _tips(garden: Garden, batch: Batch, tier: Tier, years: WeatherYears) -> Iterator[Care]:
    """Lettuce in still air, its last fortnight brighter than tips bear in one year of five."""
    crop, last = garden.crops[batch.crop], batch.picks[-1].date
    if crop.family != LETTUCES or place_on(tier, last).kind not in STILL_AIR:
        return
    end = garden.season.index(last)
    begin = max(end - FORTNIGHT, garden.season.index(batch.transplant))
    light = years_at(garden, years, tier).dli[:, begin:end] * tier.light
    if not light.shape[1]:
        return
    chance = float((light.mean(axis=1) > MOST_LIGHT).mean())
    if chance >= OFTEN:
        bright = light.mean(axis=1)
        first = batch.transplant + (begin - garden.season.index(batch.transplant)) * ONE_DAY
        most = float(bright[bright > MOST_LIGHT].mean())
        yield Care(SHADE, batch, first, last, light=most, chance=chance)
