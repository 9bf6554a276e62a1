"""The search over sequences: prices until they settle, then whole columns, then better ones.

1. *Settle*: prices from the linear program, new sequences at those prices, until none is worth
   more. The prices prove a bound on the way.
2. *Dive*: columns are given the sequences that most of them follow, a few at a time; prices are
   settled anew for the rest after each step.
3. *Again*: some columns are freed, the rest held, and they dive anew. Kept if better.
"""

from __future__ import annotations

import threading
import time
from collections import Counter
from collections.abc import Callable

import numpy as np

from scheduler.schedule.effort import above
from scheduler.search.columns import prices as at_prices
from scheduler.search.columns.layout import Layout, Sequence
from scheduler.search.columns.master import Master
from scheduler.search.columns.prices import Aim, Prices
from scheduler.search.columns.pricing import Pricing

CLOSE = 1e-4  # a settled value so near its bound is near enough
STEPS = 20  # in which all columns are given a sequence
ROUNDS = 6  # of new sequences after each step
SMOOTH = 0.5  # how far prices are drawn to those with the best bound
AGAIN_STEPS, AGAIN_ROUNDS = 6, 3  # the same where only some columns are free
ENTRIES = 200_000  # rows looked at in one round of pricing, roughly: sets the copies


class Use:
    """What whole columns use of what all share, by slot [resources, slots].

    Attributes
    ----------
    most : what there is [resources, slots].
    """

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        slots = layout.slots
        self.most = np.array([r.limits(slots) for r in layout.resources], int).reshape(-1, slots)

    def of(self, sequence: Sequence) -> np.ndarray:
        """By one column that follows ``sequence`` [resources, slots]."""
        layout = self.layout
        rows = np.array([row for _, row, _ in sequence.batches], dtype=int)
        clear = np.array([slot for _, _, slot in sequence.batches], dtype=int)
        numbers = layout.columns[sequence.kind].numbers
        lifted = np.array([above(numbers[j]) for j, _, _ in sequence.batches], dtype=int)
        out = np.zeros((len(self.most), layout.slots + 1), dtype=int)
        for level, r in zip(out, layout.resources, strict=True):
            level[:-1] = r.level(r.uses_of(rows), layout.slots)
            np.add.at(level, layout.start[rows], r.filling(lifted))
            np.add.at(level, clear, r.clearing(lifted))
        return out[:, : layout.slots]


Whole = Counter  # number of a sequence -> columns that follow it


class Search:
    """The search of one garden.

    Attributes
    ----------
    bound : on ``produce`` met, proven so far [weighted g, scaled]; None before the first prices.
    """

    def __init__(
        self,
        layout: Layout,
        seed: int,
        until: float,
        stop: threading.Event | None = None,
        say: Callable[[], None] | None = None,
    ) -> None:
        self.layout, self.until, self.stop, self.say = layout, until, stop, say
        entries = sum(len(layout.by_kind[k]) for c in layout.columns for k in c.kinds)
        self.pricing = Pricing(layout, int(np.clip(ENTRIES // max(entries, 1), 1, 8)), seed)
        self.master = Master(layout, Aim())
        self.use = Use(layout)
        self.chance = np.random.default_rng(seed)
        self.bounds: dict[Aim, float] = {}
        self._uses: dict[int, np.ndarray] = {}

    @property
    def over(self) -> bool:
        """Whether time is up or somebody has asked to stop."""
        return time.monotonic() >= self.until or (self.stop is not None and self.stop.is_set())

    def settle(
        self,
        rounds: int,
        close: float = CLOSE,
        prove: bool = False,
        room: np.ndarray | None = None,
        only: np.ndarray | None = None,
    ) -> Prices | None:
        """New sequences until no column kind has one that is worth more; the last prices.

        ``room`` and ``only`` as in `Pricing.run`; with them nothing is proven.
        """
        master, layout = self.master, self.layout
        idle, centre, top = 0, None, np.inf
        for turn in range(rounds):
            prices = master.solve()
            if prices is None or self.over:
                return prices
            value = at_prices.worth(layout, prices, master.aim)
            services = at_prices.services(layout, prices)
            # Prices of the program jump about; half-way to the best so far fewer rounds do.
            smooth = prices if centre is None or idle else prices.toward(centre, SMOOTH)
            there = value if smooth is prices else at_prices.worth(layout, smooth, master.aim)
            paid = services if smooth is prices else at_prices.services(layout, smooth)
            if prove:
                here = at_prices.bound(layout, smooth, master.aim, there, master.weights)
                if here < top:
                    top, centre = here, smooth
                best = min(top, self.bounds.get(master.aim, np.inf))
                self.bounds[master.aim] = best
                if self.say is not None:
                    self.say()
                if best - master.value <= close * abs(best):
                    return prices
            # One look at each tier is enough until it brings nothing more.
            sweeps = 3 if idle or turn % 4 == 3 else 1
            new = 0
            for worth, sequence in self.pricing.run(there, master.aim, sweeps, only, room, paid):
                if smooth is not prices:
                    worth = self.pricing.worth(sequence, value, master.aim, services)
                if worth > prices.column[sequence.kind] + 1e-6 * max(1.0, abs(worth)):
                    new += master.add(sequence) is not None
            idle = 0 if new else idle + 1
            if idle >= 3:
                break
        return master.solve()

    def dive(self, held: Whole[int], steps: int = STEPS, rounds: int = ROUNDS) -> Whole[int] | None:
        """All columns given sequences, beginning with those ``held``; None if it cannot be."""
        layout, master = self.layout, self.master
        held = Counter(held)
        left = layout.counts.copy()
        used = np.zeros((len(self.use.most), layout.slots), dtype=int)
        for number, amount in held.items():
            left[master.sequences[number].kind] -= amount
            used += self._use(number) * amount
        step = max(1, int(np.ceil(left.sum() / steps)))
        self._hold(held)
        try:
            while left.sum() and not self.over:
                room = self.use.most - used
                if self.settle(rounds, room=room, only=left > 0) is None:
                    return None
                given = self._give(held, left, used, step)
                if not given:
                    break
        finally:
            self._hold(Counter(), held)
        return held

    def _give(self, held: Whole[int], left: np.ndarray, used: np.ndarray, step: int) -> int:
        """Give about ``step`` columns the sequences with the largest amounts; how many got one."""
        master = self.master
        amounts = master.amounts.copy()
        for number, amount in held.items():
            amounts[number] -= amount
        jitter = amounts + 1e-3 * self.chance.random(len(amounts))
        given = 0
        changed: Whole[int] = Counter()
        for number in np.argsort(-jitter).tolist():
            amount = amounts[number]
            if amount <= 1e-6 or (amount < 1 - 1e-6 and given >= step):
                break
            kind = master.sequences[number].kind
            want = min(max(int(amount + 1e-6), 1), int(left[kind]))
            use = self._use(number)
            for _ in range(want):
                if (used + use > self.use.most).any():
                    break
                used += use
                left[kind] -= 1
                held[number] += 1
                changed[number] += 1
                given += 1
        if changed:
            numbers = np.array(list(changed), dtype=int)
            master.hold(numbers, np.array([held[n] for n in changed]))
        return given

    def again(self, held: Whole[int], columns: int) -> Whole[int] | None:
        """Free ``columns`` columns drawn by chance, hold the others, and dive anew."""
        numbers = np.repeat(np.array(list(held), dtype=int), list(held.values()))
        free = self.layout.counts.sum() - len(numbers)
        count = min(max(columns - int(free), 1), len(numbers))
        less = Counter(held)
        less.subtract(self.chance.choice(numbers, count, replace=False).tolist())
        return self.dive(+less, steps=AGAIN_STEPS, rounds=AGAIN_ROUNDS)

    def _hold(self, now: Whole[int], before: Whole[int] | None = None) -> None:
        numbers = np.array(sorted(set(now) | set(before or ())), dtype=int)
        if len(numbers):
            self.master.hold(numbers, np.array([now.get(n, 0) for n in numbers.tolist()]))

    def _use(self, number: int) -> np.ndarray:
        if number not in self._uses:
            self._uses[number] = self.use.of(self.master.sequences[number])
        return self._uses[number]
