"""The kitchen of a year lived once more: what is there, what is eaten, and of which kinds."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field


@dataclass
class Pantry:
    """What is in the kitchen: of each group the last week of a lot, how much it is, of which crop.

    ``second`` : by group, of each week's meal what is not of the kind that there is most of [g].
    """

    lots: dict[str, list[tuple[int, float, str]]] = field(default_factory=dict)
    second: dict[str, dict[int, float]] = field(default_factory=dict)

    def put(self, group: str, last: int, grams: float, crop: str) -> None:
        self.lots.setdefault(group, []).append((last, grams, crop))

    def there(self, group: str, week: int) -> float:
        return sum(grams for last, grams, _ in self.lots.get(group, []) if last >= week)

    def eat(self, group: str, week: int, wanted: float) -> float:
        """What spoils first first; of what keeps alike the same part of each lot."""
        lots = [lot for lot in self.lots.get(group, []) if lot[0] >= week]
        meal: defaultdict[str, float] = defaultdict(float)
        left, eaten = [], 0.0
        for until in sorted({last for last, _, _ in lots}):
            these = [lot for lot in lots if lot[0] == until]
            there = sum(grams for _, grams, _ in these)
            part = min(1.0, (wanted - eaten) / there) if there > 0 else 0.0
            for last, grams, crop in these:
                meal[crop] += part * grams
                left.append((last, (1 - part) * grams, crop))
            eaten += part * there
        self.lots[group] = left
        self.second.setdefault(group, {})[week] = eaten - max(meal.values(), default=0.0)
        return eaten
