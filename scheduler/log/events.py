"""Fitting the log's entries to the plan's batches, and naming those that cannot be true."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

from scheduler.base.faults import Fault
from scheduler.log.amounts import (
    CELLS,
    CLEARED,
    FAILED,
    GRAMS,
    LEVEL,
    LITRES,
    PICKED,
    SEEDS,
    SOWN,
    TRANSPLANTED,
    amount_text,
)
from scheduler.log.happenings import HAPPENINGS
from scheduler.log.model import Entry, short
from scheduler.log.tracker import Tracker
from scheduler.log.tracks import Place, Reading, Track, called, place_name
from scheduler.plans import model as plan
from scheduler.words.units import Units

TOO_YOUNG = timedelta(days=10)  # no crop is picked so soon after transplanting
MOST_MASS = 5  # times the catalogue's: more is a slip of the pen; own judgement, no source
CONFIRM = "dryline log: --confirm"
NEAR = timedelta(days=45)  # how far an event may lie from the planned one it stands for

# Order of events on one day.
_STEP = {SOWN: 0, TRANSPLANTED: 0, LEVEL: 1, PICKED: 2, FAILED: 3, CLEARED: 4}


def is_confirmed(note: str) -> bool:
    """Whether a note says that an improbable entry is true."""
    return "confirmed" in re.findall(r"\w+", note.lower())


class Follower(Tracker):
    """Takes in the log entry by entry; ``faults`` holds every one that cannot be true."""

    def run(self) -> None:
        """Take in the whole log."""
        for entry in sorted(self.log.entries, key=lambda e: (e.date, _STEP.get(e.what, 1), e.line)):
            if entry.date > self.on:
                self._fault(
                    entry,
                    "date",
                    str(entry.date),
                    f"a day up to {self.on}; the log tells what has happened",
                )
            elif entry.date < self.garden.season.start:
                self._fault(
                    entry,
                    "date",
                    str(entry.date),
                    f"a day of the season, which begins {self.garden.season.start}",
                )
            elif entry.what in _EVENTS:
                _EVENTS[entry.what](self, entry)

    # One event each.

    def _sown(self, e: Entry) -> None:
        cells = self._cells(e)
        known = [t for t in self.tracks if t.sown == e.date and self._suits(t, e)]
        known = known or self._sown_for_another(e)
        if known:
            return
        open_ = [
            t
            for t in self.tracks
            if t.sown is None
            and t.moved is None
            and not t.lost
            and self._suits(t, e)
            and abs(t.batch.sow - e.date) <= NEAR
            and (t.batch.state != plan.CLEARED)
        ]
        if open_:
            t = min(open_, key=lambda t: (abs(t.batch.sow - e.date), t.batch.sow, t.batch.id))
            t.sown, t.cells = e.date, cells
            return
        if not e.crop:
            self._fault(
                e,
                "crop",
                "",
                f"the crop's name: nothing is planned for {e.column} {e.tier or ''} around then",
            )
            return
        crop = self.garden.crops[e.crop]
        wait = timedelta(days=round(crop.nursery_days))
        made = self._extra(e, e.date, e.date + wait)
        made.sown, made.cells = e.date, cells or made.batch.cells

    def _sown_for_another(self, e: Entry) -> list[Track]:
        """What a plan made since has moved to another tier than the one it was sown for.

        Each line stands for one batch: not for one that another line names by its own tier.
        """
        if self.plan.as_of is None or e.date >= self.plan.as_of or not e.crop:
            return []
        named = {
            (x.column, x.tier)
            for x in self.log.entries
            if x.what == SOWN and x.date == e.date and x.crop == e.crop
        }
        found = [
            t
            for t in self.tracks
            if t.sown == e.date
            and t.batch.crop == e.crop
            and t.place not in named
            and t.batch.id not in self.told_elsewhere
        ]
        if found:
            self.told_elsewhere.add(found[0].batch.id)
        return found[:1]

    def _transplanted(self, e: Entry) -> None:
        assert e.tier is not None
        place = (e.column, e.tier)
        if any(t.place == place and t.moved == e.date for t in self.tracks):
            return
        if not self._free_for(e, place):
            return
        # What was picked, measured, failed or cleared stood already, whether that was told or not.
        begun = [t for t in self.tracks if t.picks or t.readings or t.cleared or t.failed]
        free = [
            t
            for t in self.tracks
            if t.moved is None
            and not t.lost
            and t not in begun
            and (not e.crop or t.batch.crop == e.crop)
            and (self.complete or t.batch.clear > e.date)  # else taken as over by then
            and abs(t.batch.transplant - e.date) <= NEAR
        ]
        here = [t for t in free if t.place == place]
        sown = [t for t in free if (self.sown_on(t) or date.max) < e.date and e.crop]
        found = min(
            here or sown, default=None, key=lambda t: (abs(t.batch.transplant - e.date), t.batch.id)
        )
        if found is None and not e.crop:
            self._fault(
                e,
                "crop",
                "",
                f"the crop's name: nothing is planned for {e.column} {e.tier} around then",
            )
            return
        if found is None:
            wait = timedelta(days=round(self.garden.crops[e.crop].nursery_days))
            found = self._extra(e, e.date - wait, e.date)
        if found.sown is not None and found.sown >= e.date:
            self._fault(e, "date", str(e.date), f"a day after {found.sown}, when it was sown")
            return
        holes = self.garden.tier(*place).plants
        plants = int(e.amount or holes)
        if plants > holes:
            most = f"at most {holes}, the holes of {place_name(place)}"
            self._fault(e, "amount", str(plants), most)
            return
        found.moved, found.place, found.plants = e.date, place, plants
        vessel = self.garden.vessels[self.garden.tier(*place).vessel]
        found.batch = replace(
            found.batch, column=place[0], tier=place[1], fill_litres=round(vessel.fill_l, 3)
        )

    def _free_for(self, e: Entry, place: Place) -> bool:
        """Whether a tier is empty on the day of a transplanting."""
        holds = self.in_tier(place, e.date)
        if holds is None or holds.cleared is not None:
            return True
        if (
            holds.moved is None
            and holds.batch.transplant >= e.date - NEAR
            and (not e.crop or holds.batch.crop == e.crop)
        ):
            # A batch only taken as transplanted: this entry tells when it really was.
            earlier = holds.batch.transplant <= e.date and not holds.picks and not holds.readings
            if earlier and holds.batch.clear > e.date:
                return True
        if holds.batch.clear <= e.date and holds.failed is None:
            holds.cleared = max(holds.batch.clear, max(holds.picks, default=holds.batch.clear))
            return True
        self._fault(e, "tier", place_name(place), f"an empty tier; {called(holds)} is not cleared")
        return False

    def _level(self, e: Entry) -> None:
        t = self._standing(e)
        if t is None or e.amount is None or t.failed is not None:
            return
        vessel = self.garden.vessels[self.garden.tier(*t.place).vessel]
        litres = e.amount if e.unit == LITRES else vessel.volume_at(e.amount)
        t.readings.append(Reading(e.date, litres, e.line))

    def _picked(self, e: Entry) -> None:
        t = self._standing(e)
        if t is None:
            return
        if t.moved is None and e.date - t.batch.transplant < TOO_YOUNG:
            t = self.before_in_tier(t) or t  # picked late; the next was not planted in time then
        crop = self.garden.crops[t.batch.crop]
        if t.failed is not None and t.failed < e.date:
            self._fault(e, "", short(e), f"a tier with plants; {called(t)} failed on {t.failed}")
            return
        before = len(self.faults)
        if (why := self._improbable(e, t)) and not is_confirmed(e.note):
            amount = amount_text(e.amount, e.unit, Units(self.garden.units))
            self._fault(
                e,
                "amount" if why.startswith("at most") else "date",
                amount or short(e),
                f"{why}; if it is true, write 'confirmed' into the note ({CONFIRM})",
            )
        plants = int(e.amount) if e.amount is not None and e.unit not in (GRAMS,) else None
        grams = round(e.amount) if e.amount is not None and e.unit == GRAMS else None
        old = t.picks.get(e.date, (None, None))
        total = t.total
        gone = sum(n or 0 for day, (n, _) in t.picks.items() if day != e.date)
        if crop.cuts == 1 and (gone >= total or (plants or 0) > total - gone):
            left = "none are left" if gone >= total else f"at most {total - gone}, which are left"
            which = f"{left} of the {total} of {called(t)}"
            self._fault(e, "amount", str(plants or "a pick"), which)
            return
        known = [p for p in t.batch.picks if self.plan.as_of and p.date < self.plan.as_of]
        cuts = {*t.picks, e.date} | {p.date for p in known}
        if 1 < crop.cuts < len(cuts):
            self._fault(e, "", short(e), f"at most {crop.cuts} cuts of {called(t)}")
            return
        if len(self.faults) > before:
            return
        t.picks[e.date] = (
            plants if plants is not None else old[0],
            grams if grams is not None else old[1],
        )

    def _improbable(self, e: Entry, t: Track) -> str:
        """What is expected of a pick instead of what hardly can be; empty if it can."""
        moved = self.moved_on(t) or t.batch.transplant
        planned = any(abs(p.date - e.date) < TOO_YOUNG for p in t.batch.picks)
        if e.date - moved < TOO_YOUNG and (not planned or e.date <= moved):
            was = "was transplanted" if t.moved else "was to be transplanted"
            return f"a day from {moved + TOO_YOUNG} on: {called(t)} {was} on {moved}"
        plants = t.total
        most = MOST_MASS * plants * self.garden.crops[t.batch.crop].fresh_mass
        if e.unit == GRAMS and e.amount is not None and e.amount > most:
            shown = amount_text(most, GRAMS, Units(self.garden.units))
            return (
                f"at most {shown} from the {plants} plants of {called(t)}, {MOST_MASS} times "
                "the catalogue's mass"
            )
        return ""

    def _failed(self, e: Entry) -> None:
        if not e.column:
            self._seedlings_failed(e)
            return
        column = next(c for c in self.garden.columns if c.name == e.column)
        numbers = [e.tier] if e.tier is not None else [t.number for t in column.tiers]
        for number in numbers:
            place = (e.column, number)
            t = self.in_tier(place, e.date)
            if t is not None and t.failed is None and t.batch.state != plan.FAILED:
                over = t.batch.clear < e.date and not self.complete and not t.picks
                if not over and t.batch.state != plan.CLEARED:
                    t.failed, t.note = e.date, e.note
                    continue
            if t is not None and (t.failed is not None or t.batch.state == plan.FAILED):
                if t.batch.state != plan.FAILED and e.tier is not None and t.failed != e.date:
                    self._fault(
                        e, "", short(e), f"each failure once; {called(t)} failed on {t.failed}"
                    )
                continue
            self.out[place] = e.date

    def _seedlings_failed(self, e: Entry) -> None:
        here = [
            t
            for t in self.tracks
            if t.batch.crop == e.crop
            and not t.lost
            and (self.sown_on(t) or date.max) <= e.date
            and (self.moved_on(t) or date.max) > e.date
        ]
        if not here:
            self._fault(e, "crop", e.crop, "seedlings of it in the nursery on that day")
        for t in here:
            t.lost = f"seedlings lost on {e.date}" + (f": {e.note}" if e.note else "")

    def _cleared(self, e: Entry) -> None:
        assert e.tier is not None
        place = (e.column, e.tier)
        if self.out.get(place, date.max) <= e.date:
            del self.out[place]
            return
        t = self._standing(e)
        if t is None:
            return
        if t.moved == e.date or self.moved_on(t) == e.date:
            self._fault(e, "", short(e), f"a day after {e.date}, when {called(t)} was transplanted")
            return
        t.cleared = e.date

    # Helpers.

    def _standing(self, e: Entry) -> Track | None:
        """The batch an entry is about; a fault if there is none, or another crop."""
        assert e.tier is not None
        place = (e.column, e.tier)
        t = self.in_tier(place, e.date)
        if t is None:
            if self.out.get(place, date.max) > e.date:
                self._fault(
                    e,
                    "tier",
                    place_name(place),
                    f"a tier with a crop in it; it is empty on {e.date}",
                )
            return None
        if e.crop and e.crop != t.batch.crop:
            self._fault(e, "crop", e.crop, f"{t.batch.crop}, which stands in {place_name(place)}")
            return None
        return t

    def _suits(self, t: Track, e: Entry) -> bool:
        if e.crop and t.batch.crop != e.crop:
            return False
        return not e.column or (t.place[0] == e.column and e.tier in (None, t.place[1]))

    def _cells(self, e: Entry) -> int:
        if e.amount is None:
            return 0
        if e.unit == SEEDS and e.crop:
            return max(1, int(e.amount) // self.garden.crops[e.crop].seeds_per_cell)
        return int(e.amount) if e.unit == CELLS else 0

    def _extra(self, e: Entry, sow: date, transplant: date) -> Track:
        """A batch that the plan does not know."""
        from crops import development  # with arrays: only where it is needed

        crop = self.garden.crops[e.crop]
        number = 1
        while any(t.batch.id == f"x{number:03d}" for t in self.tracks):
            number += 1
        tier = self.garden.tier(e.column, e.tier) if e.column and e.tier else None
        plants = tier.plants if tier else 1
        fill = self.garden.vessels[tier.vessel].fill_l if tier else 0.0
        cells = development.cells_to_sow(crop, plants)
        batch = plan.Batch(
            f"x{number:03d}",
            e.crop,
            e.column,
            e.tier or 0,
            plants,
            cells * crop.seeds_per_cell,
            cells,
            sow,
            transplant,
            (),
            transplant,
            round(fill, 3),
            None,
            None,
        )
        track = Track(batch, (e.column, e.tier or 0), extra=True)
        self.tracks.append(track)
        return track

    def _fault(self, e: Entry, path: str, value: str, expected: str) -> None:
        before = self.plan.as_of is not None and e.date < self.plan.as_of
        unsure = self.log.unsure & {(e.column, e.tier), (e.column, None)}
        if before or (unsure and e.column):
            return  # told and settled in an earlier rebalance, or a line of the tier is unreadable
        self.faults.append(Fault(self.log.file, e.line, path, value or "nothing", expected))


_EVENTS: dict[str, Callable[[Follower, Entry], None]] = {
    SOWN: Follower._sown,
    TRANSPLANTED: Follower._transplanted,
    LEVEL: Follower._level,
    PICKED: Follower._picked,
    FAILED: Follower._failed,
    CLEARED: Follower._cleared,
    **HAPPENINGS,
}
