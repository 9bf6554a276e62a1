"""The kitchen of a year lived once more: what is there, what is eaten, and of which kinds."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field


@dataclass
class Pantry:
    """What is in the kitchen, by group and the last week in which it can be eaten [g].

    ``kinds`` : the same by crop, which sums to it but for rounding: what the grower does hangs on
    whether anything is lacking, so the sums are kept exactly. ``second`` : by group, of each week's
    meal what is not of the kind that there is most of [g].
    """

    lots: dict[str, dict[int, float]] = field(default_factory=dict)
    kinds: dict[tuple[str, int], dict[str, float]] = field(default_factory=dict)
    second: dict[str, dict[int, float]] = field(default_factory=dict)

    def put(self, group: str, last: int, grams: float, crop: str) -> None:
        lots = self.lots.setdefault(group, {})
        lots[last] = lots.get(last, 0.0) + grams
        kinds = self.kinds.setdefault((group, last), {})
        kinds[crop] = kinds.get(crop, 0.0) + grams

    def there(self, group: str, week: int) -> float:
        return sum(grams for last, grams in self.lots.get(group, {}).items() if last >= week)

    def eat(self, group: str, week: int, wanted: float) -> float:
        """What spoils first first; of what keeps alike the same part of each kind."""
        lots, eaten = self.lots.get(group, {}), 0.0
        meal: defaultdict[str, float] = defaultdict(float)
        for last in sorted(lots):
            if last < week or lots[last] <= 0:
                continue
            bite = min(lots[last], wanted - eaten)
            part = bite / lots[last]
            kinds = self.kinds[group, last]
            for crop, grams in kinds.items():
                meal[crop] += part * grams
                kinds[crop] = (1 - part) * grams
            lots[last] -= bite
            eaten += bite
        self.second.setdefault(group, {})[week] = eaten - max(meal.values(), default=0.0)
        return eaten
