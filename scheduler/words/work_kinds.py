"""Kinds of work, in the order in which they are done on a day."""

from __future__ import annotations

LEVEL, SHELTER, SUPPORT, PICK = "level", "shelter", "support", "pick"
CLEAR, MOVE, FILL, TRANSPLANT, SOW = "clear", "move", "fill", "transplant", "sow"
KINDS = (LEVEL, SHELTER, SUPPORT, PICK, CLEAR, MOVE, FILL, TRANSPLANT, SOW)
