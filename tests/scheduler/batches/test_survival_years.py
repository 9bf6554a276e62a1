"""In how many of the weather years cold or heat may kill a batch before its last pick.

`verify_case`, 20 degC every day, with a lettuce whose optimum is 30 degC: a day of 15 and 25 degC
brings it on as one of 20 does. Of a night of 15 degC it dies, of 16 degC it does not.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from lived_case import mean_years
from verify_case import LETTUCE, day, garden, heads, plan

from crops import survival
from crops.place import Lamp, Place
from crops.years import most_killed
from scheduler.batches import candidates
from scheduler.batches.courses import NEVER
from scheduler.batches.rules import killed_from
from scheduler.batches.window_reasons import COLD, HEAT, Reasons
from scheduler.batches.windows import sow_windows
from scheduler.garden.baths import solution_at
from scheduler.garden.model import Demand, Garden, Limits, Season
from scheduler.garden.spans import Stay
from scheduler.plans import rules
from scheduler.plans.model import GROWING, YearsTaken
from scheduler.plans.plan_years import expected
from scheduler.replanning.ways_on import Variant, why_not
from scheduler.shortfall.window_words import why_text
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases import choosing
from scheduler.usecases.promising import YearsOf
from scheduler.usecases.surviving import surviving
from scheduler.verify import verify
from scheduler.verify.course import Physics
from scheduler.verify.harm import solution
from scheduler.verify.places import frame_in
from scheduler.words.words import Units
from scheduler.years.expected import LIVED_TIERS, expecting, may_kill, with_years

TENDER = replace(LETTUCE, t_opt=30.0, t_max=40.0, kill_temperature=16.0, kill_hardened=16.0)


def bed(**crop: float) -> Garden:
    made = garden(
        season=Season(day(0), day(90)),
        demands=(Demand("lettuce", ("lettuce",), 400.0, day(0), day(90)),),
        limits=Limits(dry_margin_days=0, young=1.0),
        crops={"lettuce": replace(TENDER, **crop)},  # type: ignore[arg-type]
    )
    return replace(made, columns=made.columns[:1])


def cold(
    g: Garden,
    dead: int,
    years: int,
    lost: float | None = None,
    low: float = 15.0,
    killed: float | None = None,
) -> Garden:
    """The garden with ``years``, in ``dead`` of which every night is ``low`` degC."""
    made = mean_years(g, years)
    tmin, tmax = made.tmin.copy(), made.tmax.copy()
    tmin[:dead], tmax[:dead] = low, 40.0 - low
    return with_years(g, replace(made, tmin=tmin, tmax=tmax), lost, killed)


def offered(g: Garden) -> bool:
    cand, _ = candidates.build(g)
    return bool(len(cand))


# A tenth of ten years is one, of thirty three, of nine none; --risk sets another share.
@pytest.mark.parametrize(
    ("years", "lost", "most"),
    [(10, None, 1), (30, None, 3), (9, None, 0), (20, 0.05, 1), (60, 0.05, 3)],
)
def test_as_many_deaths_as_may_be_and_one_more(years: int, lost: float | None, most: int) -> None:
    for count, fits in ((most, True), (most + 1, False)):
        g = cold(bed(), count, years, lost)
        assert offered(g) == fits
        batch = heads("x", "A1", 10)
        why = why_not(g, Variant(batch), day(0))
        said = f"would be killed by cold or heat by {day(11)} in too many years"
        assert why == ("" if fits else said)
        found = [b for b in verify(g, plan(batch)).broken if b.rule == rules.SURVIVAL.name]
        assert [b.amount for b in found] == ([] if fits else [1])


@pytest.mark.parametrize(("years", "most"), [(2, 1), (6, 3), (7, 3)])
def test_what_is_planned_by_living_may_die_in_half_of_the_years(years: int, most: int) -> None:
    may = may_kill(bed())
    for count, fits in ((most, True), (most + 1, False)):
        g = cold(bed(), count, years, killed=may)
        assert offered(g) == fits
        broken = {b.rule for b in verify(g, plan(heads("x", "A1", 10))).broken}
        assert (rules.SURVIVAL.name in broken) != fits
    assert not offered(cold(bed(), most, years, lost=0.1, killed=may))  # --risk 10%


def test_of_more_tiers_than_are_lived_nine_years_of_ten_spare_it() -> None:
    tier = bed().columns[0].tiers[0]
    for tiers, share in ((LIVED_TIERS, 0.5), (LIVED_TIERS + 1, None)):
        column = replace(bed().columns[0], tiers=(tier,) * tiers)
        assert may_kill(replace(bed(), columns=(column,))) == share


def test_a_plan_and_who_opens_it_ask_the_same_share(tmp_path: Path) -> None:
    """`windows` goes on telling days on which it is killed in one year of ten at most."""
    g = bed()
    years = YearsTaken("made", planned=20, judged=200, real=0, seed=1)
    made = replace(plan(heads("x", "A1", 10)), years=years)
    planned = YearsOf(g, 20, 1).garden
    opened = expected(tmp_path, g, made, None)
    assert [most_killed(x.site.weather) for x in (planned, opened)] == [0.5, 0.5]
    assert most_killed(expecting(g, 20, 1).site.weather) == 0.1


def test_a_night_at_the_limit_kills_nothing() -> None:
    assert offered(cold(bed(), 10, 10, low=16.0))
    assert not offered(cold(bed(), 10, 10, low=15.99))


def test_the_mean_year_alone_is_kept() -> None:
    assert offered(bed(kill_temperature=20.0))
    assert not offered(bed(kill_temperature=20.01))
    # 20 mol are 114.7 W/m2; of a grey wall's 0.6 x 0.4 the air takes 17 W/K: 1.619 K more than 20
    # degC. 14 x 1.779 = 24.91 degC d of the 25 that are borne, 14 x 1.789 = 25.05.
    assert offered(bed(heat_limit=19.84))
    assert not offered(bed(heat_limit=19.83))


@pytest.mark.parametrize("tiers", [1, 3])
def test_a_shaded_tier_and_a_white_vessel_are_cooler(tiers: int) -> None:
    """At half the light, or white (0.3 of 0.6), 0.81 K: 20.81 degC, 14 x 0.97 = 13.6 above 19.84."""
    hot = bed(heat_limit=19.5)
    assert not offered(hot)
    shaded = tuple(replace(tier, light=0.5) for tier in hot.columns[0].tiers[:tiers])
    assert offered(replace(hot, columns=(replace(hot.columns[0], tiers=shaded),)))
    white = {"box": replace(hot.vessels["box"], wall="white")}
    assert offered(replace(hot, vessels=white))
    dark = {"box": replace(hot.vessels["box"], wall="dark")}  # 2.43 K
    cool = bed(heat_limit=19.84)
    assert not offered(replace(cool, vessels=dark))


def test_large_vessels_bear_a_hot_day_that_small_ones_do_not() -> None:
    """A day 30 degC hotter: 5 L have 0.146 m2 of wall, tau = 4186 x 5 / (10 x 0.146) = 4.0 h, and
    follow by 1 - exp(-24/4.0) = 0.998, 60 L by 1 - exp(-24/9.1) = 0.93. Above 25.619 degC that is
    25.9 degC d and 23.9, of 25 that are borne."""
    ended = []
    for litres, side in ((5.0, 20.0), (60.0, 60.0)):
        g = bed(heat_limit=25.619, peak_demand=5.0)
        weather = g.site.weather.copy()
        for name in ("tmin", "tmax"):
            weather.iloc[40, weather.columns.get_loc(name)] = 50.0
        box = replace(g.vessels["box"], size_cm=(side, side), fill_l=litres)
        g = replace(g, site=replace(g.site, weather=weather), vessels={"box": box})
        starts = np.array([30])
        ended.append(int(killed_from(g, g.crops["lettuce"], g.columns[0].tiers[0], starts)[0]))
    assert ended == [41, NEVER]


def test_light_of_a_lamp_warms_no_solution() -> None:
    g = bed(heat_limit=19.83)
    tier = g.columns[0].tiers[0]
    room = Place("room", "indoors", 0.0, rain=False, temperature=20.0, lamp=Lamp(100, 2, 16, 1))
    stays = (Stay(day(0), day(90), room),)
    assert solution_at(g, tier).max() == pytest.approx(21.619, abs=0.001)
    inside = replace(tier, stays=stays)
    there = replace(g, columns=(replace(g.columns[0], tiers=(inside,)),))
    found = solution_at(there, inside)[0, :91]
    assert found == pytest.approx(20.0, abs=1e-9)


def test_the_pick_comes_before_the_night_that_kills() -> None:
    """Ready 20 days after transplanting; frosts from day 40 on: the last transplanting is day 20."""
    g = bed()
    weather = g.site.weather.copy()
    weather.iloc[40:, weather.columns.get_loc("tmin")] = 10.0
    weather.iloc[40:, weather.columns.get_loc("tmax")] = 30.0
    g = replace(g, site=replace(g.site, weather=weather))
    table = candidates.build(g)[0].table
    assert table["transplant"].max() == 20
    assert table["last"].max() == 40


def test_what_stands_already_and_what_is_in_the_nursery_are_not_asked() -> None:
    g = cold(bed(), 10, 10)
    standing = replace(heads("x", "A1", 10), state=GROWING)
    assert why_not(g, Variant(standing), day(12)) == ""
    # Nights of the nursery are no nights outdoors: cold before transplanting alone harms nothing.
    g = bed()
    weather = g.site.weather.copy()
    weather.iloc[:10, weather.columns.get_loc("tmin")] = 10.0
    weather.iloc[:10, weather.columns.get_loc("tmax")] = 30.0
    g = replace(g, site=replace(g.site, weather=weather))
    assert candidates.build(g)[0].table["transplant"].min() == 10


def test_the_reason_names_the_share_and_the_dates() -> None:
    g = cold(bed(), 3, 10)
    _, windows = candidates.build(g)
    w = windows[0]
    at = int(np.flatnonzero(w.reason == candidates.KILLED)[0])
    kind = candidates.tier_kinds(g)[w.kind]
    why = Reasons(g, TENDER, kind.tier, w).of(at)
    assert why.code == COLD
    assert why_text([why], Units(g.units)) == (
        "cold kills it in 30 % of the years, 15 Apr; at most 10 % may be"
    )
    g = bed(heat_limit=18.0)  # of the mean year: 3.62 a day, more than 25 on the seventh
    (windows,) = sow_windows(g)
    first = next(w for _, w in windows.transplants if w.code == HEAT)
    assert (
        why_text([first], Units(g.units))
        == "heat kills it 21 Apr (cooler: white or wrapped vessels, shade, a lower tier)"
    )


@pytest.mark.parametrize(("wall", "light"), [("grey", 1.0), ("dark", 0.6)])
def test_the_verifier_counts_the_same_deaths_in_its_own_loops(wall: str, light: float) -> None:
    """Springs that harden, chill and kill, and end too hot."""
    g = bed(kill_temperature=-2.0, kill_hardened=-5.0, heat_limit=27.0, chill_limit=4.0)
    tier = replace(g.columns[0].tiers[0], light=light)
    g = replace(g, vessels={"box": replace(g.vessels["box"], wall=wall)})
    g = replace(g, columns=(replace(g.columns[0], tiers=(tier,)),))
    made = mean_years(g, 30)
    rng = np.random.default_rng(4)
    low = np.linspace(1.0, 24.0, made.days) + rng.normal(0.0, 4.0, made.tmin.shape)
    g = with_years(g, replace(made, tmin=low, tmax=low + 10.0))
    crop, physics = g.crops["lettuce"], Physics(g)
    starts = np.arange(0, 180, 3)
    dead = survival.dead_from(crop, g.site.weather, starts, solution_at(g, tier))
    counts = set()
    for i, start in enumerate(starts.tolist()):
        for stood in (1, 6, 8, 20):
            found = physics.killed_years(crop, start, start + stood, tier, g.vessels["box"])
            assert found == (int((dead[:, i] <= start + stood).sum()), 30)
            counts.add(found[0])
    assert {0, 1, 3} <= counts
    assert max(counts) > 20


@pytest.mark.parametrize(("years", "most"), [(10, 1), (30, 3)])
def test_what_is_planned_for_the_mean_year_lives_through_the_years(years: int, most: int) -> None:
    mean, _ = candidates.build(bed())
    assert len(surviving(cold(bed(), most, years), mean)) == len(mean) > 0
    assert len(surviving(cold(bed(), most + 1, years), mean)) == 0


@pytest.mark.slow
def test_no_way_of_planning_sets_out_what_the_years_kill(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nights before day 20 kill in every year, not in the mean year: all three ways wait."""
    plain = bed()
    made = mean_years(plain, 5)
    tmin, tmax = made.tmin.copy(), made.tmax.copy()
    tmin[:, :20], tmax[:, :20] = 15.0, 25.0
    years = replace(made, tmin=tmin, tmax=tmax)
    assert candidates.build(plain)[0].table["transplant"].min() < 20
    soonest, real = [], choosing.one_plan

    def watched(*asked: object) -> object:
        season, found = real(*asked)  # type: ignore[arg-type]
        soonest.append(int(season.cand.table["transplant"].min()))
        return season, found

    monkeypatch.setattr(choosing, "one_plan", watched)
    monkeypatch.setattr("scheduler.search.lighter.lighter", lambda garden, season, *_: season.plan)
    quick = Settings(time_limit=600, workers=1, deterministic=0.02)
    one = tuple(replace(c, tiers=c.tiers[:1]) for c in plain.columns)
    young = replace(plain, columns=one, limits=replace(plain.limits, young=0.8))
    best = choosing.best_lived(with_years(young, years), young, 5, years, quick, 0)
    assert soonest == [20, 20, 20]
    assert min(b.transplant for b in best.plan.batches) >= day(20)


@pytest.mark.parametrize("wall", ["dark", "grey", "white"])
@pytest.mark.parametrize("spans", [1, 3])
def test_the_verifier_s_solution_is_the_same_in_every_place(wall: str, spans: int) -> None:
    """Weather that strays, a tier that is carried into a lit room and out again, once or thrice."""
    g = bed()
    lamp = Lamp(40.0, 2.5, 14.0, 0.5)
    room = Place("room", "indoors", 0.2, rain=False, temperature=19.0, lamp=lamp)
    stays = tuple(Stay(day(10 + 20 * k), day(18 + 20 * k), room) for k in range(spans))
    tier = replace(g.columns[0].tiers[0], light=0.7, stays=stays)
    rng = np.random.default_rng(spans)
    weather = g.site.weather.assign(
        tmin=rng.normal(10, 5, len(g.site.weather)), tmax=rng.normal(24, 5, len(g.site.weather))
    )
    weather["dli"] = rng.uniform(2, 50, len(weather))
    g = replace(g, site=replace(g.site, weather=weather))
    g = replace(g, columns=(replace(g.columns[0], tiers=(tier,)),))
    box = replace(g.vessels["box"], wall=wall)
    g = replace(g, vessels={"box": box})
    ours = solution_at(g, tier)[0]
    there = frame_in(g, stays)
    rows = (there[name].tolist() for name in ("tmin", "tmax", "dli"))
    assert ours == pytest.approx(solution(*rows, tier, box, there.index[0].date()), abs=1e-9)
