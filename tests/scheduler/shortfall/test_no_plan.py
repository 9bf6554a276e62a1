"""Where no plan exists: the rules that stand against it, and the smallest change of each kind."""

from __future__ import annotations

import time
from dataclasses import replace

import pytest
from relax_case import STEADILY, day, wished
from rich.cells import cell_len
from solver_case import tiny
from verify_case import CHARD

from scheduler.base.faults import NoPlan, OutOfTime
from scheduler.garden.model import Demand, Garden, Span
from scheduler.plans.model import BEST_FOUND, PROVEN, Plan, Stage
from scheduler.search.solve import solve
from scheduler.shortfall import no_plan
from scheduler.shortfall.eased_rules import cells
from scheduler.shortfall.no_plan import explained, first_that_works, plan_of, refuse_empty, remedies
from scheduler.verify import verify


def with_tier(g: Garden, **changes: object) -> Garden:
    (column,) = g.columns
    tiers = tuple(replace(t, **changes) for t in column.tiers)  # type: ignore[arg-type]
    return replace(g, columns=(replace(column, tiers=tiers),))


def with_fill(g: Garden, litres: float) -> Garden:
    return replace(g, vessels={"box": replace(g.vessels["box"], fill_l=litres)})


def remedy_texts(g: Garden) -> list[str]:
    found, _, over = remedies(g, None, time.monotonic() + 60)
    assert not over
    for r in found:
        plan = plan_of(r.relaxation.garden)
        assert plan is not None
        assert verify(r.relaxation.garden, plan).ok
        assert r.share > 0
    return [r.relaxation.text for r in found]


def said(g: Garden) -> str:
    lines = explained(g)
    assert all(cell_len(line) <= 79 for line in lines)
    return "\n".join(lines)


def test_too_dark() -> None:
    """20 mol in the open, 8 are needed: a share of 0.05 gives 1. Brighter by 0.3 is 7, by 0.4 is 9.
    The crop comes on more slowly with less than 10, so the season is long."""
    g = with_tier(wished(tiny(90)), light=0.05)
    assert "every tier brighter by 40% of the open sky" in remedy_texts(g)
    text = said(g)
    assert "no crop can grow in any tier" in text
    assert "  lettuce: too dark: DLI 1 of 8 needed" in text


@pytest.mark.slow
def test_dry_too_soon() -> None:
    """6 L hold 5.4 L above the tenth that must stay. Four plants drink 0.4 L a day: dry on day 14 of
    20. Three 0.3: day 18. Two 0.2: day 27, 7 after ready. 1.25 times as much lasts 6.75 / 0.4 = 17
    days, 1.5 times 21, one day after ready but not two, even with one plant left from day 20 on
    (0.1 L are left above the tenth then); twice as much is dry on day 27."""
    g = with_fill(wished(tiny(60)), 6.0)
    texts = remedy_texts(g)
    assert "2 plants fewer in every tier" in texts
    assert "vessels that hold 2 times as much" in texts
    assert not [t for t in texts if "in hand before dry" in t]
    assert "lettuce: dry 6 days before ready" in said(g)


def test_too_much_margin_asked() -> None:
    """One plant, 3 L: 2.7 L at 0.1 a day, dry on day 27 after filling, ready on 20: 7 days between
    them, 9 are asked. (Of several plants some may be picked first, and the rest last longer.)"""
    g = with_fill(with_tier(wished(tiny(60, dry_margin_days=9)), plants=1), 3.0)
    assert "7 days in hand before dry instead of 9" in remedy_texts(g)
    assert "less than 9 days after the first pick" in said(g)


@pytest.mark.slow
def test_too_few_cells() -> None:
    """Four cells for four plants (see verify_case), three there: the plan is empty, and proven."""
    g = wished(tiny(60, cells=3))
    assert remedy_texts(g)[0] == "1 more nursery cell"
    text = said(g)
    assert "no plan gives anything of what is wished" in text
    assert (
        "nursery cells: every batch that could be picked needs at least 4; there are 3"
        in " ".join(text.split())
    )
    empty = solve(g, STEADILY).plan
    assert (empty.batches, empty.status) == ((), PROVEN)
    with pytest.raises(NoPlan) as error:
        refuse_empty(g, empty)
    assert error.value.exit_code == 3
    assert "1 more nursery cell" in error.value.text()


def test_no_seedling_on_the_one_work_day() -> None:
    """Sown on a Monday, fit 10 days on, good for 3 more: no Monday among them. With Tuesdays: sown
    on day 1, fit on 11, in the tier on Monday day 14."""
    g = wished(tiny(60, work=(0,)))
    assert "a second work day a week, Tuesday" in remedy_texts(g)


def test_a_season_too_short() -> None:
    """The first pick is on day 30; the season ends on day 27. A week more, to day 34, is enough."""
    for days, text in ((28, "a week"), (24, "a week"), (23, "2 weeks")):  # ends on 27, 23, 22
        g = wished(tiny(days))
        g = replace(g, demands=(replace(g.demands[0], end=day(59)),))
        assert f"a season that ends {text} later" in remedy_texts(g)


def test_away_on_every_day_that_matters() -> None:
    g = wished(tiny(60))
    away = (Span(day(0), day(2)), Span(day(4), day(59)))
    g = replace(g, season=replace(g.season, away=away))
    assert remedy_texts(g) == ["somebody there 9 Apr to 3 Jun"]


def test_a_tier_that_is_to_be_had_too_briefly() -> None:
    g = with_tier(wished(tiny(60)), available=(Span(day(10), day(29)),))
    assert "every tier all season" in remedy_texts(g)


@pytest.mark.slow
def test_a_wish_before_anything_is_ripe() -> None:
    """Lettuce can be picked from day 30 on; it is wished up to day 20."""
    g = wished(tiny(60))
    g = replace(g, demands=(replace(g.demands[0], end=day(20)),))
    text = said(g)
    assert "no plan gives anything of what is wished" in text
    assert "the first pick there can be is on 5 May" in text
    assert "no single change of those tried gives a plan: " in text


@pytest.mark.slow
def test_a_group_without_any_crop_that_grows() -> None:
    g = wished(tiny(60))
    g = replace(
        g,
        demands=(Demand("greens", ("chard",), 300.0, day(0), day(59)),),
        crops={**g.crops, "chard": replace(CHARD, dli_min=30.0)},
    )
    text = said(g)
    assert "no crop of it can be picked in any tier this season" in " ".join(text.split())
    assert "chard: too dark: DLI 20 of 30 needed" in text


def test_nothing_to_work_with() -> None:
    for g in (replace(tiny(60), crops={}), replace(tiny(60), columns=()), tiny(60, work=())):
        assert "there is no work day, no tier or no crop" in said(g)


def made(value: float, status: str) -> Plan:
    g = tiny(60)
    stage = Stage("produce", status, value, None, 0.0)
    return Plan(status, (stage,), g.season.start, g.season.end, (), ())


def test_what_is_refused() -> None:
    g = wished(tiny(60))
    with pytest.raises(OutOfTime) as error:
        refuse_empty(g, made(0.0, BEST_FOUND))
    assert error.value.exit_code == 4
    refuse_empty(g, made(400.0, BEST_FOUND))
    refuse_empty(replace(g, demands=()), made(0.0, PROVEN))  # nothing wished, nothing missed


def test_time_that_runs_out_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(no_plan, "SECONDS", 0.0)
    lines = explained(wished(tiny(60, cells=3)), seconds=0.0)
    assert "  there was no time to try every change" in lines


def test_the_first_that_works() -> None:
    """Also with a search of one's own, as a season under way needs it."""
    g = wished(tiny(60, cells=1))
    steps = [cells(g, n) for n in (1, 2, 3, 4)]
    found = first_that_works(steps, lambda r: plan_of(r.garden), time.monotonic() + 60)
    assert found is not None
    assert found[0].text == "3 more nursery cells"
    assert first_that_works(steps[:2], lambda r: plan_of(r.garden), time.monotonic() + 60) is None
    assert first_that_works(steps, lambda r: plan_of(r.garden), time.monotonic() - 1) is None
