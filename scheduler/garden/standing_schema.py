"""The shape of what stands today: crops in tiers, seedlings in the nursery."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, Field, WithJsonSchema

from scheduler.garden.fields import Count, Day, Name, Section, pure, read_fill


class StandingModel(Section):
    """A crop that stands in a tier on the morning of the season's first day."""

    crop: str = Field(description="name of the crop, such as leaf_lettuce")
    column: Name = Field(description="name of the column")
    tier: Count = Field(description="1 is the top")
    planted_on: Day | None = Field(
        None, description="day on which it was planted and the tier filled"
    )
    size: Annotated[float, *pure(0.01, 1, "a share from 1 % to 100 %", percent=True)] | None = (
        Field(
            None,
            description="share of its full mass, such as 40 %, where the day is not known",
        )
    )
    plants: Count | None = Field(None, description="plants left; left out: one in each hole")
    level: (
        Annotated[tuple[str, float], BeforeValidator(read_fill), WithJsonSchema({"type": "string"})]
        | None
    ) = Field(
        None,
        description="solution left on that morning, as volume or depth, such as 9 L or 14 cm; "
        "left out: what it should have drunk is gone",
    )


class SeedlingsModel(Section):
    """Seedlings of one sowing in the nursery on the morning of the season's first day."""

    crop: str = Field(description="name of the crop, such as leaf_lettuce")
    sown_on: Day | None = Field(None, description="day on which they were sown")
    bought_on: Day | None = Field(
        None, description="of bought ones: day from which they can be planted"
    )
    cells: Count = Field(description="cells, one seedling or plug each")
