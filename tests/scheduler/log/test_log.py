"""Reading log.csv: spreadsheets' manners, units, and every fault at once with its line."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
import verify_case as case
from hypothesis import given, settings
from hypothesis import strategies as st

from crops import units
from scheduler.base.faults import BadInput
from scheduler.log.model import COLUMNS, HEADER, MOST_FAULTS, read_log, read_log_file

GARDEN = case.garden()


def read(*lines: str, head: str = HEADER):
    return read_log("\n".join([head, *lines]).encode(), "log.csv", GARDEN)


def test_a_line_with_every_cell():
    log = read('2027-04-20,level,A,2,lettuce,7.5,L,"a, note"')
    (entry,) = log.entries
    assert not log.faults
    assert (entry.line, entry.date, entry.what) == (2, date(2027, 4, 20), "level")
    assert (entry.column, entry.tier, entry.crop) == ("A", 2, "lettuce")
    assert (entry.amount, entry.unit, entry.note) == (7.5, "L", "a, note")


@pytest.mark.parametrize(
    ("amount", "unit", "kept", "in_unit"),
    [
        ("2", "gal", 7.571, "L"),  # 1 US gal = 3.785411784 L: NIST SP 811, appendix B.8
        ("4", "in", 10.16, "cm"),  # 1 in = 2.54 cm exactly: NIST SP 811, appendix B.8
        ("4 in", "", 10.16, "cm"),
        ("120", "mm", 12.0, "cm"),
        ("7,5", "l", 7.5, "L"),
        # As a ruler in inches is read, and as levels are printed: 7 7/8 in is 20.0025 cm.
        ("7 7/8 in", "", 20.0025, "cm"),
        ("7 7/8", "in", 20.0025, "cm"),
        ("7-7/8 in", "", 20.0025, "cm"),
        ("7⅞ in", "", 20.0025, "cm"),
        ("7/8 in", "", 2.2225, "cm"),
        ("⅞", "in", 2.2225, "cm"),
        ("1 1/2 gal", "", 5.678, "L"),
        ("9 in", "in", 22.86, "cm"),
    ],
)
def test_levels_keep_volumes_in_litres_and_depths_in_centimetres(amount, unit, kept, in_unit):
    (entry,) = read(f'2027-04-20,level,A,1,,"{amount}",{unit},').entries
    assert entry.amount == pytest.approx(kept, abs=1e-3)
    assert entry.unit == in_unit


def test_amounts_without_a_unit_are_in_the_gardens_and_strengths_in_ms_per_cm():
    lines = ("2027-04-20,level,A,1,,7.5,,", "2027-04-20,ec,A,1,,2.1,,")
    level, ec = read(*lines).entries
    assert (level.amount, level.unit, ec.amount, ec.unit) == (7.5, "cm", 2.1, "mS/cm")
    text = "\n".join((HEADER, *lines)).encode()
    level, _ = read_log(text, "log.csv", replace(GARDEN, units="us")).entries
    assert (level.amount, level.unit) == (pytest.approx(19.05), "cm")  # 2.54 cm an inch
    # Without a garden nobody knows what a level is in.
    assert [f.path for f in read_log(text, "log.csv").faults] == ["amount"]
    assert read("2027-04-20,ec,A,1,,2100,,").faults  # in microsiemens: above any strength


def test_what_a_ruler_or_a_jug_shows_of_a_full_vessel_is_the_fill():
    """The vessel is filled with 12 L, 30 cm deep. Half an eighth of an inch is 1.5875 mm."""
    for amount, unit, kept in (("12.05", "L", 12), ("30.15", "cm", 30)):
        (entry,) = read(f"2027-04-20,level,A,1,,{amount},{unit},").entries
        assert entry.amount == kept
    for amount, unit in (("12.06", "L"), ("30.2", "cm")):
        assert read(f"2027-04-20,level,A,1,,{amount},{unit},").faults


def test_a_mass_and_a_count_of_one_pick_are_two_lines():
    # 1 lb = 453.59237 g: NIST SP 811, appendix B.8
    log = read("2027-05-05,picked,A,1,,1,lb,", "2027-05-05,picked,A,1,,4,heads,")
    assert [(round(e.amount, 2), e.unit) for e in log.entries] == [(453.59, "g"), (4, "plants")]
    assert not log.faults


def test_a_spreadsheet_with_semicolons_bom_quotes_crlf_blank_lines_and_remarks():
    text = (
        '\ufeff"Date";"What";"Column";"Tier";"Crop";"Amount";"Unit";"Note"\r\n'
        "\r\n;;;;;;;\r\n# a remark\r\n"
        '2027-04-20;Level;a;2.0;;"7,5";L;"one; two"\r\n'
    )
    log = read_log(text.encode(), "log.csv", GARDEN)
    (entry,) = log.entries
    assert not log.faults
    assert (entry.line, entry.column, entry.tier, entry.amount) == (5, "A", 2, 7.5)
    assert entry.note == "one; two"


def test_columns_in_another_order_and_some_left_out():
    (entry,) = read("cleared,2027-04-20,1,B", head="what,date,tier,column").entries
    assert (entry.what, entry.column, entry.tier) == ("cleared", "B", 1)


def test_a_crop_by_its_printed_name():
    (entry,) = read("2027-04-20,sown,,,Swiss Chard,7,cells,").entries
    assert entry.crop == "chard"


BAD = [
    ("20.04.2027,level,A,1,,7,L,", "date", "written as 2027-06-03"),
    ("04/20/2027,level,A,1,,7,L,", "date", "two ways"),
    ("46132,level,A,1,,7,L,", "date", "day number"),
    ("2027-04-31,level,A,1,,7,L,", "date", "calendar"),
    ("2027-04-20 08:00,level,A,1,,7,L,", "date", "without a time"),
    (",level,A,1,,7,L,", "date", "written as"),
    ("2027-04-20,pikced,A,1,,,,", "what", "picked (did you mean that?)"),
    ("2027-04-20,,A,1,,,,", "what", "one of sown"),
    ("2027-04-20,level,Z,1,,7,L,", "column", "A, B"),
    ("2027-04-20,level,,1,,7,L,", "column", "column's name"),
    ("2027-04-20,level,B,3,,7,L,", "tier", "1 to 2"),
    ("2027-04-20,level,A,top,,7,L,", "tier", "number"),
    ("2027-04-20,level,A,,,7,L,", "tier", "number"),
    ("2027-04-20,level,A,0,,7,L,", "tier", "number"),
    ("2027-04-20,level,A,1,letuce,7,L,", "crop", "lettuce (did you mean that?)"),
    ("2027-04-20,level,A,1,,,L,", "amount", "L, gal, cm or in"),
    ("2027-04-20,level,A,1,,7,kg,", "amount", "L, gal, cm or in"),
    ("2027-04-20,level,A,1,,-7,L,", "amount", "L, gal, cm or in"),
    ("2027-04-20,level,A,1,,nan,L,", "amount", "L, gal, cm or in"),
    ("2027-04-20,level,A,1,,7 L,cm m,", "amount", "L, gal, cm or in"),
    ("2027-04-20,level,A,1,,7 L,cm,", "amount", "one unit"),
    ("2027-04-20,level,A,1,,7 9/8,in,", "amount", "9 3/8 in"),
    ('2027-04-20,level,A,1,,"7,500",L,', "amount", "L, gal, cm or in"),
    # The vessel is filled with 12 L, 30 cm deep.
    ("2027-04-20,level,A,1,,12.1,L,", "amount", "12.0 L, 30.0 cm deep"),
    ("2027-04-20,level,A,1,,31,cm,", "amount", "12.0 L, 30.0 cm deep"),
    ("2027-04-20,picked,A,1,,2.5,plants,", "amount", "plants"),
    ("2027-04-20,picked,A,1,,0,plants,", "amount", "plants"),
    ("2027-04-20,picked,A,1,,2,cm,", "amount", "plants"),
    ("2027-04-20,transplanted,A,1,,2,kg,", "amount", "plants"),
    ("2027-04-20,ec,A,1,,25,mS/cm,", "amount", "mS/cm"),
    ("2027-04-20,ph,A,1,,15,,", "amount", "0 to 14"),
    ("2027-04-20,cleared,A,1,,3,L,", "amount", "no amount"),
    ("2027-04-20,level,A,1,,7,L,a,b", "", "quotes"),
]


@pytest.mark.parametrize(("line", "path", "expected"), BAD)
def test_each_fault_is_named_with_line_place_and_what_was_expected(line, path, expected):
    log = read("2027-04-12,level,A,1,,11,L,", line)
    assert len(log.entries) == 1
    (fault,) = log.faults
    assert (fault.line, fault.path) == (3, path)
    assert expected in fault.expected


def test_the_fill_itself_is_no_fault():
    assert not read("2027-04-20,level,A,1,,12,L,").faults


def test_all_faults_at_once():
    log = read(*(line for line, _, _ in BAD))
    assert {f.line for f in log.faults} == set(range(2, 2 + len(BAD)))


def test_doubled_events_name_the_first_line():
    log = read("2027-04-20,level,A,1,,7,L,", "2027-04-20,level,A,1,,6,L,again")
    (fault,) = log.faults
    assert (fault.line, "line 2" in fault.expected) == (3, True)


@pytest.mark.parametrize(
    ("head", "path", "expected"),
    [
        ("date,waht,column", "", "what (did you mean that?)"),
        ("what,column,tier", "date", "header"),
        ("date,what,date", "date", "once"),
        ("", "", "header"),
    ],
)
def test_a_bad_header_is_all_that_is_said(head, path, expected):
    log = read_log(f"{head}\n2027-04-20,nonsense\n".encode(), "log.csv")
    assert not log.entries
    assert all(f.line in (1, 2) for f in log.faults)
    assert any(f.path == path and expected in f.expected for f in log.faults)


def test_more_faults_than_are_told():
    """The line after the last fault that is told is refused too. Found by fuzzing."""
    lines = [f"2027-04-20,watered,A,1,,{n}" for n in range(MOST_FAULTS)]
    log = read(*lines, "yesterday,level,B,2,,9 L", "2027-04-21,level,A,1,,9 L")
    assert len(log.faults) == MOST_FAULTS
    assert [str(e.date) for e in log.entries] == ["2027-04-21"]
    assert ("B", 2) in log.unsure


def test_an_empty_log_and_one_with_a_header_only():
    assert read_log(b"", "log.csv").faults[0].value == "an empty file"
    assert read().entries == ()
    assert not read().faults


def test_no_file_no_text_too_large(tmp_path, monkeypatch):
    with pytest.raises(BadInput, match="not there"):
        read_log_file(tmp_path / "log.csv")
    with pytest.raises(BadInput, match="a folder"):
        read_log_file(tmp_path)
    file = tmp_path / "log.csv"
    file.write_bytes(b"date,what\n2027-04-20,\xff\n")
    with pytest.raises(BadInput, match="UTF-8"):
        read_log_file(file)
    monkeypatch.setattr("scheduler.log.model.MAX_BYTES", 10)
    with pytest.raises(BadInput, match="at most"):
        read_log_file(file)


_CELL = st.text(st.characters(blacklist_categories=("Cs",)), max_size=12) | st.sampled_from(
    ["2027-04-20", "level", "picked", "A", "1", "7", "L", '"', "1e300", "9" * 400, "\r", "#"]
)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.lists(_CELL, max_size=9), max_size=6), st.sampled_from([",", ";", "\t"]))
def test_junk_gives_entries_or_faults_and_never_an_error(rows, separator):
    text = "\n".join([HEADER.replace(",", separator), *(separator.join(r) for r in rows)])
    log = read_log(text.encode(), "log.csv", GARDEN)
    for entry in log.entries:
        assert entry.amount is None or entry.amount >= 0
        assert entry.tier is None or GARDEN.tier(entry.column, entry.tier)


def test_the_header_is_the_fixed_one():
    assert COLUMNS == ("date", "what", "column", "tier", "crop", "amount", "unit", "note")


def test_a_long_log_asks_the_unit_library_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hundred thousand amounts went through its parser, one by one: sixteen seconds."""
    monkeypatch.setattr(units, "registry", lambda: pytest.fail("asked"))
    amounts = [
        ("level", "9.1 cm"),
        ("level", "2 gal"),
        ("level", "3 1/2 in"),
        ("level", "7500 mL"),
        ("picked", "350 g"),
        ("picked", "1 lb"),
        ("picked", "12 oz"),
        ("ec", "1400 uS/cm"),
    ]
    lines = [
        f"2027-05-{k + 1:02d},{what},A,1,,{amount},," for k, (what, amount) in enumerate(amounts)
    ]
    log = read_log("\n".join([HEADER, *lines]).encode(), "log.csv")
    assert not log.faults
    assert len(log.entries) == len(amounts)
