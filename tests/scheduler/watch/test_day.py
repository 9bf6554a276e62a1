"""``dryline today``: a day of the plan of `verify_case`, with and without its log and table.

b2: chard in A 1 from day 11, cut on 31 and 38. b1: lettuce in A 3 from day 10, picked on 30 and 33.
b4: lettuce, sown on day 24, into A 3 on day 34. b5: lettuce in B 2 from day 22, b3 in B 1 from 20.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest
import verify_case as case
from click.testing import CliRunner
from lived_case import mean_years

from scheduler.base.faults import BadInput
from scheduler.commands.today import command
from scheduler.log.model import HEADER
from scheduler.outputs.work import work_items
from scheduler.plans import folder as plan_dir
from scheduler.watch.forecast import WATCH_FILE, Other, read, written
from scheduler.watch.made import forecasts, foretold
from scheduler.words.words import shown_width, use_language
from scheduler.words.work_kinds import SHELTER

GARDEN, PLAN = case.garden(), case.good_plan()


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setattr(plan_dir, "read_plan_dir", lambda folder, brief: (GARDEN, PLAN))
    (tmp_path / WATCH_FILE).write_bytes(written(table(), PLAN))
    yield tmp_path
    use_language(None)


def table():
    made = foretold(GARDEN, PLAN, mean_years(GARDEN, 3))
    cover = Other(case.day(30), SHELTER, "B", None, "", "", 0, case.day(43))
    return type(made)(
        made.kinds, made.batches, {"b2": {12: 9.0, 19: None}, "b5": {8: None}}, (cover,)
    )


def log(folder, *rows):
    text = "\n".join([HEADER, *(f"{case.day(k)},{rest}" for k, rest in rows)])
    (folder / "log.csv").write_text(text + "\n")


def call(folder, k, *args):
    arguments = [str(folder), "--today", case.day(k).isoformat(), *args]
    result = CliRunner().invoke(command, arguments, standalone_mode=False)
    assert result.exception is None, result.exception
    assert result.return_value == 0
    assert all(shown_width(line) <= 79 for line in result.output.splitlines())
    return result.output


def work(folder, k):
    got = json.loads(call(folder, k, "--json"))
    return [(w["kind"], w["column"], w["tier"], w["done"]) for w in got["work"]]


def test_a_day_lists_its_work_in_order_and_each_day_of_the_plan_has_its_own(folder):
    assert work(folder, 30) == [
        ("level", "A", 1, False),
        ("level", "B", 2, False),
        ("shelter", "B", None, False),
        ("pick", "A", 3, False),
    ]
    assert work(folder, 0) == [("sow", "A", 3, False)]
    assert work(folder, 10) == [("transplant", "A", 3, False), ("sow", "B", 1, False)]
    assert work(folder, 33) == [("pick", "A", 3, False), ("clear", "A", 3, False)]
    assert work(folder, 34) == [("transplant", "A", 3, False)]
    assert work(folder, 35) == []


def test_what_the_log_tells_is_done(folder):
    log(folder, (30, "picked,A,3,,2,plants,"), (30, "level,A,1,,6,L,"))
    assert work(folder, 30) == [
        ("level", "A", 1, True),
        ("level", "B", 2, False),
        ("shelter", "B", None, False),
        ("pick", "A", 3, True),
    ]
    assert "(in the log)" in call(folder, 30)


def test_a_tier_that_failed_asks_for_nothing(folder):
    log(folder, (25, "failed,A,1,,,,leak"))
    assert ("level", "A", 1, False) not in work(folder, 30)
    assert work(folder, 31) == []  # the cut of the chard was all


def test_what_was_planted_late_is_planted_on_its_own_day(folder):
    """A 3 planted two days late: told on that day as done; its picks of days 30, 33 are to come."""
    log(folder, (12, "transplanted,A,3,,4,plants,"))
    assert ("transplant", "A", 3, True) in work(folder, 12)
    assert ("pick", "A", 3, False) in work(folder, 30)


def test_a_day_without_work_names_the_next(folder):
    assert "  Nothing. The next work is on Thursday 13 May 2027.\n" in call(folder, 37)
    assert "Nothing, and nothing is to come." in call(folder, 90)


def test_alarms_come_first_and_what_is_due_is_measured_where_it_tells_most_first(folder):
    """B 2 drinks 1.6 times as much: 12 - 0.64 * 5 = 8.8 L on day 27; dry on day 22 + 17 = 39."""
    log(folder, (25, "level,B,2,,10.08,L,"), (27, "level,B,2,,8.8,L,"))
    out = call(folder, 30)
    alarm, to_do, measure = (out.index(t) for t in ("B 2 will be dry about", "To do", "Measure"))
    assert alarm < to_do < measure
    due = out[measure:].splitlines()[1]
    # A 1 was never measured: 12 - 0.4 * 19 = 4.4 L, 11 cm. B 2 has 8.8 - 0.64 * 3 = 6.9 L, 17 cm,
    # or some more, as so thirsty a tier is rare.
    assert re.fullmatch(r"  due: A 1 \(expect 11\.0 cm\), B 2 \(expect 1[78]\.\d cm\)", due)


def test_in_the_other_units_and_language(folder):
    out = call(folder, 10, "--units", "us", "--language", "de")
    assert "Zu tun\n  setzen  A 3  Salat: 4 Pflanzen, in 3,17 gal\n" in out


def test_of_an_older_folder_the_plan_alone_is_told(folder):
    (folder / WATCH_FILE).unlink()
    assert work(folder, 30) == [("pick", "A", 3, False)]
    assert "Measure" not in call(folder, 30)


def test_a_day_outside_the_season_is_refused(folder):
    for text in ("2027-04-04", "2027-07-05", "tomorrow"):
        arguments = [str(folder), "--today", text]
        result = CliRunner().invoke(command, arguments, standalone_mode=False)
        assert isinstance(result.exception, BadInput)
        assert result.exception.faults[0].file == "--today"


def test_the_table_keeps_the_calendars_other_work(tmp_path):
    from scheduler.outputs.work import LEVEL, work_items

    items = work_items(GARDEN, PLAN)
    (tmp_path / WATCH_FILE).write_bytes(written(forecasts(GARDEN, PLAN, items), PLAN))
    got = read(tmp_path, PLAN)
    want = {(w.batch, w.date) for w in items if w.kind == LEVEL}
    start = {b.id: b.transplant for b in PLAN.batches}
    assert want
    assert {
        (b, start[b] + (case.day(d) - case.day(0))) for b, days in got.checks.items() for d in days
    } == want
    assert [o.column for o in got.other if o.kind == SHELTER] == [
        w.column for w in items if w.kind == SHELTER
    ]


def test_the_level_at_mid_crop_says_that_ec_and_ph_are_measured_too(folder):
    made = replace(table(), meters={"b5": 8})
    (folder / WATCH_FILE).write_bytes(written(made, PLAN))
    assert read(folder, PLAN).meters == {"b5": 8}
    said = " ".join(call(folder, 30).split())
    assert re.search(r"B 2 \(expect [\d.]+ cm; EC and pH too\)", said)
    assert re.search(r"A 1 \(expect [\d.]+ cm\)", said)
    assert "EC and pH" not in call(folder, 23)


def test_the_table_knows_where_the_calendar_asks_for_them():
    """A crop that stands 28 days, from day 10 to 38, is metered on day 21 (`test_blanks`)."""
    plan = case.plan(case.batch("b9", "lettuce", "A1", 0, 10, [(38, 4)], 39))
    assert forecasts(GARDEN, plan, work_items(GARDEN, plan)).meters == {"b9": 11}
    assert forecasts(GARDEN, PLAN, work_items(GARDEN, PLAN)).meters == {}
