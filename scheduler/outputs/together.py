"""A day's work with like work put together: one line for one crop or one mix, and its tiers.

Text, feed and print take their lines from here, so that one day reads the same everywhere. Nothing
that an item of work tells is lost; what is the same for all tiers of a line is said once.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise

from scheduler.garden.model import Garden
from scheduler.outputs import work
from scheduler.outputs.act import act_note, level_text
from scheduler.outputs.legend import Legend as Legend
from scheduler.outputs.legend import legend as legend
from scheduler.outputs.legend import legend_text
from scheduler.outputs.sentences import crop_title, dips, ends, place_name, seldom, stopped
from scheduler.outputs.weather_text import weather_notes, weather_text
from scheduler.outputs.work import Work
from scheduler.words.words import (
    COVER_CM,
    Shown,
    Units,
    _,
    dated,
    depth_of_rain,
    plural,
    short_date,
    short_span,
    shown_width,
    tier_label,
)

Weighed = tuple[str, float, str]
_FIRST = (work.LEVEL, work.SHELTER, work.PROTECT, work.SHADE, work.SUPPORT)
HARD = "\N{NO-BREAK SPACE}"
_SHORT = 12  # a longer name of a column may go on in the next line


@dataclass(frozen=True)
class Line:
    """One line of a day: a kind of work, its text without the verb, the items it stands for."""

    kind: str
    text: str
    items: tuple[Work, ...]


def notes(garden: Garden, items: Sequence[Work], shared: Legend, units: Units) -> list[str]:
    """How to read the lines of the work, each a paragraph."""
    kinds = {w.kind for w in items}
    act = any(w.act_cm is not None for w in items)
    said = []
    if work.LEVEL in kinds:
        said.append(" ".join([_level_note(units, act), *([act_note()] if act else [])]))
    said += weather_notes(kinds, units)
    if work.SUPPORT in kinds:
        said.append(_("SUPPORT: before the plants are too heavy to stand."))
    if work.FILL in kinds:
        said.append(legend_text(garden, shared, items, units))
    if any(w.kind == work.CLEAR and w.litres is not None for w in items):
        said.append(
            _(
                "CLEAR: first measure depth, EC and pH, then empty, scrub and rinse; in brackets "
                "about what is left. Weigh each pick."
            )
        )
    if any(w.lift_kg for w in items):
        said.append(_("Lift: the heaviest vessel that comes off a stack."))
    return said


def day_lines(
    garden: Garden, items: Sequence[Work], units: Units, shared: Legend | None = None
) -> list[Line]:
    """The lines of one day, in the order of its work; its levels are one line.

    A fill and what is planted in it are one line. Fills are put together only as far as each
    column is still filled from the bottom up, so that no full vessel is lifted.
    """
    shared = shared or Legend()
    lines: list[Line] = []
    for kind in (*_FIRST, work.PICK, work.CLEAR, work.MOVE):
        some = [w for w in items if w.kind == kind]
        if kind == work.PICK:
            lines += [_picks(garden, g, units) for g in by(some, lambda w: w.crop)]
        elif some:
            lines.append(Line(kind, _SAY[kind](garden, some, units), tuple(some)))
    planted = {w.batch: w for w in items if w.kind == work.TRANSPLANT}
    for group in _upwards([w for w in items if w.kind == work.FILL]):
        plants = {w.batch: planted.pop(w.batch) for w in group if w.batch in planted}
        text = _fill(garden, group, plants, units, shared)
        lines.append(Line(work.FILL, text, (*group, *plants.values())))
    for plain in by(planted.values(), lambda w: w.crop):
        lines.append(Line(work.TRANSPLANT, _plant(garden, plain, shared), tuple(plain)))
    if hardened := [w for w in items if w.kind == work.HARDEN]:
        lines.append(Line(work.HARDEN, _weather(garden, hardened, units), tuple(hardened)))
    for sown in by((w for w in items if w.kind == work.SOW), lambda w: (w.crop, w.until)):
        lines.append(Line(work.SOW, _sow(garden, sown), tuple(sown)))
    return lines


def heaviest(items: Iterable[Work]) -> float:
    """The heaviest single vessel that must be lifted off for this work [kg]; 0: none."""
    return max((w.lift_kg for w in items), default=0.0)


def by(items: Iterable[Work], key: Callable[[Work], Hashable]) -> list[list[Work]]:
    """Items with the same key together, in the order of the first of each."""
    groups: dict[Hashable, list[Work]] = {}
    for w in items:
        groups.setdefault(key(w), []).append(w)
    return list(groups.values())


def _mix(w: Work) -> Hashable:
    end = None if w.end_ec is None else round(w.end_ec, 1)
    names = tuple(name for name, _n, _u in w.weigh)
    return w.crop, round(w.ec or 0, 1), end, round(w.lost, 2), w.ph, names


def _upwards(fills: Sequence[Work]) -> list[list[Work]]:
    """Fills with one mix together, each column from the bottom up through all groups."""
    left = list(fills)
    groups: list[list[Work]] = []
    while left:
        ready = [(key, *_ready(left, key)) for key in dict.fromkeys(map(_mix, left))]
        # Best a mix of which none is left behind; else what can be filled of the first.
        _key, group, _whole = next((r for r in ready if r[2]), ready[0])
        groups.append(group)
        taken = set(map(id, group))
        left = [w for w in left if id(w) not in taken]
    return groups


def _ready(left: Sequence[Work], mix: Hashable) -> tuple[list[Work], bool]:
    """What of a mix can be filled before all others are, and whether that is all of it."""
    blocked: set[str] = set()
    group, whole = [], True
    for w in left:  # lower tiers of a column come first
        if _mix(w) != mix:
            blocked.add(w.column)
        elif w.column in blocked:
            whole = False
        else:
            group.append(w)
    return group, whole


def glued(text: str) -> str:
    """A short text that no line may break: its blanks are hard ones."""
    return text.replace(" ", HARD)


def place(item: Work) -> str:
    """``A 3``, in one piece."""
    label = tier_label(item.column, item.tier)
    return glued(label) if shown_width(label) <= _SHORT else label


def tiers(items: Iterable[Work]) -> str:
    """``A 3, B 2``."""
    return ", ".join(map(place, items))


def level_cell(item: Work, units: Units) -> str:
    """``A 1 22.1|19.6``: a tier, the depth to expect, and below which to act."""
    act = depth(item.act_cm, units)
    where = f"{place(item)}{':' if units.us else ''}"  # else a fraction runs into the tier
    return f"{where}{HARD}{depth(item.depth_cm, units)}" + (f"|{act}" if act else "")


def depth(cm: float | None, units: Units) -> str:
    """A depth without its unit, which the head of the sheet says; empty for None."""
    return "" if cm is None else glued(units.depth_text(cm).removesuffix(" " + units.depth_unit))


def _level_note(units: Units, act: bool) -> str:
    """How to read `level_cell`; ``act``: whether it says below which depth to act."""
    if not act:
        return _("LEVEL: a tier, and its depth to expect [{unit}].").format(unit=units.depth_unit)
    return _(
        "LEVEL: tier, depth to expect, behind the bar the depth to act below [{unit}]."
    ).format(unit=units.depth_unit)


def _levels(garden: Garden, items: Sequence[Work], units: Units) -> str:
    said = "; ".join(f"{place(w)}: {level_text(w, units)}" for w in items)
    meters = tiers(w for w in items if w.meters)
    return said + (_("; measure EC and pH too in {tiers}").format(tiers=meters) if meters else "")


def _shelter(garden: Garden, items: Sequence[Work], units: Units) -> str:
    each = "; ".join(
        _("{tiers} until {date}: when over {rain} of rain is forecast").format(
            tiers=tiers(each_tier(group)),
            date=day_of(group[0].until, group[0]),
            rain=depth_of_rain(units, group[0].rain_cm or COVER_CM),
        )
        for group in by(items, lambda w: (w.until, depth_of_rain(units, w.rain_cm or COVER_CM)))
    )
    return each


def each_tier(items: Iterable[Work]) -> list[Work]:
    """One item for each tier of work on columns."""
    return [replace(w, tier=n) for w in items for n in w.tiers]


def _move(garden: Garden, items: Sequence[Work], units: Units) -> str:
    """Which columns go where, and the heaviest vessel that is carried."""
    each = "; ".join(
        _("{columns} to {place}, {vessels}").format(
            columns=", ".join(w.column for w in group),
            place=place,
            vessels=plural("{n} vessel", "{n} vessels", sum(len(w.tiers) for w in group)),
        )
        for group in by(items, lambda w: w.place)
        for place in (place_name(group[0].place),)
    )
    return each + _(", up to {kg}").format(kg=units.weight_text(heaviest(items)))


def _weather(garden: Garden, items: Sequence[Work], units: Units) -> str:
    return weather_text(items, units, lambda crop: crop_title(garden, crop), tiers, day_of)


def _support(garden: Garden, items: Sequence[Work], units: Units) -> str:
    return "; ".join(
        f"{crop_title(garden, g[0].crop)} {tiers(g)}" for g in by(items, lambda w: w.crop)
    )


def _picks(garden: Garden, items: Sequence[Work], units: Units) -> Line:
    """All picks of a crop: what they weigh together; plants of what mass; where and when."""
    text = f"{crop_title(garden, items[0].crop)} {units.mass_text(sum(w.grams for w in items))}"
    sizes = {_size(w, units) for w in items}
    if len(sizes) == 1:
        said = next(iter(sizes))
        text += ", " + (_("{what} each").format(what=said) if len(items) > 1 else said)
    each = []
    for group in by(items, course):
        parts = [_size(group[0], units)] if len(sizes) > 1 else []
        when = (", ".join(parts + _pick(group[0])) + seldom(group[0])).removeprefix("; ")
        each.append(tiers(group) + (f" ({when})" if when else ""))
    return Line(work.PICK, f"{text}: " + ", ".join(each), tuple(items))


def _size(w: Work, units: Units) -> str:
    mass = units.mass_text(round(w.grams / max(w.plants, 1)))
    return _("{plants} of {mass}").format(
        plants=plural("{n} plant", "{n} plants", w.plants), mass=mass
    )


def course(w: Work) -> Hashable:
    """All that a pick tells but its place."""
    said = (w.plants, w.grams, w.number, w.count, w.look_from, w.first, w.last, w.young)
    return *said, seldom(w)


def _pick(w: Work) -> list[str]:
    """Which pick of a tier, and when it may come."""
    parts = []
    if w.count > 1:
        parts.append(_("pick {number} of {count}").format(number=w.number, count=w.count))
    if w.look_from is not None and w.first is not None and w.last is not None:
        if w.first < w.last:
            parts.append(short_span(w.first, w.last))
        if w.look_from < w.first:
            parts.append(_("look from {date}").format(date=short_date(w.look_from)))
        if w.young is not None:
            young = _("young, from {share:g} % of full size").format(share=Shown(100 * w.young))
            parts.append(young.replace(" %", f"{HARD}%"))
    return parts


def _clear(garden: Garden, items: Sequence[Work], units: Units) -> str:
    return ", ".join(
        place(w) + ("" if w.litres is None else f" ({units.volume_text(w.litres)})") for w in items
    )


def _fill(
    garden: Garden,
    items: Sequence[Work],
    plants: Mapping[str, Work],
    units: Units,
    shared: Legend,
) -> str:
    """A mix: where how much of it goes, with how many plants; what to weigh for all of it."""
    first = items[0]
    text = _("{crop} mix").format(crop=crop_title(garden, first.crop))
    if first.ec:
        text += " " + _("EC {ec:.1f}").format(ec=Shown(first.ec))
        text += ends(first.ec, first.end_ec, first.lost)
    if first.ph and not shared.ph:
        low, high = (Shown(ph) for ph in first.ph)
        text += _(", pH {low:g} to {high:g}").format(low=low, high=high)
    number = {w.batch: plants[w.batch].plants if w.batch in plants else 0 for w in items}
    each = []
    for group in by(items, lambda w: (w.litres, w.depth_cm, w.dip_cm, number[w.batch])):
        said = _litres(group[0], units, shared)
        if n := number[group[0].batch]:
            said += ", " + plural("{n} plant", "{n} plants", n)
            said += stopped(plants[group[0].batch])
        if len(group) > 1:
            said = _("{what} each").format(what=said)
        each.append(_("{tiers} with {what}").format(tiers=tiers(group), what=said))
    text += ": " + "; ".join(each)
    if first.weigh:
        needed = amounts(summed(items), units, shared)
        if len(items) > 1:
            total = units.volume_text(sum(w.litres or 0 for w in items))
            text += _("; {litres} takes {amounts}").format(litres=total, amounts=needed)
        else:
            text += ": " + needed
    return text + _kept(list(plants.values()), shared)


def _litres(w: Work, units: Units, shared: Legend) -> str:
    litres = units.volume_text(w.litres or 0)
    if shared.depths:
        return litres
    text = _("{litres} ({depth} deep)").format(
        litres=litres, depth=units.depth_text(w.depth_cm or 0)
    )
    return text + dips(w, units)


def summed(items: Sequence[Work]) -> list[Weighed]:
    """What some fills of one mix take together."""
    return [
        (name, round(sum(w.weigh[n][1] for w in items), 6), unit)
        for n, (name, _amount, unit) in enumerate(items[0].weigh)
    ]


def amounts(weigh: Iterable[Weighed], units: Units, shared: Legend) -> str:
    """What to weigh, by name, or in the order of the legend."""
    if shared.order:
        return _plus([units.weighed_text(n, unit) for _name, n, unit in weigh])
    return ", ".join(f"{units.weighed_text(n, unit)} {_(name)}" for name, n, unit in weigh)


def _plus(each: Sequence[str]) -> str:
    """``28 + 14 + 28 g``: a unit is said once for all amounts before it that have the same."""
    said = list(each)
    for n, (one, after) in enumerate(pairwise(each)):
        unit = after.rpartition(" ")[2]
        if one.endswith(" " + unit):
            said[n] = one.removesuffix(" " + unit)
    return " + ".join(map(glued, said))


def _plant(garden: Garden, items: Sequence[Work], shared: Legend) -> str:
    """Plants that go into vessels filled on another day."""
    each = "; ".join(
        _("{n} in {tiers}").format(n=group[0].plants, tiers=tiers(group))
        for group in by(items, lambda w: w.plants)
    )
    return f"{crop_title(garden, items[0].crop)}: {each}" + _kept(items, shared)


def _kept(items: Sequence[Work], shared: Legend) -> str:
    """Until when the seedlings keep, and by when their tiers are dry."""
    text = ""
    kept = by([w for w in items if w.until], lambda w: w.until)
    if kept:
        said = _("; plant by {dates}") if shared.once else _("; seedlings keep until {dates}")
        text += said.format(dates=dates(kept, items, "until"))
    dry = by([w for w in items if w.dry_date], lambda w: w.dry_date)
    if dry:
        one_in = dry[0][0].one_in
        said = _("; runs dry about {dates}")
        if one_in:
            said = _("; dry by {dates}") if shared.once else _("; dry by {dates} in 1 year of {n}")
        text += said.format(dates=dates(dry, items, "dry_date"), n=one_in)
    return text


def dates(groups: Sequence[Sequence[Work]], items: Sequence[Work], field: str) -> str:
    """A date, or several with the tiers each is of."""
    if len(groups) == 1 and len(groups[0]) == len(items):
        return day_of(getattr(groups[0][0], field), items[0])
    return ", ".join(f"{day_of(getattr(g[0], field), g[0])} ({tiers(g)})" for g in groups)


def _sow(garden: Garden, items: Sequence[Work]) -> str:
    """What is sown of a crop to be planted on one day: seeds and cells of each sowing."""
    each = []
    for group in by(items, lambda w: (w.seeds, w.cells)):
        said = _("{seeds} in {cells}").format(
            seeds=plural("{n} seed", "{n} seeds", group[0].seeds),
            cells=plural("{n} cell", "{n} cells", group[0].cells),
        )
        if len(group) > 1:
            said = _("{what} each").format(what=said)
        each.append(_("{what} for {tiers}").format(what=said, tiers=tiers(group)))
    return _("{crop}: {sowings}, on {date}").format(
        crop=crop_title(garden, items[0].crop),
        date=day_of(items[0].until, items[0]),
        sowings="; ".join(each),
    )


def day_of(day: date | None, item: Work) -> str:
    """A day, with its year where that is not the year of the work."""
    if day is None:
        return ""
    return short_date(day) if day.year == item.date.year else dated(day)


_SAY: dict[str, Callable[[Garden, Sequence[Work], Units], str]] = {
    work.LEVEL: _levels,
    work.SHELTER: _shelter,
    work.SUPPORT: _support,
    work.PROTECT: _weather,
    work.SHADE: _weather,
    work.HARDEN: _weather,
    work.CLEAR: _clear,
    work.MOVE: _move,
}
