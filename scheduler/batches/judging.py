"""What the rules about one batch say of many ways to pick it, from many starts, at once.

Ways with the same number of picks are looked at together: a garden has tens of thousands of ways,
and each by itself would take longer to ask than to answer.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from scheduler.batches import rules
from scheduler.batches.courses import HORIZON, NEVER, Course
from scheduler.batches.patterns import Pattern
from scheduler.batches.rules import Grown, Picks
from scheduler.batches.thirst import Starts, dry_share, usable_ml

TOGETHER = 1500  # rows that are looked at together, more or less: more would not fit the cache


@dataclass(frozen=True)
class Asked:
    """One crop in one kind of tier.

    Attributes
    ----------
    course : from each start [m]; bolted, killed : first morning on which it is lost [m].
    first : day of the first pick there may be [m]; light : running sum of the DLI.
    in_years : what it drinks in each of the years, None without; most_lost : share of them in which
        it may run dry [0..1].
    """

    course: Course
    bolted: np.ndarray
    killed: np.ndarray
    first: np.ndarray
    light: np.ndarray
    in_years: Starts | None
    most_lost: float

    @cached_property
    def untouched(self) -> np.ndarray:
        """Level where nothing is picked, on each morning after each start [L, m x (H + 1)]."""
        course = self.course
        return course.litres(course.drunk * course.tier.plants)

    @cached_property
    def untouched_dry(self) -> np.ndarray:
        """Days after each start until it is dry, or `NEVER` [m]."""
        return self.course.first_at_or_below(self.untouched, self.course.vessel.floor_l)

    @cached_property
    def plant_kg(self) -> np.ndarray:
        """Mass of one plant on each morning after each start [kg, m x (H + 1)]."""
        return self.course.plant_kg()


@dataclass(frozen=True)
class Judged:
    """Rows of one way to pick [n].

    Attributes
    ----------
    good : keeps all rules but those named below; figures : columns of the table of candidates.
    grams : of each pick [n, e].
    lasts, carried, sweet : keeps the rule about dry years, about moving, about salt; dry_share, kg,
        lost : the figure of each.
    """

    good: np.ndarray
    figures: dict[str, np.ndarray]
    grams: np.ndarray
    lasts: np.ndarray
    dry_share: np.ndarray
    carried: np.ndarray
    kg: np.ndarray
    sweet: np.ndarray
    lost: np.ndarray

    def part(self, rows: slice) -> Judged:
        figures = {name: values[rows] for name, values in self.figures.items()}
        names = ("lasts", "dry_share", "carried", "kg", "sweet", "lost")
        some = {name: getattr(self, name)[rows] for name in names}
        return Judged(self.good[rows].copy(), figures, self.grams[rows], **some)


def judge(
    ask: Asked,
    offered: Sequence[Pattern],
    able: np.ndarray,
    last_day: np.ndarray,
    light_from: np.ndarray,
) -> Iterator[tuple[int, np.ndarray, Judged]]:
    """Number of each way that some start has, those starts, and what is said of them.

    Parameters
    ----------
    able : starts to look at [m]; last_day : on which a last pick may be [m].
    light_from : day from which a vessel is light, by way and start; written by whom this is told,
        as ways that are needed only where another leaves it heavy come after that one.
    """
    valid = [able & (way.days.max(axis=1) <= last_day) for way in offered]
    together: defaultdict[int, list[int]] = defaultdict(list)
    for number, way in enumerate(offered):
        if way.heavier is None and valid[number].any():
            together[way.days.shape[1]].append(number)
    for numbers in together.values():
        for some in _portions(numbers, [int(valid[n].sum()) for n in numbers]):
            starts = [np.flatnonzero(valid[n]) for n in some]
            at = np.concatenate(starts)
            days, plants = (
                np.concatenate(
                    [getattr(offered[n], name)[s] for n, s in zip(some, starts, strict=True)]
                )
                for name in ("days", "plants")
            )
            whole = _judged(ask, at, days, plants)
            end = 0
            for number, mine in zip(some, starts, strict=True):
                begin, end = end, end + len(mine)
                yield number, mine, whole.part(slice(begin, end))
    for number, way in enumerate(offered):
        if way.heavier is None:
            continue
        needed = valid[number] & (light_from[way.heavier] > offered[way.heavier].days[:, 0])
        at = np.flatnonzero(needed)
        if len(at):
            yield number, at, _judged(ask, at, way.days[at], way.plants[at])


def _portions(numbers: Sequence[int], rows: Sequence[int]) -> Iterator[list[int]]:
    out: list[int] = []
    count = 0
    for number, n in zip(numbers, rows, strict=True):
        out.append(number)
        count += n
        if count >= TOGETHER:
            yield out
            out, count = [], 0
    if out:
        yield out


def _judged(ask: Asked, at: np.ndarray, days: np.ndarray, plants: np.ndarray) -> Judged:
    """Rows: places of their starts [n], days and plants of their picks [n, e]."""
    this = ask.course
    good, figures, grams, now = _pattern(ask, at, days, plants)
    drying = None
    if ask.in_years is not None:
        usable = usable_ml(this.vessel)
        drying = dry_share(ask.in_years, at, days, plants, this.tier.plants, usable)
    now = replace(
        now,
        young=ask.first[at],
        drying=drying,
        most_lost=ask.most_lost,
        killed=ask.killed[at],
    )
    asked = Picks(days)
    good &= rules.keeps(now, asked, but=(rules.SALT, rules.DRY_YEARS, rules.MOVED))
    lasts, dry = rules.DRY_YEARS.ok(now, asked)
    carried, kg = rules.MOVED.ok(now, asked)
    sweet, lost = rules.SALT.ok(now, asked)
    return Judged(good, figures, grams, lasts, dry, carried, kg, sweet, lost)


def _pattern(
    ask: Asked, at: np.ndarray, days: np.ndarray, plants: np.ndarray
) -> tuple[np.ndarray, dict[str, np.ndarray], np.ndarray, Grown]:
    """Ways to pick, as rows.

    Which rows stand no longer than is looked at, columns of the table, the grams of each pick, and
    what the rules about one batch ask.
    """
    this = ask.course
    crop, tier, limits, starts = this.crop, this.tier, this.garden.limits, this.starts[at]
    m, events = days.shape
    after = days - starts[:, None]
    if crop.cuts == 1:
        left = tier.plants - np.cumsum(plants, axis=1).astype(float)
        grams = np.rint(plants * (crop.fresh_mass * this.share_on(after, at))).astype(int)
    else:
        left = np.full((m, events), tier.plants * crop.after_cut)
        shares = np.array(crop.cut_shares[:events])
        grams = np.rint(plants * crop.fresh_mass * shares).astype(int)
    litres = None
    last = after[:, -1]
    if events == 1:  # until its only pick each way from one start drinks alike
        dry = ask.untouched_dry[at]
        end = ask.untouched[at, np.minimum(last, ask.untouched.shape[1] - 1)]
    else:
        drunk = this.drunk[at]
        course = Course(this.garden, crop, tier, starts, this.ready[at], drunk, this.growth[at])
        litres = course.litres(course.tier_drunk(after[:, :-1], left[:, :-1]))
        dry = course.first_at_or_below(litres, course.vessel.floor_l)
        end = litres[np.arange(m), np.minimum(last, litres.shape[1] - 1)]
    good = last <= HORIZON - max(limits.dry_margin_days, 1)  # so that the margin was looked at
    lost = rules.salt_lost(this.garden, crop, this.vessel, end, grams.sum(axis=1))
    dry = np.where(dry < NEVER, starts + dry, NEVER)
    asked = Grown(
        crop, limits.dry_margin_days, starts, this.ready[at], dry, ask.bolted[at], ask.light, lost
    )

    heavy_until = np.zeros(m, int)
    heavy_after = np.zeros(m, bool)
    if limits.lift_kg is not None:
        litres = ask.untouched[at] if litres is None else litres
        day = np.arange(litres.shape[1])[None, :]
        standing = np.full(litres.shape, float(tier.plants))
        if crop.cuts == 1:
            for e in range(events - 1):
                standing = np.where(day >= after[:, e : e + 1], left[:, e : e + 1], standing)
        mass = this.vessel.mass_kg + litres + standing * ask.plant_kg[at]
        empty = this.vessel.mass_kg + litres  # once the last pick is made
        mass = np.where(day >= last[:, None], empty, mass)
        heavy = (mass > limits.lift_kg + 1e-9) & (day >= 1) & (day <= last[:, None])
        # Solution leaves faster than plants gain, so a heavy tier never becomes heavy again; the
        # last heavy day is taken all the same, to be safe if it did.
        width = litres.shape[1]
        final = width - 1 - heavy[:, ::-1].argmax(axis=1)
        heavy_until = np.where(heavy.any(axis=1), final + 1, 0)
        heavy_after = heavy[np.arange(m), np.minimum(last, width - 1)]
        moved = rules.heaviest_moved(this.garden, tier, starts, last, mass)
        asked = replace(asked, moved=moved, most_kg=limits.lift_kg)
    figures = {
        "transplant": starts,
        "first": days[:, 0],
        "last": days[:, -1],
        "dry": dry,
        "heavy_until": starts + heavy_until,
        "heavy_after": heavy_after.astype(int),
        "grams": grams.sum(axis=1),
    }
    return good, figures, grams, asked
