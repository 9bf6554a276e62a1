"""One item of work as a sentence, the same in text, calendar feed, page and print."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date

from crops.place import OPEN
from scheduler.garden.model import Garden
from scheduler.garden.weekly import wish
from scheduler.mix import fills as mix
from scheduler.outputs import work
from scheduler.outputs.act import level_text
from scheduler.outputs.weather_text import weather_text
from scheduler.outputs.work import Work
from scheduler.plans.model import Plan
from scheduler.schedule.assemble import by_weights, wish_met
from scheduler.words.units import share
from scheduler.words.words import (
    COVER_CM,
    Shown,
    Units,
    _,
    dated,
    depth_of_rain,
    ec_text,
    plural,
    sheet_week,
    short_date,
    short_span,
    tier_label,
)


def crop_title(garden: Garden, crop: str) -> str:
    """The printed name of a crop."""
    return _(garden.crops[crop].title) if crop in garden.crops else crop


def met_text(garden: Garden, plan: Plan, units: Units) -> str:
    """``61.3 % of the wish met, 5.20 kg of 8.48 kg``; masses only where no weights count.

    Of a plan that promises something the promise comes first: what is met in the courses to expect
    is no headline.
    """
    met = wish_met(garden, plan)
    if met is None:
        return ""
    if plan.promise is not None:
        return _(
            "{usual} of the wish in a usual year, one year in five under {low} "
            "({share} if all comes as expected)"
        ).format(
            usual=share(plan.promise.usual),
            low=share(plan.promise.one_in_five),
            share=share(met),
        )
    if by_weights(garden):
        return _("{share} of the wish met, by the garden's weights").format(share=share(met))
    wished = sum(wish(garden).values())
    served = wished - sum(u.grams for u in plan.unmet)
    return _("{share} of the wish met, {served} of {wish}").format(
        share=share(met), served=units.mass_text(served), wish=units.mass_text(wished)
    )


def sentence(garden: Garden, item: Work, units: Units) -> str:
    """What to do, without verb and place."""
    crop = crop_title(garden, item.crop) if item.crop else ""
    return _SAY[item.kind](item, crop, units)


def _date(day: date | None, item: Work) -> str:
    """A day, with its year where that is not the year of the work."""
    if day is None:
        return ""
    return short_date(day) if day.year == item.date.year else dated(day)


def _level(item: Work, crop: str, units: Units) -> str:
    text = _("{crop}: expect {depth}").format(crop=crop, depth=level_text(item, units))
    return text + _("; measure EC and pH too") if item.meters else text


def _shelter(item: Work, crop: str, units: Units) -> str:
    return _(
        "until {until}, whenever more than {rain} of rain is forecast: the roots need their air gap"
    ).format(until=_date(item.until, item), rain=depth_of_rain(units, item.rain_cm or COVER_CM))


def place_name(name: str) -> str:
    """A place in a sentence: the grower's name for it."""
    return _("the open") if name == OPEN.name else name


def _move(item: Work, crop: str, units: Units) -> str:
    return _("to {place}: {vessels}, up to {kg}").format(
        place=place_name(item.place),
        vessels=plural("{n} vessel", "{n} vessels", len(item.tiers)),
        kg=units.weight_text(item.lift_kg),
    )


def _weather(item: Work, crop: str, units: Units) -> str:
    return weather_text(
        [item],
        units,
        lambda _name: crop,
        lambda some: tier_label(some[0].column, some[0].tier),
        _date,
    )


def _support(item: Work, crop: str, units: Units) -> str:
    return _("{crop}: {plants}, before they are too heavy to stand").format(
        crop=crop, plants=plural("{n} plant", "{n} plants", item.plants)
    )


def _pick(item: Work, crop: str, units: Units) -> str:
    text = _("{crop}: {plants}, about {mass}").format(
        crop=crop,
        plants=plural("{n} plant", "{n} plants", item.plants),
        mass=units.mass_text(item.grams),
    )
    if item.count > 1:
        text += _(" (pick {number} of {count})").format(number=item.number, count=item.count)
    return text + _when(item, units)


def look_days(items: Sequence[Work]) -> dict[date, list[str]]:
    """By day, the tiers that may be ready from then on; their usual day is in a later week."""
    days: dict[date, dict[str, None]] = {}
    for w in items:
        if w.look_from is not None and sheet_week(w.date) != sheet_week(w.look_from):
            days.setdefault(w.look_from, {})[tier_label(w.column, w.tier)] = None
    return {day: list(days[day]) for day in sorted(days)}


def look_ahead(looks: Mapping[date, Sequence[str]], week: str, told: Collection[date] = ()) -> str:
    """What may be ready from some day of a week on though its usual day comes in a later week.

    ``looks`` is `look_days`; ``told``: days that are left out, as their own lines say it.
    """
    listed = "; ".join(
        _("{tiers} from {date}").format(tiers=", ".join(tiers), date=short_date(day))
        for day, tiers in looks.items()
        if sheet_week(day) == week and day not in told
    )
    return _("Look at, may be ready before its day: {list}").format(list=listed) if listed else ""


OFTEN = 0.8  # share of the years from which on a pick is taken for granted


def _when(item: Work, units: Units) -> str:
    """From when to when a pick may come, and what to look for; nothing without weather years."""
    if item.look_from is None or item.first is None or item.last is None:
        return ""
    text = ""
    if item.first < item.last:
        text += _("; pick {span}").format(span=short_span(item.first, item.last))
    if item.look_from < item.first:
        day = short_date(item.look_from)
        text += (_(", look from {date}") if text else _("; look from {date}")).format(date=day)
    text += _(": {mass} each, {days} after planting").format(
        mass=units.mass_text(round(item.grams / max(item.plants, 1))),
        days=plural("{n} day", "{n} days", item.age or 0),
    )
    if item.young is not None:
        text += _("; young, from {share:g} % of full size").format(share=Shown(100 * item.young))
    return text + seldom(item)


def seldom(item: Work) -> str:
    """How many of ten years have a pick that is not to be taken for granted, and why no more."""
    if item.in_years is None or item.in_years >= OFTEN:
        return ""
    text = _("; hardly ever comes")
    if n := round(10 * item.in_years):
        text = _("; comes in {n} of 10 years").format(n=n)
    if n := round(10 * (item.bolts or 0)):
        text += _(", bolts in {n}").format(n=n)
    if n := round(10 * (item.dries or 0)):
        text += _(", runs dry in {n}").format(n=n)
    if n := round(10 * (item.freezes or 0)):
        text += _(", cold kills it in {n}").format(n=n)
    if n := round(10 * (item.overheats or 0)):
        text += _(", heat kills it in {n}").format(n=n)
    return text


def _lifts(item: Work, units: Units) -> str:
    """Which vessels come off first, and what the heaviest weighs."""
    if not item.lift_kg or item.tier is None:
        return ""
    kg = units.weight_text(item.lift_kg)
    if item.tier == 2:
        return _("; lift off tier 1 ({kg})").format(kg=kg)
    if item.tier == 3:
        return _("; lift off tiers 1 and 2 (up to {kg})").format(kg=kg)
    return _("; lift off tiers 1 to {last} (up to {kg})").format(last=item.tier - 1, kg=kg)


def _clear(item: Work, crop: str, units: Units) -> str:
    text = _("{crop}: empty, scrub and rinse").format(crop=crop)
    if item.litres is not None:
        text += _("; about {litres} left").format(litres=units.volume_text(item.litres))
    return text + _lifts(item, units)


def _fill(item: Work, crop: str, units: Units) -> str:
    text = _("{litres} ({depth} deep) for {crop}").format(
        litres=units.volume_text(item.litres or 0),
        depth=units.depth_text(item.depth_cm or 0),
        crop=crop,
    )
    text += dips(item, units)
    if item.ec:
        text += ", " + ec_text(item.ec) + ends(item.ec, item.end_ec, item.lost)
    if item.ph:
        text += _(", pH {low:g} to {high:g}").format(low=Shown(item.ph[0]), high=Shown(item.ph[1]))
    return text + _weigh(item, units) + _lifts(item, units)


def dips(item: Work, units: Units) -> str:
    """How deep the plugs' tips stand at filling; nothing where the vessel does not tell."""
    if item.dip_cm is None:
        return ""
    return _(", plug tips {depth} below the surface").format(depth=units.depth_text(item.dip_cm))


def stopped(item: Work) -> str:
    """Holes without a plant: light breeds algae in the solution, and mosquitoes get in."""
    if not item.stopped:
        return ""
    return ", " + plural("stop {n} empty hole", "stop {n} empty holes", item.stopped)


def ends(fill: float, end: float | None, lost: float) -> str:
    """What a solution that leaves the crop's band comes to by the last pick, and what that costs.

    ``end`` [mS/cm] is None where it stays in the band; ``lost`` is a share [0..1].
    """
    if end is None:
        return ""
    if end < fill:
        return _(" (down to {end:.1f} at the last pick: too weak)").format(end=Shown(end))
    if lost < mix.LEAST_LOST:
        return _(" (up to {end:.1f} at the last pick: salt costs under 1 % of the crop)").format(
            end=Shown(end)
        )
    return _(" (up to {end:.1f} at the last pick: salt costs about {share} % of the crop)").format(
        end=Shown(end), share=round(100 * lost)
    )


def _weigh(item: Work, units: Units) -> str:
    """What goes into the water, in the order of dissolving."""
    if not item.weigh:
        return ""
    listed = ", ".join(f"{units.weighed_text(n, unit)} {_(what)}" for what, n, unit in item.weigh)
    return _(": {amounts}").format(amounts=listed)


def fill_and_plant(garden: Garden, fill: Work, plant: Work, units: Units) -> str:
    """Filling and transplanting of one tier in one short line, where lines are dear."""
    text = _("{litres} at EC {ec:.1f}, pH {low:g} to {high:g}; {plants} {crop}").format(
        litres=units.volume_text(fill.litres or 0),
        ec=Shown(fill.ec or 0),
        low=Shown((fill.ph or (0, 0))[0]),
        high=Shown((fill.ph or (0, 0))[1]),
        plants=plant.plants,
        crop=crop_title(garden, fill.crop),
    ) + stopped(plant)
    if plant.until:
        text += _(", seedlings keep until {date}").format(date=_date(plant.until, plant))
    if plant.dry_date:
        said = _(", dry by {date} in 1 year of {n}") if plant.one_in else _(", dry {date}")
        text += said.format(date=_date(plant.dry_date, plant), n=plant.one_in)
    return text + _weigh(fill, units) + _lifts(fill, units)


def _transplant(item: Work, crop: str, units: Units) -> str:
    text = _("{crop}: {plants}").format(
        crop=crop, plants=plural("{n} plant", "{n} plants", item.plants)
    ) + stopped(item)
    if item.until:
        text += _(", seedlings keep until {date}").format(date=_date(item.until, item))
    if item.dry_date:
        said = (
            _(", dry by {date} in 1 year of {n}") if item.one_in else _(", runs dry about {date}")
        )
        text += said.format(date=_date(item.dry_date, item), n=item.one_in)
    return text


def _sow(item: Work, crop: str, units: Units) -> str:
    return _("{crop}: {seeds} in {cells}, for {tier} on {date}").format(
        crop=crop,
        seeds=plural("{n} seed", "{n} seeds", item.seeds),
        cells=plural("{n} cell", "{n} cells", item.cells),
        tier=tier_label(item.column, item.tier),
        date=_date(item.until, item),
    )


_SAY = {
    work.LEVEL: _level,
    work.SHELTER: _shelter,
    work.SUPPORT: _support,
    work.PROTECT: _weather,
    work.SHADE: _weather,
    work.HARDEN: _weather,
    work.PICK: _pick,
    work.CLEAR: _clear,
    work.MOVE: _move,
    work.FILL: _fill,
    work.TRANSPLANT: _transplant,
    work.SOW: _sow,
}
