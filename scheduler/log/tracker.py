"""The plan's batches with what is known of them, and what that says of a tier on a day."""

from __future__ import annotations

from datetime import date, timedelta

from scheduler.base.faults import Fault
from scheduler.garden.model import Garden
from scheduler.log.model import Log
from scheduler.log.tracks import Place, Track, known_track
from scheduler.plans.model import Pick, Plan


class Tracker:
    """Goes through the log entry by entry. ``faults`` holds every entry that cannot be true."""

    def __init__(self, garden: Garden, plan: Plan, log: Log, on: date, complete: bool) -> None:
        self.garden, self.plan, self.log, self.on = garden, plan, log, on
        self.complete = complete
        self.faults: list[Fault] = []
        self.out: dict[Place, date] = {}
        self.told_elsewhere: set[str] = set()  # sown for another tier than they are planned for now
        self.covered: set[Place] = set()  # against rain, as the log goes on
        self.pests: list[tuple[Place, str, date]] = []  # place, family that waits, since when
        self.tracks = [known_track(batch, plan) for batch in plan.batches]
        self._at: dict[Place, list[Track]] = {}
        self._placed = 0  # of the tracks, which are added to and never taken from
        for t in self.tracks:  # a failed tier is taken as cleaned on the day planned for it
            if t.failed is not None and t.batch.clear < on and not complete:
                t.cleared = t.batch.clear

    def at(self, place: Place) -> list[Track]:
        """The tracks of one tier, in the order of all."""
        for t in self.tracks[self._placed :]:
            self._at.setdefault(t.place, []).append(t)
        self._placed = len(self.tracks)
        return self._at.get(place, [])

    def sown_on(self, t: Track) -> date | None:
        """When a batch was sown: logged, or as planned; None: not yet."""
        if t.sown is not None:
            return t.sown
        moved = self.moved_on(t)
        if moved is not None:
            if t.batch.sow < moved:
                return t.batch.sow
            return moved - timedelta(days=round(self.garden.crops[t.batch.crop].nursery_days))
        planned = t.batch.sow < self.on and not self.complete and not t.extra
        return t.batch.sow if planned else None

    def moved_on(self, t: Track) -> date | None:
        """When a batch was transplanted: logged, or as planned; None: not yet."""
        if t.moved is not None or t.lost:
            return t.moved
        planned = t.batch.transplant
        if self.complete or t.extra or planned >= self.on or self._blocked(t):
            return None
        if (
            t.sown is not None
            and t.sown > t.batch.sow
            and not self._fit(t.batch.crop, t.sown, planned)
        ):
            return None
        return planned

    def _fit(self, crop_name: str, sown: date, day: date) -> bool:
        # With arrays, for which a line of the log waits only where it must.
        from scheduler.batches.seedlings import seedling_days

        fit, _ = seedling_days(self.garden, crop_name, sown)
        return fit is not None and fit <= day

    def _blocked(self, t: Track) -> bool:
        """Whether the tier could not be filled as planned because of what the log tells of it."""
        planned = t.batch.transplant
        ready = timedelta(days=self.garden.limits.turnaround_days)
        if any(place == t.place and day <= planned for place, day in self.out.items()):
            return True
        for other in self.at(t.place):
            start = other.moved or other.batch.transplant
            if other is t or start > planned:
                continue
            if other.moved is None and start == planned:
                continue
            if other.cleared is not None:
                blocked = start < planned < other.cleared + ready
            else:
                blocked = (
                    (other.failed is not None and other.failed <= planned)
                    or max(other.picks, default=planned) > planned
                    or (bool(other.picks) and self._unfinished(other))
                    or (other.moved is not None and self._still_there(other, planned))
                )
            if blocked:
                return True
        return False

    def _still_there(self, t: Track, day: date) -> bool:
        """Whether a batch logged as transplanted must be thought to stand on ``day``."""
        late = max(t.moved - t.batch.transplant, timedelta(0)) if t.moved else timedelta(0)
        return t.extra or t.batch.clear + late > day or self._unfinished(t)

    def _unfinished(self, t: Track) -> bool:
        """Whether as many picks are logged as were planned, and plants are left all the same."""
        if self.garden.crops[t.batch.crop].cuts > 1 or len(t.picks) < len(t.batch.picks):
            return False
        counted = [plants for plants, _ in t.picks.values()]
        return None not in counted and sum(n or 0 for n in counted) < t.total

    def in_tier(self, place: Place, day: date) -> Track | None:
        """The batch that stands in a tier on a day, as far as the plan and the log tell."""
        here = []
        for t in self.at(place):
            moved = self.moved_on(t)
            if moved is not None and moved <= day:
                here.append((moved, t))
        if not here:
            return None
        t = max(here, key=lambda pair: pair[0])[1]
        gone = t.cleared is not None and t.cleared < day
        return None if gone else t

    def before_in_tier(self, t: Track) -> Track | None:
        """The batch that stood in the tier before this one, if nothing says that it is gone."""
        mine = self.moved_on(t)
        earlier = [
            (moved, other)
            for other in self.at(t.place)
            if other is not t
            and mine is not None
            and (moved := self.moved_on(other)) is not None
            and moved < mine
        ]
        if not earlier:
            return None
        other = max(earlier, key=lambda pair: pair[0])[1]
        return other if other.cleared is None and other.failed is None else None

    def next_in_tier(self, t: Track) -> date | None:
        """When another batch was transplanted into the tier after this one; None: none was."""
        mine = self.moved_on(t)
        later = [
            moved
            for other in self.at(t.place)
            if other is not t
            and mine is not None
            and (moved := self.moved_on(other)) is not None
            and moved > mine
        ]
        return min(later, default=None)

    def pick(
        self, t: Track, day: date, plants: int | None, grams: int | None, before: list[Pick]
    ) -> Pick:
        """A pick that was made; what was not counted or weighed is estimated."""
        crop = self.garden.crops[t.batch.crop]
        standing = t.total - sum(p.plants for p in before)
        if crop.cuts > 1:
            share = crop.cut_shares[min(len(before), len(crop.cut_shares) - 1)]
            plants = t.total
        else:
            share = 1.0
            if plants is None and grams is not None:
                near = [p for p in t.batch.picks if abs(p.date - day) <= timedelta(days=7)]
                guess = near[0].plants if near else round(grams / crop.fresh_mass)
                plants = min(max(guess, 1), standing)
            elif plants is None:
                near = [p for p in t.batch.picks if abs(p.date - day) <= timedelta(days=7)]
                plants = min(near[0].plants if near else standing, standing)
        if grams is None:
            grown = self._mass_share(t, day) if len(before) == 0 or crop.cuts == 1 else 1.0
            grams = round(plants * crop.fresh_mass * share * grown)
        return Pick(day, plants, grams)

    def _mass_share(self, t: Track, day: date) -> float:
        import numpy as np

        from crops import development
        from scheduler.garden.placed import weather_at

        crop, season = self.garden.crops[t.batch.crop], self.garden.season
        tier = self.garden.tier(*t.place)
        rate = development.daily_rate(crop, weather_at(self.garden, tier), tier.light)
        total = development.running_sum(rate)
        moved = self.moved_on(t) or t.batch.transplant
        grown = total[season.index(day)] - total[season.index(moved)]
        return float(development.harvest_share(np.array(grown)))
