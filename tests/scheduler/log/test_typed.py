"""``dryline log``: words as typed, several lines at once, and the last one struck out again."""

from __future__ import annotations

import json

import pytest
import verify_case as case
from click.testing import CliRunner

from scheduler.base.faults import BadInput
from scheduler.commands.log import command
from scheduler.log.model import HEADER, read_log_file
from scheduler.log.typed import row_of, rows_of
from scheduler.plans import folder as plan_dir

GARDEN, PLAN = case.garden(), case.good_plan()
TODAY = case.day(50)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setattr(plan_dir, "read_plan_dir", lambda folder, brief: (GARDEN, PLAN))
    return tmp_path


def call(folder, *args, **options):
    arguments = [str(folder), *map(str, args), "--today", TODAY.isoformat()]
    return CliRunner().invoke(command, arguments, standalone_mode=False, **options)


def faults(result):
    assert isinstance(result.exception, BadInput), result.output
    return [(f.file, f.line, f.path) for f in result.exception.faults]


@pytest.mark.parametrize(
    ("words", "column", "tier", "crop", "amount", "note"),
    [
        ("level A 2 9 1/2 in", "A", "2", "", "9 1/2 in", ""),
        ("rain 12 mm", "", "", "", "12 mm", ""),
        ("rain 12", "", "", "", "12", ""),
        ("rain A 12 mm", "A", "", "", "12 mm", ""),
        ("rain A 12", "A", "", "", "12", ""),  # A has three tiers
        ("rain A 2 12 mm", "A", "2", "", "12 mm", ""),
        ("rain A 2 1/2 in", "A", "2", "", "1/2 in", ""),
        ("shaded b", "b", "", "", "", ""),
        ("shaded B 2", "B", "2", "", "", ""),
        ("covered", "", "", "", "", ""),
        ("emerged lettuce 9 of 12", "", "", "lettuce", "9 of 12", ""),
        ("emerged A 3 9 of 12", "A", "3", "", "9 of 12", ""),
        ("lost A 2 2 of 4", "A", "2", "", "2 of 4", ""),
        ("pest A 2 aphids on the hearts", "A", "2", "", "", "aphids on the hearts"),
        ("pest chard leaf miner", "", "", "chard", "", "leaf miner"),
        ("note B water looks green", "B", "", "", "", "water looks green"),
        ("note frost in the lane", "", "", "", "", "frost in the lane"),
        ("failed B 4", "B", "4", "", "", ""),
        ("picked X 3 2 plants", "X", "3", "", "2 plants", ""),  # a column to be named a fault
    ],
)
def test_words_find_their_cells(words, column, tier, crop, amount, note):
    got = row_of(GARDEN, ["today", *words.split()], TODAY)
    assert (got["column"], got["tier"]) == (column, tier)
    assert (got["crop"], got["amount"], got["note"]) == (crop, amount, note)
    assert got["date"] == TODAY.isoformat()


LINES = f"""\
# Monday's round
{case.day(30)} picked A 3 2

{case.day(32)} rain 8 mm
{case.day(32)} level B 1 7.2 L
{case.day(32)} failed B 2 --note "root disease"
"""


def test_several_lines_are_written_at_once(folder):
    (folder / "monday.txt").write_text(LINES)
    result = call(folder, "--from", folder / "monday.txt")
    assert result.return_value == 0, result.output
    log = read_log_file(folder / "log.csv", GARDEN)
    assert not log.faults
    assert [e.what for e in log.entries] == ["picked", "rain", "level", "failed"]
    assert log.entries[-1].note == "root disease"
    assert result.output.count("log.csv:") == 4


def test_from_the_standard_input_and_for_machines(folder):
    result = call(folder, "--from", "-", "--json", input=LINES)
    assert [e["what"] for e in json.loads(result.output)] == ["picked", "rain", "level", "failed"]


def test_all_or_nothing_and_every_fault_with_its_line(folder):
    """A pick of five of four, a tier that is not there, a day to come; the good line is not kept."""
    file = folder / "bad.txt"
    file.write_text(
        f"{case.day(30)} picked A 3 5\n{case.day(30)} level A 7 3 cm\n"
        f"{case.day(51)} ripe B 1\n{case.day(30)} level B 1 8 L\n"
    )
    got = faults(call(folder, "--from", file))
    assert got == [(str(file), 2, "tier"), (str(file), 1, "amount"), (str(file), 3, "date")]
    assert not (folder / "log.csv").exists()


@pytest.mark.parametrize(
    ("text", "line"),
    [("today note 'open", 1), ("\ntoday ripe A 2 --colour red", 2), ("today ripe A 2 --note", 1)],
)
def test_a_line_that_is_no_words_is_named(folder, text, line):
    with pytest.raises(BadInput) as caught:
        rows_of(GARDEN, text, "x.txt", TODAY)
    assert [(f.file, f.line) for f in caught.value.faults] == [("x.txt", line)]


def test_a_text_without_an_entry_is_a_fault(folder):
    assert faults(call(folder, "--from", "-", input="# nothing\n")) == [("-", None, "")]
    assert isinstance(call(folder, "--from", folder / "none.txt").exception, OSError)


def test_the_last_entry_is_struck_out_and_nothing_is_lost(folder):
    call(folder, case.day(30), "picked", "A", 3, 2)
    call(folder, case.day(32), "level", "B", 1, "7.2 L")
    before = (folder / "log.csv").read_text()
    result = call(folder, "--undo")
    assert "struck out: 2027-05-07,level,B,1" in result.output
    assert [e.what for e in read_log_file(folder / "log.csv", GARDEN).entries] == ["picked"]
    after = (folder / "log.csv").read_text()
    assert after == before.replace("2027-05-07,level", "# struck out: 2027-05-07,level")
    assert (
        call(folder, case.day(32), "level", "B", 1, "7.6 L").return_value == 0
    )  # not "told twice"
    call(folder, "--undo")
    call(folder, "--undo")
    assert not read_log_file(folder / "log.csv", GARDEN).entries
    assert faults(call(folder, "--undo")) == [(str(folder / "log.csv"), None, "")]
    assert (folder / "log.csv").read_text().startswith(HEADER)


def test_undo_where_there_is_no_log(folder):
    assert faults(call(folder, "--undo"))[0][1:] == (None, "")


@pytest.mark.parametrize("args", [(), ("--undo", "today", "ripe"), ("--undo", "--from", "-")])
def test_one_thing_at_a_time(folder, args):
    assert "expected DATE and WHAT" in str(call(folder, *args).exception.message)


def test_what_was_topped_up_hears_the_rule_on_it(folder):
    assert "Never top a tier up" in call(folder, case.day(25), "topped", "B", 1, "1 L").output
