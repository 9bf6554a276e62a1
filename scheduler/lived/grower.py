"""The grower who lives a plan: what is done on a day, knowing only what has happened until then."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.garden.model import Garden

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
    young : whether a crop that is due is picked from the garden's share of its full mass on
        (`Limits.young`) where the week would be short or the tier will not last; False: never
        before it is ripe.
    """

    waits: bool = True
    young: bool = True

    def least(self, garden: Garden) -> float:
        """Smallest share of the full mass that is ever picked by who waits [0..1]."""
        return garden.limits.young if self.young else 1.0


SENSIBLE = Grower()
PATIENT = Grower(young=False)
TO_THE_DAY = Grower(waits=False)
