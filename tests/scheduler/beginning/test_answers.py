"""How answers are read, and what is said of those that cannot be."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from scheduler.beginning import answers, towns
from scheduler.beginning.answers import Place, Stack, Wish, Wrong
from scheduler.beginning.questions import questions, season_of

TODAY = date(2027, 6, 20)


@pytest.mark.parametrize(
    ("text", "latitude", "elevation"),
    [
        ("45 N", 45, 100),
        ("33.9 S, 40 m", -33.9, 40),
        ("-33.9", -33.9, 100),
        ("52.5°, 1000 ft", 52.5, 305),
        ("66 N", 66, 100),
        ("66 s", -66, 100),
    ],
)
def test_places(text: str, latitude: float, elevation: float) -> None:
    assert answers.read_place(text) == Place(latitude, elevation)


@pytest.mark.parametrize("text", ["67 N", "66.1 S", "north", "45 N, high", "", "45 N, 9000 m"])
def test_no_places(text: str) -> None:
    with pytest.raises(Wrong):
        answers.read_place(text)


def test_towns_lie_where_another_table_has_them() -> None:
    """Against the cities of astral (its own table): to a third of a degree, 37 km."""
    geocoder = pytest.importorskip("astral.geocoder")
    known = {c.name.lower(): c.latitude for c in geocoder.all_locations(geocoder.database())}
    both = {name for name in towns.towns() if name in known}
    assert len(both) > 100
    off = {n for n in both if abs(towns.towns()[n] - known[n]) > 0.35}
    assert len(off) <= 0.05 * len(both), off  # names that two towns bear
    assert answers.read_place("lisbon, 20 m") == Place(38.72, 20, "Lisbon")


def test_a_town_that_is_not_known_is_told_with_those_near() -> None:
    with pytest.raises(Wrong, match="did you mean Lisbon"):
        answers.read_place("Lisbonn")


@pytest.mark.parametrize(
    ("text", "wish"),
    [
        ("2 people x 3 salads", (600, 0)),
        ("1 person x 1 salad a week", (100, 0)),
        ("120 people", (12000, 0)),
        ("3 heads", (0, 3)),
        ("1 head a week", (0, 1)),
        ("600 g", (600, 0)),
        ("2 lb", (907.2, 0)),
        ("1.5 kg a week", (1500, 0)),
    ],
)
def test_wishes(text: str, wish: tuple[float, float]) -> None:
    got = answers.read_wish(text)
    assert isinstance(got, Wish)
    assert (got.grams, got.heads) == (pytest.approx(wish[0], abs=0.1), wish[1])


@pytest.mark.parametrize("text", ["3", "3 hens", "0 heads", "0 people x 3 salads", "9 g", ""])
def test_no_wishes(text: str) -> None:
    with pytest.raises(Wrong, match="a week's wish"):
        answers.read_wish(text)


@pytest.mark.parametrize(
    ("text", "stack"),
    [("1 x 3 x 3", (1, 3, 3)), ("10x4", (10, 4, None)), ("1 x 12 x 40", (1, 12, 40))],
)
def test_stacks(text: str, stack: tuple[int, int, int | None]) -> None:
    assert answers.read_stack(text) == Stack(*stack)


@pytest.mark.parametrize(
    "text", ["3", "1 x 13", "0 x 3", "1 x 3 x 41", "401 x 1", "a x b", "-1 x 3"]
)
def test_no_stacks(text: str) -> None:
    with pytest.raises(Wrong):
        answers.read_stack(text)


def test_what_grows() -> None:
    text = "A1 2 kale 2027-05-20; a2 1 lettuce 40 % level 9 cm; seedlings 6 pak choi 2027-06-01"
    kale, lettuce, raised = answers.read_grows(text, Stack(2, 3), TODAY)
    assert (kale.crop, kale.column, kale.tier, kale.since) == ("kale", "A1", 2, date(2027, 5, 20))
    assert (lettuce.crop, lettuce.size, lettuce.level) == ("leaf_lettuce", 0.4, "9 cm")
    assert (raised.crop, raised.column, raised.cells) == ("pak_choi", "", 6)
    assert answers.read_grows("none", Stack(1, 1), TODAY) == ()
    (one,) = answers.read_grows("1 kale 2027-06-19", Stack(1, 1), TODAY)
    assert (one.column, one.tier) == ("A", 1)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("A 1 kail 40 %", "kale"),
        ("A 2 kale 40 %", "a tier 1 to 1"),
        ("B 1 kale 40 %", "a column A"),
        ("A 1 kale 2027-06-20", "a day before today"),
        ("A 1 kale 2026-08-20", "a day before today"),
        ("A 1 kale 0 %", "a size"),
        ("A 1 kale 101 %", "a size"),
        ("A 1 kale 40 % level much", "a level"),
        ("A 1 kale 40 %; A 1 basil 40 %", "told twice"),
        ("kale", "column, tier, crop"),
    ],
)
def test_what_cannot_grow(text: str, word: str) -> None:
    with pytest.raises(Wrong, match=word):
        answers.read_grows(text, Stack(1, 1), TODAY)


def test_days() -> None:
    assert answers.read_work_days("wed and Saturday") == ("wed", "sat")
    assert len(answers.read_work_days("all")) == 7
    assert answers.read_away("none") == ()
    span = (date(2027, 8, 1), date(2027, 8, 14))
    assert answers.read_away("2027-08-01 to 2027-08-14") == (span,)
    assert answers.read_season("2027-04-12 to 2027-05-30")[1] == date(2027, 5, 30)  # 48 days on
    for read, text in (
        (answers.read_work_days, "someday"),
        (answers.read_away, "August"),
        (answers.read_away, "2027-08-14 to 2027-08-01"),
        (answers.read_season, "2027-04-12 to 2027-05-29"),
        (answers.read_season, "2027-04-12"),
    ):
        with pytest.raises(Wrong):
            read(text)


def test_vessels_and_the_rest() -> None:
    assert answers.read_vessel("2").name == "pail"
    own = answers.read_vessel("15 L, 30 cm deep")
    assert (own.litres, own.depth) == (15, 30)
    assert answers.read_stand("Balcony") == "balcony"
    assert answers.read_groups("herbs, lettuce") == ("lettuce", "herbs")
    assert answers.read_units("US") == "us"
    assert answers.read_climate("warm") == "warm"
    for read, text in (
        (answers.read_vessel, "6"),
        (answers.read_vessel, "15 L"),
        (answers.read_vessel, "15 L, 9 cm"),
        (answers.read_stand, "roof"),
        (answers.read_groups, "meat"),
        (answers.read_units, "imperial"),
        (answers.read_climate, "no-such-file.epw"),
    ):
        with pytest.raises(Wrong):
            read(text)


def test_a_weather_file_is_read_or_refused_with_its_first_fault(tmp_path: Path) -> None:
    good, bad = tmp_path / "good.csv", tmp_path / "bad.csv"
    good.write_text("month,tmin,tmax\n" + "".join(f"{m},5,15\n" for m in range(1, 13)))
    bad.write_text("month,tmin\n1,5\n")
    assert answers.read_climate(str(good)) == good
    with pytest.raises(Wrong, match="a climate file that can be read"):
        answers.read_climate(str(bad))


@pytest.mark.parametrize("today", [date(2027, m, 15) for m in range(1, 13)])
@pytest.mark.parametrize("latitude", [60.0, 45.0, 10.0, -10.0, -34.0])
def test_a_season_to_begin_with_is_long_enough(today: date, latitude: float) -> None:
    for grows in ((), (answers.Grows("kale", "A", 1, size=0.4),)):
        first, last = season_of(Place(latitude), today, grows)
        assert first >= today
        assert (last - first).days >= 62
        assert (first == today) == bool(grows) or first == today
        if not grows and latitude > 25:
            assert date(first.year, 4, 12) <= first <= date(first.year, 8, 28)


def test_there_are_at_most_fourteen_and_every_default_can_be_read() -> None:
    found: dict[str, object] = {}
    asked = questions(TODAY, "metric")
    assert len(asked) <= 14
    for one in asked:
        assert all(len(line) < 80 for line in one.lines(found) if line)
        found[one.key] = one.read(one.default(found), found)
        assert len(one.text) + len(one.default(found)) + 5 <= 160
