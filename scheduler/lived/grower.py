"""The grower who lives a plan: what is done on a day, knowing only what has happened until then."""

from __future__ import annotations

from dataclasses import dataclass

YOUNG = 0.8  # share of its full mass from which a head may be eaten; common practice, no source
THIRSTIER = 1.2  # times yesterday's drinking is allowed for, when days without work lie ahead


@dataclass(frozen=True)
class Grower:
    """How a grower goes about a calendar. Whoever promises something says which grower it was.

    Everyone sows and transplants on the planned day or, where the tier, a cell or a limit is not
    free, on the first work day on which it is; gives up what is dry, bolted or too old; and moves
    what follows a late tier within the life of its seedlings.

    Attributes
    ----------
    waits : picks are made when a crop is ripe, from its usual day on (sooner where the week is
        short); False: on the day of the calendar, at whatever mass there is.
    young : share of the full mass [0..1] from which a crop that is due may be picked where the week
        would be short or the tier will not last; None: never before it is ripe.
    """

    waits: bool = True
    young: float | None = YOUNG

    @property
    def least(self) -> float:
        """Smallest share of the full mass that is ever picked by who waits."""
        return 1.0 if self.young is None else self.young


SENSIBLE = Grower()
PATIENT = Grower(young=None)
TO_THE_DAY = Grower(waits=False)
