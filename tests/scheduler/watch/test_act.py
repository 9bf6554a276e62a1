"""The level below which to act: what the calendar says is what the log will answer."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest
import verify_case as case
from lived_case import KNOWN, mean_years

from scheduler.log.state import Followed
from scheduler.log.tracks import Reading
from scheduler.outputs import csv as work_csv
from scheduler.outputs import html, text
from scheduler.outputs.act import with_act
from scheduler.outputs.work import LEVEL, work_items
from scheduler.plans.model import GROWING
from scheduler.watch.act import act_levels
from scheduler.watch.judge import ALARM, DRY, watched_batch
from scheduler.watch.made import foretold
from scheduler.words.words import Units, use_language

GARDEN = case.garden(
    crops={n: replace(c, parameters=KNOWN) for n, c in case.garden().crops.items()}
)
PLAN = case.good_plan()
TABLE = foretold(GARDEN, PLAN, mean_years(GARDEN, 3))
DAYS = (6, 9, 12, 15, 18)
ACT = dict(zip(DAYS, act_levels(GARDEN, PLAN, TABLE, {"b5": DAYS})["b5"], strict=True))


def answered(day: int, cm: float) -> str:
    """What the log answers to a first reading of b5, heads in B 2 from day 22 on."""
    batch = next(b for b in PLAN.batches if b.id == "b5")
    on = case.day(22 + day)
    litres = GARDEN.vessels["box"].volume_at(cm)
    f = Followed(replace(batch, state=GROWING), 0, (Reading(on, litres, 2),))
    return watched_batch(GARDEN, f, TABLE, on).verdict


@pytest.mark.parametrize("day", DAYS)
def test_a_hair_below_it_alarms_and_a_hair_above_it_does_not(day):
    assert answered(day, ACT[day] - 0.1) in (ALARM, DRY)
    assert answered(day, ACT[day] + 0.2) not in (ALARM, DRY)


@pytest.mark.parametrize("day", DAYS)
def test_it_lies_below_the_level_expected(day):
    """12 L less 0.4 L a day, at 2.5 cm a litre; by the last day it is near the keep level, 3 cm."""
    assert 3 <= ACT[day] < 2.5 * (12 - 0.4 * day)


def test_later_there_is_less_time_to_run_dry_in():
    assert sorted(ACT.values(), reverse=True) == list(ACT.values())


def table():
    levels = [w for w in work_items(GARDEN, PLAN) if w.kind == LEVEL]
    start = {b.id: b.transplant for b in PLAN.batches}
    checks: dict = {}
    for w in levels:
        checks.setdefault(w.batch, {})[(w.date - start[w.batch]).days] = 9.44
    return replace(TABLE, checks=checks)


def test_text_csv_and_html_carry_it():
    units = Units("metric")
    items = with_act(PLAN, work_items(GARDEN, PLAN), table())
    body = text.calendar(GARDEN, PLAN, items, units)
    assert "|9.5" in body  # to the half centimetre, up to the safe side
    day = next(w.date for w in items if w.kind == LEVEL)
    assert "|9.4 ___" in text.calendar(GARDEN, PLAN, items, units, day, day)
    assert "behind the bar the depth to act below [cm]" in " ".join(body.split())
    assert "says when to pick" in " ".join(body.split())
    assert max(map(len, body.splitlines())) <= 80
    rows = list(csv.DictReader(io.StringIO(work_csv.work_csv(GARDEN, items, units))))
    assert {r["act below [cm]"] for r in rows if r["work"] == "level"} == {"9.44"}
    assert {r["act below [cm]"] for r in rows if r["work"] != "level"} == {""}
    assert "(act below 9.4 cm)" in html.page(GARDEN, PLAN, items, units)
    use_language("de")
    assert "|9,4 ___" in text.calendar(GARDEN, PLAN, items, units, day, day)
    use_language(None)
    assert "|3 3/4 ___" in text.calendar(GARDEN, PLAN, items, Units("us"), day, day)


def test_without_a_table_the_calendar_is_as_it_was():
    units = Units("metric")
    items = work_items(GARDEN, PLAN)
    same = with_act(PLAN, items, TABLE)
    assert same == items
    body = text.calendar(GARDEN, PLAN, same, units)
    assert "act below" not in body
    assert "|" not in body
