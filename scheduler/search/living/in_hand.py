"""What a season under way has in hand, for a search by living: what stays, and what is known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from scheduler.lived.laid import FAR
from scheduler.lived.now import Now
from scheduler.lived.replay import NONE
from scheduler.plans.model import Batch


@dataclass(frozen=True)
class InHand:
    """What is in hand, by row of the candidates.

    Attributes
    ----------
    now : how the season stands.
    allowed : rows that may be put into each tier, in the order of the garden's tiers.
    begun : batches as each of these rows goes on with them, with the picks that were made.
    sown : batches whose seedlings each of these rows plants; held : other rows that stay.
    known : what it costs if a row that the grower knows is not taken [weighted g]; new : what each
        other one costs that is.
    ways : of each batch that can go on in several ways, its rows and tiers.
    done : what was done on the day itself already, by name of the resource that it took from.
    again : names of crops that are cut again.
    """

    now: Now
    allowed: Sequence[np.ndarray]
    begun: Mapping[int, Batch]
    sown: Mapping[int, Batch]
    held: frozenset[int]
    known: Mapping[int, float]
    new: float = 0.0
    ways: Sequence[Sequence[tuple[int, int]]] = ()
    done: Mapping[str, int] = field(default_factory=dict)
    again: frozenset[str] = frozenset()

    def noted(
        self, rows: np.ndarray, due_day: np.ndarray, due_plants: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """Write into ``rows`` (`options.ROW`) what is in hand; give picks with those made."""
        rows["bonus"] = -self.new
        most = max((len(b.picks) for b in self.begun.values()), default=0) + 1
        wider = max(most - due_day.shape[1], 0)
        due_day = np.pad(due_day, ((0, 0), (0, wider)), constant_values=FAR)
        due_plants = np.pad(due_plants, ((0, 0), (0, wider)), mode="edge")
        for row in self.held:
            rows["held"][row], rows["bonus"][row] = 1, 0.0
        for row, batch in (*self.begun.items(), *self.sown.items()):
            it = rows[row]
            it["held"], it["bonus"] = 1, 0.0
            it["known"] = self.now.number.get(batch.id, NONE)
            it["factor"], it["cells"] = batch.demand_factor, batch.cells
        for row, price in self.known.items():
            rows["bonus"][row] = price
        for row, batch in self.begun.items():
            rows["plants"][row] = batch.plants
            days = [(p.date - self.now.first).days for p in batch.picks]
            each = [1 if batch.crop in self.again else p.plants for p in batch.picks]
            due_day[row], due_plants[row] = FAR, sum(each)
            due_day[row, : len(days)] = days
            due_plants[row, : len(days)] = np.cumsum(each)
        return due_day, due_plants
