"""Blanks to write into, where `review` needs a figure: mass of a pick, what is left at clearing."""

from __future__ import annotations

from collections.abc import Iterable

from scheduler.outputs.work import CLEAR, PICK, Work
from scheduler.words.words import _, tier_label


def with_blanks(item: Work, text: str) -> str:
    """What to do, and the blanks for what is measured then."""
    if item.kind == PICK:
        return text + _("; weighed ____")
    if item.kind == CLEAR:
        return text + _("; depth ____ EC ____ pH ____")
    return text


def meter_blanks(item: Work) -> str:
    return " EC ____ pH ____" if item.meters else ""


def meters_too(items: Iterable[Work]) -> str:
    """The tiers of a day in which EC and pH are measured with the level, with blanks."""
    tiers = ", ".join(tier_label(w.column, w.tier) + " ____ ____" for w in items if w.meters)
    return _("EC and pH too: {tiers}").format(tiers=tiers) if tiers else ""
