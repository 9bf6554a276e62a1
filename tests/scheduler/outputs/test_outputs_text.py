"""The text calendar, the CSV files and the week's table."""

import csv
import io
import re
from dataclasses import replace
from datetime import date

import calendar_case
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from scheduler.garden.model import Column
from scheduler.garden.weekly import wish
from scheduler.outputs import calendar_files, text
from scheduler.outputs import csv as sheets
from scheduler.outputs.weeks import table_weeks
from scheduler.outputs.work import work_items
from scheduler.words.words import Units, shown_width, wrap

METRIC, US = Units("metric"), Units("us")


@pytest.fixture(scope="module")
def case():
    garden = calendar_case.garden()
    plan = calendar_case.plan(garden)
    return garden, plan, work_items(garden, plan)


def renamed(name):
    """The case with its first column called ``name``."""
    garden = calendar_case.garden()
    plan = calendar_case.plan(garden)
    columns = (Column(name, garden.columns[0].tiers), garden.columns[1])
    batches = tuple(replace(b, column=name if b.column == "A" else b.column) for b in plan.batches)
    garden = replace(garden, columns=columns, name=name * 3)
    return garden, replace(plan, batches=batches)


@pytest.mark.parametrize("units", [METRIC, US])
@pytest.mark.parametrize(
    "name", ["A", "The long column beside the kitchen door", "北の庭" * 9, "W" * 39]
)
def test_text_never_passes_80_columns(units, name):
    garden, plan = renamed(name)
    page = text.calendar(garden, plan, work_items(garden, plan), units)
    assert max(cell_len(line) for line in page.split("\n")) <= 80
    assert name[:10] in page


def test_text_says_the_days_work_in_order(case):
    garden, plan, items = case
    page = text.calendar(garden, plan, items, METRIC)
    day = page[page.index("WEDNESDAY 9 June") :]
    day = day[: day.index("\nFRIDAY")]
    # Three crops are picked; A 1 is cleared with another tier, A 3 is filled and planted.
    assert re.findall(r"\[ \] (\w+)", day) == ["PICK", "CLEAR", "FILL"]
    assert "[ ] FILL pak choi EC 1.7 A 3: " in " ".join(day.split())
    assert "18.0 L is 30.8 cm deep." in page.split("WEEK")[0]
    alone = text.calendar(garden, plan, items, METRIC, date(2027, 6, 9), date(2027, 6, 9))
    verbs = [line.split()[2] for line in alone.split("\n") if line.startswith(" [ ]")]
    assert verbs == ["PICK", "PICK", "PICK", "CLEAR", "FILL"]
    assert "pak choi mix EC 1.7: A 3 with 18.0 L, 3 plants" in " ".join(alone.split())


def test_each_caution_stands_once_in_short_and_once_in_full(case):
    garden, plan, items = case
    page = text.calendar(garden, plan, items, METRIC)
    assert " !  Cautions stand in full at the end" in page
    week = text.calendar(garden, plan, items, METRIC, date(2027, 6, 7), date(2027, 6, 13))
    assert week.count(" !  Lifting: ") == week.count("\nLifting. ") == 1
    for name in ("Lifting", "Salts and acid", "Still water", "Clean produce", "Cleaning", "Power"):
        assert (page.count(f" !  {name}: "), page.count(f"\n{name}. ")) == (0, 1)


def test_an_empty_week_is_one_line(case):
    garden, plan, items = case
    page = text.calendar(garden, plan, items, METRIC).split("\n")
    empty = [n for n, line in enumerate(page) if "No work this week." in line]
    # 21 to 27 June is away; a week without a wish has no line of its own but this one.
    quiet = [n for n in empty if page[n + 1].startswith("WEEK")]
    assert quiet
    assert all(page[n].startswith("WEEK") for n in empty)


def test_text_of_some_days_only(case):
    garden, plan, items = case
    page = text.calendar(garden, plan, items, METRIC, date(2027, 5, 10), date(2027, 5, 12))
    assert "MONDAY 10 May" in page
    assert "SATURDAY 15 May" not in page
    assert page.count("WEEK ") == 1
    assert "Power." not in page  # nothing is sown in these days
    day = text.calendar(garden, plan, items, METRIC, date(2027, 6, 9), date(2027, 6, 9))
    assert day.split("\n")[1] == "Wednesday 9 June 2027"
    assert "pH 5.5 to 6.5 for pak choi." in day  # of the one mix of that day
    assert "pH 5.8" not in day


def test_us_units(case):
    garden, plan, items = case
    page = text.calendar(garden, plan, items, US)
    assert " cm" not in page
    assert " kg" not in page
    assert "4.76 gal" in page  # 18 L / 3.785411784 L


def test_units_against_their_definitions():
    # Exact by definition: 1 in = 2.54 cm, 1 lb = 453.59237 g, 1 US gal = 3.785411784 L.
    assert US.depth(2.54) == pytest.approx(1)
    assert US.mass(453.59237) == pytest.approx(16)
    assert US.volume(3.785411784) == pytest.approx(1)
    assert US.weight(0.45359237) == pytest.approx(1)
    assert [US.depth_text(2.54 * d) for d in (7.5, 0.74, 3.0, 0.99, 0.02)] == [
        "7 1/2 in",
        "3/4 in",
        "3 in",
        "1 in",
        "0 in",
    ]
    assert METRIC.depth_text(19.04) == "19.0 cm"
    assert (METRIC.mass_text(999), METRIC.mass_text(1000)) == ("999 g", "1.00 kg")


@given(st.text(max_size=300), st.integers(12, 80))
def test_wrapped_lines_fit_and_lose_nothing(words, width):
    lines = wrap(words, width, " [ ] ", "     ")
    assert all(cell_len(line) <= width for line in lines)
    kept = "".join(lines)[5:]
    assert "".join(kept.split()) == "".join(words.split())


def test_weeks_balance(case):
    garden, plan, _ = case
    rows = table_weeks(garden, plan)
    assert {(r.group, r.week): r.wish for r in rows if r.wish} == wish(garden)
    assert all(r.served + r.short == r.wish for r in rows)
    picked = sum(p.grams for b in plan.batches for p in b.picks)
    assert sum(r.picked for r in rows) == picked
    assert sum(g for r in rows for _, g in r.crops) == picked
    assert sum(r.short for r in rows) == sum(u.grams for u in plan.unmet)


def test_produce_nobody_wished_for_is_shown_apart(case):
    garden, plan, _ = case
    alone = replace(garden, demands=garden.demands[:1])
    rows = table_weeks(alone, replace(plan, unmet=()))
    assert sum(r.picked for r in rows if r.group == "") == sum(
        b.grams for b in plan.batches if b.crop in ("pak_choi", "swiss_chard")
    )


def test_csv_opens_with_iso_dates_and_units(case):
    garden, plan, items = case
    frame = pd.read_csv(io.StringIO(sheets.work_csv(garden, items, METRIC)), parse_dates=["date"])
    assert len(frame) == len(items)
    assert list(frame["date"].dt.date) == [w.date for w in items]
    fills = frame[frame["work"] == "fill"]["solution [L]"]
    assert fills.sum() == pytest.approx(18.0 * len(plan.batches))
    us = pd.read_csv(io.StringIO(sheets.work_csv(garden, items, US)))
    assert us["solution [gal]"].sum() == pytest.approx(
        frame["solution [L]"].sum() / 3.785411784, rel=1e-3
    )
    batches = pd.read_csv(io.StringIO(sheets.batches_csv(garden, plan, METRIC)))
    assert list(batches["margin [d]"]) == [b.margin_days for b in plan.batches]
    weeks = pd.read_csv(io.StringIO(sheets.weeks_csv(garden, plan, METRIC)))
    assert weeks["short [g]"].sum() == sum(u.grams for u in plan.unmet)


@pytest.mark.parametrize("name", ["=cmd|' /C calc'!A0", "+1", "-2", "@SUM(1)", "\t=1", " =1+1"])
def test_no_cell_is_a_formula(name):
    garden, plan = renamed(name)
    made = sheets.work_csv(garden, work_items(garden, plan), METRIC)
    made += sheets.batches_csv(garden, plan, METRIC)
    cells = {c for row in csv.reader(io.StringIO(made)) for c in row}
    assert "'" + name in cells
    assert not [c for c in cells if c.strip()[:1] in set("=+-@") and not c[1:2].isdigit()]
    assert name not in cells


def test_the_files_beside_a_plan(case):
    garden, plan, _ = case
    made = calendar_files(garden, plan)
    assert sorted(made) == ["batches.csv", "calendar.csv", "calendar.txt", "weeks.csv"]
    assert made["calendar.csv"].startswith(b"\xef\xbb\xbfdate,")
    assert b"\r\n" in made["weeks.csv"]
    assert list(pd.read_csv(io.BytesIO(made["batches.csv"]))["batch"]) == [
        b.id for b in plan.batches
    ]


@pytest.mark.parametrize(
    "written", ["", "plain", "Grünkohl", "生菜 A", "a\tb", "A\u0301 1", "½ in"]
)
def test_the_width_of_a_text_is_the_terminals(written):
    assert shown_width(written) == cell_len(written)
