"""What a grower mixes with: fertilizers, water, acid, scale."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from crops.crop import Crop
from crops.solution.acid import ACIDS, DEFAULT_ACID, Acid
from crops.solution.balance import strength
from crops.solution.conductivity import conductivity
from crops.solution.recipe import Goal, Recipe, Water, mix, refuse_ph
from crops.solution.salts import THREE_SALT, Salt
from crops.solution.strength import Source

KITCHEN_SCALE = 1.0  # [g] smallest step of a common kitchen scale


@dataclass(frozen=True)
class Shelf:
    """What stands on the shelf.

    Attributes
    ----------
    salts : fertilizers; way : what the way of mixing is called, empty for the grower's own.
    target : proportions of elements to come near to; None: by the parts of the fertilizers.
    water : source water; known : whether the grower has told of it.
    acid : against its alkalinity; None: none is used.
    ph : to bring a fill to; None: the middle of the crop's range.
    scale : step of the scale [g].
    """

    salts: tuple[Salt, ...] = THREE_SALT.salts
    way: str = THREE_SALT.name
    target: Mapping[str, float] | None = None
    water: Water = field(default_factory=Water)
    known: bool = False
    acid: Acid | None = field(default_factory=lambda: ACIDS[DEFAULT_ACID])
    ph: float | None = None
    scale: float = KITCHEN_SCALE

    def recipe(self, litres: float, ec: float | None, ph: float | None = None) -> Recipe:
        """The recipe for a volume [L] at an EC [mS/cm] and pH (None: no acid).

        Raises
        ------
        RecipeFault
            As `crops.solution.recipe.mix`.
        """
        refuse_ph(ph)  # also where no acid is needed
        wanted = ph if self.acid is not None and self.water.alkalinity > 0 else None
        return mix(
            self.salts, Goal(ec, self.target, wanted), litres, self.water, self.acid, self.scale
        )

    @property
    def source(self) -> Source:
        """The EC of the water, and its sodium, which no leaf crop takes up to speak of."""
        sodium = strength({"Na": self.water.elements.get("Na", 0.0)})
        ec = conductivity(self.water.elements, self.water.alkalinity).value
        return Source(max(ec, sodium), sodium)

    def for_crop(self, crop: Crop, litres: float, ec: float | None = None) -> Recipe:
        """Recipe for a fill of a crop: an EC or the middle of its range, its pH or the shelf's."""
        if ec is None:
            ec = (crop.ec_low + crop.ec_high) / 2
        ph = self.ph if self.ph is not None else (crop.ph_low + crop.ph_high) / 2
        return self.recipe(litres, ec, ph)
