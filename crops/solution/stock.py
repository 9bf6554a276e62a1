"""Concentrates: two bottles, calcium in A, sulfate and phosphate in B, thinned when filling."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from crops.solution.recipe import Recipe, RecipeFault
from crops.solution.salts import Salt

MOST_TIMES = 400.0  # common practice, no source: nobody measures less than 2.5 mL per litre well


@dataclass(frozen=True)
class Stock:
    """Two concentrates.

    Attributes
    ----------
    times : how many times stronger than the solution.
    a, b : (salt, grams per litre of concentrate) of each.
    ml_per_litre : of each into a litre of solution.
    litres_each : of each concentrate for the volume of the recipe [L].
    water_l : water to fill in first for that volume [L]; acid : to stir into it, if any.
    """

    times: float
    a: tuple[tuple[Salt, float], ...]
    b: tuple[tuple[Salt, float], ...]
    ml_per_litre: float
    litres_each: float
    water_l: float
    acid: str = ""

    @property
    def steps(self) -> tuple[str, ...]:
        """How to make and how to use them."""
        first = (
            "Make each concentrate in a bottle of its own, marked A or B: dissolve its salts one "
            "after the other in three quarters of its water, warm, then fill up. Never pour A and "
            "B together.",
            "To fill, put the water into the vessel first.",
        )
        acid = (f"Stir in the {self.acid} acid, slowly.",) if self.acid else ()
        last = (
            "Stir in A, wait until it is spread, then stir in B.",
            "Wait half an hour, then measure EC and pH.",
        )
        return (*first, *acid, *last)


def concentrates(recipe: Recipe, times: float) -> Stock:
    """Both concentrates for a recipe.

    Raises
    ------
    RecipeFault
        A fertilizer that holds calcium with sulfate or phosphate, a concentrate beyond what
        dissolves at 20 degC, or no room for water.
    """
    if not 1 < times <= MOST_TIMES:
        raise RecipeFault(f"a concentrate of {times:g} times; expected above 1 to {MOST_TIMES:g}")
    both = [s.name for s in recipe.salts if s.calcium and s.clouds_calcium]
    if both:
        raise RecipeFault(
            f"{', '.join(both)} holds calcium together with sulfate or phosphate; "
            "as a concentrate it falls out. Dissolve it in full water"
        )
    per_litre = [
        (s, g / recipe.litres * times) for s, g in zip(recipe.salts, recipe.grams, strict=True)
    ]
    a = tuple((s, g) for s, g in per_litre if s.calcium)
    b = tuple((s, g) for s, g in per_litre if not s.calcium)
    for name, bottle in (("A", a), ("B", b)):
        _refuse_saturated(name, bottle)
    bottles = bool(a) + bool(b)
    water = recipe.litres * (1 - bottles / times)
    if water <= 0:
        raise RecipeFault(
            f"{bottles} concentrates of {times:g} times leave {water:g} L for water; "
            "expected a stronger concentrate"
        )
    return Stock(
        times,
        a,
        b,
        1000 / times,
        recipe.litres / times,
        water,
        recipe.dose.acid.name if recipe.dose else "",
    )


def _refuse_saturated(name: str, bottle: Sequence[tuple[Salt, float]]) -> None:
    """Shares of what dissolves add up: cautious, as salts that share an ion dissolve less."""
    used = sum(g / s.solubility for s, g in bottle)
    if used > 1:
        listed = ", ".join(f"{s.name} {g:.0f} g/L of {s.solubility:.0f}" for s, g in bottle)
        raise RecipeFault(
            f"concentrate {name} would hold more than dissolves at 20 degC "
            f"({listed}); expected at most {1 / used:.2f} of that"
        )
