"""The season's text in brief: short, and nothing that differs from the rest goes unsaid."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import calendar_case
import pytest

from scheduler.outputs import text, work
from scheduler.outputs.in_brief import common, levels, lines_in_brief, notes_in_brief
from scheduler.outputs.together import HARD
from scheduler.outputs.work import work_items
from scheduler.words.words import Units

METRIC = Units("metric")
GARDEN = calendar_case.garden()
PLAN = calendar_case.plan(GARDEN)
ITEMS = work_items(GARDEN, PLAN)
DAY = date(2027, 6, 9)
SALTS = (("first", 14.0, "g"), ("last", 14.0, "g"))

# As printed, read once by eye beside the plan of `calendar_case`: three crops are picked, A 1 is
# cleared with another tier, A 3 is filled and planted.
GOLDEN = """\
WEDNESDAY 9 June ------------------------------------- about 40 min, lift 1.6 kg
[ ] PICK leaf lettuce 115 g: 1 in A 1 (3 of 3); pak choi 327 g: 3 in A 2;
     butterhead lettuce 140 g: 1 in B 1 (2 of 3)  [ ] CLEAR A 1, A 2
[ ] FILL pak choi EC 1.7 A 3: 14+7+14 g"""


def fill(column: str, tier: int = 3, litres: float = 18.0, **changes: object) -> work.Work:
    made = work.Work(
        DAY, work.FILL, column, tier, f"{column}{tier}", "pak_choi", litres=litres, depth_cm=30.8
    )
    return replace(made, ec=1.7, ph=(6.0, 7.0), weigh=SALTS, **changes)  # type: ignore[arg-type]


def plant(of: work.Work, plants: int = 4, keep: int = 5) -> work.Work:
    until = of.date + timedelta(days=keep)
    return replace(
        of, kind=work.TRANSPLANT, plants=plants, weigh=(), litres=None, ec=None, until=until
    )


def told(season: list[work.Work], day: list[work.Work]) -> list[str]:
    lines = lines_in_brief(GARDEN, day, METRIC, common(season))
    return [line.text.replace(HARD, " ") for line in lines]


@pytest.mark.parametrize("columns", [1, 3])
def test_what_each_fill_has_in_common_is_said_once(columns: int) -> None:
    """14 g a fill: 14 and 14 g in one tier, 42 and 42 g in three."""
    fills = [fill(c) for c in "ABC"[:columns]]
    season = [*fills, *map(plant, fills)]
    (line,) = told(season, season)
    assert line == (
        "pak choi EC 1.7 A 3: 14+14 g" if columns == 1 else "pak choi EC 1.7 A 3, B 3, C 3: 42+42 g"
    )
    said = " ".join(notes_in_brief(GARDEN, common(season), season, METRIC))
    assert "18.0 L, 4 plants in A 3" in said
    assert "Seedlings keep 5 days longer than planned" in said


def test_a_fill_that_differs_says_so() -> None:
    usual = [f for c in "ABC" for f in (fill(c), plant(fill(c)))]
    later = fill("A", litres=16.0)
    season = [*usual, later, plant(later)]
    assert told(season, [later, plant(later)])[0].startswith("pak choi EC 1.7 A 3 (16.0 L)")
    fewer = [fill("B"), plant(fill("B"), plants=3)]
    assert "B 3 (18.0 L" not in told([*usual, *fewer], fewer)[0]
    assert "3 plants" in told([*usual, *fewer], fewer)[0]


@pytest.mark.parametrize(("keep", "said"), [(5, False), (4, True)])
def test_seedlings_that_keep_less_than_most_say_until_when(keep: int, said: bool) -> None:
    """Nineteen of twenty keep five days: a tenth may keep less, and then says the day."""
    most = [plant(fill("B", n), keep=5) for n in range(19)]
    this = [fill("A"), plant(fill("A"), keep=keep)]
    (line,) = told([*most, *this], this)
    until = DAY + timedelta(days=keep)
    assert (f"plant by {until.day} June" in line) is said


def test_a_level_is_told_to_the_half_centimetre_the_safe_way() -> None:
    """10.2 is nearest to 10, 9.1 is acted on from 9.5 down: never later than the table says."""
    a = work.Work(DAY, work.LEVEL, "A", 1, "a1", "pak_choi", depth_cm=10.2, act_cm=9.1)
    b = replace(a, tier=2, depth_cm=10.3, act_cm=9.5, meters=True)
    c = replace(a, column="B", act_cm=None)
    assert levels([a, b, c], METRIC).replace(HARD, " ") == "A 1 10|9.5, 2* 10.5|9.5; B 1 10"


def test_golden_text_of_one_day() -> None:
    page = text.calendar(GARDEN, PLAN, ITEMS, METRIC)
    day = page[page.index("WEDNESDAY 9 June") :]
    assert day[: day.index("\nFRIDAY")] == GOLDEN
