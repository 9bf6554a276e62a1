"""Kinds of tier: tiers that no rule but stack access can tell apart."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.garden.model import Garden, Tier


@dataclass(frozen=True)
class Kind:
    """Tiers with the same vessel, light, holes, places, and days and crops that may be there.

    Attributes
    ----------
    tier : one of them, as a pattern (its number means nothing here).
    places : (column name, tier number) of all of them, in the garden's order.
    """

    tier: Tier
    places: tuple[tuple[str, int], ...]

    @property
    def count(self) -> int:
        return len(self.places)


def tier_kinds(garden: Garden) -> tuple[Kind, ...]:
    """The garden's kinds of tier, in order of first appearance."""
    fixed = {(f.column, f.tier) for f in garden.fixed}
    groups: dict[tuple[object, ...], tuple[Tier, list[tuple[str, int]]]] = {}
    for column in garden.columns:
        for tier in column.tiers:
            place = (column.name, tier.number)
            key = (
                *(tier.vessel, tier.light, tier.plants, tier.available, tier.rests, tier.stays),
                tier.never,
                place if place in fixed else None,
            )
            groups.setdefault(key, (tier, []))[1].append(place)
    return tuple(Kind(tier, tuple(places)) for tier, places in groups.values())
