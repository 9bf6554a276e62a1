"""The shape of what the grower has settled: batches that are fixed, crops and days that are not."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, ConfigDict, Field

from crops.names import same_name
from scheduler.garden.fields import Count, Day, Name, Section, one_or_list, pure


class NeverModel(Section):
    """Crops that may not stand there, or days on which none may."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)
    crops: list[str] | None = Field(
        None, min_length=1, max_length=200, description="names of crops; left out: every crop"
    )
    start: Day | None = Field(None, alias="from", description="first day; left out: the season's")
    end: Day | None = Field(None, alias="to", description="last day; left out: the season's")
    column: Name | None = Field(
        None, description="of the garden's own list: name of a column; left out: every column"
    )
    tier: Count | None = Field(None, description="and its tier, 1 is the top; left out: every tier")

    def counts_in(self, column: str, tier: int) -> bool:
        """Whether it is about a tier."""
        if self.column is not None and same_name(self.column) != same_name(column):
            return False
        return self.tier is None or self.tier == tier


def never_in_short(raw: Any) -> Any:
    """A crop's name stands for itself at all times."""
    items = [raw] if isinstance(raw, str) else one_or_list(raw)
    if not isinstance(items, list):
        return items
    return [{"crops": [item]} if isinstance(item, str) else item for item in items]


Nevers = Annotated[
    list[NeverModel],
    BeforeValidator(never_in_short),
    Field(
        default_factory=list,
        max_length=100,
        description="crops that may not stand there: names, or {crops, from, to}; without crops "
        "nothing may on those days",
    ),
]


class FixedModel(Section):
    """A batch that the plan must hold."""

    crop: str = Field(description="name of the crop, such as leaf_lettuce")
    column: Name = Field(description="name of the column")
    tier: Count = Field(description="1 is the top")
    planted_on: Day = Field(description="day on which it is planted, a work day")
    picked_on: Annotated[list[Day], BeforeValidator(lambda x: [x] if isinstance(x, str) else x)] = (
        Field(
            default_factory=list,
            max_length=6,
            description="all its days of picking; left out: the plan chooses",
        )
    )


Share = Annotated[float, *pure(0, 1, "a share from 0 % to 100 %", percent=True)]


class ShareModel(Section):
    """How much of a wish a crop may be, of what is picked for it in the season."""

    least: Share = Field(0.0, description="at least, such as 20 %")
    most: Share = Field(1.0, description="at most, such as 50 %")


Shares = Annotated[
    dict[str, ShareModel],
    Field(
        default_factory=dict,
        description="least and most share of a crop in what is picked for the wish: "
        "{pak_choi: {most: 50 %}, mizuna: {least: 20 %}}",
    ),
]
SameKindWeeks = Annotated[int, *pure(1, 52, "a whole number of weeks from 1 to 52", whole=True)]
