"""What the grower can do: limits, how long each kind of work takes, who helps."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Labour:
    """How long each kind of work takes [min]; the defaults are common practice, no source.

    Attributes
    ----------
    sow : a nursery cell; fill : a tier, mixing and planting included; pick : a plant.
    clear : a tier, cleaning included; lift : a vessel above a tier that is filled or cleared.
    move : a vessel of a column that is carried to another place.
    harden, protect, shade : a tier's seedlings out and in on a day; a tier against one cold night;
        a tier's shade or wrap. The weather decides on them: told, not held to a limit.
    """

    sow: float = 0.5
    fill: float = 12.0
    pick: float = 1.0
    clear: float = 10.0
    lift: float = 1.0
    move: float = 3.0
    harden: float = 2.0
    protect: float = 3.0
    shade: float = 5.0


@dataclass(frozen=True)
class Helper:
    """Somebody who helps: on which weekdays (Monday 0), and how long on each of them [min]."""

    name: str
    days: frozenset[int]
    minutes: float


@dataclass(frozen=True)
class Limits:
    """What the grower can do. None: no limit.

    Attributes
    ----------
    lift_kg : heaviest single vessel lifted [kg].
    fills_per_day : vessels transplanted and filled on one day.
    picks_per_day : batches picked from on one day.
    dry_margin_days : days that must lie between the last pick and the dry date.
    young : share of its full mass [0..1] from which a head may be picked; 1: only when ripe.
    turnaround_days : days from clearing a tier to its next filling; 0: the same day.
    minutes_per_day : work on one day [min]; labour : how long each kind of it takes.
    helpers : who helps when; with any, a day has the minutes of those who are there on it.
    """

    lift_kg: float | None = None
    fills_per_day: int | None = None
    picks_per_day: int | None = None
    dry_margin_days: int = 2
    turnaround_days: int = 1
    minutes_per_day: float | None = None
    labour: Labour = Labour()
    young: float = 0.8
    helpers: tuple[Helper, ...] = ()

    def minutes_on(self, weekday: int) -> float | None:
        """Minutes of work that a weekday (Monday 0) has room for [min]; None: no limit."""
        if self.helpers:
            return sum(h.minutes for h in self.helpers if weekday in h.days)
        return self.minutes_per_day

    @property
    def timed(self) -> bool:
        """Whether minutes are limited on any day."""
        return bool(self.helpers) or self.minutes_per_day is not None
