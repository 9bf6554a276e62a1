"""Work that the weather asks for, in words: like work together, or one item of it."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from datetime import date

from scheduler.outputs.item import Work
from scheduler.words.units import Units
from scheduler.words.words import _
from scheduler.words.work_kinds import HARDEN, PROTECT, SHADE

COLD_NIGHT = 7.0  # [degC] from which on seedlings may stay out: 45 degF in growers' guides


def weather_text(
    items: Sequence[Work],
    units: Units,
    title: Callable[[str], str],
    tiers: Callable[[Sequence[Work]], str],
    dated: Callable[[date | None, Work], str],
) -> str:
    """What is to be done for items of one kind, those alike said once.

    ``title`` names a crop, ``tiers`` some tiers, ``dated`` a day.
    """
    said = []
    groups: dict[Hashable, list[Work]] = {}
    for w in items:
        crop = "" if w.kind == PROTECT else w.crop
        key = crop, w.until, round(w.celsius), round(w.bears), round(w.white), round(w.light)
        groups.setdefault(key, []).append(w)
    for some in groups.values():
        first = some[0]
        where, until = tiers(some), dated(first.until, first)
        if first.kind == HARDEN:
            text = _("{crop} for {tiers}, planted on {date}").format(
                crop=title(first.crop), tiers=where, date=until
            )
        elif first.kind == PROTECT:
            text = _("{tiers} until {date} when under {cold} is forecast").format(
                tiers=where, date=until, cold=units.temperature_text(first.celsius)
            )
            if inside := [w for w in some if w.place]:
                text += _("; {tiers} can be brought into {place}, up to {kg} each").format(
                    tiers=tiers(inside),
                    place=inside[0].place,
                    kg=units.weight_text(max(w.lift_kg for w in inside)),
                )
        elif first.light:
            text = _(
                "{crop} in {tiers} until {date}: {light} mol/m2 a day in still air may burn its "
                "tips; move the air, or give less light"
            ).format(crop=title(first.crop), tiers=where, date=until, light=round(first.light))
        else:
            text = _(
                "{crop} in {tiers} until {date}: the solution comes to {warm}, it bears {most}"
            ).format(
                crop=title(first.crop),
                tiers=where,
                date=until,
                warm=units.temperature_text(first.celsius),
                most=units.temperature_text(first.bears),
            )
            if first.white:
                less = units.warmer_text(first.white)
                text += _("; a white wrap takes off about {less}").format(less=less)
            else:
                text += _("; shade it")
        if comes := _comes(some):
            text += _(" (in {n} of 10 years)").format(n=comes)
        said.append(text)
    return "; ".join(said)


def _comes(items: Sequence[Work]) -> int:
    """In how many of ten years it comes to that for some of these, at most; 0: not told."""
    most = max(w.in_years or 0.0 for w in items)
    return max(round(10 * most), 1) if most else 0


def weather_in_brief(
    items: Sequence[Work],
    units: Units,
    tiers: Callable[[Sequence[Work]], str],
    dated: Callable[[date | None, Work], str],
) -> str:
    """``A 2, B 1 until 18 July (30 °C)``: tiers by day and degrees, whatever the crop."""
    groups: dict[Hashable, list[Work]] = {}
    for w in items:
        groups.setdefault((w.until, round(w.celsius), round(w.light)), []).append(w)
    said = []
    for some in groups.values():
        first = some[0]
        text = _("{tiers} until {date}").format(
            tiers=tiers(some), date=dated(first.until, first).replace(" ", "\N{NO-BREAK SPACE}")
        )
        if first.kind != HARDEN:
            told = units.temperature_text(first.celsius)
            if first.light:
                told = _("{light} mol/m2").format(light=round(first.light))
            told = told.replace(" ", "\N{NO-BREAK SPACE}")
            comes = _comes(some)
            text += f" ({told}, {comes}/10)" if comes else f" ({told})"
        said.append(text)
    return "; ".join(said)


def brief_notes(items: Sequence[Work], units: Units) -> list[str]:
    """What `weather_in_brief` leaves out, said once."""
    said = []
    if any(w.kind == PROTECT for w in items):
        said.append(_("PROTECT: when less than the degrees in brackets is forecast."))
    if any(_comes([w]) for w in items):
        said.append(_("3/10: in 3 of 10 years it comes to that if nothing is done."))
    if any(w.light for w in items):
        said.append(
            _(
                "SHADE, mol/m2: so much light a day in still air may burn the tips; move the air, "
                "or give less light."
            )
        )
    if shaded := [w for w in items if w.kind == SHADE and not w.light]:
        text = _("SHADE: the solution comes to the degrees in brackets, warmer than the crop bears")
        if less := [units.warmer_text(w) for w in sorted(w.white for w in shaded) if w]:
            low, high = less[0], less[-1]
            wrap = low if low == high else _("{low} to {high}").format(low=low, high=high)
            text += _("; a white wrap takes off {less}").format(less=wrap)
        said.append(text + ".")
    return said


def weather_notes(kinds: set[str], units: Units) -> list[str]:
    """What the words mean, said once."""
    said = []
    if HARDEN in kinds:
        said.append(
            _(
                "HARDEN: seedlings out by day, in shade at first and a little longer each day; in "
                "at night while under {cold} is forecast."
            ).format(cold=units.temperature_text(COLD_NIGHT))
        )
    if PROTECT in kinds:
        said.append(
            _(
                "PROTECT: fleece over the plants for the night, or bring in what is light enough "
                "to lift."
            )
        )
    return said
