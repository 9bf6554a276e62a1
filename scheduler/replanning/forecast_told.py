"""What a plan made again takes from a forecast: how far it follows it, and what it leaves aside."""

from __future__ import annotations

from datetime import date

from scheduler.garden.model import Garden
from scheduler.words.language import _
from scheduler.words.words import dated
from scheduler.years.forecast import forecast_in


def forecast_told(garden: Garden, on: date) -> list[str]:
    """A sentence, where the weather years follow a forecast on the day ``on`` or after it."""
    forecast = forecast_in(garden.site.weather)
    if forecast is None or forecast.last_followed < on:
        return []
    text = _(
        "The weather years follow the forecast of {made} up to {last}, less with each day"
    ).format(made=dated(forecast.made), last=dated(forecast.last_followed))
    if forecast.said.index[-1].date() > forecast.last_followed:
        text += _("; what it says of later days is left aside, so far ahead it tells nothing")
    return [text]
