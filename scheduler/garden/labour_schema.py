"""The shape of work: weekdays, how long each kind of it takes, who helps."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, Field, WithJsonSchema

from scheduler.garden.fields import Minutes, Name, Section, amount, read_days

WorkDays = Annotated[
    list[int],
    BeforeValidator(read_days),
    WithJsonSchema(
        {
            "anyOf": [
                {"const": "all"},
                {"type": "array", "minItems": 1, "items": {"type": "string"}},
            ]
        }
    ),
]


class LabourModel(Section):
    """How long each kind of work takes; common practice, no source: time yourself once."""

    sow: Minutes = Field(0.5, description="to sow one nursery cell")
    fill: Minutes = Field(12.0, description="to mix for one tier, fill and plant it")
    pick: Minutes = Field(1.0, description="to pick one plant")
    clear: Minutes = Field(10.0, description="to empty one tier and clean it")
    lift: Minutes = Field(1.0, description="to lift one vessel off and put it back")
    move: Minutes = Field(
        3.0,
        description="to carry one vessel to another place",
    )
    harden: Minutes = Field(2.0, description="to take a tier's seedlings out and in, on one day")
    protect: Minutes = Field(3.0, description="to protect a tier from one cold night")
    shade: Minutes = Field(5.0, description="to shade or wrap a tier")


class HelperModel(Section):
    """Somebody who helps on some weekdays."""

    name: Name = Field(description="a name, or a word such as morning shift")
    days: WorkDays = Field(list(range(7)), description="weekdays, such as [tue, fri]")
    minutes: Annotated[float, *amount("min", 1, 1440)] = Field(
        description="on each of these days, such as 45 min"
    )
