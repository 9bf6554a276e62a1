"""The replay of a plan over many weather years, against closed forms and the plan itself.

Garden and crops are those of `verify_case`: four plants drink 0.1 L each a day from 12 L of which
1.2 L must stay, so that 10.8 L may go: 27 days at ET0 5.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from scipy.stats import norm
from solver_case import EXAMPLES, example
from verify_case import LETTUCE, batch, day, garden, good_plan, plan

from scheduler.batches.candidates import build
from scheduler.garden.file import load_garden
from scheduler.garden.model import Garden
from scheduler.plans.model import CLEARED, GROWING, Pick, Plan
from scheduler.risk.courses import Replay
from scheduler.risk.dry_chance import dry_chances
from scheduler.risk.replay import replay
from scheduler.schedule import assemble
from scheduler.search.solve import solve
from scheduler.solvers.cp_sat import Settings
from scheduler.years.weather_years import Spread, WeatherYears, spread_years

WATER = Spread(temperature=0.0, et0=0.2, light=0.0, memory=0.0, together=0.0)
MANY = 20_000


def sum_spread(weights: Sequence[float], memory: float) -> float:
    """Standard deviation of a weighted sum of unit deviates with first-order memory."""
    w = np.array(weights)
    lag = np.abs(np.arange(len(w))[:, None] - np.arange(len(w)))
    return float(np.sqrt(w @ memory**lag @ w))


def close_to(chance: float) -> object:
    """Within four standard errors of a share of `MANY` years."""
    return pytest.approx(chance, abs=4 * (chance * (1 - chance) / MANY) ** 0.5)


@pytest.mark.slow
@pytest.mark.parametrize("memory", [0.0, 0.6])
def test_chance_of_running_dry_is_that_of_a_normal_sum(memory: float) -> None:
    """Picked on day 26 after transplanting: dry before it if 25 days take 10.8 L or more.

    The sum of 25 days is 0.4 L * (25 + spread * Z); Z is normal, its deviation from the covariance
    of the days (any text book on sums of correlated variables).
    """
    g = garden()
    made = plan(batch("b1", "lettuce", "A1", 0, 10, [(36, 4)], 36))
    spread = replace(WATER, memory=memory)
    found = replay(g, made, spread_years(g, MANY, spread, seed=1)).batches[0]
    exact = norm.sf((27 - 25) / (0.2 * sum_spread([1.0] * 25, memory)))
    assert exact > 0.01
    assert found.dry == close_to(exact)


@pytest.mark.slow
def test_earlier_picks_and_measured_demand_count() -> None:
    """Two heads go on day 20, two on day 32; the tier drinks a tenth less than the catalogue says.

    Up to the eve, day 31: 0.9 * (0.4 L * 20 + 0.2 L * 11) = 9.18 L.
    """
    g = garden()
    made = plan(batch("b1", "lettuce", "A1", 0, 10, [(30, 2), (42, 2)], 42, demand_factor=0.9))
    spread = replace(WATER, et0=0.3)
    found = replay(g, made, spread_years(g, MANY, spread, seed=2)).batches[0]
    sd = 0.3 * 0.9 * sum_spread([0.4] * 20 + [0.2] * 11, 0.0)
    exact = norm.sf((10.8 - 9.18) / sd)
    assert found.dry == close_to(exact)
    unpicked = replay(
        g,
        plan(batch("b1", "lettuce", "A1", 0, 10, [(42, 4)], 42)),
        spread_years(g, 100, spread, seed=2),
    ).batches[0]
    assert unpicked.dry > 0.9  # so the early pick is what keeps it


@pytest.mark.slow
def test_after_the_first_cut_half_is_drunk() -> None:
    """Chard cut on days 20 and 32 drinks 0.4 L on 20 days, 0.2 L on 11: 10.2 L up to the eve."""
    g = garden()
    made = plan(batch("b1", "chard", "A1", 0, 10, [(30, 4), (42, 4)], 42))
    found = replay(g, made, spread_years(g, MANY, replace(WATER, et0=0.1), seed=3)).batches[0]
    exact = norm.sf((10.8 - 10.2) / (0.1 * sum_spread([0.4] * 20 + [0.2] * 11, 0.0)))
    assert found.dry == close_to(exact)


@pytest.mark.slow
def test_chance_of_not_being_ready_is_that_of_a_normal_sum() -> None:
    """Light of 8 mol where 10 are asked for: 0.8/16 = 0.05 of the way a day, ready after 20 days.

    Picked after 21 days: not ready if 0.05 * (21 + 0.1 * Z) is below 1, Z of deviation sqrt(21).
    """
    weather = garden().site.weather.assign(dli=8.0)
    g = garden(crops={"lettuce": replace(LETTUCE, days_to_harvest=16.0)})
    g = replace(g, site=replace(g.site, weather=weather))
    made = plan(batch("b1", "lettuce", "A1", 0, 10, [(31, 4)], 31))
    spread = replace(WATER, et0=0.0, light=0.1)
    found = replay(g, made, spread_years(g, MANY, spread, seed=4)).batches[0]
    assert found.unready == close_to(norm.cdf(-1 / (0.1 * 21**0.5)))
    assert found.dry == 0.0


def fixed(g: Garden, **rows: Sequence[float]) -> WeatherYears:
    """Years that are the garden's weather but for constant values, one a year."""
    weather = g.site.weather
    count = len(next(iter(rows.values())))
    made = {n: np.tile(weather[n].to_numpy(), (count, 1)) for n in ("tmin", "tmax", "et0", "dli")}
    for name, values in rows.items():
        made[name][:] = np.array(values)[:, None]
    return WeatherYears(day(0), daylength=weather["daylength"].to_numpy(), **made)


def test_what_runs_dry_is_lost_from_then_on() -> None:
    """Two heads picked on day 20, two on day 25.

    ET0 5: dry on day 20 + 2.8/0.2 = 34. ET0 6: 20 * 0.48 = 9.6 L, 1.2 L left at 0.24 L: dry on day
    25, the very morning of the pick, which is made. ET0 6.1: 9.76 L, then 1.04/0.244 = 4.3: dry on
    day 25 too. ET0 6.4: 10.24 L, 0.56/0.256 = 2.2: day 23, the last two heads are lost. ET0 10:
    10.8/0.8 = 13.5: day 14, all are.
    """
    g = garden()
    b = batch("b1", "lettuce", "A1", 0, 10, [(30, 2), (35, 2)], 35)
    course = Replay(g, fixed(g, et0=[5.0, 6.0, 6.1, 6.4, 10.0])).course(b)
    assert (course.dry_index - 10).tolist() == [34, 25, 25, 23, 14]
    assert course.grams.tolist() == [[200, 200], [200, 200], [200, 200], [200, 0], [0, 0]]
    found = replay(g, plan(b), fixed(g, et0=[5.0, 6.0, 6.1, 6.4, 10.0]))
    assert found.batches[0].dry == pytest.approx(2 / 5)
    assert found.any_dry == pytest.approx(2 / 5)
    assert found.batches[0].margin_low == 14 - 25


def test_what_is_not_ready_is_picked_small_and_what_bolts_is_lost() -> None:
    """At 12 degC a lettuce develops at (12 - 4)/(20 - 4) = 1/2: half the way on its day 20.

    At 30 degC it would bolt after 3 hot days; development there is (35 - 30)/15 = 1/3.
    """
    hot = replace(LETTUCE, bolt_heat=25.0, bolt_days=3.0)
    g = garden(crops={"lettuce": hot})
    b = batch("b1", "lettuce", "A1", 0, 10, [(30, 4)], 30)
    years = fixed(g, tmin=[20.0, 12.0, 30.0], tmax=[20.0, 12.0, 30.0])
    course = Replay(g, years).course(b)
    # Mass at half the way, expolinear, by hand:
    share = np.log1p(np.exp(6.4 * 0.2)) / np.log1p(np.exp(6.4 * 0.7))
    assert course.grams[:, 0].tolist() == [400, round(400 * share), 0]
    assert course.bolted_index.tolist() == [-1, -1, 14]
    assert course.ready_index.tolist() == [30, 50, 70]
    found = replay(g, plan(b), years).batches[0]
    assert (found.unready, found.bolts) == (pytest.approx(2 / 3), pytest.approx(1 / 3))
    assert found.wait == 40


def test_what_cold_or_heat_kills_is_lost() -> None:
    """Frost in every night: dead on the morning after transplanting. Days of 22 degC and 20
    mol, solution of 23.62, are 3.62 above the limit: more than 25 degC d after seven. A plan of a day on which it stands was told so."""
    g = garden(crops={"lettuce": replace(LETTUCE, heat_limit=20.0)})
    b = batch("b1", "lettuce", "A1", 0, 10, [(30, 4)], 30)
    years = fixed(g, tmin=[20.0, -3.0, 22.0], tmax=[20.0, 43.0, 22.0])
    course = Replay(g, years).course(b)
    assert course.killed_index.tolist() == [-1, 11, 17]
    assert course.grams[1:, 0].tolist() == [0, 0]
    assert replay(g, plan(b), years).batches[0].killed == pytest.approx(2 / 3)
    assert Replay(g, years).course(b, day(15)).killed_index.tolist() == [-1, -1, 17]


def test_warm_years_pass_the_hold() -> None:
    """Ready after 20 days at 20 degC, after 26.7 at 16 degC (12/16 of the rate). Picked on its
    day 26: at 20 degC one day past its hold of 5; at 16 degC not yet ready.
    """
    g = garden()
    made = plan(batch("b1", "lettuce", "A1", 0, 10, [(36, 4)], 36))
    found = replay(g, made, fixed(g, tmin=[20.0, 16.0], tmax=[20.0, 16.0])).batches[0]
    assert (found.overdue, found.unready) == (0.5, 0.5)


@lru_cache
def courtyard_by_hand() -> tuple[Garden, Plan]:
    g = load_garden(EXAMPLES / "courtyard" / "garden.yaml")
    return g, solve(g, Settings(time_limit=0.2, workers=1)).by_hand


def cases() -> list[tuple[Garden, Plan]]:
    return [(garden(), good_plan()), courtyard_by_hand()]


@pytest.mark.slow
@pytest.mark.parametrize("case", [0, 1])
def test_without_spread_every_year_is_the_plan(case: int) -> None:
    g, made = cases()[case]
    years = spread_years(g, 3, Spread().scaled(0), seed=7)
    tool = Replay(g, years)
    for b in made.batches:
        course = tool.course(b)
        dry = None if course.dry_index[0] < 0 else g.season.date(course.dry_index[0])
        assert dry == b.dry_date, b.id
        assert course.grams.tolist() == [[p.grams for p in b.picks]] * 3, b.id
    found = replay(g, made, years)
    assert found.produce == (made.stages[0].value,) * 3
    assert found.any_dry == found.lost == 0
    for risk, b in zip(found.batches, made.batches, strict=True):
        assert (risk.dry, risk.unready, risk.overdue, risk.bolts, risk.wait) == (0, 0, 0, 0, 0)
        assert risk.margin_low == b.margin_days
    short = {(u.group, u.week): u.grams for u in made.unmet}
    for w in found.weeks:
        served = w.wish - short.get((w.group, w.week), 0)
        assert w.served == (served,) * 3 == (w.planned,) * 3


@pytest.mark.slow
@pytest.mark.parametrize("seed", [0, 1, 2])
def test_a_single_year_is_shared_out_as_the_plan_s_own_count_does(seed: int) -> None:
    """One rough year: the grams of its picks put into the plan, and counted without this module."""
    g, made = courtyard_by_hand()
    years = spread_years(g, 1, Spread().scaled(1.5), seed)
    tool = Replay(g, years)
    rough = tuple(
        replace(
            b,
            picks=tuple(
                Pick(p.date, p.plants, int(x))
                for p, x in zip(b.picks, tool.course(b).grams[0], strict=True)
            ),
        )
        for b in made.batches
    )
    assert rough != made.batches
    table = assemble.serve(g, rough)
    found = replay(g, made, years)
    assert found.produce[1] == pytest.approx(assemble.produce_value(g, table))
    for w in found.weeks:
        assert w.served[1] == table.served.get((w.group, w.week), 0)


def test_facts_are_not_replayed() -> None:
    """One batch cleared, one picked from before the day, one growing: all but the last are facts."""
    g = garden()
    first = batch("b1", "lettuce", "A1", 0, 10, [(30, 4)], 31, state=CLEARED)
    second = batch("b2", "lettuce", "B1", 2, 12, [(32, 2), (36, 2)], 36, state=GROWING)
    first = replace(first, picks=(replace(first.picks[0], grams=333),))
    second = replace(second, picks=(replace(second.picks[0], grams=111), second.picks[1]))
    made = plan(first, second, as_of=day(34))
    found = replay(g, made, fixed(g, et0=[20.0, 20.0]))
    assert [b.id for b in found.batches] == ["b2"]
    by_week = {w.week: w.picked for w in found.weeks if w.group == "lettuce"}
    assert by_week["2027-W18"] == (444, 444, 444)  # days 30 and 32, as weighed
    assert by_week.get("2027-W19", (0, 0, 0)) == (0, 0, 0)  # dry long before day 36
    assert found.batches[0].unready == 0.0  # it is being picked already


def test_candidates_run_dry_as_often_as_the_replay_of_their_batch() -> None:
    """Two ways to count: running sums at a few mornings, and the whole course day by day."""
    g, _, _ = example("courtyard")
    # Crops that drink less once ready, so that each piece of the curve has a part.
    crops = {n: replace(g.crops[n], stage_late=0.7) for n in ("romaine", "pak_choi", "swiss_chard")}
    g = replace(g, crops=crops)
    cand, _ = build(g)
    years = spread_years(g, 200, Spread(et0=0.4), seed=3)
    chance = dry_chances(cand, years)
    tool = Replay(g, years)
    rng = np.random.default_rng(0)
    risky = np.flatnonzero((chance > 0) & (chance < 1))
    rows = [*rng.choice(risky, 80, replace=False), *rng.choice(len(cand), 40, replace=False)]
    cuts = 0
    for row in rows:
        column, tier = cand.kinds[cand.at("kind", row)].places[0]
        stand = assemble.Stand(int(row), column, tier, cand.at("last", row))
        (b,) = assemble.batches(cand, [stand])
        dry = tool.course(b).dry_index
        assert ((dry >= 0) & (dry < cand.at("last", row))).mean() == chance[row]
        cuts += len(b.picks) > 1
    assert cuts > 20


@pytest.mark.clock
def test_a_thousand_years_of_the_courtyard_take_less_than_ten_seconds() -> None:
    g, made = courtyard_by_hand()
    began = time.perf_counter()
    found = replay(g, made, spread_years(g, 1000, Spread(), seed=0))
    assert found.years == 1000
    assert time.perf_counter() - began < 10


def test_assumptions_are_told_in_the_grower_s_degrees() -> None:
    """3 degC of difference are 5.4 degF."""
    notes = spread_years(replace(garden(), units="us"), 1, Spread()).notes
    assert "5.4 °F" in notes[0]
    assert "3.0 °C" in spread_years(garden(), 1, Spread()).notes[0]
