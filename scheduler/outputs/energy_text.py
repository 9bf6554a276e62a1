"""What lamps take, in sentences."""

from __future__ import annotations

from scheduler.garden.model import Garden
from scheduler.outputs.energy import NURSERY, lamps
from scheduler.plans.model import Plan
from scheduler.words.words import Shown, _


def lamp_sentences(garden: Garden, plan: Plan) -> list[str]:
    """One for each lamp of a plan, and one for all where there are several."""
    found = lamps(garden, plan)
    out = []
    for one in found:
        where = (
            _("the nursery")
            if one.where == NURSERY
            else _("{column} in {place}").format(column=one.where, place=one.place)
        )
        text = _("Lamp of {where}: {hours:,.0f} hours on {days} days, {kwh:.1f} kWh").format(
            where=where, hours=one.hours, days=one.days, kwh=Shown(one.kwh)
        )
        out.append(text + _costs(one.money))
    if len(found) > 1:
        kwh, money = sum(f.kwh for f in found), sum(f.money for f in found)
        out.append(_("All lamps: {kwh:.1f} kWh").format(kwh=Shown(kwh)) + _costs(money))
    return out


def _costs(money: float) -> str:
    """How a sentence about a lamp ends."""
    return _(", {money:,.2f} in your money.").format(money=money) if money else "."
