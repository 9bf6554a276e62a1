"""A forecast in the years ahead: their first days follow it, the less the further ahead they lie.

Of a day some days ahead a forecast explains a share R2 of what strays from the climate
(`explained`). With r the root of R2, and the day y as a year has it, c as the climate, f as the
forecast, it becomes

    c + r (f - c) + sqrt(1 - R2) (y - c)

which is what two normal deviates with correlation r give: over the years its mean is drawn to the
forecast, and it strays by as much as forecasts err. The errors of neighbouring days hang together
as the weather of the years does.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from crops import demand
from scheduler.garden.model import Garden, Site
from scheduler.words.language import _
from scheduler.words.words import dated
from scheduler.years.weather_years import WeatherYears, happened

if TYPE_CHECKING:
    import pandas as pd

KEY = "forecast"  # under which a garden's weather carries it

# R2 of daily temperature: a straight line through what forecasts of the maximum at Melbourne
# explain of the observed variance: 80 to 90 % a day ahead, about 50 % five to seven days ahead
# (Stern 2017, 97th AMS Annual Meeting, paper 2.4, abstract), and little, yet some, 14 days ahead
# (Stern, Davidson 2015, Q. J. R. Meteorol. Soc. 141:2726-2736, abstract). It is 0.85 on day 1, 0.50
# on day 6, none on day 14. That this variance is the one around the climate, that nights and other
# places are alike, and what is known of the day itself, are own judgement.
TODAY, PER_DAY = 0.92, 0.07
CLOUD = 0.5  # of that: light, ET0, humidity; clouds are foreseen less well; own judgement
_STRAYING = ("tmin", "tmax", "tmean", "rs", "dli", "et0", "sun", "air")
_ALIKE = 1e-9  # relative: what differs by less was not foretold


@dataclass(frozen=True, eq=False)
class Forecast:
    """A forecast of some days.

    Attributes
    ----------
    made : the day on whose morning it was made.
    said, climate : the days with the forecast and without it, daily frames of
        `crops.climate.weather`. A day that is alike in both was not foretold.
    """

    made: date
    said: pd.DataFrame
    climate: pd.DataFrame

    @property
    def last_followed(self) -> date:
        """The last day of which it tells something."""
        reach = int(np.flatnonzero(explained(np.arange(366)) > 0)[-1])
        last: date = self.said.index[-1].date()
        return min(last, self.made + timedelta(days=reach))

    def __deepcopy__(self, memo: Any) -> Forecast:
        """Frames copy what they carry with every slice; a forecast never changes."""
        return self


def explained(lead: np.ndarray) -> np.ndarray:
    """Share of a day's variance that a forecast explains, ``lead`` days ahead [0..1]."""
    share: np.ndarray = np.clip(TODAY - PER_DAY * np.asarray(lead, float), 0.0, 1.0)
    return share


def _known(name: str, lead: np.ndarray) -> np.ndarray:
    """The same of a column of the weather."""
    share = explained(lead)
    return share if name in ("tmin", "tmax", "tmean") else CLOUD * share


def with_forecast(
    weather: pd.DataFrame, made: date, climate: pd.DataFrame, as_of: date
) -> pd.DataFrame:
    """The weather to be expected, carrying a forecast.

    Parameters
    ----------
    weather : with the forecast in the place of the climate; where it has none of those days, it
        stays as it is.
    made : the day on whose morning it was made; climate : those days as they were without it.
    as_of : from this day on each day is what the years come to on the mean; before it, as given.
    """
    import pandas as pd

    days = pd.DatetimeIndex(weather.index.intersection(climate.index))
    if not len(days):
        return weather
    forecast = Forecast(made, weather.loc[days].copy(), climate.loc[days])
    out = weather.copy()
    ahead = days[days >= pd.Timestamp(as_of)]
    lead = (ahead - pd.Timestamp(made)).days.to_numpy()
    for name in (n for n in _STRAYING if n in weather):
        usual = climate.loc[ahead, name].to_numpy(float)
        off = weather.loc[ahead, name].to_numpy(float) - usual
        out.loc[ahead, name] = usual + np.sqrt(_known(name, lead)) * off
    out.attrs = {**weather.attrs, KEY: forecast}
    return out


def forecast_in(weather: pd.DataFrame) -> Forecast | None:
    """The forecast that a garden's weather carries."""
    found = weather.attrs.get(KEY)
    return found if isinstance(found, Forecast) else None


def without_forecast(garden: Garden) -> Garden:
    """The garden with the climate in place of a forecast: what years are made around."""
    weather = garden.site.weather
    forecast = forecast_in(weather)
    if forecast is None:
        return garden
    days = weather.index.intersection(forecast.climate.index)
    plain = weather.copy()
    plain.loc[days] = forecast.climate.loc[days, list(weather.columns)]
    plain.attrs = {k: v for k, v in weather.attrs.items() if k != KEY}
    s = garden.site
    return replace(garden, site=Site(s.latitude, s.elevation, plain, s.past, s.coastal))


def following(garden: Garden, years: WeatherYears, as_of: date | None = None) -> WeatherYears:
    """Years made `without_forecast`, their first days following the forecast of ``garden``.

    Light, ET0 and what the air takes stay between the least and most of the years and the
    forecast; the night is never warmer than the day.

    Parameters
    ----------
    as_of : what lies before has happened: it is the same in every year.
    """
    weather = garden.site.weather
    forecast = forecast_in(weather)
    if forecast is None:
        return years
    import pandas as pd

    days = pd.DatetimeIndex(weather.index.intersection(forecast.said.index))
    if not len(days):
        return years
    at = weather.index.get_indexer(days)
    lead = (days - pd.Timestamp(forecast.made)).days.to_numpy()
    lived = at < happened(garden, as_of)
    said, usual = _columns(forecast.said.loc[days]), _columns(forecast.climate.loc[days])
    told = {n: ~np.isclose(said[n], usual[n], rtol=_ALIKE, atol=0.0) for n in said}
    told["tmin"] = told["tmax"] = told["tmin"] | told["tmax"]
    out = {}
    for name in said:
        own = getattr(years, name)[:, at]
        known = _known(name, lead)
        strayed = np.sqrt(1 - known) * (own - usual[name])
        mixed = usual[name] + np.sqrt(known) * (said[name] - usual[name]) + strayed
        if name not in ("tmin", "tmax"):
            least = np.minimum(own.min(axis=0), said[name])
            mixed = np.clip(mixed, least, np.maximum(own.max(axis=0), said[name]))
        out[name] = np.array(getattr(years, name))
        out[name][:, at] = np.where(lived, said[name], np.where(told[name], mixed, own))
    low, high = out["tmin"][:, at], out["tmax"][:, at]
    middle = (low + high) / 2
    out["tmin"][:, at] = np.where(low > high, middle, low)
    out["tmax"][:, at] = np.where(low > high, middle, high)
    note = _(
        "The first days follow the forecast of {date}, less with each day; two weeks ahead every "
        "year is its own."
    ).format(date=dated(forecast.made))
    return replace(
        years,
        notes=(*years.notes, note),
        tmin=out["tmin"],
        tmax=out["tmax"],
        dli=out["dli"],
        et0=out["et0"],
        sun=out["sun"],
        air=out["air"],
    )


def _columns(weather: pd.DataFrame) -> dict[str, np.ndarray]:
    """Name in `WeatherYears` to the days of a frame."""
    et0, sun, air = demand.taken(weather)
    temperatures = {n: weather[n].to_numpy(float) for n in ("tmin", "tmax", "dli")}
    return {**temperatures, "et0": et0, "sun": sun, "air": air}
