"""``dryline log`` after a level: what is said of the tier, and that nothing else changes."""

from __future__ import annotations

import json

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
    """At 1.6 times dry on day 37 (12 May); a day later is said, as so thirsty a tier is rare."""
    said = drunk(folder, 1.6, 25, 28, 31)
    assert said.startswith("B 1 will be dry about 13 May (12 to ")
    assert ", ready 15 May: pick on " in said
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


def test_what_is_no_level_says_nothing_of_a_tier(folder):
    assert call(folder, 40, "picked", "B", 1, 4).count("\n") == 1
    assert call(folder, 41, "ph", "B", 1, "6.1").count("\n") == 1


@pytest.mark.parametrize("spoilt", [None, b"{}", b"\xff"])
def test_a_folder_without_a_table_says_what_it_always_said(folder, spoilt):
    (folder / WATCH_FILE).unlink()
    if spoilt is not None:
        (folder / WATCH_FILE).write_bytes(spoilt)
    out = call(folder, 25, "level", "B", 1, "9", "L")
    assert out == f"{folder / 'log.csv'}:2: 2027-04-30 level B 1 9.0 L\n"
    assert "tier_foretold" not in json.loads(call(folder, 26, "level", "B", 1, 8, "L", "--json"))
