"""One judgement of a log, whoever reads it: quotes, headers, text that is none, names."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import rebalance_case
import verify_case as case

from scheduler.base.faults import BadInput
from scheduler.commands.review import _read as seasons
from scheduler.log import append as log_append
from scheduler.log.model import HEADER, OPEN_QUOTE, read_log
from scheduler.log.state import state_on
from scheduler.log.strike import line_text, strike

GARDEN = case.garden()
NEXT = "2027-04-21,level,A,1,,7,L,"


def read(*lines: str):
    return read_log("\n".join([HEADER, *lines]).encode(), "log.csv", GARDEN)


@pytest.mark.parametrize(
    "note",
    [
        '"dry',
        '"dry, and the next',
        'dry,"',
        '"root "rot" again"',
        '"6" deep"',
    ],
)
@pytest.mark.parametrize("later", ["", ',"another note"'])
def test_an_open_quote_takes_no_line_but_its_own(note: str, later: str) -> None:
    """Every line after it was part of the text, without a word."""
    log = read(f"2027-04-20,level,A,2,,8,L,{note}", NEXT, "2027-04-22,level,B,1,,8,L" + later)
    assert [(f.line, f.value) for f in log.faults] == [(2, OPEN_QUOTE)]
    assert [e.line for e in log.entries] == [3, 4]
    assert ("A", 2) in log.unsure


def test_a_text_over_several_lines_is_read() -> None:
    log = read('2027-04-20,level,A,2,,8,L,"dry\nand ""pale""\r\n# both"', NEXT)
    assert not log.faults
    assert [(e.line, e.note) for e in log.entries] == [(2, 'dry and "pale" # both'), (5, "")]


@pytest.mark.parametrize(("lines", "sound"), [(18, True), (19, False)])
def test_a_text_over_too_many_lines_is_refused(lines: int, sound: bool) -> None:
    """20 lines of the file: the entry's own, those between, the one that closes."""
    log = read('2027-04-20,level,A,2,,8,L,"dry\n' + "and\n" * lines + 'so on"', NEXT)
    assert bool(log.faults) != sound
    assert log.entries[-1].date == case.day(16)


def test_a_remark_may_hold_a_quote() -> None:
    log = read('# struck out: 2027-04-20,level,A,2,,8,L,"dry', NEXT)
    assert not log.faults
    assert len(log.entries) == 1


def test_readers_judge_alike(tmp_path: Path) -> None:
    """`log` refused an open quote; `rebalance`, the page and `review` did not see it."""
    g, plan = rebalance_case.garden(), rebalance_case.plan()
    raw = f'{HEADER}\n2027-04-14,level,B,1,,9,L,"low\n2027-04-15,level,B,2,,9,L,\n'.encode()
    file = tmp_path / "log.csv"
    file.write_bytes(raw)
    row = {"date": str(case.day(12)), "what": "level", "column": "B", "tier": "1", "amount": "9 L"}
    for reader in (
        lambda: log_append.append(file, g, plan, row, case.day(40)),
        lambda: state_on(g, plan, read_log(raw, str(file), g), case.day(40)),
        lambda: seasons((file,), Path("examples/balcony/garden.yaml")),
    ):
        with pytest.raises(BadInput) as caught:
            reader()
        assert (str(file), 2, OPEN_QUOTE) in [
            (f.file, f.line, f.value) for f in caught.value.faults
        ]
    assert file.read_bytes() == raw


NO_TEXT = [
    (NEXT.join(["", "\n"]).encode(), 1, "2027-04-21,level", "above the first entry"),
    (f"# mine\n\n{NEXT}\n".encode(), 3, "2027-04-21,level", "above the first entry"),
    (f"{HEADER}\n{NEXT}\n".encode("utf-16"), 1, "UTF-16 text", "UTF-8"),
    (f"{HEADER}\n{NEXT}\n".encode("utf-16-le"), 1, "UTF-16 text", "UTF-8"),
    (f"{HEADER}\n{NEXT}\n".encode("utf-16-be"), 1, "UTF-16 text", "UTF-8"),
    (f"{HEADER}\n{NEXT}pale\xe4\n".encode("latin-1"), 2, "byte 0xe4", "UTF-8"),
]


@pytest.mark.parametrize(("raw", "line", "value", "expected"), NO_TEXT)
def test_what_is_no_log_is_refused_with_file_and_line(
    tmp_path: Path, raw: bytes, line: int, value: str, expected: str
) -> None:
    file = tmp_path / "log.csv"
    file.write_bytes(raw)
    found = []
    try:
        found.append(read_log(raw, str(file), GARDEN).faults)
    except BadInput as error:
        found.append(error.faults)
    row = {"date": "2027-04-25", "what": "level", "column": "A", "tier": "1", "amount": "8 L"}
    with pytest.raises(BadInput) as caught:
        log_append.append(file, GARDEN, case.good_plan(), row, case.day(50))
    for faults in (*found, caught.value.faults):
        (fault,) = faults
        assert (fault.file, fault.line) == (str(file), line)
        assert fault.value.startswith(value)
        assert expected in fault.expected
    assert file.read_bytes() == raw
    assert isinstance(line_text(file, line), str)  # the page shows it as far as it can
    if "UTF-8" in expected:
        with pytest.raises(BadInput, match="UTF-8"):
            strike(file, 2, "")


def test_names_in_the_log_are_those_of_the_garden_however_they_are_typed() -> None:
    columns = [replace(c, name=n) for c, n in zip(GARDEN.columns, ("Tür 1", "B"), strict=True)]
    garden = replace(GARDEN, columns=tuple(columns))
    lines = ["2027-04-20,level,TU\u0308R  1,1,,8,L,", "2027-04-21,level,\u200eb,1,Swiss-chard,8,L,"]
    log = read_log("\n".join([HEADER, *lines]).encode(), "log.csv", garden)
    assert not log.faults
    assert [(e.column, e.crop) for e in log.entries] == [("Tür 1", ""), ("B", "chard")]


def test_a_note_cannot_steer_the_terminal() -> None:
    (entry,) = read("2027-04-20,level,A,2,,8,L,\x1b[31mred\x07 \u202eder\u2028next").entries
    assert entry.note == "[31mred der next"
