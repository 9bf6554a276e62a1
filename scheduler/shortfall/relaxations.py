"""What could give: each rule of a garden eased by one step, or dropped, as a garden of its own.

A relaxation is the garden with one thing changed and the words for it. Most of them *loosen* the
garden: every plan of the garden as it is keeps the rules of the eased one too. A brighter tier or a
warmer nursery does not, as crops then come on sooner and drink more.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta

from crops.catalogue import catalogue
from crops.crop import Crop
from scheduler.garden.kinds import tier_kinds
from scheduler.garden.model import Column, Garden, Season, Span, Tier
from scheduler.garden.season_weather import WeatherOf
from scheduler.plans import rules as rules
from scheduler.shortfall.window_words import days_text
from scheduler.words.units import load, temperature
from scheduler.words.words import WEEKDAYS

CELLS = 4  # nursery cells in one step: as many as a common tier has holes
KG = 2.0  # of the lift limit in one step
LIGHT = 0.1  # share of the open sky's light in one step
WARMER = 2.0  # degrees of the nursery in one step
INDOORS = 20.0  # temperature of a nursery that is taken indoors [degC]
PLENTY = 100_000  # nursery cells: more than any season needs
SEASON, CROPS, SPACE, NURSERY_WARMTH = "season", "crops", "space", "nursery temperature"


@dataclass(frozen=True)
class Relaxation:
    """One thing that could give.

    Attributes
    ----------
    family : relaxations of which a grower would choose one, such as the weekday of a further
        work day.
    rule : the rule that gives, by its name in `scheduler.plans.rules`; or `SEASON`, `CROPS`,
        `SPACE`, `NURSERY_WARMTH`, which are no rules.
    text : for the grower, begins a sentence: "4 more nursery cells".
    garden : with this changed.
    whole : the rule is dropped, not eased by a step.
    loosens : every plan of the garden as it is is a plan of this one.
    short : what tells it from others of its family.
    """

    family: str
    rule: str
    text: str
    garden: Garden
    whole: bool = False
    loosens: bool = True
    short: str = ""


def one_step(garden: Garden, weather: WeatherOf | None = None) -> list[Relaxation]:
    """Every relaxation of one step that this garden has.

    Parameters
    ----------
    weather : of the site for other days; without it the season is not begun earlier.
    """
    return [
        cells(garden, CELLS),
        *further_work_day(garden),
        *_limits(garden),
        *more_space(garden),
        *longer(garden, 1, weather),
        *away_given_up(garden),
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
            "as many nursery cells as it takes",
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
                "work on every weekday",
                replace(garden, season=season),
                True,
            )
        )
    if limits.lift_kg is not None:
        out.append(
            Relaxation("lift", rules.LIFT.name, "no lift limit", _limit(garden, lift_kg=None), True)
        )
    if limits.fills_per_day is not None:
        out.append(
            Relaxation(
                "fills",
                rules.FILLS.name,
                "any number of fills a day",
                _limit(garden, fills_per_day=None),
                True,
            )
        )
    if limits.picks_per_day is not None:
        out.append(
            Relaxation(
                "picks",
                rules.PICKS.name,
                "any number of picks a day",
                _limit(garden, picks_per_day=None),
                True,
            )
        )
    if limits.minutes_per_day is not None:
        out.append(
            Relaxation(
                "minutes",
                rules.MINUTES.name,
                "as much time a day as it takes",
                _limit(garden, minutes_per_day=None),
                True,
            )
        )
    if limits.dry_margin_days > 1:
        out.append(
            Relaxation(
                "dry margin",
                rules.DRY.name,
                "no days in hand before dry",
                _limit(garden, dry_margin_days=0),
                True,
            )
        )
    if limits.turnaround_days > 1:
        out.append(
            Relaxation(
                "turnaround",
                rules.OCCUPANCY.name,
                "refilling on the day of clearing",
                _limit(garden, turnaround_days=0),
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
                "every tier all season",
                replace(garden, columns=columns),
                True,
            )
        )
    return out


def cells(garden: Garden, more: int) -> Relaxation:
    nursery = replace(garden.nursery, cells=garden.nursery.cells + more)
    text = f"{more} more nursery cell{'s' if more > 1 else ''}"
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
                f"a {_ORDINAL[count]} work day a week, {WEEKDAYS[weekday]}",
                replace(garden, season=replace(garden.season, work_days=days)),
                short=WEEKDAYS[weekday],
            )


_ORDINAL = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh")


def _limits(garden: Garden) -> Iterator[Relaxation]:
    limits = garden.limits
    if limits.fills_per_day is not None:
        yield Relaxation(
            "fills",
            rules.FILLS.name,
            "one more fill a day",
            _limit(garden, fills_per_day=limits.fills_per_day + 1),
        )
    if limits.picks_per_day is not None:
        yield Relaxation(
            "picks",
            rules.PICKS.name,
            "one more pick a day",
            _limit(garden, picks_per_day=limits.picks_per_day + 1),
        )
    if limits.minutes_per_day is not None:
        yield Relaxation(
            "minutes",
            rules.MINUTES.name,
            "half an hour more a day",
            _limit(garden, minutes_per_day=limits.minutes_per_day + 30),
        )
    if limits.lift_kg is not None:
        yield lifting(garden, KG)
        yield Relaxation(
            "two lifting",
            rules.LIFT.name,
            f"two people lifting, up to {load(2 * limits.lift_kg, garden.units)}",
            _limit(garden, lift_kg=2 * limits.lift_kg),
        )
    if limits.dry_margin_days > 0:
        yield margin(garden, limits.dry_margin_days - 1)
    if limits.turnaround_days > 0:
        days = limits.turnaround_days - 1
        yield Relaxation(
            "turnaround",
            rules.OCCUPANCY.name,
            f"a turnaround of {_days(days)} instead of {limits.turnaround_days}",
            _limit(garden, turnaround_days=days),
        )


def lifting(garden: Garden, more: float) -> Relaxation:
    """A lift limit that is ``more`` [kg] higher; only where there is one."""
    kg = (garden.limits.lift_kg or 0.0) + more
    return Relaxation(
        "lift", rules.LIFT.name, f"lifting {load(kg, garden.units)}", _limit(garden, lift_kg=kg)
    )


def margin(garden: Garden, days: int) -> Relaxation:
    return Relaxation(
        "dry margin",
        rules.DRY.name,
        f"{_days(days)} in hand before dry instead of {garden.limits.dry_margin_days}",
        _limit(garden, dry_margin_days=days),
    )


def _days(n: int) -> str:
    return f"{n or 'no'} day{'' if n == 1 else 's'}"


def more_space(garden: Garden) -> Iterator[Relaxation]:
    """One more column of each shape, and one more vessel by itself like each kind of top tier."""
    shapes: dict[tuple[Tier, ...], list[str]] = {}
    for column in garden.columns:
        shapes.setdefault(column.tiers, []).append(column.name)
    tops: dict[Tier, str] = {}
    for tiers, names in shapes.items():
        if len(tiers) > 1:
            yield Relaxation(
                "column", SPACE, f"one more column like {names[0]}", _with_column(garden, tiers)
            )
        tops.setdefault(tiers[0], names[0])
    for tier, name in tops.items():
        yield Relaxation(
            "vessel",
            SPACE,
            f"one more vessel by itself, like {name} {tier.number}",
            _with_column(garden, (tier,)),
        )


def _with_column(garden: Garden, tiers: tuple[Tier, ...]) -> Garden:
    names = {c.name for c in garden.columns}
    name = next(
        n for n in (f"new {k}" if k > 1 else "new" for k in range(1, 10_000)) if n not in names
    )
    return replace(garden, columns=(*garden.columns, Column(name, tiers)))


def longer(garden: Garden, weeks: int, weather: WeatherOf | None) -> Iterator[Relaxation]:
    """A season that begins or ends so many weeks sooner or later; the wishes stay as they are."""
    season, more = garden.season, timedelta(weeks=weeks)
    said = "a week" if weeks == 1 else f"{weeks} weeks"
    start = season.start - more
    frame = None if weather is None else weather(start, season.end)
    if frame is not None:
        yield Relaxation(
            "earlier",
            SEASON,
            f"a season begun {said} earlier",
            replace(
                garden,
                season=_season(season, start=start),
                site=replace(garden.site, weather=frame),
            ),
        )
    end = season.end + more
    frame = garden.site.weather if weather is None else weather(season.start, end)
    if frame is not None and frame.index[-1].date() >= end:
        yield Relaxation(
            "later",
            SEASON,
            f"a season that ends {said} later",
            replace(
                garden, season=_season(season, end=end), site=replace(garden.site, weather=frame)
            ),
        )


def _season(season: Season, **changes: object) -> Season:
    return replace(season, **changes)  # type: ignore[arg-type]


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
            f"somebody there {days_text(span.start, span.end)}",
            replace(garden, season=replace(season, away=rest)),
        )


def _overlaps(span: Span, season: Season) -> bool:
    return span.start <= season.end and span.end >= season.start


def brighter(garden: Garden, more: float, every: bool = False) -> Iterator[Relaxation]:
    """One tier of each kind brighter by ``more`` (share of the open sky); or ``every`` tier."""
    if every:
        columns = tuple(
            replace(c, tiers=tuple(replace(t, light=_lit(t, more)) for t in c.tiers))
            for c in garden.columns
        )
        yield Relaxation(
            "light",
            rules.LIGHT.name,
            f"every tier brighter by {more:.0%} of the open sky",
            replace(garden, columns=columns),
            loosens=False,
        )
        return
    for kind in tier_kinds(garden):
        if kind.tier.light < 1:
            name, number = kind.places[0]
            light = _lit(kind.tier, more)
            columns = tuple(
                c
                if c.name != name
                else replace(
                    c,
                    tiers=tuple(
                        replace(t, light=light) if t.number == number else t for t in c.tiers
                    ),
                )
                for c in garden.columns
            )
            yield Relaxation(
                "light",
                rules.LIGHT.name,
                f"{name} {number} in {light:.0%} of the open sky's "
                f"light instead of {kind.tier.light:.0%}",
                replace(garden, columns=columns),
                loosens=False,
                short=f"{name} {number}",
            )


def fewer_plants(garden: Garden, fewer: int) -> Relaxation:
    """So many plants fewer in every tier, one at least: each has more to drink."""
    columns = tuple(
        replace(c, tiers=tuple(replace(t, plants=max(t.plants - fewer, 1)) for t in c.tiers))
        for c in garden.columns
    )
    text = "one plant fewer" if fewer == 1 else f"{fewer} plants fewer"
    return Relaxation(
        "plants",
        rules.DRY.name,
        f"{text} in every tier",
        replace(garden, columns=columns),
        loosens=False,
    )


def larger_vessels(garden: Garden, times: float) -> Relaxation:
    """Vessels that hold so many times as much at the same depth, and weigh as many times more."""
    vessels = {}
    for name, v in garden.vessels.items():
        size = v.size_cm if v.shape == "table" else tuple(x * times**0.5 for x in v.size_cm)
        vessels[name] = replace(
            v,
            size_cm=size,
            table_l=tuple(x * times for x in v.table_l),
            fill_l=v.fill_l * times,
            mass_kg=v.mass_kg * times,
        )
    return Relaxation(
        "vessels",
        rules.DRY.name,
        f"vessels that hold {times:g} times as much",
        replace(garden, vessels=vessels),
        loosens=False,
    )


def _lit(tier: Tier, more: float) -> float:
    return max(tier.light, round(min(tier.light + more, 1.0), 6))


def further_crops(garden: Garden) -> Iterator[Relaxation]:
    """Each crop of the catalogue that would count for a group wished and is not grown yet."""
    for crop in catalogue().values():
        if crop.name in garden.crops:
            continue
        made = with_crop(garden, crop)
        if made is not None:
            yield Relaxation("crop", CROPS, f"{crop.title} grown too", made, short=crop.title)


def with_crop(garden: Garden, crop: Crop) -> Garden | None:
    """The garden with one more crop, counted for the wish it fits; None if it fits none."""
    for k, demand in enumerate(garden.demands):
        known = {garden.crops[n].group for n in demand.crops if n in garden.crops}
        if crop.group == demand.group or crop.group in known:
            demands = list(garden.demands)
            demands[k] = replace(demand, crops=(*demand.crops, crop.name))
            return replace(garden, crops={**garden.crops, crop.name: crop}, demands=tuple(demands))
    return None


def warmer_nursery(garden: Garden, more: float) -> Iterator[Relaxation]:
    """A warmer nursery; one that stands outdoors is taken indoors."""
    if garden.nursery.temperature is None:
        degrees = INDOORS
        text = f"a nursery indoors at {temperature(degrees, garden.units)}"
    else:
        degrees = garden.nursery.temperature + more
        text = (
            f"a nursery at {temperature(degrees, garden.units)} instead of "
            f"{temperature(garden.nursery.temperature, garden.units)}"
        )
    yield Relaxation(
        "nursery warmth",
        NURSERY_WARMTH,
        text,
        replace(garden, nursery=replace(garden.nursery, temperature=degrees)),
        loosens=False,
    )


def _limit(garden: Garden, **changes: object) -> Garden:
    return replace(garden, limits=replace(garden.limits, **changes))  # type: ignore[arg-type]
