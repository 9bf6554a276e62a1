"""The stages of what a good plan is, by name, and the weights of produce as whole numbers.

1 ``produce``  : grams of the weekly wishes met, by the grower's weights, storage counted (most).
2 ``evenness`` : grams picked for nothing, and grams by which a week falls below half its wish
                 (least).
3 ``effort``   : fills, vessels lifted, work days used (least).

A rebalance adds ``changes``: what it changes of what the grower knows (least).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

PRODUCE, EVENNESS, EFFORT, CHANGES = "produce", "evenness", "effort", "changes"


def whole_weights(weights: Sequence[float]) -> tuple[int, tuple[int, ...]]:
    """Weights as whole numbers over one scale: (scale, weights times scale).

    Exact where three decimals are enough; otherwise rounded up, so that a bound stays one.
    """
    for scale in (1, 10, 100, 1000):
        exact = [w * scale for w in weights]
        if all(abs(w - round(w)) < 1e-9 for w in exact):
            return scale, tuple(round(w) for w in exact)
    return 1000, tuple(math.ceil(w * 1000 - 1e-9) for w in weights)
