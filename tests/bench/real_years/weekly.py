"""A grower who plans again every week, from what has happened and the weather there was.

A real year is lived up to a Monday by the sensible grower, all that was done goes into a log, and
the season is planned again from that morning, with the daily weather of the days that have passed
in place of the climate's; then the new plan is lived on. Levels are not measured.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np

from scheduler.base.faults import DrylineError
from scheduler.garden.model import Garden, Site
from scheduler.lived.doubt import NONE
from scheduler.lived.grower import SENSIBLE
from scheduler.lived.laid import FAR, lay_out
from scheduler.lived.live import Life
from scheduler.lived.spans import without_spans
from scheduler.log.model import HEADER, read_log
from scheduler.plans.model import PLANNED, Plan
from scheduler.replanning.rebalance import rebalance
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases.promising import YearsOf
from scheduler.years.expected import without_years
from scheduler.years.purposes import some
from scheduler.years.weather_years import WeatherYears


class Noted(Life):
    """A life of one year in which it is noted how many plants each pick took."""

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self.taken_on: dict[tuple[int, int], int] = {}

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
    which the new plan was taken; changed, batches dropped, added or moved in them, of so many
    batches; failed, weeks in which no plan could be made.
    """
    year, season = some(replace(years, names=()), [number]), garden.season
    lines: list[tuple[int, str]] = []
    years_of_plan = plan.years
    before = told = made = taken = changed = failed = 0
    for today in range(7, season.days, 7):
        life = Noted(lay_out(garden, plan.batches, year, NONE, 0), SENSIBLE, before)
        life.run()
        lines += _told(life, garden, told, today)
        told = today
        known = _spliced(garden, year, today)
        day = season.date(today)
        ahead = None
        if years_of_plan is not None:
            ahead = YearsOf(known, years_of_plan.planned, settings.seed, day)
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
            changed += _changed(plan, done.plan)
        if not done.stay:
            plan, before = done.plan, today
    share = Noted(lay_out(garden, plan.batches, year, NONE, 0), SENSIBLE, before).run().share
    return {
        "weekly": round(float(share[0]), 4),
        "again": made,
        "taken": taken,
        "changed": changed,
        "batches": len(plan.batches),
        "failed": failed,
    }


def _changed(old: Plan, new: Plan) -> int:
    """Batches dropped or added, or of another crop, tier, day of sowing or of transplanting.

    What was done on another day than planned is no change.
    """

    def keys(plan: Plan) -> set[tuple[object, ...]]:
        planned = [b for b in plan.batches if b.state == PLANNED]
        return {(b.id, b.crop, b.column, b.tier, b.sow, b.transplant) for b in planned}

    done = {b.id for b in new.batches if b.state != PLANNED}
    gone = {k[0] for k in keys(old) - keys(new)} - done
    return len(gone | {k[0] for k in keys(new) - keys(old)})


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
        tell(int(life.clear[b, 0]), "cleared", "", b)
    return out


def _spliced(garden: Garden, year: WeatherYears, days: int) -> Garden:
    """The garden with the year's weather up to a day."""
    weather = without_years(garden).site.weather.copy()
    rows = weather.index[:days]
    for name in ("tmin", "tmax", "et0", "dli"):
        weather.loc[rows, name] = getattr(year, name)[0, :days]
    weather.loc[rows, "tmean"] = (weather.loc[rows, "tmin"] + weather.loc[rows, "tmax"]) / 2
    s = garden.site
    return replace(garden, site=Site(s.latitude, s.elevation, weather, s.past, s.coastal))
