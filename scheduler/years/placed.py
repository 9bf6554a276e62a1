"""Weather years where a tier stands."""

from __future__ import annotations

from dataclasses import replace

from crops.place import Day
from scheduler.garden.model import Garden, Tier
from scheduler.garden.placed import placed
from scheduler.garden.spans import Stay
from scheduler.years.weather_years import WeatherYears


def years_at(garden: Garden, years: WeatherYears, tier: Tier) -> WeatherYears:
    """The years in the places of ``tier``; the same object where it never leaves the open air."""
    return years_in(garden, years, tier.stays)


def years_in(garden: Garden, years: WeatherYears, stays: tuple[Stay, ...]) -> WeatherYears:
    """The years in places for spans of days; worked out once for each set of them."""
    if not stays:
        return years
    known: dict[object, WeatherYears] = vars(years).setdefault("_placed", {})
    if stays not in known:
        air = Day(years.tmin, years.tmax, years.dli, years.et0, years.sun, years.air)
        there, hours = placed(air, years.daylength, years.first, stays, garden.site.elevation)
        made = replace(years, daylength=hours, **there._asdict())
        known[stays] = made
    return known[stays]
