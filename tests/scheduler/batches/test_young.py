"""Heads that are planned young: offered from the day on which four of five years have them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from lived_case import mean_years, warmer
from verify_case import LETTUCE, day, garden, heads, plan

from crops.development import mass_share
from scheduler.batches.candidates import build
from scheduler.garden.model import Demand, Garden, Limits, Season
from scheduler.log.model import HEADER, read_log
from scheduler.mix.fills import with_solution
from scheduler.plans.model import Pick
from scheduler.replanning.rebalance import rebalance
from scheduler.risk.limit import only
from scheduler.search.solve import solve
from scheduler.solvers.cp_sat import Settings
from scheduler.verify import verify
from scheduler.years.expected import with_years
from scheduler.years.weather_years import WeatherYears


def lettuces(young: float = 0.8) -> Garden:
    made = garden(
        season=Season(day(0), day(90)),
        demands=(Demand("lettuce", ("lettuce",), 400.0, day(0), day(90)),),
        limits=Limits(dry_margin_days=0, young=young),
        crops={"lettuce": LETTUCE},
    )
    return replace(made, columns=made.columns[:1])


def mixed(g: Garden, cooler: int) -> WeatherYears:
    """Five years, of which so many are two degrees cooler: rates 1/20 and 0.875/20."""
    warm, cold = mean_years(g, 1), warmer(mean_years(g, 1), -2.0)
    rows = [warm] * (5 - cooler) + [cold] * cooler
    return replace(
        warm,
        **{
            name: np.concatenate([getattr(r, name) for r in rows])
            for name in ("tmin", "tmax", "et0", "dli")
        },
    )


def shortest(g: Garden) -> int:
    """Days from transplanting to the first pick that is offered."""
    cand, _ = build(g)
    return int((cand.table["first"] - cand.table["transplant"]).min())


def test_from_which_day_on_young_heads_are_offered() -> None:
    """80 % of the mass is reached at progress 0.857 (ln(1 + exp(6.4 (p - 0.3))) / 4.491 = 0.8):
    after 17.1 days at 20 degC, after 19.6 at 18. One cool year of five may lag, two may not."""
    assert shortest(with_years(lettuces(), mixed(lettuces(), 0))) == 18
    assert shortest(with_years(lettuces(), mixed(lettuces(), 1))) == 18
    # The mean of the rates is 0.95 / 20: ripe after 21.05 days; young from 20 on.
    assert shortest(with_years(lettuces(), mixed(lettuces(), 2))) == 20


def test_ripe_only_where_the_grower_says_so_or_no_years_are_looked_at() -> None:
    assert shortest(lettuces()) == 20
    assert shortest(with_years(lettuces(1.0), mixed(lettuces(), 0))) == 20


def test_a_young_head_weighs_what_it_has_and_the_check_agrees() -> None:
    g = with_years(lettuces(), mixed(lettuces(), 0))
    cand, _ = build(g)
    young = cand.table["last"] - cand.table["transplant"] < 20
    assert young.any()
    assert (cand.table["grams"][young] < 400).all()
    made = solve(
        g,
        Settings(time_limit=1, workers=1),
        admit=lambda cand: only(cand, np.flatnonzero(young)),
    ).plan
    made = with_solution(g, made)
    assert verify(g, made).ok, verify(g, made).broken[:3]
    assert made.batches
    assert all(p.young for b in made.batches for p in b.picks)
    # A day before: too young in every year.
    b = next(b for b in made.batches if b.picks[0].young)
    early = replace(b, picks=(replace(b.picks[0], date=day(g.season.index(b.transplant) + 17)),))
    broken = verify(g, replace(made, batches=(early,))).broken
    assert any("picked young" in x.message for x in broken)


def test_planned_again_what_was_planned_young_has_grown_as_it_has() -> None:
    """Planned young for 30 April: ripe by then in the weather as it is known now, 4 x 100 g.

    A day sooner it is still young, with mass_share(19 / 20) of it: 384.7 g.
    """
    g = with_years(lettuces(), mean_years(lettuces(), 5))
    batch = heads("x", "A1", 10)
    for pick, young, grams in ((30, False, 400), (29, True, round(400 * mass_share(0.95).item()))):
        known = replace(batch, picks=(Pick(day(pick), 4, 377, young=True),), clear=day(31))
        log = read_log(HEADER.encode(), "log.csv", g)
        done = rebalance(g, plan(known), log, day(15), Settings(time_limit=1, workers=1)).plan
        (made,) = [b for b in done.batches if b.id == "x"]
        assert [(p.date, p.young, p.grams) for p in made.picks] == [(day(pick), young, grams)]
        assert verify(g, done).ok, verify(g, done).broken
