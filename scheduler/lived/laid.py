"""A plan laid out in arrays, so that all years can be lived at once.

Arrays over batches have one entry more than there are batches: the last stands for "none", so that
an empty tier needs no case of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from crops import demand, development, survival
from crops.crop import Crop
from crops.growth import KNOTS
from crops.solution_heat import Bath
from scheduler.garden.baths import bath_of, lamp_light
from scheduler.garden.model import Garden, Stay, Tier
from scheduler.lived.doubt import Doubt
from scheduler.plans.model import FAILED, Batch
from scheduler.years.placed import years_in
from scheduler.years.weather_years import WeatherYears

FAR = 1 << 30  # a day that never comes


@dataclass(frozen=True)
class Crops:
    """Numbers of the crops that a plan grows [crops], and what the years do to them."""

    fresh: np.ndarray
    cuts: np.ndarray
    interval: np.ndarray
    cut_shares: np.ndarray
    after_cut: np.ndarray
    hold: np.ndarray
    fades: np.ndarray
    storage: np.ndarray
    per_mm: np.ndarray
    leaves: np.ndarray  # [crops, knots]: `demand.leaf_shares`
    wait: np.ndarray
    bolt_days: np.ndarray
    group: np.ndarray
    speed: np.ndarray  # [crops, years]
    thirst: np.ndarray  # [crops, years]
    bolting: np.ndarray  # running count of bolting days [skies, crops, years, days + 1]
    nursery: np.ndarray  # running sum of nursery progress [crops, years, days + 1]
    kills: np.ndarray  # [crops, 2]: limit of cold of who is tender, of who is hardened [degC]
    chill: np.ndarray  # [crops]: mean of a day below which chill harms it [degC]
    hardening: np.ndarray  # running sum of what nights harden [skies, years, days + 1]
    harm: np.ndarray  # running sum of what heat and chill do [degC d; kinds, years, days + 1]
    harm_of: np.ndarray  # its kind [baths, crops]; the first is none at all


@dataclass(frozen=True)
class Skies:
    """The weather years of each set of places that tiers stand in: one of the open air at least.

    ``number`` : of the sky by stays; the first is that in which the nursery is outdoors.
    ``baths`` : all that stand in the same places and get as warm [kinds]; bath : of each tier.
    """

    years: tuple[WeatherYears, ...]
    number: Mapping[tuple[Stay, ...], int]
    baths: tuple[tuple[tuple[Stay, ...], Bath], ...]
    bath: tuple[int, ...]


def skies_of(garden: Garden, years: WeatherYears, tiers: Sequence[Tier]) -> Skies:
    """The skies of some tiers; the first is the open air's."""
    stays = list(dict.fromkeys([(), *(tier.stays for tier in tiers)]))
    of_tier = [(tier.stays, bath_of(garden, tier)) for tier in tiers]
    baths = list(dict.fromkeys(of_tier))
    return Skies(
        tuple(years_in(garden, years, one) for one in stays),
        {one: k for k, one in enumerate(stays)},
        tuple(baths),
        tuple(baths.index(one) for one in of_tier),
    )


@dataclass(frozen=True)
class Laid:
    """A plan's batches and the garden's tiers.

    Attributes
    ----------
    crop, cells, plants, sow, start, clear, factor, failed : of each batch [batches + 1].
    due_day, due_plants : day of each planned pick, and plants due by then [batches + 1, picks];
        `FAR` and the last value fill the rest. due_grams : as planned.
    place : tier of each batch. queue : batches of each tier in order [tiers, most + 1].
    columns : tiers of each column, from top to bottom.
    fill, floor, mass, light : of each tier.
    open_ : days on which it may hold a batch [tiers, days].
    growth : running sum of progress [keys, years, days + 1]; key : of each batch.
    sky, bath : of each tier; tmin : [degC] under each sky; sun, air : what radiation and the
        dryness of the air take from a leaf there [mm/d; skies, years, days].
    """

    garden: Garden
    years: WeatherYears
    crops: Crops
    batches: tuple[Batch, ...]
    crop: np.ndarray
    cells: np.ndarray
    plants: np.ndarray
    sow: np.ndarray
    start: np.ndarray
    clear: np.ndarray
    factor: np.ndarray
    failed: np.ndarray
    due_day: np.ndarray
    due_plants: np.ndarray
    due_grams: np.ndarray
    place: np.ndarray
    queue: np.ndarray
    columns: tuple[tuple[int, ...], ...]
    fill: np.ndarray
    floor: np.ndarray
    mass: np.ndarray
    light: np.ndarray
    open_: np.ndarray
    growth: np.ndarray
    key: np.ndarray
    sky: np.ndarray
    bath: np.ndarray
    tmin: np.ndarray
    sun: np.ndarray
    air: np.ndarray


def lay_out(
    garden: Garden,
    batches: Sequence[Batch],
    years: WeatherYears,
    doubt: Doubt,
    seed: int = 0,
) -> Laid:
    """The arrays of a plan. Day 0 is the first of the season, which is that of the years too."""
    season = garden.season
    batches = tuple(sorted(batches, key=lambda b: (b.transplant, b.sow, b.id)))
    names = tuple(dict.fromkeys(b.crop for b in batches))
    tiers = [(c.name, t) for c in garden.columns for t in c.tiers]
    at = {(name, t.number): i for i, (name, t) in enumerate(tiers)}
    number = {n: i for i, n in enumerate(names)}
    n = len(batches)
    most = max((len(b.picks) for b in batches), default=0)
    due_day = np.full((n + 1, most + 1), FAR)
    due_plants = np.zeros((n + 1, most + 1), dtype=int)
    due_grams = np.zeros((n + 1, most + 1), dtype=int)
    for i, b in enumerate(batches):
        again = garden.crops[b.crop].cuts > 1
        so_far = 0
        for k, pick in enumerate(b.picks):
            so_far += 1 if again else pick.plants
            due_day[i, k], due_plants[i, k] = season.index(pick.date), so_far
            due_grams[i, k] = pick.grams
        due_plants[i, len(b.picks) :] = so_far

    def of(values: Sequence[float], none: float = 0, kind: type = int) -> np.ndarray:
        return np.array([*values, none], dtype=kind)

    keys: dict[tuple[str, float, tuple[Stay, ...]], int] = {}
    key = []
    for b in batches:
        tier = garden.tier(b.column, b.tier)
        key.append(keys.setdefault((b.crop, tier.light, tier.stays), len(keys)))
    skies = skies_of(garden, years, [t for _, t in tiers])
    crops = crops_over(garden, names, skies, doubt, seed)
    growth = np.zeros((len(keys) + 1, years.count, years.days + 1))
    for (name, light, stays), k in keys.items():
        rate = skies.years[skies.number[stays]].carried.rates(garden.crops[name], light)
        np.cumsum(rate * crops.speed[number[name]][:, None], axis=1, out=growth[k, :, 1:])
    queue: list[list[int]] = [[] for _ in tiers]
    for i, b in enumerate(batches):
        queue[at[b.column, b.tier]].append(i)
    width = max((len(q) for q in queue), default=0) + 1
    vessels = [garden.vessels[t.vessel] for _, t in tiers]
    return Laid(
        garden,
        years,
        crops,
        batches,
        of([number[b.crop] for b in batches], len(names)),
        of([b.cells for b in batches]),
        of([b.plants for b in batches]),
        of([season.index(b.sow) for b in batches], FAR),
        of([season.index(b.transplant) for b in batches], FAR),
        of([season.index(b.clear) for b in batches], FAR),
        of([b.demand_factor for b in batches], 1.0, float),
        of([b.state == FAILED for b in batches], 0, bool),
        due_day,
        due_plants,
        due_grams,
        of([at[b.column, b.tier] for b in batches], -1),
        np.array([q + [n] * (width - len(q)) for q in queue], dtype=int).reshape(-1, width),
        tuple(tuple(at[c.name, t.number] for t in c.tiers) for c in garden.columns),
        np.array([v.fill_l for v in vessels], dtype=float),
        np.array([v.floor_l for v in vessels], dtype=float),
        np.array([v.mass_kg for v in vessels], dtype=float),
        np.array([t.light for _, t in tiers], dtype=float),
        open_days(garden, [t for _, t in tiers]),
        growth,
        of(key, len(keys)),
        np.array([skies.number[t.stays] for _, t in tiers], dtype=int),
        np.array(skies.bath, dtype=int),
        np.stack([sky.tmin for sky in skies.years]),
        np.stack([sky.et0 * sky.sun for sky in skies.years]),
        np.stack([sky.et0 * sky.air for sky in skies.years]),
    )


def open_days(garden: Garden, tiers: Sequence[Tier]) -> np.ndarray:
    """Days on which each tier may hold a batch [tiers, days]."""
    days = garden.season.days
    out = np.ones((len(tiers), days), dtype=bool)
    for i, tier in enumerate(tiers):
        if tier.available:
            dates = [garden.season.date(d) for d in range(days)]
            out[i] = [any(d in s for s in tier.available) for d in dates]
    return out


def crops_over(
    garden: Garden, names: Sequence[str], skies: Skies, doubt: Doubt, seed: int
) -> Crops:
    """The crops' numbers; the last entry of each stands for no crop."""
    crops, years = [garden.crops[n] for n in names], skies.years[0]
    speed, thirst = doubt.draw(crops, years.count, seed)
    groups = [d.group for d in garden.demands]
    most = max((c.cuts for c in crops), default=1)

    def of(values: Sequence[float], none: float = 0.0) -> np.ndarray:
        return np.array([*values, none], dtype=float)

    group = []
    for c in crops:
        wished = garden.demand_of(c.name)
        group.append(-1 if wished is None else groups.index(wished.group))
    shape = (len(crops) + 1, years.count, years.days + 1)
    nursery = np.zeros(shape)
    bolting = np.zeros((len(skies.years), *shape))
    hardening = np.zeros((len(skies.years), *shape[1:]))
    for k, sky in enumerate(skies.years):
        np.cumsum(survival.hardening(sky.tmin), axis=1, out=hardening[k, :, 1:])
        for i, crop in enumerate(crops):
            dose = development.bolting_dose(crop, sky.tmin, sky.tmax, sky.daylength)
            np.cumsum(dose, axis=1, out=bolting[k, i, :, 1:])
    for i, crop in enumerate(crops):
        low, high = years.tmin, years.tmax
        if garden.nursery.temperature is not None:
            low = high = np.full((1, years.days), garden.nursery.temperature)
        nursery[i, :, 1:] = np.cumsum(development.nursery_rate(crop, low, high), axis=1)
    shares = np.zeros((len(crops) + 1, most))
    for i, crop in enumerate(crops):
        shares[i, : crop.cuts] = crop.cut_shares[: crop.cuts] if crop.cuts > 1 else 1.0
    return Crops(
        of([c.fresh_mass for c in crops]),
        of([c.cuts for c in crops]),
        of([c.cut_interval for c in crops]),
        shares,
        of([c.after_cut for c in crops]),
        of([int(c.hold) for c in crops]),
        of([c.fades for c in crops], 1.0),
        of([c.storage_life for c in crops]),
        of([c.peak_demand / c.demand_et0 for c in crops]),
        np.array([*(demand.leaf_shares(c) for c in crops), (0.0,) * len(KNOTS)]),
        of([int(c.nursery_wait) for c in crops]),
        of([c.bolts_after + 1e-9 for c in crops], float(FAR)),
        np.array([*group, -1]),
        np.vstack([speed, np.zeros((1, years.count))]),
        np.vstack([thirst, np.zeros((1, years.count))]),
        bolting,
        nursery,
        np.array([*([c.kill_temperature, c.kill_hardened] for c in crops), [-1e3, -1e3]]),
        of([c.chill_limit for c in crops], -1e3),
        hardening,
        *_harm(garden, crops, skies),
    )


def _harm(garden: Garden, crops: Sequence[Crop], skies: Skies) -> tuple[np.ndarray, np.ndarray]:
    """What heat and chill do in each bath, of the baths and crops to which they do anything."""
    years = skies.years[0]
    sums = [np.zeros((years.count, years.days + 1))]
    kind = np.zeros((len(skies.baths), len(crops) + 1), dtype=int)
    for b, (stays, bath) in enumerate(skies.baths):
        sky = skies.years[skies.number[stays]]
        solution = sky.carried.solution(bath, lamp_light(sky.first, sky.days, stays))
        mean = (sky.tmin + sky.tmax) / 2
        for i, crop in enumerate(crops):
            over = survival.harm(crop, solution, mean)
            if over.any():
                kind[b, i] = len(sums)
                sums.append(np.concatenate([sums[0][:, :1], np.cumsum(over, axis=1)], axis=1))
    return np.stack(sums), kind
