"""Stage 3 said once: fills, vessels lifted, days with work.

To fill or clear a tier every vessel above it is lifted. The model, the arithmetic of a schedule,
the plan's own value, whole columns and the tidying all count by these; `scheduler.verify` counts
once more in its own words.
"""

from __future__ import annotations

from typing import Any


def above(tier: Any) -> Any:
    """Vessels that stand above a tier (1 is the top), or above each of an array of them."""
    return tier - 1


def lifts(above: Any, services: Any = 2) -> Any:
    """Vessels lifted under ``above`` of them for so many fillings and clearings."""
    return above * services


def points(above: Any, filled: Any = 1, cleared: Any = 1) -> Any:
    """Fills and vessels lifted of batches under ``above`` vessels, days left out.

    ``filled``, ``cleared``: how often, 0 where that has happened already.
    """
    return filled + lifts(above, filled + cleared)
