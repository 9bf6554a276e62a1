"""``dryline log`` after a level: what is said of the tier, and that nothing else changes."""

from __future__ import annotations

import json
import re

import pytest
import verify_case as case
from click.testing import CliRunner
from lived_case import mean_years

from scheduler.commands.log import command
from scheduler.plans import folder as plan_dir
from scheduler.watch.forecast import WATCH_FILE, written
from scheduler.watch.made import foretold
from scheduler.words.words import use_language

GARDEN, PLAN = case.garden(), case.good_plan()


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """The plan of `verify_case`: lettuce in B 1 from day 20, ripe and due on day 40."""
    monkeypatch.setattr(plan_dir, "read_plan_dir", lambda folder, brief: (GARDEN, PLAN))
    table = foretold(GARDEN, PLAN, mean_years(GARDEN, 3))
    (tmp_path / WATCH_FILE).write_bytes(written(table, PLAN))
    yield tmp_path
    use_language(None)


def call(folder, k, *args):
    """The program on day ``k``, whose language is English again with each call."""
    arguments = [str(folder), "today", *map(str, args), "--today", case.day(k).isoformat()]
    result = CliRunner().invoke(command, arguments, standalone_mode=False)
    assert result.return_value == 0, result.output
    return result.output


def drunk(folder, f, *days, options=()):
    """Levels of B 1, which drinks ``f`` times the expected 0.4 L a day; the last answer."""
    for k in days:
        said = call(folder, k, "level", "B", 1, f"{12 - 0.4 * f * (k - 20):.2f}", "L", *options)
    return " ".join(said.split("\n", 1)[1].split())


def test_a_tier_that_will_not_last_alarms_and_the_exit_code_stays_0(folder):
    """At 1.6 times dry on day 37 (12 May); a day later is said, as so thirsty a tier is rare. Ripe
    on day 40 (15 May), and a day later for the middle one of three draws of the crop's own doubt."""
    said = drunk(folder, 1.6, 25, 28, 31)
    assert said.startswith("B 1 will be dry about 13 May (12 to ")
    assert ", ready 16 May: pick on " in said
    assert said.endswith(" g a head), or shade it.")


def test_a_tier_that_drinks_as_expected_is_calm(folder):
    """Dry after 27 days, on day 47 (22 May); the last pick is on day 40 (15 May)."""
    said = drunk(folder, 1.0, 25, 28, 31)
    assert said.startswith("B 1 has enough: dry about 22 May (")
    assert said.endswith(", last pick 15 May.")


def test_in_german(folder):
    said = drunk(folder, 1.6, 25, 28, 31, options=("--language", "de"))
    assert said.startswith("B 1 wird trocken etwa 13. Mai (12. bis ")


def test_for_machines(folder):
    drunk(folder, 1.6, 25, 28)
    got = json.loads(call(folder, 31, "level", "B", 1, "4.96", "L", "--json"))
    assert got["tier_foretold"]["verdict"] == "alarm"
    assert got["tier_foretold"]["dry"] == case.day(38).isoformat()


@pytest.mark.parametrize(
    "entry",
    [
        ("ec", "B", 1, "1.4"),
        ("ph", "B", 1, "6.1"),
        ("ripe", "B", 1),
        ("width", "B", 1, "15 cm"),
        ("rain", "B", 1, "0.3 L"),
        ("topped", "B", 1, "0.3 L"),
        ("lost", "B", 1, "1 of 4"),
        ("shaded", "B", 1),
        ("moved", "B", 1),
    ],
)
def test_every_entry_that_is_about_a_tier_is_answered(folder, entry):
    said = call(folder, 30, *entry).splitlines()
    assert any(line.startswith("B 1 has enough") for line in said[1:3])


def test_what_is_told_of_a_column_is_answered_where_a_tier_is_not_calm(folder):
    assert call(folder, 24, "shaded", "B").count("\n") == 1
    drunk(folder, 1.6, 25, 28, 31)
    assert call(folder, 31, "moved", "B").splitlines()[1].startswith("B 1 will be dry about")
    assert call(folder, 31, "covered").splitlines()[1].startswith("B 1 will be dry about")


def test_a_pest_is_answered_with_the_family_that_waits_and_how_long(folder):
    """28 days after day 30 (5 May) are 2 June; of an empty tier the crop says which family."""
    said = " ".join(call(folder, 30, "pest", "B", 1, "aphids").split())
    assert "B 1: a re-plan plants no Asteraceae there up to 2 June" in said
    said = " ".join(call(folder, 2, "pest", "B", 2, "mites", "--crop", "chard").split())
    assert "B 2: a re-plan plants no Amaranthaceae there up to 5 May" in said


def test_where_nothing_stands_any_more_nothing_is_foretold(folder):
    assert call(folder, 40, "picked", "B", 1, 4).count("\n") == 1
    assert call(folder, 41, "ph", "B", 1, "6.1").endswith("wanted: it fits.\n")
    assert call(folder, 41, "note", "B", 1, "tall").count("\n") == 1


def test_a_level_that_does_not_fit_gets_its_reasons_with_their_odds(folder):
    drunk(folder, 1.0, 25, 28, 31)
    said = " ".join(call(folder, 33, "level", "B", 1, "10.9 L").split("\n", 1)[1].split())
    assert re.search(r"The level of 8 May does not fit: misread \(\d\d %\), or rain got in", said)


@pytest.mark.parametrize("spoilt", [None, b"{}", b"\xff"])
def test_a_folder_without_a_table_says_what_it_always_said(folder, spoilt):
    (folder / WATCH_FILE).unlink()
    if spoilt is not None:
        (folder / WATCH_FILE).write_bytes(spoilt)
    out = call(folder, 25, "level", "B", 1, "9", "L")
    assert out == f"{folder / 'log.csv'}:2: 2027-04-30 level B 1 9.0 L\n"
    assert "tier_foretold" not in json.loads(call(folder, 26, "level", "B", 1, 8, "L", "--json"))
