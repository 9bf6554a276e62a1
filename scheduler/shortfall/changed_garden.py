"""A garden changed: its space, season, light, plants, vessels, crops, the warmth of its nursery.

A brighter tier, fewer plants, larger vessels or a warmer nursery do not *loosen* the garden: crops
come on otherwise, so a plan of the garden as it is need not keep the rules of the changed one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

from crops.catalogue import catalogue
from crops.crop import Crop
from scheduler.garden.kinds import tier_kinds
from scheduler.garden.model import Column, Garden, Tier
from scheduler.garden.season_weather import WeatherOf
from scheduler.plans import rules as rules
from scheduler.shortfall.relaxation import CROPS, NURSERY_WARMTH, SEASON, SPACE, Relaxation
from scheduler.words.language import _
from scheduler.words.units import temperature
from scheduler.words.words import Shown

INDOORS = 20.0  # temperature of a nursery that is taken indoors [degC]


def more_space(garden: Garden) -> Iterator[Relaxation]:
    """One more column of each shape, and one more vessel by itself like each kind of top tier."""
    shapes: dict[tuple[Tier, ...], list[str]] = {}
    for column in garden.columns:
        shapes.setdefault(column.tiers, []).append(column.name)
    tops: dict[Tier, str] = {}
    for tiers, names in shapes.items():
        if len(tiers) > 1:
            yield Relaxation(
                "column",
                SPACE,
                _("one more column like {names}").format(names=names[0]),
                _with_column(garden, tiers),
            )
        tops.setdefault(tiers[0], names[0])
    for tier, name in tops.items():
        yield Relaxation(
            "vessel",
            SPACE,
            _("one more vessel by itself, like {name} {number}").format(
                name=name, number=tier.number
            ),
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
    said = _("a week") if weeks == 1 else _("{weeks} weeks").format(weeks=weeks)
    start = season.start - more
    frame = None if weather is None else weather(start, season.end)
    if frame is not None:
        yield Relaxation(
            "earlier",
            SEASON,
            _("a season begun {said} earlier").format(said=said),
            replace(
                garden,
                season=replace(season, start=start),
                site=replace(garden.site, weather=frame),
            ),
        )
    end = season.end + more
    frame = garden.site.weather if weather is None else weather(season.start, end)
    if frame is not None and frame.index[-1].date() >= end:
        yield Relaxation(
            "later",
            SEASON,
            _("a season that ends {said} later").format(said=said),
            replace(
                garden, season=replace(season, end=end), site=replace(garden.site, weather=frame)
            ),
        )


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
            _("every tier brighter by {more:.0%} of the open sky").format(more=Shown(more)),
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
                _(
                    "{name} {number} in {light:.0%} of the open sky's light instead of {light2:.0%}"
                ).format(
                    name=name, number=number, light=Shown(light), light2=Shown(kind.tier.light)
                ),
                replace(garden, columns=columns),
                loosens=False,
                short=f"{name} {number}",
            )


def _lit(tier: Tier, more: float) -> float:
    return max(tier.light, round(min(tier.light + more, 1.0), 6))


def fewer_plants(garden: Garden, fewer: int) -> Relaxation:
    """So many plants fewer in every tier, one at least: each has more to drink."""
    columns = tuple(
        replace(c, tiers=tuple(replace(t, plants=max(t.plants - fewer, 1)) for t in c.tiers))
        for c in garden.columns
    )
    text = _("one plant fewer") if fewer == 1 else _("{fewer} plants fewer").format(fewer=fewer)
    return Relaxation(
        "plants",
        rules.DRY.name,
        _("{text} in every tier").format(text=text),
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
        _("vessels that hold {times:g} times as much").format(times=Shown(times)),
        replace(garden, vessels=vessels),
        loosens=False,
    )


def further_crops(garden: Garden) -> Iterator[Relaxation]:
    """Each crop of the catalogue that would count for a group wished and is not grown yet."""
    for crop in catalogue().values():
        if crop.name in garden.crops:
            continue
        made = with_crop(garden, crop)
        if made is not None:
            yield Relaxation(
                "crop",
                CROPS,
                _("also growing {title}").format(title=_(crop.title)),
                made,
                short=_(crop.title),
            )


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
        text = _("a nursery indoors at {degrees}").format(
            degrees=temperature(degrees, garden.units)
        )
    else:
        degrees = garden.nursery.temperature + more
        text = _("a nursery at {degrees} instead of {temperature}").format(
            degrees=temperature(degrees, garden.units),
            temperature=temperature(garden.nursery.temperature, garden.units),
        )
    yield Relaxation(
        "nursery warmth",
        NURSERY_WARMTH,
        text,
        replace(garden, nursery=replace(garden.nursery, temperature=degrees)),
        loosens=False,
    )
