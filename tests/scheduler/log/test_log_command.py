"""``dryline log``: what is appended, what is refused and why, and many writers at once."""

from __future__ import annotations

import json
import threading
from dataclasses import replace
from datetime import date

import pytest
import verify_case as case
from click.testing import CliRunner

from scheduler.base.faults import BadInput
from scheduler.commands.log import command
from scheduler.log import append as log_append
from scheduler.log.model import HEADER, read_log_file
from scheduler.plans import folder as plan_dir

GARDEN, PLAN = case.garden(), case.good_plan()
TODAY = case.day(50).isoformat()


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setattr(plan_dir, "read_plan_dir", lambda folder, brief: (GARDEN, PLAN))
    return tmp_path


def call(folder, *args, today=TODAY):
    arguments = [str(folder), *map(str, args), "--today", today]
    return CliRunner().invoke(command, arguments, standalone_mode=False)


def faults(result):
    assert isinstance(result.exception, BadInput), result.output
    return [(f.path, f.expected) for f in result.exception.faults]


def test_the_first_line_makes_the_file_with_its_header(folder):
    result = call(folder, case.day(20), "level", "A", 3, "7.5", "L")
    assert result.return_value == 0
    text = (folder / "log.csv").read_text()
    assert text == f"{HEADER}\n2027-04-25,level,A,3,,7.5 L,,\n"
    assert "log.csv:2: 2027-04-25 level A 3 7.5 L" in result.output


def test_today_and_json(folder):
    result = call(folder, "today", "picked", "A", 3, "--json", today=case.day(30).isoformat())
    got = json.loads(result.output)
    assert (got["date"], got["what"], got["line"]) == ("2027-05-05", "picked", 2)


def test_an_improbable_pick_is_refused_with_the_reason_unless_confirmed(folder):
    """A tonne from three plants; and a pick on the day of transplanting, before anything stood."""
    said = ("picked", "A", 3, "1000", "kg")
    ((path, expected),) = faults(call(folder, case.day(30), *said))
    assert path == "amount"
    assert "--confirm" in expected
    assert not (folder / "log.csv").exists()
    assert call(folder, case.day(30), *said, "--confirm").return_value == 0
    assert "1000 kg,,confirmed\n" in (folder / "log.csv").read_text()
    ((path, expected),) = faults(call(folder, case.day(10), "picked", "A", 3, 2))
    assert path == "tier"
    assert "it is empty on" in expected
    assert call(folder, case.day(10), "transplanted", "A", 3).return_value == 0
    ((path, expected),) = faults(call(folder, case.day(10), "picked", "A", 3, 2))
    assert path == "date"
    assert "was transplanted on 2027-04-15" in expected
    assert call(folder, case.day(10), "picked", "A", 3, 2, "--confirm").return_value == 0


def test_a_spreadsheets_separator_line_ends_and_columns_are_kept(folder):
    file = folder / "log.csv"
    file.write_bytes(b"what;date;tier;column;amount;unit\r\ncleared;2027-05-08;3;A;;")
    call(folder, case.day(40), "level", "A", 3, "9,5 L")
    assert file.read_bytes().endswith(b"A;;\r\nlevel;2027-05-15;3;A;9,5 L;\r\n")
    assert not read_log_file(file, GARDEN).faults


@pytest.mark.parametrize(
    ("units", "args", "told", "row"),
    [
        ("metric", ("level", "A", 3, "24.9"), "24.9 cm (no unit given: read in cm)", "24.9,cm"),
        ("us", ("level", "A", 3, "7", "7/8"), "7 7/8 in (no unit given: read in in)", "7 7/8,in"),
        ("us", ("level", "A", 3, "7 7/8 in"), "7 7/8 in", "7 7/8 in,"),
        ("us", ("level", "A", 3, "2 L"), "0.53 gal", "2 L,"),
        ("us", ("picked", "A", 3, "350 g"), "12.3 oz", "350 g,"),
        ("us", ("picked", "A", 3, "2"), "2 plants", "2,"),
        ("us", ("ec", "A", 3, "2.1"), "2.1 mS/cm (no unit given: read in mS/cm)", "2.1,mS/cm"),
        ("us", ("ph", "A", 3, "5.9"), "5.9", "5.9,"),
        ("us", ("topped", "A", 3, "1"), "1.00 gal (no unit given: read in gal)", "1,gal"),
        ("metric", ("topped", "A", 3, "1"), "1.0 L (no unit given: read in L)", "1,L"),
        ("us", ("rain", "A", 3, "1/2"), "1/2 in (no unit given: read in in)", "1/2,in"),
        ("metric", ("rain", "A", 3, "12"), "12 mm (no unit given: read in mm)", "12,mm"),
        ("us", ("width", "A", 3, "7"), "7 in (no unit given: read in in)", "7,in"),
        ("us", ("lost", "A", 3, "1 of 4"), "1 of 4 plants", "1 of 4,"),
    ],
)
def test_amounts_are_read_and_told_in_the_gardens_units(
    tmp_path, monkeypatch, units, args, told, row
):
    garden = replace(GARDEN, units=units)
    monkeypatch.setattr(plan_dir, "read_plan_dir", lambda folder, brief=False: (garden, PLAN))
    result = call(tmp_path, case.day(30), *args)
    assert result.output.split("\n")[0].endswith(f" {told}"), result.exception
    # What was typed is written down as it was, with the unit it was read in.
    assert (tmp_path / "log.csv").read_text().endswith(f",{row},\n")


# b1 lettuce A3: transplanted day 10, picked 2 on day 30, 2 on day 33, cleared day 33;
# b4 lettuce A3: transplanted day 34. Nothing ever stands in A2.
@pytest.mark.parametrize(
    ("args", "path", "expected"),
    [
        ((case.day(51), "level", "A", 3, "9 L"), "date", "up to today"),
        ((case.day(20), "level", "A", 3, "13 L"), "amount", "at most the fill"),
        ((case.day(20), "picked", "A", 2), "tier", "a tier with a crop in it"),
        ((case.day(20), "cleared", "A", 2), "tier", "a tier with a crop in it"),
        ((case.day(9), "level", "A", 3, "9 L"), "tier", "a tier with a crop in it"),
        ((case.day(20), "picked", "A", 3, "5 plants"), "amount", "at most 4"),
        ((case.day(20), "picked", "A", 3, "--crop", "chard"), "crop", "lettuce"),
        ((case.day(20), "transplanted", "A", 3, "--crop", "chard"), "tier", "an empty tier"),
        ((case.day(40), "transplanted", "A", 2, "5", "--crop", "lettuce"), "amount", "at most 4"),
        ((case.day(40), "transplanted", "B", 2, "--crop", "kale"), "crop", "one of"),
        ((case.day(20), "failed", "--crop", "chard"), "crop", "seedlings of it"),
        (("20.04.2027", "picked", "A", 3), "date", "written as"),
        ((case.day(20), "watered", "A", 3), "what", "one of"),
    ],
)
def test_impossible_entries_are_refused_and_nothing_is_written(folder, args, path, expected):
    result = call(folder, *args)
    assert [p for p, _ in faults(result)] == [path]
    assert expected in faults(result)[0][1]
    assert not (folder / "log.csv").exists()


def test_a_doubled_entry_is_refused(folder):
    call(folder, case.day(20), "level", "A", 3, "8 L")
    before = (folder / "log.csv").read_bytes()
    assert "each event once" in faults(call(folder, case.day(20), "level", "A", 3, "8 L"))[0][1]
    assert (folder / "log.csv").read_bytes() == before


def test_no_more_plants_are_picked_than_stand(folder):
    assert call(folder, case.day(30), "picked", "A", 3, "3 plants").return_value == 0
    path, expected = faults(call(folder, case.day(31), "picked", "A", 3, "2 plants"))[0]
    assert (path, "at most 1" in expected) == ("amount", True)
    assert call(folder, case.day(31), "picked", "A", 3, "1 plant").return_value == 0
    assert "none are left" in faults(call(folder, case.day(32), "picked", "A", 3))[0][1]


def test_picking_from_a_tier_that_failed_is_refused(folder):
    call(folder, case.day(20), "failed", "A", 3, "--note", "leak")
    ((_, expected),) = faults(call(folder, case.day(30), "picked", "A", 3))
    assert "failed on 2027-04-25" in expected


def test_faults_of_other_lines_are_told_but_do_not_stop_a_good_one(folder):
    (folder / "log.csv").write_text(f"{HEADER}\nnonsense,level,A,3,,1,L,\n")
    result = call(folder, case.day(20), "level", "A", 3, "8 L")
    assert result.return_value == 0
    assert len((folder / "log.csv").read_text().splitlines()) == 3


def test_many_writers_lose_no_line(tmp_path):
    file = tmp_path / "log.csv"
    season = replace(GARDEN.season)
    days = [season.date(i) for i in range(11, 27)]

    def write(day: date) -> None:
        row = {
            "date": day.isoformat(),
            "what": "ec",
            "column": "A",
            "tier": "3",
            "amount": "1.5 mS/cm",
        }
        log_append.append(file, GARDEN, PLAN, row, case.day(50))

    threads = [threading.Thread(target=write, args=(d,)) for d in days]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    log = read_log_file(file, GARDEN)
    assert [e.date for e in log.entries] == days
    assert not log.faults


def test_a_crash_while_writing_leaves_the_old_log(tmp_path, monkeypatch):
    file = tmp_path / "log.csv"
    row = {"date": "2027-04-25", "what": "level", "column": "A", "tier": "3", "amount": "8 L"}
    log_append.append(file, GARDEN, PLAN, row, case.day(50))
    before = file.read_bytes()

    def crash(*_: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr("os.replace", crash)
    with pytest.raises(OSError, match="disk full"):
        log_append.append(file, GARDEN, PLAN, {**row, "date": "2027-04-26"}, case.day(50))
    assert file.read_bytes() == before


def test_a_fault_is_one_line_whatever_the_note(tmp_path):
    """Found by fuzzing: a note of several lines broke the message in two."""
    file = tmp_path / "log.csv"
    file.write_text("date,what,column,tier,amount\n")
    row = {
        "date": "2027-04-25",
        "what": "level",
        "column": "A",
        "tier": "3",
        "amount": "8 L",
        "note": "pale\nleaves " * 20,
    }
    with pytest.raises(BadInput) as error:
        log_append.append(file, GARDEN, PLAN, row, case.day(50))
    (fault,) = error.value.faults
    assert "\n" not in fault.text()
    assert len(fault.text()) - len(fault.file) < 120


def test_no_line_is_added_to_a_text_that_does_not_end(tmp_path):
    """Found by fuzzing: it was refused, without a word."""
    file = tmp_path / "log.csv"
    before = f'{HEADER}\n2027-04-20,ec,A,3,,1.5,mS/cm,"a note\n'
    file.write_text(before)
    row = {"date": "2027-04-25", "what": "level", "column": "A", "tier": "3", "amount": "8 L"}
    with pytest.raises(BadInput, match="a quote that is never closed"):
        log_append.append(file, GARDEN, PLAN, row, case.day(50))
    assert file.read_text() == before
    file.write_text(before.replace('"a note', '"a note\nof two lines"'))
    log_append.append(file, GARDEN, PLAN, row, case.day(50))
    assert len(read_log_file(file, GARDEN).entries) == 2


def test_a_copied_log_never_takes_the_place_of_one_that_tells_more(tmp_path):
    source, target = tmp_path / "log.csv", tmp_path / "next" / "log.csv"
    source.write_text(f"{HEADER}\n2027-04-20,ec,A,3,,1.5,mS/cm,\n")
    assert log_append.copy_log(source, target) is None  # into a new folder
    source.write_text(source.read_text() + "2027-04-21,ec,A,3,,1.5,mS/cm,\n")
    assert log_append.copy_log(source, target) is None  # all of the old one is in it
    assert target.read_bytes() == source.read_bytes()
    for number in (1, 2):
        more = f"{target.read_text()}2027-05-0{number},ph,A,3,,6.1,,\n"
        target.write_text(more)
        aside = log_append.copy_log(source, target)
        assert aside == tmp_path / "next" / f"log-earlier-{number}.csv"
        assert aside.read_text() == more
        assert target.read_bytes() == source.read_bytes()
    assert log_append.copy_log(target, target) is None
    link = tmp_path / "link.csv"
    link.symlink_to(target)
    assert log_append.copy_log(link, target) is None


def test_a_log_keeps_its_rights_and_stays_a_link(tmp_path):
    (tmp_path / "shed").mkdir()
    real, link = tmp_path / "shed" / "log.csv", tmp_path / "log.csv"
    real.write_text(f"{HEADER}\n")
    real.chmod(0o664)
    link.symlink_to(real)
    row = {"date": "2027-04-25", "what": "level", "column": "A", "tier": "3", "amount": "8 L"}
    log_append.append(link, GARDEN, PLAN, row, case.day(50))
    assert link.is_symlink()
    assert real.stat().st_mode & 0o777 == 0o664
    assert len(real.read_text().splitlines()) == 2
