"""What a tier's readings foretell, in a line or two: the same words in the log and on the page."""

from __future__ import annotations

from datetime import date
from typing import Any

from scheduler.garden.model import Garden
from scheduler.watch.explain import LEAKED, MISREAD, RAINED, RIGHT
from scheduler.watch.judge import ALARM, CLOSE, DRY, Watched
from scheduler.words.words import N_, Units, _, short_date, tier_label


def said(garden: Garden, tier: Watched, units: Units) -> str:
    """One sentence on a tier, and one more on a reading that does not fit."""
    place = tier_label(tier.column, tier.tier)
    text = _SAY.get(tier.verdict, _calm)(garden, tier, units, place)
    if tier.left_out:
        text += " " + _("The level of {date} does not fit: {reasons}.").format(
            date=", ".join(short_date(d) for d in tier.left_out), reasons=_reasons(tier)
        )
        if max(tier.left_out) > max(tier.readings, default=date.min):
            text += " " + _("Measure again.")
    return text


def _reasons(tier: Watched) -> str:
    """``misread (70 %), or rain got in (30 %)``: at least two, and all that are worth telling."""
    likely = [(w, p) for n, (w, p) in enumerate(tier.odds) if n < 2 or p >= _WORTH_TELLING]
    told = [
        _("{reason} ({share} %)").format(reason=_(_HAPPENED[what]), share=max(round(100 * p), 1))
        for what, p in likely
    ]
    return _(", or ").join(told)


_HAPPENED = {
    MISREAD: N_("misread"),
    RAINED: N_("rain got in"),
    LEAKED: N_("it leaks"),
    RIGHT: N_("its thirst has changed"),
}
_WORTH_TELLING = 0.05


def _alarm(garden: Garden, tier: Watched, units: Units, place: str) -> str:
    first = _("{tier} will be dry about {dry}").format(tier=place, dry=around(tier))
    if tier.dry is None:  # as likely as not it lasts beyond what is foretold
        last = short_date(tier.last)
        first = _("{tier} may be dry before its last pick on {last}").format(tier=place, last=last)
    if tier.ripe:
        first += _(" and is ripe")
    elif tier.ready is not None:
        first += _(", ready {date}").format(date=short_date(tier.ready))
    else:
        first += _(", not ready by then")
    then = _pick(garden, tier, units)
    return f"{first}: {then}" + ("." if tier.ripe else _(", or shade it."))


def _dry(garden: Garden, tier: Watched, units: Units, place: str) -> str:
    return _("{tier} is dry: {then}, or give it up.").format(
        tier=place, then=_pick(garden, tier, units)
    )


def _pick(garden: Garden, tier: Watched, units: Units) -> str:
    if garden.crops[tier.crop].cuts > 1:
        mass = _("about {mass}").format(mass=units.mass_text(tier.grams))
    else:
        each = units.mass_text(round(tier.grams / max(tier.heads, 1)))
        mass = _("about {mass} a head").format(mass=each)
    if tier.pick is None or tier.pick <= tier.on:
        return _("pick today ({mass})").format(mass=mass)
    return _("pick on {date} ({mass})").format(date=short_date(tier.pick), mass=mass)


def _close(garden: Garden, tier: Watched, units: Units, place: str) -> str:
    if tier.dry is None:
        return _(
            "{tier} is close: it may be dry before its last pick on {last}. "
            "Measure it every other day."
        ).format(tier=place, last=short_date(tier.last))
    return _(
        "{tier} is close: dry about {dry}, last pick {last}. Measure it every other day."
    ).format(tier=place, dry=around(tier), last=short_date(tier.last))


def _calm(garden: Garden, tier: Watched, units: Units, place: str) -> str:
    if tier.dry is None:
        return _("{tier} has enough until its last pick on {last}.").format(
            tier=place, last=short_date(tier.last)
        )
    return _("{tier} has enough: dry about {dry}, last pick {last}.").format(
        tier=place, dry=around(tier), last=short_date(tier.last)
    )


_SAY = {DRY: _dry, ALARM: _alarm, CLOSE: _close}


def around(tier: Watched) -> str:
    """``19 May (17 to 22)``: the most likely dry date and its interval."""
    day, first, last = tier.dry, tier.dry_from, tier.dry_to
    if day is None:
        return ""
    if first is None or first > day:
        first = day
    if last is None:
        return _("{date} (from {first} on)").format(date=short_date(day), first=short_date(first))
    if first == last:
        return short_date(day)
    if (first.year, first.month) == (last.year, last.month) == (day.year, day.month):
        return _("{date} ({first} to {last})").format(
            date=short_date(day), first=first.day, last=last.day
        )
    return _("{date} (between {first} and {last})").format(
        date=short_date(day), first=short_date(first), last=short_date(last)
    )


def as_data(tier: Watched) -> dict[str, Any]:
    """The same for machines: days as 2027-05-19, shares [0..1], mass [g]."""
    found: dict[str, Any] = {
        name: value.isoformat() if isinstance(value, date) else value
        for name, value in vars(tier).items()
    }
    found["readings"] = [d.isoformat() for d in tier.readings]
    found["left_out"] = [d.isoformat() for d in tier.left_out]
    found["chance"], found["told"] = round(tier.chance, 3), round(tier.told, 3)
    found["odds"] = {what: round(share, 3) for what, share in tier.odds}
    found["litres"] = round(tier.litres, 2)
    found["thirst"] = [round(t, 3) for t in tier.thirst]
    return found
