"""A garden whose courses are those to expect over many years, not those of the mean year."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from scheduler.garden.model import Garden, LateSite, Site

if TYPE_CHECKING:
    import pandas as pd

    from scheduler.garden.season_weather import WeatherOf
    from scheduler.years.weather_years import WeatherYears


LIVED_TIERS = 200  # of a larger garden no more than a sample of columns is planned by living them
# Of the years, may kill a batch that is planned by living it: there it counts as nothing in each of
# them, which is all that a mean needs to know. Own judgement: what dies in most years is left out.
MAY_KILL = 0.5


def with_years(
    garden: Garden, years: WeatherYears, lost: float | None = None, killed: float | None = None
) -> Garden:
    """The garden whose weather carries ``years``, which begin on its first day.

    ``lost`` : share of them in which a batch may be lost [0..1]; None: the usual ones, but
    ``killed`` for cold and heat where that is given.
    """
    return _with(garden, _carrying(garden.site.weather, years, lost, killed))


def may_kill(garden: Garden) -> float | None:
    """Share of the years in which cold or heat may kill a batch of a plan [0..1].

    None, the usual one, where most columns are planned for the courses to expect alone: there a
    batch counts in full though it dies in some years.
    """
    tiers = sum(len(column.tiers) for column in garden.columns)
    return MAY_KILL if tiers <= LIVED_TIERS else None


def without_years(garden: Garden) -> Garden:
    """The garden of the mean year."""
    from crops.years import plain

    return _with(garden, plain(garden.site.weather))


def expecting(
    garden: Garden,
    count: int,
    seed: int,
    as_of: date | None = None,
    lost: float | None = None,
    killed: float | None = None,
) -> Garden:
    """The garden with ``count`` years to plan with; of none it is as it was.

    ``lost``, ``killed`` : as in `with_years`; who plans, or opens a plan, gives `may_kill`.

    The weather is not looked at before somebody asks for it: a line of the log does not.
    """
    if count == 0:
        return garden
    site = garden.site

    def read() -> pd.DataFrame:
        from scheduler.years.purposes import years_for

        years = years_for(garden, count, seed, "plan", site.past, as_of)
        return _carrying(site.weather, years, lost, killed)

    return _late(garden, read, lambda: site.past)


def with_past(garden: Garden, read: Callable[[], pd.DataFrame]) -> Garden:
    """The garden with other daily weather of past years, read when it is first asked for."""
    site = garden.site
    return _late(garden, lambda: site.weather, read)


def foretelling(garden: Garden, read: Callable[[], pd.DataFrame], as_of: date) -> Garden:
    """The garden with the forecast in its weather known as one, unless it carries one already.

    Parameters
    ----------
    read : gives the days as they were without it, the first the day on which it was made; asked
        with the weather.
    as_of : what lies before has happened.
    """
    site = garden.site

    def weather() -> pd.DataFrame:
        from scheduler.years.forecast import forecast_in, with_forecast

        own = site.weather
        if forecast_in(own) is not None:
            return own
        climate = read()
        return with_forecast(own, climate.index[0].date(), climate, as_of)

    return _late(garden, weather, lambda: site.past)


def expecting_weather(
    garden: Garden, weather: WeatherOf, count: int, seed: int, lost: float | None = None
) -> WeatherOf:
    """Weather of other days, carrying years made as those of ``garden`` are."""

    def between(first: date, last: date) -> pd.DataFrame | None:
        from scheduler.years.purposes import years_for

        frame = weather(first, last)
        if frame is None:
            return None
        other = replace(_with(garden, frame), season=replace(garden.season, start=first, end=last))
        years = years_for(other, count, seed, "plan", garden.site.past)
        return _carrying(frame, years, lost, may_kill(garden))

    return between


def _with(garden: Garden, weather: pd.DataFrame) -> Garden:
    """The garden with another frame: all else of its site stays, which counts in its years."""
    s = garden.site
    return replace(garden, site=Site(s.latitude, s.elevation, weather, s.past, s.coastal))


def _late(
    garden: Garden, read: Callable[[], pd.DataFrame], past: Callable[[], pd.DataFrame | None]
) -> Garden:
    s = garden.site
    return replace(garden, site=LateSite.of(s.latitude, s.elevation, read, past, s.coastal))


def _carrying(
    weather: pd.DataFrame, years: WeatherYears, lost: float | None, killed: float | None
) -> pd.DataFrame:
    from crops.years import carrying, plain

    return carrying(plain(weather), years.carried, lost, killed)
