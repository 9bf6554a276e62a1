"""Hardening off, protection and shade: when they are asked for, and when not, to a hair."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from verify_case import LETTUCE, day, garden, heads, plan

from crops.crop import Crop
from crops.place import KINDS
from crops.solution_heat import lag, sun_gain
from scheduler.garden.model import Garden, Labour, Nursery, Stay
from scheduler.outputs import labour
from scheduler.outputs.paper.month import MARKS, marks
from scheduler.outputs.together import day_lines
from scheduler.outputs.weather_text import brief_notes, weather_in_brief
from scheduler.outputs.weather_work import COOL_NIGHT, Care, cares, weather_items
from scheduler.words.units import METRIC
from scheduler.words.words import Units, habit
from scheduler.words.work_kinds import HARDEN, PROTECT, SHADE
from scheduler.years.weather_years import WeatherYears

# Sown on day 0, transplanted on day 10, picked on day 30. The weather is 20 degC, 20 mol, every day.
A = heads("x", "A1", 10)


def yard(crop: Crop = LETTUCE, nursery: float | None = None, **weather: float) -> Garden:
    made = garden(crops={**garden().crops, "lettuce": crop}, nursery=Nursery(12, nursery))
    frame = made.site.weather.assign(**weather)
    return replace(made, site=replace(made.site, weather=frame))


def years(g: Garden, count: int = 10) -> WeatherYears:
    """All as the garden's weather."""
    w = g.site.weather
    rows = {n: np.tile(w[n].to_numpy(float), (count, 1)) for n in ("tmin", "tmax", "et0", "dli")}
    return WeatherYears(first=day(0), daylength=w["daylength"].to_numpy(float), **rows)


def asked(g: Garden, kind: str, made: WeatherYears | None = None) -> list[Care]:
    found = cares(g, plan(A), years(g) if made is None else made)
    return [c for c in found if c.kind == kind]


def placed(g: Garden, place: str) -> Garden:
    stays = (Stay(day(0), day(400), KINDS[place]),)
    tiers = tuple(replace(t, stays=stays) for t in g.columns[0].tiers)
    return replace(g, columns=(replace(g.columns[0], tiers=tiers), *g.columns[1:]))


def test_seedlings_of_a_warm_nursery_are_hardened_where_nights_are_cool() -> None:
    cool = yard(nursery=20.0, tmin=COOL_NIGHT - 0.01)
    [care] = asked(cool, HARDEN)
    assert (care.first, care.last) == (day(3), day(10))  # a week before it is planted
    assert asked(yard(nursery=20.0, tmin=COOL_NIGHT), HARDEN) == []
    # A nursery outdoors hardens by itself; a hall asks for none; under fleece it is 2 degC warmer.
    assert asked(yard(nursery=None, tmin=COOL_NIGHT - 0.01), HARDEN) == []
    assert asked(placed(cool, "indoors"), HARDEN) == []
    assert asked(placed(cool, "fleece"), HARDEN) == []
    # Sown five days before: not before it is sown.
    late = plan(replace(A, sow=day(5)))
    [care] = [c for c in cares(cool, late, years(cool)) if c.kind == HARDEN]
    assert care.first == day(6)


@pytest.mark.parametrize("count", [1, 3])
def test_what_a_night_may_kill_is_protected(count: int) -> None:
    """Tender at 2 degC and never hardened: 1.99 kills in 1 or 3 of 10 years."""
    g = yard(replace(LETTUCE, kill_temperature=2.0, kill_hardened=2.0))
    made = years(g)
    assert asked(g, PROTECT, made) == []
    made.tmin[:count, 15] = 2.0
    assert asked(g, PROTECT, made) == []
    made.tmin[:count, 15] = made.tmin[:count, 20] = 1.99
    [care] = asked(g, PROTECT, made)
    assert (care.first, care.last, care.celsius) == (
        day(15),
        day(20),
        3.0,
    )  # 1 degC to the safe side
    assert care.chance == pytest.approx(count / 10)
    assert care.room == ""
    # Nights before it is planted, and from the day of its last pick on, are no danger to it.
    other = years(g)
    other.tmin[:count, 9] = other.tmin[:count, 30] = -9.0
    assert asked(g, PROTECT, other) == []
    # In a frame it is 3 degC warmer.
    assert asked(placed(g, "frame"), PROTECT, made) == []


def warm(by: float, days: range, of: int) -> list[Care]:
    """The air of some days in ``of`` of 10 years so warm that the solution is ``by`` above 25 degC.

    20 mol give a gain of its own; what a vessel lags behind on the first of the days counts too.
    """
    g = yard(replace(LETTUCE, heat_limit=25.0))
    made = years(g)
    gain = float(sun_gain(20.0, 1.0))
    for d in days:
        made.tmin[:of, d] = made.tmax[:of, d] = 25.0 + by - gain
    return asked(g, SHADE, made)


def test_warm_solution_is_told_from_three_days_on_in_one_year_of_five() -> None:
    # The first of four days lags behind, so that three are as warm as told.
    four, three = range(14, 18), range(14, 17)
    assert lag(6.6) < 0.997  # half full; of 3.4 degC more it lacks a hundredth on the first day
    [care] = warm(0.01, four, 2)
    assert (care.first, care.last) == (day(15), day(17))
    assert care.celsius == pytest.approx(25.01, abs=0.001)
    assert care.bears == 25.0
    assert care.white == pytest.approx(float(sun_gain(20.0, 1.0)) / 2)
    assert care.chance == pytest.approx(0.2)
    assert warm(0.01, four, 7)[0].chance == pytest.approx(0.7)
    assert warm(0.01, three, 2) == []  # two days alone
    assert warm(0.01, four, 1) == []  # in one year of ten
    assert warm(-0.01, four, 10) == []


def test_tips_of_lettuce_burn_in_bright_still_air_alone() -> None:
    """In a frame 80 % of the light: 21.25 mol outside are 17.0 inside, just borne; 22 are 17.6."""
    lettuce = replace(LETTUCE, family="Asteraceae")
    assert asked(placed(yard(lettuce, dli=21.25), "frame"), SHADE) == []
    [care] = asked(placed(yard(lettuce, dli=22.0), "frame"), SHADE)
    assert (care.first, care.last) == (day(16), day(30))  # the fortnight before it is picked
    assert care.light == pytest.approx(17.6)
    assert care.chance == 1.0
    # In one year of ten it is no matter; in three of ten it is told with that chance.
    some = placed(yard(lettuce, dli=21.25), "frame")
    for bright, chances in ((1, []), (3, [0.3])):
        made = years(some)
        made.dli[:bright] = 22.0
        found = asked(some, SHADE, made)
        assert [c.chance for c in found] == [pytest.approx(c) for c in chances]
    assert asked(yard(lettuce, dli=40.0), SHADE) == []  # in the wind
    other = placed(yard(replace(LETTUCE, family="Brassicaceae"), dli=22.0), "frame")
    assert asked(other, SHADE) == []


def test_in_words() -> None:
    g = yard(replace(LETTUCE, kill_temperature=2.0, kill_hardened=-4.0), nursery=20.0, tmin=8.0)
    made = years(g)
    made.tmin[:1, 15] = 1.9
    vars(g)["_cared"] = {0: made}
    both = plan(A, heads("y", "A2", 10))
    items = weather_items(g, both)
    lines = {
        line.kind: line.text.replace("\xa0", " ") for line in day_lines(g, items, Units(METRIC))
    }
    assert lines[HARDEN] == "lettuce for A 1, A 2, planted on 15 April"
    assert (
        lines[PROTECT] == "A 1, A 2 until 20 April when under 3 °C is forecast (in 1 of 10 years)"
    )
    assert {w.date for w in items if w.kind == PROTECT} == {day(15)}
    assert {w.date for w in items if w.kind == HARDEN} == {day(3)}


@pytest.mark.parametrize(("kg", "brought"), [(14.4, True), (14.3, False)])
def test_what_is_light_enough_can_be_brought_in(kg: float, brought: bool) -> None:
    """12 L, a vessel of 2 kg and four heads of 100 g: 14.4 kg. On A 2 another vessel stands."""
    g = yard(replace(LETTUCE, kill_temperature=2.0, kill_hardened=2.0))
    g = replace(g, rooms=("hall",), limits=replace(g.limits, lift_kg=kg))
    made = years(g)
    made.tmin[:3, 15] = 1.9
    vars(g)["_cared"] = {0: made}
    items = [w for w in weather_items(g, plan(A, heads("y", "A2", 10))) if w.kind == PROTECT]
    assert {(w.tier, w.place) for w in items} == {(1, "hall" if brought else ""), (2, "")}
    [line] = [x for x in day_lines(g, items, Units(METRIC)) if x.kind == PROTECT]
    told = line.text.replace("\xa0", " ")
    assert ("; A 1 can be brought into hall, up to 14.4 kg each" in told) is brought
    assert told.endswith("(in 3 of 10 years)")
    nowhere = replace(g, rooms=())
    vars(nowhere)["_cared"] = {0: made}
    assert {w.place for w in weather_items(nowhere, plan(A))} == {""}


@pytest.mark.parametrize("tiers", [1, 3])
def test_minutes_that_the_weather_asks_for(tiers: int) -> None:
    """Hardened a week, 2 minutes a day and tier; protected one night, 3 minutes a tier."""
    g = yard(replace(LETTUCE, kill_temperature=2.0, kill_hardened=-4.0), nursery=20.0, tmin=8.0)
    made = years(g)
    made.tmin[:1, 15] = 1.9
    vars(g)["_cared"] = {0: made}
    many = plan(*(heads(f"x{n}", f"A{n}", 10) for n in range(1, tiers + 1)))
    items = weather_items(g, many)
    assert labour.care(g, items) == {HARDEN: 14.0 * tiers, PROTECT: 3.0 * tiers}
    assert labour.of_items(g, [w for w in items if w.date == day(3)]) == 2.0 * tiers
    own = replace(g, limits=replace(g.limits, labour=Labour(harden=1.0, protect=0.0)))
    vars(own)["_cared"] = {0: made}
    assert labour.care(own, weather_items(own, many)) == {HARDEN: 7.0 * tiers, PROTECT: 0.0}


def test_a_letter_on_the_month_sheet() -> None:
    g = yard(replace(LETTUCE, kill_temperature=2.0, kill_hardened=-4.0), nursery=20.0, tmin=8.0)
    made = years(g)
    made.tmin[:1, 15] = 1.9
    vars(g)["_cared"] = {0: made}
    letters = marks(weather_items(g, plan(A)))
    assert letters == {("A", 1, day(3)): "H", ("A", 1, day(15)): "T"}
    assert len({habit(mark) for mark in MARKS.values()}) == len(MARKS)


def test_tips_in_brief_are_told_by_their_light() -> None:
    """In a frame 80 % of 25 mol; no degrees, and nothing of a warm solution."""
    g = placed(yard(replace(LETTUCE, family="Asteraceae"), dli=25.0), "frame")
    vars(g)["_cared"] = {0: years(g)}
    items = [w for w in weather_items(g, plan(A)) if w.kind == SHADE]
    units = Units(METRIC)
    said = weather_in_brief(items, units, lambda some: "A 1", lambda on, w: "5 May")
    assert said.replace("\xa0", " ") == "A 1 until 5 May (20 mol/m2, 10/10)"
    notes = " ".join(brief_notes(items, units))
    assert "may burn the tips" in notes
    assert "solution" not in notes
