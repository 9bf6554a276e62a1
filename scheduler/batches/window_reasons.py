"""Why a sow date or a transplanting day does not work, with the figures a grower asks for.

`Reasons` takes the reason that `batches.candidates` names for a transplanting day and looks up
what lies behind it; `scheduler.shortfall.window_words` says it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property
from typing import Any

import numpy as np

from crops import development, survival
from crops.crop import Crop
from crops.years import carried_by, lost_at_most, most_killed, most_lost, plain
from scheduler.batches import candidates as c
from scheduler.batches import rules
from scheduler.batches.candidates import Windows, nursery_sum
from scheduler.batches.courses import HORIZON, NEVER
from scheduler.batches.patterns import at_or_after, next_pick_day
from scheduler.batches.rules import BatchRule, Picks
from scheduler.garden.baths import solution_at
from scheduler.garden.model import Garden, Tier
from scheduler.garden.placed import weather_at

WORKS = "works"
NO_TRANSPLANT_DAY = "no work day to transplant"
BEFORE_SEASON = "sow before the season"
NO_SOW_DAY = "no work day to sow"
NOT_AVAILABLE = "tier not available"
RESTS = "family rests"
FORBIDDEN = "never there"
LATE = "season ends first"
DARK = "too dark"
BOLTS = "bolts"
COLD = "killed by cold"
HEAT = "killed by heat"
DRY = "runs dry"
DRY_YEARS = "dry in too many years"
SALTY = "too salty"
NO_PICK_DAY = "no work day to pick"
LONG = "stands too long"
OTHER = "another rule"
CODES = (
    WORKS,
    DARK,
    DRY,
    DRY_YEARS,
    SALTY,
    BOLTS,
    COLD,
    HEAT,
    LATE,
    NO_PICK_DAY,
    NO_TRANSPLANT_DAY,
    NOT_AVAILABLE,
    RESTS,
    FORBIDDEN,
    LONG,
    OTHER,
    BEFORE_SEASON,
    NO_SOW_DAY,
)


@dataclass(frozen=True)
class Why:
    """A reason (one of `CODES`) and its figures.

    Figures, each only where the reason has it: ``dli``, ``dli_needed`` [mol m-2 d-1];
    ``lost``, ``dry_share``, ``most_lost``, ``killed_share``, ``most_killed`` [0..1],
    ``fill`` [mS/cm]; ``dry``, ``ready``, ``pick``, ``fit``, ``first``, ``last``, ``season_start``,
    ``season_end``, ``until`` (dates);
    ``days_before_ready``, ``days_after_pick``, ``margin``, ``days_late``, ``bolting_days``,
    ``bolting_allowed``, ``slow_allowed``, ``most_days`` [d]; ``heat``, ``cold`` [degC],
    ``daylength``, ``full_daylength`` [h]; ``family``;
    ``first_death``, ``last_death`` (dates, in the years in which it dies); ``not_white``, of its
    vessel;
    ``partly``, where some bolting days count by a part;
    ``away``, ``spans`` (tuples of (first, last) dates); ``weekdays`` (Monday 0); ``rule``, a name.
    """

    code: str
    figures: Mapping[str, Any] = field(default_factory=dict)


class Reasons:
    """Reasons of one crop in one kind of tier."""

    def __init__(self, garden: Garden, crop: Crop, tier: Tier, window: Windows) -> None:
        self.garden, self.crop, self.tier, self.w = garden, crop, tier, window
        self.season = garden.season
        self.weather = weather = weather_at(garden, tier)
        self.light = development.running_sum(weather["dli"].to_numpy() * tier.light)
        self.bolting = development.bolting_days(crop, weather)
        next_day = next_pick_day(garden.season)
        self.pick = at_or_after(next_day, window.ready)  # first pick day once it is ready
        self._fit: np.ndarray | None = None
        self._begins = self.season.index(garden.first)

    def of(self, i: int) -> Why:
        """Why transplanting on day ``starts[i]`` works or not."""
        known = {
            c.OK: self._works,
            c.NO_SEEDLING: self._no_seedling,
            c.NOT_AVAILABLE: self._closed,
            c.RESTS: self._rests,
            c.FORBIDDEN: self._never,
            c.LATE: self._late,
            c.BOLTS: self._bolts,
            c.KILLED: self._killed,
            c.DARK: self._dark,
            c.DRY: self._dry,
            c.DRY_YEARS: self._dry_years,
            c.SALTY: self._salty,
            c.NO_DAY: self._no_day,
        }
        reason = self.w.reason[i]
        return known[reason](i) if reason in known else Why(OTHER, {"rule": reason})

    def no_transplant(self, fit: int) -> Why:
        """Why seedlings that are fit on day ``fit`` find no day to be transplanted."""
        last = fit + int(self.crop.nursery_wait)
        if last > self.season.days - 1:  # fit past the last work day
            figures = {"season_end": self.season.end}
            return Why(LATE, figures | ({"fit": self._date(fit)} if fit < NEVER else {}))
        return Why(NO_TRANSPLANT_DAY, self._no_work(fit, last))

    def _date(self, index: int) -> date:
        return self.season.date(int(index))

    def _works(self, i: int) -> Why:
        ready = int(self.w.ready[i])  # picked young, it may never come to be ripe
        return Why(WORKS, {"ready": self._date(ready)} if ready < NEVER else {})

    def _no_seedling(self, i: int) -> Why:
        """Sown too early in the year, or not sown because nobody was there."""
        start = int(self.w.starts[i])
        if self._fit is None:
            days = np.arange(self._begins, self.season.days)
            self._fit = development.first_reach(nursery_sum(self.garden, self.crop), days)
        wait = int(self.crop.nursery_wait)
        fits = np.flatnonzero((self._fit <= start) & (self._fit + wait >= start))
        fits = fits[fits + self._begins < start] + self._begins
        if self._fit[0] > start:
            return Why(BEFORE_SEASON, {"season_start": self.garden.first})
        if not len(fits):  # a cold spell: no sow day, work day or not, gives this age
            return Why(NO_SOW_DAY)
        return Why(NO_SOW_DAY, self._no_work(int(fits[0]), int(fits[-1])))

    def _closed(self, i: int) -> Why:
        spans = tuple((s.start, s.end) for s in self.tier.available)
        return Why(NOT_AVAILABLE, {"spans": spans})

    def _rests(self, i: int) -> Why:
        until = max(r.until for r in self.tier.rests if r.family == self.crop.family)
        return Why(RESTS, {"family": self.crop.family, "until": until})

    def _never(self, i: int) -> Why:
        never = [n for n in self.tier.never if self.crop.name in n.crops]
        return Why(FORBIDDEN, {"spans": tuple((n.start, n.end) for n in never)})

    def _late(self, i: int) -> Why:
        start, ready, end = int(self.w.starts[i]), int(self.w.ready[i]), self.season.days - 1
        # Where it would be ready in time with light enough, the light is what to change.
        mean = self._mean(start, end)
        if mean < self.crop.dli_min and development.first_reach(self._lit, start) <= end:
            return self._dark_at(mean)
        figures: dict[str, Any] = {"season_end": self.season.end}
        if ready < NEVER:
            figures |= {"ready": self._date(ready), "days_late": ready - end}
        return Why(LATE, figures)

    @cached_property
    def _lit(self) -> np.ndarray:
        """Running sum of progress with all the light the crop asks for."""
        weather = plain(self.weather).assign(dli=self.crop.dli_target)
        return development.running_sum(development.daily_rate(self.crop, weather, 1.0))

    def _bolts(self, i: int) -> Why:
        return self._bolts_by(i, int(self.w.ready[i]), "ready")

    def _killed(self, i: int) -> Why:
        first = self.w.grown.young
        return self._killed_by(i, int((self.w.ready if first is None else first)[i]))

    def _killed_by(self, i: int, pick: int) -> Why:
        """Cold or heat kills it before ``pick``: in what share of the years, and when."""
        weather = self.weather
        dead, cold = self._dead[0][:, i], self._dead[1][:, i]
        dies = dead <= pick
        figures: dict[str, Any] = {
            "first_death": self._date(dead[dies].min() - 1),
            "last_death": self._date(dead[dies].max() - 1),
        }
        if carried_by(weather) is not None:
            figures["killed_share"] = float(dies.mean())
            figures["most_killed"] = most_killed(weather)
        if 2 * cold[dies].sum() >= dies.sum():
            return Why(COLD, figures)
        white = self.garden.vessels[self.tier.vessel].wall == "white"
        return Why(HEAT, figures | {"not_white": not white})

    @cached_property
    def _dead(self) -> tuple[np.ndarray, np.ndarray]:
        """First morning on which each start is dead, and whether of cold [years, starts]."""
        low, high = development.extremes(self.weather)
        crop, starts, solution = self.crop, self.w.starts, solution_at(self.garden, self.tier)
        dead = survival.killed_from(crop, low, high, starts, solution)
        mild = survival.harm(replace(crop, chill_limit=-np.inf), solution, low)
        return dead, dead < survival.harmed_from(mild, starts)

    def _bolting_days(self, start: int, day: int) -> int:
        """Bolting days before ``day``, rounded up: in the years that may be lost no fewer."""
        counts = np.sort(self.bolting[:, start:day].sum(axis=1))
        count = counts[-1 - lost_at_most(self.weather, len(counts))]
        return math.ceil(float(count) - 1e-9)

    @cached_property
    def _hot(self) -> development.NDArrayInt:
        """Whether each day is hot for the crop, in each year that the weather carries."""
        return development.hot_in_years(self.crop, self.weather)

    def _bolts_by(self, i: int, day: int, named: str) -> Why:
        start, crop, weather = int(self.w.starts[i]), self.crop, self.weather
        stood = slice(start, day)
        figures: dict[str, Any] = {
            "bolting_days": self._bolting_days(start, day),
            "bolting_allowed": int(crop.bolts_after),
            named: self._date(day),
        }
        if crop.bolts_latest > crop.bolts_after:
            figures["slow_allowed"] = int(crop.bolts_latest)
        partly = bool((self.bolting[:, stood] % 1 > 0).any())
        if partly and not crop.bolt_full_daylength:
            figures["partly"] = True
        # Where either heat or long days make it bolt, only what occurred is named.
        if crop.bolt_heat is not None and (crop.bolt_both or partly or self._hot[:, stood].any()):
            figures["heat"] = crop.bolt_heat
        if crop.bolt_daylength is not None and crop.bolt_full_daylength:
            figures["full_daylength"] = crop.bolt_full_daylength
        elif crop.bolt_daylength is not None:
            hours = weather["daylength"].to_numpy()[stood]
            if crop.bolt_both or (hours > crop.bolt_daylength).any():
                figures["daylength"] = crop.bolt_daylength
        if not figures.keys() & {"heat", "daylength", "full_daylength"}:
            figures["cold"] = crop.bolt_cold
        return Why(BOLTS, figures)

    def _mean(self, first: int, last: int) -> float:
        """Mean DLI in the tier from ``first`` to ``last``, both included."""
        return float((self.light[last + 1] - self.light[first]) / (last + 1 - first))

    def _dark(self, i: int) -> Why:
        return self._dark_at(float(self.w.light[i]))

    def _dark_at(self, mean: float) -> Why:
        return Why(DARK, {"dli": mean, "dli_needed": self.crop.dli_min})

    def _dry(self, i: int) -> Why:
        dry, ready, pick = int(self.w.dry[i]), int(self.w.ready[i]), int(self.pick[i])
        figures = {
            "dry": self._date(dry),
            "ready": self._date(ready),
            "days_before_ready": ready - dry,
            "margin": self.garden.limits.dry_margin_days,
        }
        if pick < NEVER:
            figures |= {"pick": self._date(pick), "days_after_pick": dry - pick}
        return Why(DRY, figures)

    def _dry_years(self, i: int) -> Why:
        most = most_lost(self.weather)
        return Why(DRY_YEARS, {"dry_share": float(self.w.amount[i]), "most_lost": most})

    def _salty(self, i: int) -> Why:
        return Why(SALTY, {"lost": float(self.w.amount[i]), "fill": self.crop.ec_low})

    def _no_day(self, i: int) -> Why:
        """What keeps the first pick day in the hold from being a pick."""
        start, ready, pick = (int(a[i]) for a in (self.w.starts, self.w.ready, self.pick))
        end = self.season.days - 1
        good = ready + int(self.crop.hold)
        until = int(self.w.until[i])
        if self.tier.available and (ready > until or (pick <= good and pick > until)):
            spans = tuple((s.start, s.end) for s in self.tier.available)
            figures = {"ready": self._date(ready)} if ready < NEVER else {}
            return Why(NOT_AVAILABLE, {"spans": spans, **figures})
        never = any(self.crop.name in n.crops for n in self.tier.never)
        if never and (ready > until or (pick <= good and pick > until)):
            return self._never(i)
        if pick > good or pick > end:
            if good > end:  # ready past the last work day
                late: dict[str, Any] = {"season_end": self.season.end}
                if ready < NEVER:
                    late |= {"ready": self._date(ready), "days_late": ready - end}
                return Why(LATE, late)
            return Why(NO_PICK_DAY, self._no_work(ready, good, picks=True))
        grown, picks = self.w.grown.one(i), Picks(np.array([[pick]]))
        for rule in (r for r in rules.RULES if r is not rules.RIPE):
            ok, figure = rule.ok(grown, picks)
            if not ok[0]:
                return self._breaks(rule, i, pick, float(figure[0]))
        most = HORIZON - max(self.garden.limits.dry_margin_days, 1)
        if pick - start > most:
            return Why(LONG, {"most_days": most, "ready": self._date(ready)})
        return Why(NO_PICK_DAY, self._no_work(ready, min(good, end), picks=True))

    def _breaks(self, rule: BatchRule, i: int, pick: int, figure: float) -> Why:
        """A pick on day ``pick`` breaks a rule."""
        if rule is rules.BOLTING:
            return self._bolts_by(i, pick, "pick")
        if rule is rules.SURVIVAL:
            return self._killed_by(i, pick)
        if rule is rules.DRY:
            return self._dry(i)
        if rule is rules.LIGHT:
            return self._dark_at(figure)
        return Why(OTHER, {"rule": rule.name})

    def _no_work(self, first: int, last: int, picks: bool = False) -> dict[str, Any]:
        """Days ``first`` to ``last``, the days away that lie in them, and the working weekdays.

        ``picks``: where some of them are not for picking, those that are.
        """
        a, b = self._date(first), self._date(last)
        away = tuple((s.start, s.end) for s in self.season.away if s.start <= b and s.end >= a)
        figures: dict[str, Any] = {"first": a, "last": b}
        if away:
            figures["away"] = away
        days = [a + timedelta(days=n) for n in range((b - a).days + 1)]
        if any(not any(s <= d <= e for s, e in away) for d in days):
            work = self.season.work_days
            if picks and self.season.picks_apart:
                figures["pick_days"] = tuple(sorted(work & self.season.pick_days))
            else:
                figures["weekdays"] = tuple(sorted(work))
        return figures
