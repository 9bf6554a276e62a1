"""What could give: each rule of a garden eased by one step, or dropped, as a garden of its own.

A relaxation is the garden with one thing changed and the words for it. Most of them *loosen* the
garden: every plan of the garden as it is keeps the rules of the eased one too. A brighter tier or a
warmer nursery does not, as crops then come on sooner and drink more.
"""

from __future__ import annotations

from dataclasses import replace

from scheduler.garden.model import Garden
from scheduler.garden.season_weather import WeatherOf
from scheduler.plans import rules as rules
from scheduler.shortfall.changed_garden import (
    brighter,
    further_crops,
    longer,
    more_space,
    warmer_nursery,
)
from scheduler.shortfall.eased_rules import (
    away_given_up,
    cells,
    further_pick_day,
    further_work_day,
    limits_eased,
    will_given_up,
)
from scheduler.shortfall.relaxation import Relaxation
from scheduler.words.language import _

CELLS = 4  # nursery cells in one step: as many as a common tier has holes
LIGHT = 0.1  # share of the open sky's light in one step
WARMER = 2.0  # degrees of the nursery in one step
PLENTY = 100_000  # nursery cells: more than any season needs


def one_step(garden: Garden, weather: WeatherOf | None = None) -> list[Relaxation]:
    """Every relaxation of one step that this garden has.

    Parameters
    ----------
    weather : of the site for other days; without it the season is not begun earlier.
    """
    return [
        cells(garden, CELLS),
        *further_work_day(garden),
        *further_pick_day(garden),
        *limits_eased(garden),
        *more_space(garden),
        *longer(garden, 1, weather),
        *away_given_up(garden),
        *will_given_up(garden),
        *brighter(garden, LIGHT),
        *further_crops(garden),
        *warmer_nursery(garden, WARMER),
    ]


def without_rule(garden: Garden) -> list[Relaxation]:
    """Each rule that a grower could do something about, dropped: what it holds back at most."""
    limits = garden.limits
    out = [
        Relaxation(
            "nursery cells",
            rules.NURSERY.name,
            _("as many nursery cells as it takes"),
            replace(garden, nursery=replace(garden.nursery, cells=PLENTY)),
            True,
        ),
    ]
    if len(garden.season.work_days) < 7:
        season = replace(garden.season, work_days=frozenset(range(7)))
        out.append(
            Relaxation(
                "work days",
                rules.WORK_DAYS.name,
                _("work on every weekday"),
                replace(garden, season=season),
                True,
            )
        )
    if garden.season.picks_apart:
        season = replace(garden.season, pick_days=frozenset(range(7)))
        out.append(
            Relaxation(
                "pick days",
                rules.PICK_DAYS.name,
                _("picking on every work day"),
                replace(garden, season=season),
                True,
            )
        )
    if limits.lift_kg is not None:
        out.append(
            Relaxation(
                "lift",
                rules.LIFT.name,
                _("no lift limit"),
                replace(garden, limits=replace(limits, lift_kg=None)),
                True,
            )
        )
    if limits.fills_per_day is not None:
        out.append(
            Relaxation(
                "fills",
                rules.FILLS.name,
                _("any number of fills a day"),
                replace(garden, limits=replace(limits, fills_per_day=None)),
                True,
            )
        )
    if limits.picks_per_day is not None:
        out.append(
            Relaxation(
                "picks",
                rules.PICKS.name,
                _("any number of picks a day"),
                replace(garden, limits=replace(limits, picks_per_day=None)),
                True,
            )
        )
    if limits.timed:
        out.append(
            Relaxation(
                "minutes",
                rules.MINUTES.name,
                _("as much time a day as it takes"),
                replace(garden, limits=replace(limits, minutes_per_day=None, helpers=())),
                True,
            )
        )
    if limits.dry_margin_days > 1:
        out.append(
            Relaxation(
                "dry margin",
                rules.DRY.name,
                _("no days in hand before dry"),
                replace(garden, limits=replace(limits, dry_margin_days=0)),
                True,
            )
        )
    if limits.turnaround_days > 1:
        out.append(
            Relaxation(
                "turnaround",
                rules.OCCUPANCY.name,
                _("refilling on the day of clearing"),
                replace(garden, limits=replace(limits, turnaround_days=0)),
                True,
            )
        )
    if any(t.available for c in garden.columns for t in c.tiers):
        columns = tuple(
            replace(c, tiers=tuple(replace(t, available=()) for t in c.tiers))
            for c in garden.columns
        )
        out.append(
            Relaxation(
                "tier available",
                rules.AVAILABLE.name,
                _("every tier all season"),
                replace(garden, columns=columns),
                True,
            )
        )
    return out
