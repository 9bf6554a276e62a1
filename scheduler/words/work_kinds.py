"""Kinds of work, in the order in which they are done on a day."""

from __future__ import annotations

LEVEL, SHELTER, SUPPORT, PICK = "level", "shelter", "support", "pick"
HARDEN, PROTECT, SHADE = "harden", "protect", "shade"
CLEAR, MOVE, FILL, TRANSPLANT, SOW = "clear", "move", "fill", "transplant", "sow"
KINDS = (
    *(LEVEL, SHELTER, PROTECT, SHADE, SUPPORT, PICK, CLEAR, MOVE, FILL, TRANSPLANT, HARDEN, SOW),
)
