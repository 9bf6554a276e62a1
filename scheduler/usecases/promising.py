"""The years of a garden's plan: to plan with, to choose with, to promise from."""

from __future__ import annotations

import math
import threading
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING

from scheduler.garden.model import Garden
from scheduler.plans.model import Batch, Plan, Promise, YearsTaken
from scheduler.years import CHOOSING, JUDGED, PLANNED

if TYPE_CHECKING:
    from scheduler.usecases.choosing import Made
    from scheduler.years.purposes import Purpose
    from scheduler.years.weather_years import WeatherYears

# Years for which the best that they could bring is reckoned, as far as the time goes; by work.
FORESEEN, FEW = 12, 1


class YearsOf:
    """A garden's years.

    Parameters
    ----------
    garden : of the mean year; count : planning years.
    lost : share of them in which a batch may be lost [0..1]; None: the usual one.
    worth : how the worth of a gram falls, a name of `lived.worth.TASTES`.
    """

    def __init__(
        self,
        garden: Garden,
        count: int,
        seed: int,
        as_of: date | None = None,
        lost: float | None = None,
        worth: str = "flat",
    ) -> None:
        from scheduler.lived.worth import TASTES
        from scheduler.years.expected import expecting, may_kill

        self.worth, self.taste = worth, TASTES[worth]
        self.mean, self.seed, self.as_of, self.count = garden, seed, as_of, count
        self.garden = expecting(garden, count, seed, as_of, lost, may_kill(garden))

    @cached_property
    def planning(self) -> WeatherYears:
        """Years to plan with; of a garden of the mean year those that its plan is lived on in."""
        return self._years(self.count or PLANNED, "plan")

    @cached_property
    def choosing(self) -> WeatherYears:
        """Years to choose between plans with."""
        return self._years(CHOOSING, "choose")

    @cached_property
    def judging(self) -> WeatherYears:
        """Years that had no part in a plan."""
        return self._years(JUDGED, "promise")

    def _years(self, count: int, purpose: Purpose) -> WeatherYears:
        from scheduler.years.purposes import years_for

        return years_for(self.mean, count, self.seed, purpose, self.mean.site.past, self.as_of)

    def _columns(self, batches: Sequence[Batch]) -> int | None:
        """How many columns are lived; None: all."""
        from scheduler.plans.part import lived_part

        part = lived_part(self.mean, batches)[0]
        return None if part is self.mean else len(part.columns)

    def grams(self, batches: Sequence[Batch]) -> float:
        """Worth of what batches bring to the table [weighted g], mean of the years to choose with.

        What lies before ``as_of`` has happened.
        """
        from scheduler.lived.doubt import Doubt
        from scheduler.lived.live import live, worth_of
        from scheduler.plans.part import lived_part
        from scheduler.schedule.assemble import wish_total

        today = 0 if self.as_of is None else self.mean.season.index(self.as_of)
        part, mine = lived_part(self.mean, batches)
        lived = live(part, mine, self.choosing, doubt=Doubt(), seed=self.seed, today=today)
        return float(worth_of(part, lived, self.taste).mean()) * wish_total(self.mean)

    def again(self, old: Plan, new: Plan) -> Plan:
        """The plan of a season under way with what it promises; what has happened is counted in."""
        from scheduler.lived.promise import promised
        from scheduler.lived.spans import spanned

        if old.years is None or self.as_of is None:
            return new
        reachable = 1.0 if old.promise is None else old.promise.reachable
        today = self.mean.season.index(self.as_of)
        judged = self.judging
        promise = promised(self.mean, new.batches, judged, reachable, self.seed, today)
        years = replace(
            old.years, judged=judged.count, real=judged.real, chosen_with=self.choosing.count
        )
        years = replace(years, columns=self._columns(new.batches), sample=None)
        batches = spanned(self.mean, new.batches, self.choosing, self.seed, today)
        return replace(new, promise=promise, years=years, batches=batches)

    def from_today(self, plan: Plan, planned: int, reachable: float) -> Plan:
        """A plan made from what stands, with what it promises: what stands is counted in."""
        source = "past years" if self.judging.real else "around the climate table"
        before = replace(
            plan,
            years=YearsTaken(source, planned, 0, 0, self.seed, worth=self.worth),
            promise=Promise(0.0, 0.0, 0.0, reachable, self.seed),
        )
        return self.again(before, plan)

    def foreseen(
        self, plan: Plan, seconds: float, nodes: int | None, stop: threading.Event | None
    ) -> Plan:
        """The plan with what some of the years could bring at most to who knew their weather."""
        from scheduler.lived.doubt import Doubt
        from scheduler.search.foreseen import foreseen

        if plan.promise is None:
            return plan
        judged = self.judging
        # Evenly spaced: real years come first.
        count = FORESEEN if nodes is None else FEW
        which = list(range(0, judged.count, max(judged.count // count, 1)))
        found = foreseen(self.mean, judged, which, seconds, Doubt(), self.seed, stop, nodes)
        most = tuple(math.ceil(share * 1e4 - 1e-6) / 1e4 for share in found.most.tolist())
        promise = replace(plan.promise, foreseen_years=found.years, foreseen=most)
        return replace(plan, promise=promise)

    def promised(self, plan: Plan, made: Made) -> Plan:
        """The plan with spans and promise, and what the simple rule's plan would bring."""
        from scheduler.lived.promise import promised
        from scheduler.lived.spans import spanned

        judged, season = self.judging, made.season
        real = judged.real
        promise = promised(self.mean, plan.batches, judged, made.reachable, self.seed)
        by_hand = dict(plan.by_hand)
        if season.by_hand is not None and by_hand:
            hand = promised(self.mean, season.by_hand.batches, judged, 1.0, self.seed)
            by_hand["usual"] = hand.usual
        years = YearsTaken(
            "past years" if real else "around the climate table",
            made.years,
            judged.count,
            real,
            self.seed,
            self.choosing.count,
            self._columns(plan.batches),
            self.worth,
            made.sample,
        )
        batches = spanned(self.mean, plan.batches, self.choosing, self.seed)
        return replace(plan, batches=batches, promise=promise, years=years, by_hand=by_hand)
