"""Every command that plans or tells what a plan is worth speaks German from end to end."""

from __future__ import annotations

import re

import pytest
from click.testing import CliRunner
from cut_off import lay
from season_case import season_files

from scheduler.cli import cli
from scheduler.plans.folder import read_plan_dir
from scheduler.words.language import LOCALE, use_language

pytestmark = pytest.mark.slow  # the plan of the balcony takes seconds


@pytest.fixture(autouse=True)
def english_after():
    yield
    use_language(None)


@pytest.fixture(scope="module")
def season(tmp_path_factory):
    place = tmp_path_factory.mktemp("german") / "season"
    lay(place, season_files())
    (place / "log.csv").unlink(missing_ok=True)
    return place


def english() -> list[str]:
    """The longest fixed piece of each English message that reads otherwise in German."""
    from babel.messages import pofile

    out = set()
    with (LOCALE / "de" / "LC_MESSAGES" / "dryline.po").open("rb") as handle:
        for m in pofile.read_po(handle):
            ids = m.id if isinstance(m.id, tuple) else (m.id,)
            said = m.string if isinstance(m.string, tuple) else (m.string,)
            for text in ids:
                piece = max(re.split(r"\{[^}]*\}", text), key=len).strip(" .,;:()")
                if len(piece) >= 9 and " " in piece and not any(piece in s for s in said):
                    out.add(piece)
    return sorted(out)


def spoken(*args: object) -> str:
    result = CliRunner().invoke(cli, [*map(str, args), "--language", "de"], standalone_mode=False)
    assert result.exception is None, result.output
    return " ".join(result.output.split())


def left_over(said: str) -> list[str]:
    return [piece for piece in english() if re.search(rf"(?<!\w){re.escape(piece)}(?!\w)", said)]


def test_the_check_itself_finds_english():
    assert "No plan can meet more: proven" in english()
    assert left_over("x No plan can meet more: proven. y")
    assert not left_over("Kein Plan kann mehr erfüllen: bewiesen.")


def test_plan(season, tmp_path):
    garden = season / "garden.yaml"
    said = spoken("plan", garden, "--out", tmp_path / "new", "--time-limit", "1")
    assert "Geschrieben nach" in said
    assert left_over(said) == []


def test_risk(season):
    said = spoken("risk", season, "--years", "20")
    assert "übliches Jahr" in said
    assert left_over(said) == []


def test_windows(season):
    said = spoken("windows", season / "garden.yaml")
    assert "Aussaattage" in said
    assert left_over(said) == []


def test_mix(season):
    _garden, plan = read_plan_dir(season)
    said = spoken("mix", season, "--batch", plan.batches[0].id)
    assert "So wird gemischt" in said
    assert left_over(said) == []


def test_rebalance(season, tmp_path):
    _garden, plan = read_plan_dir(season)
    b = plan.batches[0]
    log = tmp_path / "log.csv"
    day = b.transplant.replace(day=min(b.transplant.day + 5, 28))
    log.write_text(
        f"date,what,column,tier,crop,amount,unit,note\n{day},failed,{b.column},{b.tier},,,,leak\n"
    )
    said = spoken(
        "rebalance", season, "--log", log, "--on", day, "--out", tmp_path / "n", "--time-limit", "1"
    )
    assert "Geschrieben nach" in said
    assert left_over(said) == []


def test_shortfall(season):
    said = spoken("shortfall", season, "--time-limit", "3")
    assert "was den Plan aufhält" in said
    assert left_over(said) == []
