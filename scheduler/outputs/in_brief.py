"""A season's work in few lines: what most of them have in common is said once, at the head."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from math import ceil

from scheduler.garden.model import Garden
from scheduler.outputs import work
from scheduler.outputs.sentences import OFTEN, crop_title, dips, ends, stopped
from scheduler.outputs.together import (
    HARD,
    Legend,
    Line,
    amounts,
    by,
    dates,
    day_lines,
    day_of,
    depth,
    each_tier,
    glued,
    legend,
    place,
    summed,
    tiers,
)
from scheduler.outputs.weather_text import brief_notes, weather_in_brief
from scheduler.outputs.work import Work
from scheduler.words.words import COVER_CM, Shown, Units, _, depth_of_rain, plural

_JOINED = (work.PICK, work.FILL, work.SOW)  # one line a day, crop after crop
_LOST = 0.01  # a smaller share of a crop lost to salt is not printed
_MOST = 0.9  # share of the fills with the usual days that seedlings keep; the others print theirs


@dataclass(frozen=True)
class Common:
    """What most lines of a season have in common.

    Attributes
    ----------
    fills : what `together.legend` says of the fills.
    plants : fill [L] and plants, where each volume is always planted with as many.
    litres : tier and its fill [L], where each tier is always filled alike.
    masses : crop and what a plant of most of its picks weighs [g].
    seeds : crop and seeds in a cell, for each crop that always has as many.
    keep : days that seedlings keep after the day they are to be planted; a fill whose seedlings
        keep fewer says until when. None: each says it.
    rain : whether all covers are due at the same rain.
    """

    fills: Legend
    plants: tuple[tuple[float, int], ...]
    litres: tuple[tuple[tuple[str, int | None], float], ...]
    masses: tuple[tuple[str, int], ...]
    seeds: tuple[tuple[str, float], ...]
    keep: int | None
    rain: bool = False


def common(items: Sequence[Work]) -> Common:
    """What the fills and plantings among these items have in common."""
    planted = {w.batch: w for w in items if w.kind == work.TRANSPLANT}
    filled = [w for w in items if w.kind == work.FILL and w.batch in planted]
    pairs = {(round(w.litres or 0, 2), planted[w.batch].plants) for w in filled}
    alike = len({litres for litres, _n in pairs}) == len(pairs)
    spare = sorted((w.until - w.date).days for w in planted.values() if w.until)
    keep = spare[int(len(spare) * (1 - _MOST))] if spare else None
    sown: dict[str, set[float]] = {}
    for w in items:
        if w.kind == work.SOW:
            sown.setdefault(w.crop, set()).add(_in_a_cell(w))
    seeds = tuple((crop, min(n)) for crop, n in sown.items() if len(n) == 1)
    in_tier: dict[tuple[str, int | None], set[float]] = {}
    for w in items:
        if w.kind == work.FILL:
            in_tier.setdefault((w.column, w.tier), set()).add(w.litres or 0)
    litres = tuple((tier, min(n)) for tier, n in sorted(in_tier.items()) if len(n) == 1)
    masses: dict[str, Counter[int]] = {}
    for w in items:
        if w.kind == work.PICK:
            masses.setdefault(w.crop, Counter())[round(w.grams / max(w.plants, 1))] += 1
    most = tuple((crop, n.most_common(1)[0][0]) for crop, n in masses.items())
    plants = tuple(sorted(pairs)) if alike else ()
    rain = len({w.rain_cm for w in items if w.kind == work.SHELTER}) == 1
    return Common(legend(items), plants, litres, most, seeds, keep or None, rain)


def _one_rain(items: Iterable[Work], units: Units) -> str:
    """How much rain asks for a cover, where it is the same for all; else empty."""
    found = {w.rain_cm for w in items if w.kind == work.SHELTER}
    return depth_of_rain(units, found.pop() or COVER_CM) if len(found) == 1 else ""


def without_spans(items: Sequence[Work]) -> list[Work]:
    """The items without what only longer lines say, for `together.notes` not to speak of it."""
    return [
        replace(w, dry_date=None, until=None)
        if w.kind == work.TRANSPLANT
        else replace(w, litres=None)
        if w.kind == work.CLEAR
        else w
        for w in items
    ]


def notes_in_brief(
    garden: Garden, shared: Common, items: Sequence[Work], units: Units
) -> list[str]:
    """How to read the short lines, each a paragraph."""
    said = []
    if any(w.kind == work.CLEAR for w in items):
        said.append(
            _(
                "CLEAR: first measure depth, EC and pH, then empty, scrub and rinse. Weigh each "
                "pick."
            )
        )
    if any(w.kind == work.SHELTER for w in items):
        text = _("COVER: when more rain is forecast than is named.")
        if rain := _one_rain(items, units):
            text = _("COVER: when over {rain} of rain is forecast.").format(rain=rain)
        said[-1:] = [" ".join([*said[-1:], text])]
    said += brief_notes(items, units)
    if any(w.meters for w in items):
        said[-1:] = [" ".join([*said[-1:], _("*: measure EC and pH too.")])]
    if shared.litres:
        each, sizes = [], {c.name: len(c.tiers) for c in garden.columns}
        for litres in sorted({n for _tier, n in shared.litres}, reverse=True):
            where = [tier for tier, n in shared.litres if n == litres]
            columns = "; ".join(
                column if len(numbers) == sizes.get(column) else f"{column} " + ", ".join(numbers)
                for column, some in groupby(where, key=lambda t: t[0])
                for numbers in [[str(tier) for _c, tier in some]]
            )
            text = units.volume_text(litres)
            if n := dict(shared.plants).get(round(litres, 2)):
                text += ", " + plural("{n} plant", "{n} plants", n)
            each.append(_("{litres} in {tiers}").format(litres=text, tiers=columns))
        said.append(_("FILL, if not said: {list}.").format(list=". ".join(each)))
    if shared.seeds:
        listed = "; ".join(
            f"{n:g} " + ", ".join(crop_title(garden, crop) for crop, k in shared.seeds if k == n)
            for n in sorted({n for _crop, n in shared.seeds})
        )
        said.append(
            _("SOW: cells, for which tier, to plant on which day; seeds in a cell: {list}.").format(
                list=listed
            )
        )
    if shared.keep:
        said.append(
            said.pop()
            + " "
            + plural(
                "Seedlings keep {n} day longer than planned, unless a day is given.",
                "Seedlings keep {n} days longer than planned, unless a day is given.",
                shared.keep,
            )
        )
    if shared.masses:
        listed = ", ".join(
            f"{crop_title(garden, crop)} {units.mass_text(n)}" for crop, n in shared.masses
        )
        said.append(_("A plant weighs, if not said: {list}.").format(list=listed))
        said.append(
            _(
                "PICK: in brackets which pick of how many; 6/10: it comes in 6 of 10 years. When "
                "it may come, and when a tier is dry, stands on the printed tags."
            )
        )
    return said


def lines_in_brief(
    garden: Garden, items: Sequence[Work], units: Units, shared: Common
) -> list[Line]:
    """The lines of one day in the order of `together.day_lines`, each as short as may be."""
    made: list[Line] = []
    for line in day_lines(garden, items, units, shared.fills):
        text = line.text
        if line.kind == work.LEVEL:
            text = levels(line.items, units)
        elif line.kind == work.PICK:
            text = _picks(garden, line.items, units, shared)
        elif line.kind == work.FILL:
            text = _fill(garden, line.items, units, shared)
        elif line.kind == work.SOW:
            text = _sow(garden, line.items, shared)
        elif line.kind in (work.SHADE, work.PROTECT, work.HARDEN):
            text = weather_in_brief(line.items, units, tiers, day_of)
        elif line.kind == work.SHELTER:
            text = _covers(garden, line.items, units, shared)
        elif line.kind == work.CLEAR:
            text = tiers(line.items)
        if made and made[-1].kind == line.kind and line.kind in _JOINED:
            before = made.pop()
            text, line = f"{before.text}; {text}", replace(line, items=before.items + line.items)
        made.append(Line(line.kind, text, line.items))
    return made


def _covers(garden: Garden, items: Sequence[Work], units: Units, shared: Common) -> str:
    """``A, B 2 until 26 July over 8 mm``: a column whose tiers are all covered by its name."""
    every = {c.name: len(c.tiers) for c in garden.columns}
    parts = []
    for group in by(items, lambda w: (w.until, depth_of_rain(units, w.rain_cm or COVER_CM))):
        names = [
            w.column if len(w.tiers) == every.get(w.column) else tiers(each_tier([w]))
            for w in group
        ]
        said = _("{columns} until {date}").format(
            columns=", ".join(names), date=glued(day_of(group[0].until, group[0]))
        )
        if not shared.rain:
            rain = depth_of_rain(units, group[0].rain_cm or COVER_CM)
            said += " " + _("over {rain}").format(rain=glued(rain))
        parts.append(said)
    return "; ".join(parts)


def levels(items: Iterable[Work], units: Units) -> str:
    """``A 1 22|20, 2* 20|18.5; B 1 19``: a column is named once.

    To the half centimetre; the depth to act below is rounded up, to the safe side.
    """
    columns = []
    for _column, some in groupby(items, key=lambda w: w.column):
        cells = []
        for n, w in enumerate(some):
            act = _read(w.act_cm, units, ceil)
            where = place(w) if n == 0 else str(w.tier)
            where += ("*" if w.meters else "") + (":" if units.us else "")
            said = f"{where}{HARD}{_read(w.depth_cm, units, round)}" + (f"|{act}" if act else "")
            cells.append(said)
        columns.append(", ".join(cells))
    return "; ".join(columns)


def _read(cm: float | None, units: Units, whole: Callable[[float], int]) -> str:
    """A depth as a stick is read: to the half centimetre; inches have their eighths already."""
    if cm is None or units.us:
        return depth(cm, units)
    return f"{Shown(whole(2 * cm) / 2):g}"


def _picks(garden: Garden, items: Sequence[Work], units: Units, shared: Common) -> str:
    """A crop's picks: the mass of all, how many plants where, which pick, how sure it is."""
    text = f"{crop_title(garden, items[0].crop)} {units.mass_text(sum(w.grams for w in items))}"
    known = dict(shared.masses).get(items[0].crop)
    parts = []
    for group in by(items, lambda w: (w.plants, w.grams, *_when(w))):
        first = group[0]
        each = round(first.grams / max(first.plants, 1))
        many = str(first.plants)
        if each != known:
            many = _("{n} of {mass}").format(n=many, mass=units.mass_text(each))
        if len(group) > 1:
            many = _("{what} each").format(what=many)
        said = glued(_("{n} in {tiers}").format(n=many, tiers=place(first)))
        said += "".join(f", {place(w)}" for w in group[1:])
        when = ", ".join(_when(first))
        parts.append(said + (f" ({when})" if when else ""))
    return f"{text}: " + ", ".join(parts)


def _when(w: Work) -> list[str]:
    """Which pick, and in how many of ten years it comes where that is not nearly all."""
    parts = []
    if w.count > 1:
        parts.append(glued(_("{number} of {count}").format(number=w.number, count=w.count)))
    if w.young is not None:
        parts.append(_("young, from {share:g} %").format(share=Shown(100 * w.young)))
    if w.in_years is not None and w.in_years < OFTEN:
        parts.append(f"{round(10 * w.in_years)}/10")
    return parts


def _sow(garden: Garden, items: Sequence[Work], shared: Common) -> str:
    """``pak choi 5 cells A 4, 4 E 1, 14 July``, each cell with the crop's seeds."""
    seeds = dict(shared.seeds)
    each = []
    for n, group in enumerate(by(items, lambda w: (w.seeds, w.cells))):
        w = group[0]
        said = plural("{n} cell", "{n} cells", w.cells) if n == 0 else str(w.cells)
        if seeds.get(w.crop) != _in_a_cell(w):
            said = _("{seeds} in {cells}").format(
                seeds=plural("{n} seed", "{n} seeds", w.seeds),
                cells=plural("{n} cell", "{n} cells", w.cells),
            )
        if len(group) > 1:
            said = _("{what} each").format(what=said)
        each.append(f"{said} {tiers(group)}")
    text = f"{crop_title(garden, items[0].crop)} {', '.join(each)}"
    return f"{text}, {glued(day_of(items[0].until, items[0]))}"


def _in_a_cell(w: Work) -> float:
    return w.seeds / max(w.cells, 1)


def _fill(garden: Garden, items: Sequence[Work], units: Units, shared: Common) -> str:
    """A mix: its strength, where it goes, what to weigh for all of it."""
    fills = [w for w in items if w.kind == work.FILL]
    planted = {w.batch: w for w in items if w.kind == work.TRANSPLANT}
    first, litres, plants = fills[0], dict(shared.litres), dict(shared.plants)
    text = crop_title(garden, first.crop)
    if first.ec:
        text += " " + glued(_("EC {ec:.1f}").format(ec=Shown(first.ec)))
        text += ends(first.ec, first.end_ec, first.lost) if first.lost >= _LOST else ""
    if first.ph and not shared.fills.ph:
        low, high = (Shown(ph) for ph in first.ph)
        text += _(", pH {low:g} to {high:g}").format(low=low, high=high)
    each = []
    for w in fills:
        parts = []
        if litres.get((w.column, w.tier)) != w.litres:
            parts.append(units.volume_text(w.litres or 0))
            if not shared.fills.depths:
                deep = _("{depth} deep").format(depth=units.depth_text(w.depth_cm or 0))
                parts.append(deep + dips(w, units))
        n = planted[w.batch].plants if w.batch in planted else 0
        if n and plants.get(round(w.litres or 0, 2)) != n:
            parts.append(plural("{n} plant", "{n} plants", n))
        if w.batch in planted and (holes := stopped(planted[w.batch])):
            parts.append(holes.removeprefix(", "))
        each.append(place(w) + (f" ({', '.join(parts)})" if parts else ""))
    text += " " + ", ".join(each)
    if first.weigh:
        needed = amounts(summed(fills), units, shared.fills)
        text += ": " + needed.replace(f"{HARD}+{HARD}", "+").replace(" + ", "+")
    return text + _kept(list(planted.values()), shared)


def _kept(planted: Sequence[Work], shared: Common) -> str:
    """Until when seedlings keep that keep for less than most."""
    short = [
        w
        for w in planted
        if w.until and (shared.keep is None or (w.until - w.date).days < shared.keep)
    ]
    if not short:
        return ""
    groups = by(short, lambda w: w.until)
    return _(", plant by {dates}").format(dates=dates(groups, planted, "until"))
