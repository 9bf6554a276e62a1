"""A schedule is worth what the stated grower brings to the table with it, over weather years.

From schedules that a solver made for the courses to expect, the search goes on by moves
(`living.move`), each lived in all planning years (`living.climb`); what is a little worse is taken
too at first, and less and less of it towards the end. Two searches run side by side where there
are two workers, and begin again from the better of the two every few seconds.

Published kin: sample-average approximation (Kleywegt, Shapiro, Homem-de-Mello 2002), planting plans
with the harvest as recourse (Darby-Dowman, Barker, Audsley, Parsons 2000), both as told in reviews.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from scheduler.batches.candidates import Candidates
from scheduler.batches.fixed import fixed_rows
from scheduler.lived.doubt import Doubt
from scheduler.lived.world import World, world_of
from scheduler.lived.worth import FLAT, Taste
from scheduler.schedule.assemble import Stand
from scheduler.search.living.climb import climb, lived
from scheduler.search.living.in_hand import InHand
from scheduler.search.living.known import SHORT_FIRST, Known, again, lacking, staying
from scheduler.search.living.options import Options, options_of
from scheduler.search.living.settle import settled
from scheduler.solvers.cp_sat import LIVING, Progress, Report, Settings
from scheduler.years.weather_years import WeatherYears

SLACK = 0.006  # share of the wish by which a move may be worse at first
MOVES = 16  # between looks at the clock, at most,
LOOK = 0.25  # and so long, more or less [s]: in a large garden a move takes a tenth of a second
ROUNDS = 12  # in which the searches side by side begin anew from the best
MOVES_A_WORK = 1500  # in a deterministic second


@dataclass(frozen=True)
class Found:
    """The best schedule found.

    Attributes
    ----------
    worth, begun : mean share of the wish, less waste and fills, of it and of what it began with.
    moves : tried, that broke a rule, that were lived, that were taken.
    """

    stands: tuple[Stand, ...]
    worth: float
    begun: float
    moves: tuple[int, int, int, int]


@dataclass
class _At:
    """Rows in tiers, and what they are worth in each year."""

    rows: np.ndarray
    tiers: np.ndarray
    value: np.ndarray

    @property
    def worth(self) -> float:
        return float(self.value.mean())


def improved(
    cand: Candidates,
    years: WeatherYears,
    starts: Sequence[Sequence[Stand]],
    settings: Settings,
    seconds: float = 0.0,
    report: Report | None = None,
    stop: threading.Event | None = None,
    hand: InHand | None = None,
    taste: Taste = FLAT,
    known: Known | None = None,
    doubt: Doubt | None = None,
    draw: int = 0,
) -> Found:
    """The best schedule that is found in some seconds from the best of ``starts``.

    Parameters
    ----------
    cand : what may be grown; years : the planning years.
    starts : schedules of rows of ``cand``; a batch that breaks a shared rule is left out.
    settings : of which the seed, the workers, and a limit by work count.
    hand : of a season under way, what is in hand; each of ``starts`` has all of it.
    taste : how the worth of a gram falls; known : batches to change few of, the last of ``starts``
        is theirs; doubt : in the crops' numbers, the usual one if None.
    draw : searches with different numbers make other moves in the same years.
    """
    began = time.monotonic()
    if report is not None:
        report(Progress(LIVING, 0.0))
    world = world_of(cand.garden, years, doubt or Doubt(), settings.seed, taste=taste)
    if hand is not None:
        world = hand.now.in_world(world)
    workers = max(settings.workers, 1)
    options = options_of(cand, world, hand=hand, known=known, workers=workers)
    search = _Search(cand, world, options, settings.seed, draw)
    begun = [search.begin(start) for start in starts]
    if known is not None:
        begun[-1] = search.restored(begun[-1])
    ways = [*(() if hand is None else hand.ways), *search.fixed]
    # What was planned for other courses may have no row for a fixed batch.
    whole = [at for at in begun if all(search.has_one_of(at, way) for way in search.fixed)]
    first = max(whole or begun, key=search.rank)
    first = search.swapped(first, ways)
    if settings.deterministic is not None:
        best = search.alone(first, max(1, round(MOVES_A_WORK * settings.deterministic)))
    else:
        # Compiled on the first run of a machine: half of its time the search has even so.
        search.go(first, first, 0, 0.0, 0)
        left = max(seconds - (time.monotonic() - began), seconds / 2)
        best = search.side_by_side(first, left, workers, report, stop)
    best = search.swapped(best, ways)
    told = tuple(int(x) for x in search.moves.sum(axis=0))
    return Found(
        tuple(search.stands(best)), best.worth, first.worth, (told[0], told[1], told[2], told[3])
    )


class _Search:
    """What all moves share."""

    def __init__(
        self, cand: Candidates, world: World, options: Options, seed: int, draw: int = 0
    ) -> None:
        self.cand, self.world, self.options = cand, world, options
        self.places = [(c.name, t.number) for c in cand.garden.columns for t in c.tiers]
        at = {place: t for t, place in enumerate(self.places)}
        self.fixed = [
            [(row, at[one.column, one.tier]) for row in rows.tolist()]
            for one, rows in fixed_rows(cand)
            if len(rows)  # of a season under way some are planted already
        ]
        self.depth = world.tiers["depth"].copy()
        self.seed = (seed, draw) if draw else (seed,)
        self.draws: dict[int, np.ndarray] = {}
        self.short: dict[int, np.ndarray] = {}
        self.moves = np.zeros((64, 4), dtype=int)

    def begin(self, start: Sequence[Stand]) -> _At:
        """A schedule of what keeps the shared rules, batch by batch."""
        at = {place: t for t, place in enumerate(self.places)}
        rows = np.array([s.row for s in start], dtype=np.int64)
        tiers = np.array([at[s.column, s.tier] for s in start], dtype=np.int64)
        if not self._keeps(rows, tiers):
            kept: list[int] = []
            mine = self.options.rows[rows]
            for i in np.lexsort((mine["start"], 1 - mine["held"])).tolist():
                if self._keeps(rows[[*kept, i]], tiers[[*kept, i]]):
                    kept.append(i)
            rows, tiers = rows[kept], tiers[kept]
        nothing = np.full(len(self.world.weather), -math.inf)
        return _At(rows, tiers, lived(self.world, self.options, rows, tiers, nothing, 0.0))

    def restored(self, at: _At) -> _At:
        """The same and what it lacks of the known plan, on the nearest days that have room."""
        known, all_rows = self.options.known, self.options.rows
        rows, tiers = at.rows, at.tiers
        lost = np.flatnonzero(staying(known, all_rows, rows, tiers) < 0)
        for k in lost[np.argsort(known.old["start"][lost], kind="stable")].tolist():
            tier = int(np.searchsorted(known.begins, k, side="right")) - 1
            for row in again(known, k, all_rows, self.options.kind_of[tier]).tolist():
                if self._keeps(np.append(rows, row), np.append(tiers, tier)):
                    rows, tiers = np.append(rows, row), np.append(tiers, tier)
                    break
        nothing = np.full(len(self.world.weather), -math.inf)
        return _At(rows, tiers, lived(self.world, self.options, rows, tiers, nothing, 0.0))

    def rank(self, at: _At) -> tuple[int, float]:
        """The better, the greater: first how few known batches are lacking, then the worth."""
        known = self.options.known
        return -lacking(known, self.options.rows, at.rows, at.tiers), at.worth

    def has_one_of(self, at: _At, way: Sequence[tuple[int, int]]) -> bool:
        """Whether a schedule has one of these rows."""
        return bool(np.isin(at.rows, [row for row, _ in way]).any())

    def _keeps(self, rows: np.ndarray, tiers: np.ndarray) -> bool:
        clear = settled(self.options, self.depth, self.world.open, rows, tiers)
        return len(clear) == len(rows)

    def swapped(self, at: _At, ways: Sequence[Sequence[tuple[int, int]]]) -> _At:
        """What is in hand goes on in the best way, batch after batch; each of ``ways`` is one's."""
        nothing = np.full(len(self.world.weather), -math.inf)
        for mine in ways:
            pairs = zip(at.rows.tolist(), at.tiers.tolist(), strict=True)
            taken = [b for b, pair in enumerate(pairs) if pair in mine]
            for row, tier in mine if len(taken) == 1 else ():
                rows, tiers = at.rows.copy(), at.tiers.copy()
                rows[taken[0]], tiers[taken[0]] = row, tier
                if self._keeps(rows, tiers):
                    value = lived(self.world, self.options, rows, tiers, nothing, 0.0)
                    if value.mean() > at.worth + 1e-9:
                        at = _At(rows, tiers, value)
        return at

    def go(self, at: _At, best: _At, moves: int, share: float, worker: int) -> tuple[_At, _At]:
        """Some moves, when a share [0..1] of the time is over."""
        if worker not in self.draws:
            state = np.random.SeedSequence([*self.seed, worker]).generate_state(1, np.uint64)
            self.draws[worker] = np.maximum(state, 1)
            self.short[worker] = np.array([SHORT_FIRST])
        slack = SLACK * (1 - share) ** 2
        mine = self.draws[worker], at.rows, at.tiers, moves, slack, self.short[worker]
        out = climb(self.world, self.options, *mine)
        self.moves[worker % 64] += out[6]
        found = _At(*out[3:6])
        return _At(*out[:3]), found if self.rank(found) > self.rank(best) else best

    def alone(self, at: _At, moves: int) -> _At:
        """The best of so many moves, the same each time."""
        best = at
        for done in range(0, moves, MOVES):
            at, best = self.go(at, best, min(MOVES, moves - done), done / moves, 0)
        return best

    def side_by_side(
        self,
        at: _At,
        seconds: float,
        workers: int,
        report: Report | None,
        stop: threading.Event | None,
    ) -> _At:
        """The best that some searches find in a time; every now and then all begin at the best."""
        began, best = time.monotonic(), at
        pace: dict[int, int] = {}  # moves between looks at the clock, by worker
        total = float(self.world.weight @ self.world.wish.sum(axis=1))

        def over(end: float) -> bool:
            return time.monotonic() >= end or (stop is not None and stop.is_set())

        def run(worker: int, at: _At, best: _At, end: float) -> tuple[_At, _At]:
            while not over(end):
                moves, looked = pace.get(worker, 1), time.monotonic()
                share = (looked - began) / seconds
                at, best = self.go(at, best, moves, min(share, 1.0), worker)
                took = time.monotonic() - looked
                if took > LOOK:
                    pace[worker] = max(moves // 2, 1)
                elif took < LOOK / 2:
                    pace[worker] = min(2 * moves, MOVES)
            return at, best

        with ThreadPoolExecutor(workers) as pool:
            for number in range(ROUNDS):
                now = time.monotonic()
                if over(began + seconds):
                    break
                end = now + (began + seconds - now) / (ROUNDS - number)
                tasks = [pool.submit(run, k, at, best, end) for k in range(workers)]
                ended = [t.result() for t in tasks]
                at = max((a for a, _ in ended), key=self.rank)
                best = max((b for _, b in ended), key=self.rank)
                if report is not None:
                    report(Progress(LIVING, time.monotonic() - began, best.worth * total))
        return best

    def stands(self, at: _At) -> list[Stand]:
        """The schedule as batches in tiers, each cleared as soon as can be."""
        clear = settled(self.options, self.depth, self.world.open, at.rows, at.tiers)
        return [
            Stand(int(row), *self.places[int(tier)], int(day))
            for row, tier, day in zip(at.rows, at.tiers, clear, strict=True)
        ]


__all__ = ["Found", "improved"]
