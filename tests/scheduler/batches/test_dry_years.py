"""In how many of the weather years a tier may run dry, or a crop bolt, before its last pick.

`verify_case`: four plants drink 0.4 L a day of 10.8 L. A batch picked after 20 days has been
standing for 19 on the morning before, and has drunk 7.6 L: in a year of 10.8 / 7.6 = 1.4211 times
the evaporation the tier is dry on that morning.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from lived_case import mean_years
from verify_case import CHARD, LETTUCE, day, garden, heads, plan

from crops.years import carried_by
from scheduler.batches import candidates
from scheduler.batches.thirst import dry_share, thirst_in
from scheduler.batches.window_reasons import Reasons
from scheduler.garden.model import Demand, Garden, Limits, Season
from scheduler.plans import rules
from scheduler.replanning.ways_on import Variant, why_not
from scheduler.shortfall.window_words import why_text
from scheduler.verify import verify
from scheduler.words.words import Units
from scheduler.years.expected import with_years

JUST = 10.8 / 7.6


def bed(**changes: object) -> Garden:
    """Of the mean year no tier runs dry before its pick, and it may bolt at no time."""
    made = garden(
        season=Season(day(0), day(90)),
        demands=(Demand("lettuce", ("lettuce",), 400.0, day(0), day(90)),),
        limits=Limits(dry_margin_days=0, young=1.0),
        crops={"lettuce": LETTUCE},
    )
    return replace(made, columns=made.columns[:1], **changes)  # type: ignore[arg-type]


def dry(g: Garden, *factors: float, lost: float | None = None) -> Garden:
    """The garden with years that drink so many times as much as the mean year."""
    years = mean_years(g, len(factors))
    return with_years(g, replace(years, et0=years.et0 * np.array([factors]).T), lost)


def offered(g: Garden) -> bool:
    cand, _ = candidates.build(g)
    return bool(len(cand))


# A fifth of five years is one, of fifteen three; a twentieth of twenty one, of sixty three.
@pytest.mark.parametrize(
    ("years", "lost", "most"),
    [(5, None, 1), (15, None, 3), (20, 0.05, 1), (60, 0.05, 3), (9, 0.0, 0)],
)
def test_as_many_dry_years_as_may_be_and_one_more(
    years: int, lost: float | None, most: int
) -> None:
    for count, fits in ((most, True), (most + 1, False)):
        g = dry(bed(), *[JUST + 1e-6] * count, *[1.0] * (years - count), lost=lost)
        assert offered(g) == fits
        batch = heads("x", "A1", 10)
        why = why_not(g, Variant(batch), day(0))
        said = f"would be dry before its last pick in {100 * count / years:.0f} % of the years"
        assert why == ("" if fits else said)
        found = [b for b in verify(g, plan(batch)).broken if b.rule == rules.DRY_YEARS.name]
        assert len(found) == (not fits)
        if found:
            over = count / years - (0.2 if lost is None else lost)
            assert found[0].amount == pytest.approx(over)


def test_a_hair_less_thirst_and_no_year_is_dry() -> None:
    assert offered(dry(bed(), *[JUST - 1e-6] * 5))
    assert not offered(dry(bed(), *[JUST + 1e-6] * 5))


def test_the_reason_names_both_shares() -> None:
    g = dry(bed(), *[2.0] * 3, 1.0, 1.0)
    _, windows = candidates.build(g)
    w = windows[0]
    at = int(np.flatnonzero(w.reason == candidates.DRY_YEARS)[0])
    kind = candidates.tier_kinds(g)[w.kind]
    why = Reasons(g, LETTUCE, kind.tier, w).of(at)
    assert why_text([why], Units(g.units)) == (
        "dry before its last pick in 60 % of the years; at most 20 % may be"
    )


# All twenty days are above 19 degC in a hot year, and it stands nineteen of them.
@pytest.mark.parametrize(("lost", "most"), [(None, 1), (0.6, 3), (0.0, 0)])
def test_the_same_share_of_years_may_bolt(lost: float | None, most: int) -> None:
    tender = replace(LETTUCE, bolt_heat=19.0, bolt_days=19.0)
    for count, fits in ((most, True), (most + 1, False)):
        g = bed(crops={"lettuce": tender})
        years = mean_years(g, 5)
        tmax = years.tmax.copy()
        tmax[count:] = 18.0  # cool enough, and as quick: the optimum ends at 20
        g = with_years(g, replace(years, tmax=tmax), lost)
        assert offered(g) == fits


def test_shares_are_those_of_plain_loops_with_picks_between() -> None:
    """Chard drinks half after its first cut; two heads of four picked leave half the thirst."""
    g = garden(crops={"lettuce": LETTUCE, "chard": CHARD})
    rng = np.random.default_rng(5)
    years = mean_years(g, 40)
    g = with_years(g, replace(years, et0=years.et0 * rng.uniform(0.9, 1.7, (40, 1))))
    for crop, first, last in ((LETTUCE, 21, 25), (CHARD, 21, 28)):
        thirst = thirst_in(g.site.weather, crop, 1.0)
        carried = carried_by(g.site.weather)
        assert thirst is not None
        assert carried is not None
        assert carried.et0 is not None
        starts = np.array([3, 9, 30])
        days = starts[:, None] + np.array([[first, last]])
        found = dry_share(thirst.after(starts), np.arange(3), days, np.full((3, 2), 2), 4, 10_800.0)
        for i, start in enumerate(starts.tolist()):
            count = 0
            for year in carried.et0:
                drunk = 0.0
                for day_ in range(start, start + last - 1):
                    plants = 4 if day_ < start + first else 2
                    drunk += plants * 20.0 * year[day_]  # 100 mL at 5 mm
                count += drunk >= 10_800.0
            assert found[i] == pytest.approx(count / 40)
            assert 0 < count < 40
