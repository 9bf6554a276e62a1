"""A grower who plans again every week, from what has happened and the weather there was.

A real year is lived up to a Monday by the sensible grower, all that was done, what died, and the
level of each tier on that morning go into a log, and the season is planned again from it, with the
daily weather of the days that have passed in place of the climate's; then the new plan is lived on.
Levels are read with an error of a quarter of an inch (standard deviation).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np

from scheduler.base.faults import DrylineError
from scheduler.batches.seedlings import seedling_days
from scheduler.garden.model import Garden, Site
from scheduler.lived.doubt import NONE
from scheduler.lived.grower import SENSIBLE
from scheduler.lived.growing import WELL
from scheduler.lived.laid import FAR, lay_out
from scheduler.lived.live import Life
from scheduler.lived.spans import without_spans
from scheduler.log.model import HEADER, read_log
from scheduler.plans.model import FAILED, PLANNED, SOWN, Batch, Plan
from scheduler.replanning.rebalance import rebalance
from scheduler.replanning.replaced import Planting, replaced
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases.promising import YearsOf
from scheduler.years.expected import without_years
from scheduler.years.purposes import some
from scheduler.years.weather_years import WeatherYears

READING_CM = 2.54 / 4  # standard deviation of a measured level
SPLICED = ("tmin", "tmax", "et0", "dli", "sun", "air")


class Noted(Life):
    """A life of one year in which picks, deaths and the levels of Mondays are noted.

    Attributes
    ----------
    taken_on : plants that a pick took, by batch and day; died_on : day, by batch; levels : by day
        and tier, the batch there and its litres.
    """

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self.taken_on: dict[tuple[int, int], int] = {}
        self.died_on: dict[int, int] = {}
        self.levels: dict[tuple[int, int], tuple[int, float]] = {}
        self.day = 0

    def _morning(self, d: int) -> None:
        self.day = d
        super()._morning(d)
        for t in np.flatnonzero(self.now[:, 0] < self.none).tolist() if d % 7 == 0 else ():
            if not self.over[t, 0]:
                self.levels[d, t] = int(self.now[t, 0]), float(self.litres[t, 0])

    def _finish(self, where: Any, why: int) -> None:
        if why != WELL:
            for t in np.flatnonzero(where[:, 0]).tolist():
                self.died_on.setdefault(int(self.now[t, 0]), self.day)
        super()._finish(where, why)

    def _picked(self, t: int, d: int, take: Any, grams: Any, again: Any) -> None:
        if take[0]:
            key = int(self.now[t, 0]), d
            self.taken_on[key] = self.taken_on.get(key, 0) + int(take[0])
        super()._picked(t, d, take, grams, again)


def weekly(
    garden: Garden, plan: Plan, years: WeatherYears, number: int, settings: Settings
) -> dict[str, float]:
    """One real year by who plans again each week.

    Parameters
    ----------
    garden : of the mean year; number : of the year.

    Returns
    -------
    weekly, the share of the wish met; again, weeks in which something was searched for; taken, in
    which the new plan was taken; changed, batches changed in them (`_changed`), of so many batches;
    failed, weeks in which no plan could be made.
    """
    year, season = some(replace(years, names=()), [number]), garden.season
    ruler = np.random.default_rng([settings.seed, number])
    lines: list[tuple[int, str]] = []
    years_of_plan = plan.years
    before = told = made = taken = changed = failed = 0
    for today in range(7, season.days, 7):
        life = _lived(garden, plan, year, before)
        life.run()
        lines += [*_told(life, garden, told, today), *_measured(life, garden, today, ruler)]
        told = today
        known = _spliced(garden, year, today)
        day = season.date(today)
        ahead = None
        if years_of_plan is not None:
            count, worth = years_of_plan.planned, years_of_plan.worth
            ahead = YearsOf(known, count, settings.seed, day, worth=worth)
            known = ahead.garden
        text = "\n".join([HEADER, *(line for _, line in sorted(lines))]) + "\n"
        log = read_log(text.encode(), "log.csv", garden)
        try:
            old = without_spans(plan)
            done = rebalance(known, old, log, day, settings, complete=True, ahead=ahead)
        except DrylineError as e:
            failed += 1
            print(f"{year.first + timedelta(days=today)}: {e}", flush=True)
            break
        made += done.searched
        if done.searched and not done.stay:
            taken += 1
            changed += _changed(garden, plan, done.plan)
        if not done.stay:
            plan, before = done.plan, today
    share = _lived(garden, plan, year, before).run().share
    return {
        "weekly": round(float(share[0]), 4),
        "again": made,
        "taken": taken,
        "changed": changed,
        "batches": len(plan.batches),
        "failed": failed,
    }


def _lived(garden: Garden, plan: Plan, year: WeatherYears, before: int) -> Noted:
    """The year with a plan: crops drink as they do, whatever was measured of them."""
    batches = [replace(b, demand_factor=1.0) for b in plan.batches]
    return Noted(lay_out(garden, batches, year, NONE, 0), SENSIBLE, before)


def _changed(garden: Garden, old: Plan, new: Plan) -> int:
    """Batches dropped or added, in another tier, or with a day outside what the calendar told.

    Another crop in a planned one's place is one change (`replanning.replaced`).

    It tells the day of sowing, and from when until when seedlings are transplanted. What was done
    on another day than planned is no change.
    """
    before = {b.id: b for b in old.batches if b.state in (PLANNED, SOWN)}
    after = {b.id: b for b in new.batches}
    added = [b for b in new.batches if b.state == PLANNED and b.id not in before]
    dropped = [b for name, b in before.items() if b.state == PLANNED and name not in after]
    out = len(added) - replaced(*([_planting(garden, b) for b in x] for x in (dropped, added)))
    for name, b in before.items():
        now = after.get(name)
        if now is None or (now.crop, now.column, now.tier) != (b.crop, b.column, b.tier):
            out += 1
        elif now.state in (PLANNED, SOWN):
            out += _outside(garden, b, now)
    return out


def _planting(garden: Garden, b: Batch) -> Planting:
    return Planting(b.crop, (b.column, b.tier), garden.season.index(b.transplant))


def _outside(garden: Garden, b: Batch, now: Batch) -> bool:
    if now.state == PLANNED and now.sow != b.sow:
        return True
    until = seedling_days(garden, b.crop, b.sow)[1]
    return not b.transplant <= now.transplant <= max(until or b.transplant, b.transplant)


def _measured(
    life: Noted, garden: Garden, today: int, ruler: np.random.Generator
) -> list[tuple[int, str]]:
    """Lines of the log for the levels on a Monday morning, of what was planted before it."""
    tiers = [(c.name, t) for c in garden.columns for t in c.tiers]
    out = []
    for t, (column, tier) in enumerate(tiers):
        b, litres = life.levels.get((today, t), (life.none, 0.0))
        if b == life.none or life.start[b, 0] >= today:
            continue
        vessel = garden.vessels[tier.vessel]
        depth = float(vessel.depth(litres)) + ruler.normal(0.0, READING_CM)
        depth = min(max(depth, 0.0), float(vessel.depth(vessel.fill_l)))
        day = garden.season.date(today)
        out.append((today, f"{day},level,{column},{tier.number},,{depth:.1f},cm,"))
    return out


def _told(life: Noted, garden: Garden, first: int, last: int) -> list[tuple[int, str]]:
    """Lines of the log for what was done on the days from ``first`` to before ``last``."""
    out: list[tuple[int, str]] = []

    def tell(day: int, what: str, amount: str, b: int) -> None:
        if first <= day < last:
            batch = life.it.batches[b]
            place = f"{batch.column},{batch.tier}"
            count, unit = [*amount.split(" "), ""][:2]
            line = f"{garden.season.date(day)},{what},{place},{batch.crop},{count},{unit},"
            out.append((day, line))

    for b, batch in enumerate(life.it.batches):  # in the order in which they are lived
        tell(int(life.sown[b, 0]), "sown", f"{batch.cells} cells", b)
        tell(int(life.start[b, 0]), "transplanted", f"{batch.plants} plants", b)
        for k in np.flatnonzero(life.pick_day[b, :, 0] < FAR).tolist():
            day, grams = int(life.pick_day[b, k, 0]), int(life.pick_grams[b, k, 0])
            if garden.crops[batch.crop].cuts == 1:
                tell(day, "picked", f"{life.taken_on[b, day]} plants", b)
            tell(day, "picked", f"{grams} g", b)
        if b in life.died_on and batch.state != FAILED:
            tell(life.died_on[b], "failed", "", b)
        tell(int(life.clear[b, 0]), "cleared", "", b)
    return out


def _spliced(garden: Garden, year: WeatherYears, days: int) -> Garden:
    """The garden with the year's weather up to a day."""
    weather = without_years(garden).site.weather.copy()
    rows = weather.index[:days]
    for name in SPLICED:
        weather.loc[rows, name] = getattr(year, name)[0, :days]
    weather.loc[rows, "tmean"] = (weather.loc[rows, "tmin"] + weather.loc[rows, "tmax"]) / 2
    s = garden.site
    return replace(garden, site=Site(s.latitude, s.elevation, weather, s.past, s.coastal))
