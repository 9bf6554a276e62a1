"""A garden with one thing changed, and the words for it."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.garden.model import Garden

SEASON, CROPS, SPACE, NURSERY_WARMTH = "season", "crops", "space", "nursery temperature"


@dataclass(frozen=True)
class Relaxation:
    """One thing that could give.

    Attributes
    ----------
    family : relaxations of which a grower would choose one, such as the weekday of a further
        work day.
    rule : the rule that gives, by its name in `scheduler.plans.rules`; or `SEASON`, `CROPS`,
        `SPACE`, `NURSERY_WARMTH`, which are no rules.
    text : for the grower, begins a sentence: "4 more nursery cells".
    garden : with this changed.
    whole : the rule is dropped, not eased by a step.
    loosens : every plan of the garden as it is is a plan of this one.
    short : what tells it from others of its family.
    """

    family: str
    rule: str
    text: str
    garden: Garden
    whole: bool = False
    loosens: bool = True
    short: str = ""
