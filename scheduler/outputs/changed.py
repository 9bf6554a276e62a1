"""What changes of a batch, in words: its course, or the days that are others than before."""

from __future__ import annotations

from scheduler.plans.model import Batch
from scheduler.words.words import Units, _, short_date, tier_label


def course(b: Batch, units: Units) -> str:
    """``sow 7 July, transplant 19 July, pick 16 August: 327 g``."""
    return _("sow {sow}, transplant {transplant}, pick {picks}: {mass}").format(
        sow=short_date(b.sow),
        transplant=short_date(b.transplant),
        picks=_days(b),
        mass=units.mass_text(b.grams),
    )


def moved(old: Batch, new: Batch) -> str:
    """Tier and days that differ; empty where none does."""
    parts = []
    if (old.column, old.tier) != (new.column, new.tier):
        here, there = tier_label(old.column, old.tier), tier_label(new.column, new.tier)
        parts.append(_("from {old} to {new}").format(old=here, new=there))
    for word, a, b in (
        (_("sow"), short_date(old.sow), short_date(new.sow)),
        (_("transplant"), short_date(old.transplant), short_date(new.transplant)),
        (_("pick"), _picks(old), _picks(new)),
        (_("clear"), short_date(old.clear), short_date(new.clear)),
    ):
        if a != b:
            parts.append(_("{work} on {new} instead of {old}").format(work=word, new=b, old=a))
    return "; ".join(parts)


def _days(b: Batch) -> str:
    return ", ".join(short_date(p.date) for p in b.picks) or _("never")


def _picks(b: Batch) -> str:
    """Days and plants of the picks."""
    if len(b.picks) == 1:
        return short_date(b.picks[0].date)
    return ", ".join(f"{short_date(p.date)} ({p.plants})" for p in b.picks) or _("never")
