"""The solution of a plan: a recipe for every fill, and how strong it is at harvest."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache

from crops.crop import Crop
from crops.solution import balance, ph, strength
from crops.solution.limits import LIMITS
from crops.solution.recipe import Recipe, RecipeFault
from scheduler.garden.model import Garden
from scheduler.plans.model import FAILED, PLANNED, SOWN, Batch, Plan
from scheduler.words.words import N_, Shown, _

LEAST_LOST = 0.01  # less is told as that


@dataclass(frozen=True)
class DayMix:
    """One mix of a day: the recipe for all batches that are filled with the same."""

    date: date
    recipe: Recipe
    batches: tuple[Batch, ...]


@dataclass(frozen=True)
class Solution:
    """The solution of a batch, the same in every output.

    Attributes
    ----------
    fill : its strength [mS/cm]; end, spread : on the last pick's day [mS/cm], and half the 90 %
        interval of that; None where nothing is picked or left.
    lost : share of the crop that salt costs [0..1].
    state : `strength.FITS`, `strength.SALTY` or `strength.STARVED`: how it is at the end.
    """

    fill: float
    end: float | None = None
    spread: float | None = None
    lost: float = 0.0
    state: int = strength.FITS


def solution_of(garden: Garden, batch: Batch) -> Solution:
    """The solution of a batch: as the plan tells of it, else chosen here."""
    return _solution(
        garden.crops[batch.crop],
        garden.solution.source,
        batch.fill_litres,
        None if batch.state == FAILED else level_at_harvest(batch),
        water_use(batch),
        batch.fill_ec,
        batch.harvest_ec,
        batch.harvest_ec_spread,
    )


@lru_cache(maxsize=4096)  # every output asks for every batch, and many of them are alike
def _solution(
    crop: Crop,
    source: strength.Source,
    litres: float,
    left: float | None,
    use: float | None,
    known: float | None,
    end_told: float | None,
    spread_told: float | None,
) -> Solution:
    """The same of all that it depends on; ``left`` is None where nothing is picked."""
    if left is None or use is None or left < 0.01 * litres:
        return Solution(float(strength.offers(crop, source)[0]) if known is None else known)
    share, held = left / litres, float(balance.drawn(crop, use))
    chosen = strength.choose(crop, share, held, source)
    fill, lost, state = (float(chosen.fill[0]), float(chosen.lost[0]), int(chosen.state[0]))
    if known is not None:
        fill = known
        lost = float(strength.lost(crop, strength.average(fill, share, held, source.own)))
    end, spread = balance.expected_ec(crop, fill, share, use, source.own)
    if known is not None:
        if end_told is not None:
            end, spread = end_told, spread_told or spread
        low, high = strength.end_limits(crop)
        # A plan tells its strengths to a hundredth.
        state = (
            strength.SALTY
            if end > high + 0.005 or lost > strength.MOST_LOST
            else strength.STARVED
            if end < low - 0.005
            else strength.FITS
        )
    return Solution(fill, end, spread, lost, state)


def fill_recipe(garden: Garden, batch: Batch) -> Recipe:
    """The recipe for the fill of a batch.

    Raises
    ------
    crops.solution.recipe.RecipeFault
        The garden's fertilizers and water cannot make it; says why.
    """
    fill = solution_of(garden, batch).fill
    return garden.solution.for_crop(garden.crops[batch.crop], batch.fill_litres, fill)


Weighed = tuple[str, float, str]  # what, how much, unit (g or mL)


def weighed_fills(garden: Garden, plan: Plan) -> dict[str, tuple[Weighed, ...]]:
    """What to weigh for the fill of each batch, by its id, acid first, in the order of dissolving.

    Nothing for a batch whose recipe the garden's fertilizers and water cannot make.
    """
    known: dict[tuple[str, float, float], tuple[Weighed, ...]] = {}
    out = {}
    for batch in plan.batches:
        fill = solution_of(garden, batch).fill
        key = (batch.crop, batch.fill_litres, fill)
        if key not in known:
            try:
                recipe = garden.solution.for_crop(garden.crops[batch.crop], batch.fill_litres, fill)
                known[key] = amounts(recipe)
            except RecipeFault:
                known[key] = ()
        out[batch.id] = known[key]
    return out


def amounts(recipe: Recipe) -> tuple[Weighed, ...]:
    """Acid, then salts as a scale shows them."""
    acid: tuple[Weighed, ...] = ()
    if recipe.dose is not None:
        acid = ((f"{recipe.dose.acid.name} acid", round(recipe.dose.amount, 1), recipe.dose.unit),)
    pairs = zip(recipe.salts, recipe.weighed, strict=True)
    return (*acid, *((salt.name, grams, "g") for salt, grams in pairs))


def season_total(garden: Garden, plan: Plan) -> tuple[Weighed, ...]:
    """Acid and fertilizers for all fills of a plan, as weighed fill by fill."""
    total: dict[tuple[str, str], float] = {}
    for fill in weighed_fills(garden, plan).values():
        for name, amount, unit in fill:
            total[name, unit] = total.get((name, unit), 0.0) + amount
    return tuple((name, amount, unit) for (name, unit), amount in total.items())


def recipes_on(garden: Garden, plan: Plan, day: date) -> list[DayMix]:
    """The mixes of a day, largest first; fills of the same strength and pH are mixed together.

    Raises
    ------
    crops.solution.recipe.RecipeFault
    """
    groups: dict[tuple[float, ...], list[Batch]] = {}
    for batch in plan.batches:
        if batch.transplant == day:
            crop = garden.crops[batch.crop]
            key = (solution_of(garden, batch).fill, crop.ph_low + crop.ph_high)
            groups.setdefault(key, []).append(batch)
    order = {column.name: i for i, column in enumerate(garden.columns)}
    out = []
    for (fill, _key), batches in groups.items():
        batches.sort(key=lambda b: (order[b.column], b.tier))  # K2 before K10, as in the garden
        litres = sum(b.fill_litres for b in batches)
        recipe = garden.solution.for_crop(garden.crops[batches[0].crop], litres, fill)
        out.append(DayMix(day, recipe, tuple(batches)))
    return sorted(out, key=lambda m: -m.recipe.litres)


def water_use(batch: Batch) -> float | None:
    """Water the batch drinks per gram of its harvest [mL/g], as planned; None without either."""
    left = level_at_harvest(batch)
    if left is None or batch.grams <= 0 or left >= batch.fill_litres:
        return None
    return (batch.fill_litres - left) * 1000 / batch.grams


def level_at_harvest(batch: Batch) -> float | None:
    """Level on the morning of the last pick [L]; None without levels or picks."""
    if not batch.picks:
        return None
    last = batch.picks[-1].date
    return next((v.litres for v in batch.levels if v.date == last), None)


def with_solution(garden: Garden, plan: Plan) -> Plan:
    """The plan with the strength of each fill, and of what is left of it on the last pick's day.

    What is filled already keeps the strength it was told. A batch has none where no recipe can be
    made, and none at harvest where nothing is left.
    """
    made: dict[tuple[str, float, float], bool] = {}
    batches = []
    for batch in plan.batches:
        batch = replace(batch, harvest_ec=None, harvest_ec_spread=None)
        if batch.state in (PLANNED, SOWN):
            batch = replace(batch, fill_ec=None)
        found = solution_of(garden, batch)
        key = (batch.crop, batch.fill_litres, found.fill)
        if key not in made:
            try:
                garden.solution.for_crop(garden.crops[batch.crop], batch.fill_litres, found.fill)
                made[key] = True
            except RecipeFault:
                made[key] = False
        if made[key]:
            batch = replace(
                batch,
                fill_ec=round(found.fill, 2),
                harvest_ec=None if found.end is None else round(found.end, 2),
                harvest_ec_spread=None if found.spread is None else round(found.spread, 2),
            )
        batches.append(batch)
    return replace(plan, batches=tuple(batches))


def renewed(garden: Garden, before: Plan, plan: Plan) -> Plan:
    """A re-plan with its strengths told anew, if the plan before told any."""
    with_strength = any(b.fill_ec is not None for b in before.batches)
    return with_solution(garden, plan) if with_strength else plan


def remarks(garden: Garden, batch: Batch, recipe: Recipe) -> list[str]:
    """What to expect of a batch's solution, and warnings, one text each."""
    out = []
    found = solution_of(garden, batch)
    if found.end is not None and found.spread is not None:
        text = _("At harvest about {end:.1f} mS/cm is expected").format(end=Shown(found.end))
        if found.spread < found.end:  # a range from nothing to anything tells nothing
            low, high = found.end - found.spread, found.end + found.spread
            text += _(" (90 %: {low:.1f} to {high:.1f})").format(low=Shown(low), high=Shown(high))
        out.append(f"{text}.")
        crop = garden.crops[batch.crop]
        warning = end_warning(crop, found)
        if warning:
            out.append(warning)
        left = (level_at_harvest(batch) or 0.0) / batch.fill_litres
        gone = balance.used_up(crop, recipe.composition, left, water_use(batch))
        if gone:
            names = _(" and ").join(_(LIMITS[e].name) for e in gone)
            out.append(
                _("{elements} may be used up before the last pick.").format(
                    elements=names.capitalize()
                )
            )
    out.append(_(PH_TEXT[ph.drift(recipe.composition)]))
    return out


PH_TEXT = {
    ph.RISES: N_("pH will rise as the crop takes up nitrate: measure it at every level check."),
    ph.STEADY: N_("pH should stay about the same: nitrate and ammonium are in balance."),
    ph.FALLS: N_("pH will fall as the crop takes up ammonium: measure it at every level check."),
}


def end_warning(crop: Crop, found: Solution) -> str:
    """A warning where an EC at harvest passes the crop's limits; empty where it does not."""
    low, high = strength.end_limits(crop)
    if found.state == strength.STARVED:
        return _("That is weak: {title} needs about {low:.1f} mS/cm to the end.").format(
            title=_(crop.title), low=Shown(low)
        )
    if found.state == strength.FITS:
        return ""
    cost = _("by the published response that costs under 1 % of the crop")
    if found.lost >= LEAST_LOST:
        cost = _("salt costs about {lost:.0f} % of the crop").format(lost=Shown(100 * found.lost))
    return _(
        "That is salty: {title} stands about {high:.1f} mS/cm at the end; "
        "{cost}. No fill of its range ends weaker."
    ).format(title=_(crop.title), high=Shown(high), cost=cost)
