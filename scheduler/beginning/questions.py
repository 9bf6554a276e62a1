"""The questions: each with a default and an example, each an option of the command as well."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from scheduler.beginning import answers, vessels, weather
from scheduler.beginning.answers import Answers, Grows, Place
from scheduler.words.units import US, Units
from scheduler.words.words import _

Known = Mapping[str, Any]  # the answers so far


@dataclass(frozen=True)
class Question:
    """``key`` names the answer and its option; ``read`` raises `answers.Wrong`.

    ``default``: an answer as it would be typed, from those so far; ``lines``: what is shown above.
    """

    key: str
    text: str
    default: Callable[[Known], str]
    read: Callable[[str, Known], Any]
    lines: Callable[[Known], list[str]] = lambda known: []


def questions(today: date, units: str) -> tuple[Question, ...]:
    """All of them in order; ``units`` is what the machine's language suggests."""

    def season(known: Known) -> str:
        first, last = season_of(known["place"], today, known["grows"])
        return f"{first} to {last}"

    def stack_lines(known: Known) -> list[str]:
        return [_("A column is a stack of vessels, each a tier; tier 1 is the top.")]

    def vessel_lines(known: Known) -> list[str]:
        show = Units(known["units"])
        out = [_("Common sizes, brim-full; inside sizes vary, measure yours:")]
        for number, kind in enumerate(vessels.COMMON, 1):
            deep = show.depth_text(kind.depth)
            out.append(
                _("  {number} {name}, {litres}, {depth} deep").format(
                    number=number,
                    name=_(kind.name),
                    litres=show.volume_text(kind.litres),
                    depth=deep,
                )
            )
        example = "4 gal, 12 in" if known["units"] == US else "15 L, 30 cm"
        own = _("or volume and depth of your own, such as {example}")
        return [*out, own.format(example=example)]

    def climate_lines(known: Known) -> list[str]:
        out = [_("The file of a weather station (EPW, TMY3, NOAA, months or days), or invented:")]
        return out + [f"  {kind}: {_(text)}" for kind, text in weather.MEANING.items()]

    def climate(known: Known) -> str:
        north = abs(known["place"].latitude)
        return weather.WARM if north < 38 else weather.COLD if north < 48 else weather.MILD

    def grows(text: str, known: Known) -> tuple[Grows, ...]:
        return answers.read_grows(text, known["stack"], today)

    def grows_lines(known: Known) -> list[str]:
        name, ago = known["stack"].name(1), today - timedelta(days=20)
        deep = Units(known["units"]).depth_text(known["vessel"].fill_depth)
        level = "4 in" if known["units"] == US else "10 cm"
        return [
            _("Column, tier, crop, the day it was planted or its size, the level if known"),
            _("(just filled it stands {depth} deep); parted by semicolons:").format(depth=deep),
            f"  {name} 1 kale {ago}; {name} 2 lettuce 40 % level {level};",
            f"  seedlings 6 kale {ago}",
        ]

    def plain(text: str) -> Callable[[Known], str]:
        return lambda known: text

    def alone(read: Callable[[str], Any]) -> Callable[[str, Known], Any]:
        return lambda text, known: read(text)

    town = _("Where is it? A latitude (45.2 N, or 33.9 S, 120 m) or a large town near you")
    return (
        Question("units", _("Units: metric or us"), plain(units), alone(answers.read_units)),
        Question("place", town, plain("45 N"), alone(answers.read_place)),
        Question("climate", _("Weather"), climate, alone(answers.read_climate), climate_lines),
        Question(
            "stack",
            _("Columns x tiers in each x plants in a tier"),
            plain("1 x 3 x 3"),
            alone(answers.read_stack),
            stack_lines,
        ),
        Question("vessel", _("Vessel"), plain("2"), alone(answers.read_vessel), vessel_lines),
        Question(
            "stand",
            _("Where do the columns stand: open (sky all round), wall (beside one), balcony"),
            plain("open"),
            alone(answers.read_stand),
        ),
        Question("grows", _("What grows there today?"), plain("none"), grows, grows_lines),
        Question("season", _("From when to when"), season, alone(answers.read_season)),
        Question(
            "work_days",
            _("On which days can you work there (wed, sat; or all)"),
            plain("wed, sat, sun"),
            alone(answers.read_work_days),
        ),
        Question(
            "away",
            _("When are you away (2027-08-01 to 2027-08-14; or none)"),
            plain("none"),
            alone(answers.read_away),
        ),
        Question(
            "wish",
            _("How much a week: 2 people x 3 salads, or 4 heads, or 600 g"),
            plain("2 people x 3 salads"),
            alone(answers.read_wish),
        ),
        Question(
            "groups",
            _("Of what: {groups}").format(groups=", ".join(answers.GROUPS)),
            plain("lettuce, greens"),
            alone(answers.read_groups),
        ),
    )


def season_of(place: Place, today: date, grows: tuple[Grows, ...]) -> tuple[date, date]:
    """A season to begin with: today where something grows, else from spring, to autumn.

    Spring begins on 12 April and autumn ends on 31 October, half a year later in the south;
    nearer than 25 degrees to the equator it begins on the next Monday, for 24 weeks.
    """
    monday = today + timedelta(days=-today.weekday() % 7)
    weeks = timedelta(weeks=24, days=-1)
    if abs(place.latitude) < 25:
        first = today if grows else monday
        return first, first + weeks
    north = place.latitude > 0
    years = range(today.year - 1, today.year + 3)
    seasons = [
        (date(y, 4, 12), date(y, 10, 31)) if north else (date(y, 10, 12), date(y + 1, 4, 30))
        for y in years
    ]
    now = next((s for s in seasons if today <= s[1] - timedelta(weeks=10)), seasons[-1])
    first = today if grows else max(now[0], monday)
    first = first if grows else first + timedelta(days=-first.weekday() % 7)
    last = max(now[1], first + timedelta(weeks=12)) if grows else now[1]
    if grows and today < now[0]:  # in winter: for as long as a season is
        last = first + weeks
    return first, last


def of(found: Known) -> Answers:
    """The answers, all there."""
    return Answers(**found)
