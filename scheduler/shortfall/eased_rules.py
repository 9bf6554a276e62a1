"""A rule of a garden eased: more cells, work days, lifting, fewer days in hand.

Each *loosens* the garden: every plan of the garden as it is keeps the eased rule too.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from scheduler.garden.model import Garden, Helper, Limits, Season, Span
from scheduler.plans import rules as rules
from scheduler.shortfall.relaxation import Relaxation
from scheduler.shortfall.window_words import days_text
from scheduler.words.language import N_, _, plural
from scheduler.words.units import load
from scheduler.words.words import WEEKDAYS

KG = 2.0  # of the lift limit in one step
_ORDINAL = (
    N_("first"),
    N_("second"),
    N_("third"),
    N_("fourth"),
    N_("fifth"),
    N_("sixth"),
    N_("seventh"),
)

MOST_FIXED = 6  # fixed batches that are each tried as not fixed


def cells(garden: Garden, more: int) -> Relaxation:
    nursery = replace(garden.nursery, cells=garden.nursery.cells + more)
    text = plural("{n} more nursery cell", "{n} more nursery cells", more)
    return Relaxation("nursery cells", rules.NURSERY.name, text, replace(garden, nursery=nursery))


def further_work_day(garden: Garden) -> Iterator[Relaxation]:
    """Work on one more weekday, for each that is free."""
    count = len(garden.season.work_days)
    for weekday in range(7):
        if weekday not in garden.season.work_days:
            days = garden.season.work_days | {weekday}
            yield Relaxation(
                "work days",
                rules.WORK_DAYS.name,
                _("a {count} work day a week, {weekday}").format(
                    count=_(_ORDINAL[count]), weekday=_(WEEKDAYS[weekday])
                ),
                replace(garden, season=replace(garden.season, work_days=days)),
                short=_(WEEKDAYS[weekday]),
            )


def further_pick_day(garden: Garden) -> Iterator[Relaxation]:
    """Picking on one more weekday with work, for each on which is not picked."""
    season = garden.season
    for weekday in sorted(season.work_days - season.pick_days):
        days = season.pick_days | {weekday}
        yield Relaxation(
            "pick days",
            rules.PICK_DAYS.name,
            _("picking on {weekday} too").format(weekday=_(WEEKDAYS[weekday])),
            replace(garden, season=replace(season, pick_days=days)),
            short=_(WEEKDAYS[weekday]),
        )


def limits_eased(garden: Garden) -> Iterator[Relaxation]:
    limits = garden.limits
    if limits.fills_per_day is not None:
        yield Relaxation(
            "fills",
            rules.FILLS.name,
            _("one more fill a day"),
            replace(garden, limits=replace(limits, fills_per_day=limits.fills_per_day + 1)),
        )
    if limits.picks_per_day is not None:
        yield Relaxation(
            "picks",
            rules.PICKS.name,
            _("one more pick a day"),
            replace(garden, limits=replace(limits, picks_per_day=limits.picks_per_day + 1)),
        )
    if limits.timed:
        yield Relaxation(
            "minutes",
            rules.MINUTES.name,
            _("half an hour more a day"),
            replace(garden, limits=_more_minutes(limits, 30.0)),
        )
    if limits.lift_kg is not None:
        yield lifting(garden, KG)
        yield Relaxation(
            "two lifting",
            rules.LIFT.name,
            _("two people lifting, up to {lift_kg}").format(
                lift_kg=load(2 * limits.lift_kg, garden.units)
            ),
            replace(garden, limits=replace(limits, lift_kg=2 * limits.lift_kg)),
        )
    if limits.dry_margin_days > 0:
        yield margin(garden, limits.dry_margin_days - 1)
    if limits.turnaround_days > 0:
        days = limits.turnaround_days - 1
        yield Relaxation(
            "turnaround",
            rules.OCCUPANCY.name,
            _("a turnaround of {days} instead of {turnaround_days}").format(
                days=_days(days), turnaround_days=limits.turnaround_days
            ),
            replace(garden, limits=replace(limits, turnaround_days=days)),
        )


def _more_minutes(limits: Limits, more: float) -> Limits:
    """More minutes on each day that has any."""
    if not limits.helpers:
        return replace(limits, minutes_per_day=(limits.minutes_per_day or 0.0) + more)
    days = frozenset().union(*(h.days for h in limits.helpers))
    return replace(limits, helpers=(*limits.helpers, Helper("more", days, more)))


def lifting(garden: Garden, more: float) -> Relaxation:
    """A lift limit that is ``more`` [kg] higher; only where there is one."""
    kg = (garden.limits.lift_kg or 0.0) + more
    eased = replace(garden, limits=replace(garden.limits, lift_kg=kg))
    return Relaxation(
        "lift", rules.LIFT.name, _("lifting {kg}").format(kg=load(kg, garden.units)), eased
    )


def margin(garden: Garden, days: int) -> Relaxation:
    return Relaxation(
        "dry margin",
        rules.DRY.name,
        _("{days} in hand before dry instead of {dry_margin_days}").format(
            days=_days(days), dry_margin_days=garden.limits.dry_margin_days
        ),
        replace(garden, limits=replace(garden.limits, dry_margin_days=days)),
    )


def _days(n: int) -> str:
    return plural("{n} day", "{n} days", n) if n else _("no days")


def away_given_up(garden: Garden) -> Iterator[Relaxation]:
    """Each time away given up."""
    season = garden.season
    for k, span in enumerate(season.away):
        if not _overlaps(span, season):
            continue
        rest = tuple(s for i, s in enumerate(season.away) if i != k)
        yield Relaxation(
            "away",
            rules.WORK_DAYS.name,
            _("somebody there {end}").format(end=days_text(span.start, span.end)),
            replace(garden, season=replace(season, away=rest)),
        )


def will_given_up(garden: Garden) -> Iterator[Relaxation]:
    """Each fixed batch free to be another, and all crops allowed where they never are."""
    for k, one in enumerate(garden.fixed[:MOST_FIXED]):
        crop = garden.crops[one.crop].title
        yield Relaxation(
            "fixed",
            rules.FIXED.name,
            _("{crop} in {column} {tier}, planted {day}, not fixed").format(
                crop=crop,
                column=one.column,
                tier=one.tier,
                day=days_text(one.planted_on, one.planted_on),
            ),
            replace(garden, fixed=tuple(f for i, f in enumerate(garden.fixed) if i != k)),
        )
    for k, wished in enumerate(garden.demands):
        free = replace(wished, shares=(), same_kind_weeks=None)
        demands = (*garden.demands[:k], free, *garden.demands[k + 1 :])
        for rule, asked, text in (
            (rules.SHARE, wished.shares, _("crops of {group} in any shares")),
            (
                rules.SAME_KIND,
                wished.same_kind_weeks,
                _("the same kind of {group} any number of weeks running"),
            ),
        ):
            if asked:
                yield Relaxation(
                    "mixed",
                    rule.name,
                    text.format(group=wished.group),
                    replace(garden, demands=demands),
                )
    if any(t.never for c in garden.columns for t in c.tiers):
        columns = tuple(
            replace(c, tiers=tuple(replace(t, never=()) for t in c.tiers)) for c in garden.columns
        )
        yield Relaxation(
            "never",
            rules.NEVER.name,
            _("every crop allowed where the garden says never"),
            replace(garden, columns=columns),
        )


def _overlaps(span: Span, season: Season) -> bool:
    return span.start <= season.end and span.end >= season.start
