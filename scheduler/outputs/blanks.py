"""Blanks to write into, where `review` needs a figure: mass of a pick, what is left at clearing."""

from __future__ import annotations

from scheduler.outputs.work import CLEAR, PICK, Work
from scheduler.words.words import _


def with_blanks(item: Work, text: str) -> str:
    """What to do, and the blanks for what is measured then."""
    if item.kind == PICK:
        return text + _("; weighed ____")
    if item.kind == CLEAR:
        return text + _("; depth ____ EC ____ pH ____")
    return text


def level_blanks(item: Work, text: str) -> str:
    """A level with a blank for it, and for EC and pH where they are measured too."""
    return f"{text} ____{meter_blanks(item)}"


def meter_blanks(item: Work) -> str:
    return " EC ____ pH ____" if item.meters else ""
