"""The solution of a plan: a recipe for every fill, and how strong it is at harvest."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from crops.crop import Crop
from crops.solution import balance, ph
from crops.solution.balance import ExpectedEC
from crops.solution.recipe import Recipe, RecipeFault
from scheduler.garden import Garden
from scheduler.plan import FAILED, Batch, Plan


@dataclass(frozen=True)
class DayMix:
    """One mix of a day: the recipe for all batches that are filled with the same."""

    date: date
    recipe: Recipe
    batches: tuple[Batch, ...]


def fill_recipe(garden: Garden, batch: Batch) -> Recipe:
    """The recipe for the fill of a batch.

    Raises
    ------
    crops.solution.recipe.RecipeFault
        The garden's fertilizers and water cannot make it; says why.
    """
    return garden.solution.for_crop(garden.crops[batch.crop], batch.fill_litres)


Weighed = tuple[str, float, str]  # what, how much, unit (g or mL)


def weighed_fills(garden: Garden, plan: Plan) -> dict[str, tuple[Weighed, ...]]:
    """What to weigh for the fill of each batch, by its id, acid first, in the order of dissolving.

    Nothing for a batch whose recipe the garden's fertilizers and water cannot make.
    """
    known: dict[tuple[str, float], tuple[Weighed, ...]] = {}
    for batch in plan.batches:
        key = (batch.crop, batch.fill_litres)
        if key not in known:
            try:
                known[key] = amounts(fill_recipe(garden, batch))
            except RecipeFault:
                known[key] = ()
    return {b.id: known[b.crop, b.fill_litres] for b in plan.batches}


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
            key = (crop.ec_low + crop.ec_high, crop.ph_low + crop.ph_high)
            groups.setdefault(key, []).append(batch)
    order = {column.name: i for i, column in enumerate(garden.columns)}
    out = []
    for batches in groups.values():
        batches.sort(key=lambda b: (order[b.column], b.tier))  # K2 before K10, as in the garden
        litres = sum(b.fill_litres for b in batches)
        recipe = garden.solution.for_crop(garden.crops[batches[0].crop], litres)
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


def harvest_ec(garden: Garden, batch: Batch, recipe: Recipe) -> ExpectedEC | None:
    """EC on the day of the last pick; None for a batch that fails or has nothing left by then."""
    left = level_at_harvest(batch)
    if left is None or left < 0.01 * batch.fill_litres or batch.state == FAILED:
        return None
    return balance.expected_ec(
        garden.crops[batch.crop], batch.fill_litres, recipe.composition, left,
        mL_per_g=water_use(batch), alkalinity=recipe.alkalinity,
    )  # fmt: skip


def with_solution(garden: Garden, plan: Plan) -> Plan:
    """The plan with the strength of each fill, and of what is left of it on the last pick's day.

    A batch is left as it is where no recipe can be made, and where nothing is left.
    """
    made: dict[tuple[str, float], Recipe | None] = {}
    batches = []
    for batch in plan.batches:
        key = (batch.crop, batch.fill_litres)
        if key not in made:
            try:
                made[key] = fill_recipe(garden, batch)
            except RecipeFault:
                made[key] = None
        recipe = made[key]
        if recipe is None:
            batches.append(batch)
            continue
        found = harvest_ec(garden, batch, recipe)
        batches.append(replace(
            batch, fill_ec=round(recipe.weighed_ec.value, 2),
            harvest_ec=round(found.ec, 2) if found else None,
            harvest_ec_spread=round(found.spread, 2) if found else None,
        ))  # fmt: skip
    return replace(plan, batches=tuple(batches))


def renewed(garden: Garden, before: Plan, plan: Plan) -> Plan:
    """A re-plan with its strengths told anew, if the plan before told any."""
    told = any(b.fill_ec is not None for b in before.batches)
    return with_solution(garden, plan) if told else plan


def remarks(garden: Garden, batch: Batch, recipe: Recipe) -> list[str]:
    """What to expect of a batch's solution, and warnings, one text each."""
    crop = garden.crops[batch.crop]
    out = []
    found = harvest_ec(garden, batch, recipe)
    if found is not None:
        low, high = max(found.ec - found.spread, 0), found.ec + found.spread
        out.append(f"At harvest about {found.ec:.1f} mS/cm is expected (90 %: {low:.1f} to "
                   f"{high:.1f}).")  # fmt: skip
        warning = end_warning(crop, found.ec)
        if warning:
            level = level_at_harvest(batch) or 0.0
            better = balance.fitting_fill(crop, batch.fill_litres, level, water_use(batch))
            out.append(f"{warning} A fill of {better:.1f} mS/cm would end nearer to its beginning.")
    out.append(PH_TEXT[ph.drift(recipe.composition)])
    return out


PH_TEXT = {
    ph.RISES: "pH will rise as the crop takes up nitrate: measure it at every level check.",
    ph.STEADY: "pH should about hold: nitrate and ammonium are in balance.",
    ph.FALLS: "pH will fall as the crop takes up ammonium: measure it at every level check.",
}


def end_warning(crop: Crop, ec: float) -> str:
    """A warning where an EC at harvest passes the crop's limits; empty where it does not."""
    low, high = balance.end_limits(crop)
    if ec > high:
        return f"That is salty: {crop.title} bears about {high:.1f} mS/cm at the end."
    if ec < low:
        return f"That is starved: {crop.title} needs about {low:.1f} mS/cm to the end."
    return ""
