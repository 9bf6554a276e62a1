"""The finished crops of a log, and what was measured in each.

A stand begins with its ``transplanted`` line, or with the plan's batch in that tier where the log
does not tell, and is finished once it is cleared or wholly picked. Failed ones teach nothing here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from crops.vessel import Vessel
from scheduler.garden.model import Garden
from scheduler.log import amounts as amounts
from scheduler.log.happenings import rain_in
from scheduler.log.model import Entry, Log
from scheduler.log.tracks import Fewer, Reading, Water
from scheduler.plans.model import FAILED, Batch, Plan

# A reading this near a day speaks for it: common practice, no source.
NEAR = timedelta(days=3)
AFTER = timedelta(days=14)  # how long after its planned clearing a batch may still be picked


@dataclass(frozen=True)
class Season:
    """One season to learn from: its garden, its log, and its plan if there is one."""

    garden: Garden
    log: Log
    plan: Plan | None = None


@dataclass
class Stand:
    """One crop in one tier, as the log tells of it.

    Attributes
    ----------
    picks : day to [plants or None, grams or None].
    plants : transplanted; fewer : those lost on the way.
    levels : readings [L]; ecs [mS/cm], phs : by date; water : that came in.
    ripe : first day on which it looked so; elsewhere : it was moved or shaded for a while.
    planned_pick : first pick that the plan asked for, None without a plan.
    """

    garden: Garden
    column: str
    tier: int
    crop: str
    plants: int
    transplant: date
    planned_pick: date | None = None
    fill_ec: float | None = None
    picks: dict[date, list[float | None]] = field(default_factory=dict)
    levels: list[Reading] = field(default_factory=list)
    ecs: list[tuple[date, float]] = field(default_factory=list)
    phs: list[tuple[date, float]] = field(default_factory=list)
    cleared: date | None = None
    water: list[Water] = field(default_factory=list)
    fewer: list[Fewer] = field(default_factory=list)
    ripe: date | None = None
    elsewhere: bool = False

    @property
    def left(self) -> int:
        """Plants that were not lost."""
        return self.plants - sum(f.plants for f in self.fewer)

    @property
    def came_in(self) -> float:
        """Water topped up, or rained in on average [L]."""
        return sum(w.litres for w in self.water)

    @property
    def place(self) -> str:
        return f"{self.column} {self.tier}"

    @property
    def vessel(self) -> Vessel:
        return self.garden.vessels[self.garden.tier(self.column, self.tier).vessel]

    @property
    def first_pick(self) -> date:
        return min(self.picks)

    @property
    def last_pick(self) -> date:
        return max(self.picks)

    @property
    def grams(self) -> float | None:
        """All that was picked [g]; None unless every pick was weighed."""
        masses = [g for _, g in self.picks.values() if g is not None]
        return sum(masses) if masses and len(masses) == len(self.picks) else None

    @property
    def picked(self) -> int:
        """Plants picked; all of them where picks were weighed but not counted."""
        counts = [p for p, _ in self.picks.values()]
        if self.garden.crops[self.crop].cuts > 1 or any(c is None for c in counts):
            return self.left
        return min(int(sum(c or 0 for c in counts)), self.left)

    @property
    def whole(self) -> bool:
        """Whether every plant was picked, or every cut made."""
        crop = self.garden.crops[self.crop]
        if crop.cuts > 1:
            return len(self.picks) >= crop.cuts
        return sum(p or 0 for p, _ in self.picks.values()) >= self.left

    def end_level(self) -> float | None:
        """Left at the last pick [L].

        The first reading on or after it, when nothing drinks any more, else the last one shortly
        before.
        """
        after = [r for r in self.levels if r.date >= self.last_pick]
        if after:
            return min(after, key=lambda r: (r.date, r.line)).litres
        near = [r for r in self.levels if r.date >= self.last_pick - NEAR]
        return max(near, key=lambda r: (r.date, r.line)).litres if near else None

    def end_of(self, readings: Sequence[tuple[date, float]]) -> float | None:
        """The last value near or after the last pick."""
        late = [(d, v) for d, v in readings if d >= self.last_pick - NEAR]
        return max(late)[1] if late else None

    def start_ec(self) -> float | None:
        """Measured strength of the fill, else the plan's, else None."""
        early = [(d, v) for d, v in self.ecs if d <= self.transplant + NEAR]
        return min(early)[1] if early else self.fill_ec


def finished(season: Season) -> list[Stand]:
    """The finished stands of a season, by transplanting."""
    by_place: dict[tuple[str, int], list[Entry]] = {}
    for entry in season.log.entries:
        if entry.column and entry.tier is not None:
            by_place.setdefault((entry.column, entry.tier), []).append(entry)
    wide = [e for e in season.log.entries if e.tier is None and e.what in _WIDE]
    whole_garden = [e for e in wide if not e.column]
    out = []
    for (column, tier), entries in by_place.items():
        more = [e for e in wide if e.column == column] + whole_garden
        # As in `log.happenings`: the vessels above keep rain off all but the topmost.
        more = [e for e in more if tier == 1 or e.what != amounts.RAIN]
        out += _Follow(season, column, tier).run([*entries, *more])
    return sorted(out, key=lambda s: (s.transplant, s.column, s.tier))


# What may be told of a whole column, or of the garden, and bears on a stand.
_WIDE = (amounts.FAILED, amounts.RAIN, amounts.MOVED, amounts.SHADED)


# Order of events on one day; a level read on the day of transplanting is of the new fill.
_STEP = {amounts.PICKED: 2, amounts.FAILED: 3, amounts.CLEARED: 4, amounts.TRANSPLANTED: 5}


class _Follow:
    """The stands of one tier, entry by entry."""

    def __init__(self, season: Season, column: str, tier: int) -> None:
        self.season, self.column, self.tier = season, column, tier
        self.stand: Stand | None = None
        self.batch: Batch | None = None
        self.done: list[Stand] = []
        plan = season.plan
        self.batches = sorted(
            (
                b
                for b in (plan.batches if plan else ())
                if (b.column, b.tier) == (column, tier) and b.state != FAILED
            ),
            key=lambda b: b.transplant,
        )

    def run(self, entries: Sequence[Entry]) -> list[Stand]:
        moved = {e.date for e in entries if e.what == amounts.TRANSPLANTED}

        def order(e: Entry) -> tuple[date, int, int]:
            measured = e.what in (amounts.LEVEL, amounts.EC, amounts.PH)
            step = 6 if measured and e.date in moved else _STEP.get(e.what, 1)
            return e.date, step, e.line

        for entry in sorted(entries, key=order):
            self._take(entry)
        self._close()
        return self.done

    def _take(self, e: Entry) -> None:
        if e.what == amounts.TRANSPLANTED:
            self._close()
            batch = self._planned(e.date)
            crop = e.crop or (batch.crop if batch else "")
            if crop in self.season.garden.crops:
                holes = self.season.garden.tier(self.column, self.tier).plants
                self._open(crop, int(e.amount or holes), e.date, batch)
            return
        if self.stand is None or self._is_next(e.date):
            batch = self._planned(e.date)
            if batch is not None and batch is not self.batch:
                self._close()
                self._open(batch.crop, batch.plants, batch.transplant, batch)
        stand = self.stand
        if stand is None:
            return
        if e.what == amounts.FAILED:
            self.stand = None
        elif e.what == amounts.CLEARED:
            stand.cleared = e.date
            self._close()
        elif e.what == amounts.PICKED:
            pick = stand.picks.setdefault(e.date, [None, None])
            pick[1 if e.unit == amounts.GRAMS else 0] = e.amount
        elif e.what == amounts.RIPE:
            stand.ripe = min(stand.ripe or e.date, e.date)
        elif e.what in (amounts.MOVED, amounts.SHADED):
            stand.elsewhere = True
        elif e.amount is not None:
            if e.what == amounts.LEVEL:
                in_litres = e.unit == amounts.LITRES
                litres = e.amount if in_litres else float(stand.vessel.volume(e.amount))
                stand.levels.append(Reading(e.date, litres, e.line))
            elif e.what in (amounts.THINNED, amounts.LOST):
                stand.fewer.append(Fewer(e.date, int(e.amount), False))
            elif e.what in (amounts.TOPPED, amounts.RAIN):
                came = e.amount
                if e.unit == amounts.MM:
                    came = rain_in(stand.vessel.mouth_cm2, e.amount)[0]
                stand.water.append(Water(e.date, came, 0.0, e.line))
            elif e.what == amounts.EC:
                stand.ecs.append((e.date, e.amount))
            elif e.what == amounts.PH:
                stand.phs.append((e.date, e.amount))

    def _is_next(self, day: date) -> bool:
        """Whether the plan has begun the next batch by ``day`` and this one is over."""
        return self.batch is not None and day > self.batch.clear and self._planned(day) is not None

    def _planned(self, day: date) -> Batch | None:
        """The plan's batch that stands in the tier on ``day``, or was to be cleared shortly."""
        begun = [b for b in self.batches if b.transplant <= day <= b.clear + AFTER]
        near = [b for b in self.batches if abs(b.transplant - day) <= NEAR]
        return begun[-1] if begun else near[0] if near else None

    def _open(self, crop: str, plants: int, day: date, batch: Batch | None) -> None:
        fits = batch is not None and batch.crop == crop
        self.batch = batch
        self.stand = Stand(
            self.season.garden,
            self.column,
            self.tier,
            crop,
            plants,
            day,
            batch.picks[0].date if fits and batch and batch.picks else None,
            batch.fill_ec if fits and batch else None,
        )

    def _close(self) -> None:
        stand, self.stand = self.stand, None
        if stand is not None and stand.picks and (stand.cleared or stand.whole):
            self.done.append(stand)
