"""A first plan of the tiers as they fall free of what stands, and a tier for seedlings in hand."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scheduler.batches.candidates import Candidates
    from scheduler.garden.model import Garden, Site
    from scheduler.log.tracks import Place
    from scheduler.plans.model import Batch
    from scheduler.replanning.commitments import Commitments
    from scheduler.risk.limit import RiskLimit
    from scheduler.solvers.cp_sat import Report, Settings
    from scheduler.usecases.choosing import Made
    from scheduler.usecases.promising import YearsOf


def seedlings_placed(garden: Garden, held: Commitments) -> dict[str, Batch]:
    """A free tier for each sowing in hand, as soon as it is fit: a way to begin the search with.

    By id the batch with its tier and days. What stands keeps its tier until it is likely cleared;
    where two sowings want the same tier, the one with fewer ways comes first.
    """
    from scheduler.plans.model import SOWN
    from scheduler.replanning.baseline import Taken
    from scheduler.replanning.rebalance import batch_of_row

    opens = {place: garden.season.index(day) for place, day in _opens(garden, held).items()}
    start, last, grams = (
        held.cand.table[name].to_numpy(int) for name in ("transplant", "last", "grams")
    )
    out: dict[str, Batch] = {}
    for item in sorted((i for i in held.items if not i.begun), key=lambda i: len(i.options)):
        free = [o for o in item.options if opens.get(o.place, 0) <= start[o.row]]
        if not free:
            continue
        best = min(free, key=lambda o: (-int(grams[o.row]), int(start[o.row]), int(last[o.row])))
        opens[best.place] = int(last[best.row]) + 1 + garden.limits.turnaround_days
        made = batch_of_row(held, Taken(best, int(last[best.row])), item.batch.id, SOWN)
        b = item.batch
        out[b.id] = replace(made, sow=b.sow, seeds=b.seeds, cells=b.cells)
    return out


def free_tiers(
    garden: Garden,
    expected: Garden,
    held: Commitments,
    placed: Mapping[str, Batch],
    years: int,
    settings: Settings,
    known: Callable[[Garden, int], YearsOf],
    report: Report | None,
    stop: threading.Event | None,
    limit: RiskLimit | None,
) -> Made | None:
    """A plan of the tiers as they fall free of what stands; None if there is none."""
    from scheduler.base.faults import NoPlan, OutOfTime
    from scheduler.search.fixed_first import CannotFix
    from scheduler.usecases.choosing import Made, best_lived, one_plan

    free = _as_they_fall_free(garden, held, placed)
    mine = None if limit is None else limit.of(free)
    admit = partial(_beside_seedlings, free, tuple(placed.values()), mine)
    try:
        if not years:
            season, plan = one_plan(free, settings, report, stop, admit)
            return Made(free, season, plan, float("nan"), 0, 1.0)
        # The very years that it is searched on with: what is ripe in enough of them stays so.
        there = replace(free, site=_site_from(expected, garden.today))
        own, seed = known(free, years), settings.seed
        return best_lived(
            there,
            free,
            years,
            own.choosing,
            settings,
            seed,
            report,
            stop,
            admit,
            own.planning,
            own.taste,
        )
    except CannotFix:
        raise  # beside what stands
    except (NoPlan, OutOfTime):
        return None


def _beside_seedlings(
    garden: Garden,
    placed: Sequence[Batch],
    limit: RiskLimit | None,
    cand: Candidates,
) -> Candidates:
    """The candidates whose cells there are beside the seedlings in hand, within the limit."""
    import numpy as np

    from scheduler.risk.limit import only

    cand = cand if limit is None else limit(cand)
    sow, leaves, cells = (cand.table[n].to_numpy(int) for n in ("sow", "transplant", "cells"))
    fits = np.ones(len(cand), dtype=bool)
    for day in {garden.season.index(b.transplant) - 1 for b in placed}:
        held = sum(b.cells for b in placed if garden.season.index(b.transplant) > day)
        there = (sow <= day) & (leaves > day)
        fits &= ~there | (cells <= garden.nursery.cells - held)
    return only(cand, np.flatnonzero(fits)) if fits.any() else cand


def _as_they_fall_free(garden: Garden, held: Commitments, placed: Mapping[str, Batch]) -> Garden:
    """The garden from its first day on, each tier from the day on which it is likely free.

    What stands is taken to be picked when that gives most, and cleared on the same day. Tiers of
    the seedlings in hand are theirs until then.
    """
    from scheduler.garden.model import Span

    assert garden.today is not None
    season = garden.season
    turn = timedelta(days=garden.limits.turnaround_days)
    opens = _opens(garden, held)
    opens |= {(b.column, b.tier): b.clear + turn for b in placed.values()}
    columns = []
    for column in garden.columns:
        tiers = []
        for tier in column.tiers:
            opened = opens.get((column.name, tier.number))
            if opened is not None:
                spans = tier.available or (Span(garden.today, season.end),)
                # A span of one day holds no batch: a tier that is never free stays empty.
                later = [Span(max(s.start, opened), s.end) for s in spans if s.end > opened]
                tier = replace(tier, available=tuple(later) or (Span(season.end, season.end),))
            tiers.append(tier)
        columns.append(replace(column, tiers=tuple(tiers)))
    return replace(
        garden,
        site=_site_from(garden, garden.today),
        season=replace(season, start=garden.today),
        columns=tuple(columns),
        standing=(),
        seedlings=(),
        today=None,
    )


def _opens(garden: Garden, held: Commitments) -> dict[Place, date]:
    """Day from which each tier in which something stands is likely free."""
    season = garden.season
    grams, last = (held.cand.table[name].to_numpy(int) for name in ("grams", "last"))
    turn = timedelta(days=garden.limits.turnaround_days)
    opens = {}
    for item in held.items:
        if item.begun:
            best = min(item.options, key=lambda o: (-int(grams[o.row]), int(last[o.row])))
            day = season.date(max(int(last[best.row]), held.today))
            while day < season.end and not season.is_work_day(day):
                day += timedelta(days=1)
            opens[best.place] = day + turn
    return opens


def _site_from(garden: Garden, day: date | None) -> Site:
    """The garden's site with its weather from a day on, and the years that it carries."""
    from scheduler.garden.model import Site

    site = garden.site
    weather = site.weather.loc[str(day) :]
    return Site(site.latitude, site.elevation, weather, site.past, site.coastal)
