"""Names that may be meant, for what a fault expects."""

from __future__ import annotations

from difflib import get_close_matches

from scheduler.base.texts import shorten


def near_key(key: str, known: list[str]) -> str:
    near = get_close_matches(key, known, 1, 0.6)
    return f"{near[0]} (did you mean that?)" if near else f"one of {', '.join(known)}"


def near_names(name: str, known: list[str]) -> str:
    """'x or y (did you mean that?)' for names close to ``name``, else the first names known."""
    near = get_close_matches(name.lower().replace(" ", "_").replace("-", "_"), known, 3, 0.5)
    if near:
        return " or ".join(near) + " (did you mean that?)"
    some = ", ".join(shorten(k) for k in known[:12])
    return f"one of {some}" if known else "there is none to choose from"
