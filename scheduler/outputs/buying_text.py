"""The shopping list as text, in lines of at most 79 characters; the same for machines."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from scheduler.garden.model import Garden
from scheduler.mix.buying import Buying, Item
from scheduler.mix.prices_file import SEEDS
from scheduler.outputs.sentences import crop_title
from scheduler.plans.model import Plan
from scheduler.words.language import Shown
from scheduler.words.words import Units, _, plan_mark, plural, short_date, wrap

WIDTH = 79


def lines(garden: Garden, plan: Plan, found: Buying, units: Units) -> list[str]:
    """Seeds, then salts, each with its day; packets and money where prices are known."""
    name = garden.name + (" " + _("(an invented garden)") if garden.invented else "")
    mark = plan_mark(plan)
    out = wrap(_("Shopping list") + f": {name}" + (f" - {mark}" if mark else ""), WIDTH)
    for head, seeds in ((_("Seeds"), True), (_("Salts and acid"), False)):
        mine = [i for i in found.items if (i.unit == SEEDS) == seeds]
        if mine:
            out += ["", head]
        for item in mine:
            out += wrap(_item(garden, item, units, seeds), WIDTH, "  ", "      ")
    if not found.items:
        out += ["", _("Nothing is to be sown or filled any more.")]
    if not garden.solution.known and any(i.unit != SEEDS for i in found.items):
        out += ["", *wrap(_("Acid as your water asks: dryline mix"), WIDTH)]
    return [*out, *_money(garden, found)]


def _item(garden: Garden, item: Item, units: Units, seeds: bool) -> str:
    if seeds:
        title = crop_title(garden, item.name)
        need = plural("{n} seed", "{n} seeds", round(item.need))
        packet = plural("{n} seed", "{n} seeds", round(item.packet or 0))
        have = plural("{n} seed", "{n} seeds", round(item.have))
    else:
        title = _(item.name)
        grams = item.unit == "g"
        show = units.mass_text if grams else units.small_volume_text
        need, packet, have = show(item.need), show(item.packet or 0), show(item.have)
    text = _("{what}: {need}").format(what=title, need=need)
    if item.have:
        text += _(", {have} in stock").format(have=have)
    if item.by is None:
        return text + _(": enough")
    text += _(", by {day}").format(day=short_date(item.by))
    if item.packets:
        count = plural("{n} packet", "{n} packets", item.packets)
        text += _(": buy {count} of {packet}").format(count=count, packet=packet)
    if item.paid:
        text += _(", {money}").format(money=money(item.paid))
    return text


def money(amount: float) -> str:
    """To a hundredth of whatever the prices are in."""
    return f"{Shown(amount):.2f}"


def _money(garden: Garden, found: Buying) -> list[str]:
    priced = [i for i in found.items if i.paid is not None]
    if not priced:
        return []
    paid = sum(i.paid or 0.0 for i in priced)
    out = ["", _("To pay: {money}").format(money=money(paid))]
    if found.unpriced:
        names = ", ".join(
            crop_title(garden, n) if n in garden.crops else _(n) for n in found.unpriced
        )
        out += wrap(_("Without a price: {names}").format(names=names), WIDTH, "", "  ")
    if found.crops:
        out += ["", _("What is used, for each kilogram picked (seeds + salts):")]
    for c in found.crops:
        if c.grams <= 0:
            continue
        kilos = c.grams / 1000
        text = _("{crop}: {all} ({seeds} + {salts})").format(
            crop=crop_title(garden, c.crop),
            all=money((c.seeds + c.salts) / kilos),
            seeds=money(c.seeds / kilos),
            salts=money(c.salts / kilos),
        )
        if garden.crops[c.crop].cuts == 1 and c.heads:
            each = money((c.seeds + c.salts) / c.heads)
            text += _(", {money} a head").format(money=each)
        out += wrap(text, WIDTH, "  ", "      ")
    return out


def data(found: Buying) -> dict[str, Any]:
    """The same for machines; masses are grams, volumes millilitres."""
    return {
        "items": [
            {**asdict(i), "by": None if i.by is None else i.by.isoformat()} for i in found.items
        ],
        "crops": [asdict(c) for c in found.crops],
        "unpriced": list(found.unpriced),
    }
