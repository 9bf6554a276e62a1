"""Faults read the same in English as ever; in German their frame and the fixed texts are German."""

from __future__ import annotations

import ast
from functools import lru_cache
from pathlib import Path

import pytest
from solver_case import EXAMPLES

from scheduler import cli
from scheduler.base.faults import BadInput, Fault, NoPlan
from scheduler.words import fault_text
from scheduler.words.fault_text import EXPECTED, OWN_WORDS, error_text
from scheduler.words.language import use_language

FAULTS = (
    Fault("garden.yaml", 12, "limits.lift", "0 kg", "1 to 200 kg"),
    Fault("log.csv", None, "", "missing", "a column's name"),
    Fault("plan", None, "", "", "the folder of a plan"),
)


@pytest.fixture(autouse=True)
def english_after():
    yield
    use_language(None)


@lru_cache
def literals() -> frozenset[str]:
    """Every text that stands in the code, but for the lists themselves."""
    out = set()
    for root in ("scheduler", "crops"):
        for file in (Path(__file__).parents[3] / root).rglob("*.py"):
            if file != Path(fault_text.__file__):
                found = ast.walk(ast.parse(file.read_text(encoding="utf-8")))
                out |= {n.value for n in found if isinstance(n, ast.Constant)}
    return frozenset(v for v in out if isinstance(v, str))


@pytest.mark.parametrize("count", [1, 3])
def test_english_is_what_the_error_says(count: int) -> None:
    error = BadInput(FAULTS[:count])
    assert error_text(error) == error.text()
    assert error_text(NoPlan("so")) == "so"


def test_german_frame_and_fixed_texts() -> None:
    use_language("de")
    assert error_text(BadInput(FAULTS[:1])) == (
        "1 Fehler in der Eingabe:\n  garden.yaml:12: limits.lift: 0 kg; erwartet: 1 to 200 kg"
    )
    said = error_text(BadInput(FAULTS)).splitlines()
    assert said[0] == "3 Fehler in der Eingabe:"
    assert said[2] == "  log.csv: fehlt; erwartet: der Name einer Säule"
    assert said[3] == "  plan: erwartet: der Ordner eines Plans"


def test_a_growers_word_is_left_alone() -> None:
    """A crop that stands where none may is shown as it was written, though there is German."""
    use_language("de")
    assert " lettuce;" in error_text(BadInput([Fault("g", 1, "a", "lettuce", "b")]))


def test_no_text_of_the_lists_is_stale() -> None:
    gone = [text for text in (*EXPECTED, *OWN_WORDS) if text not in literals()]
    assert gone == []
    assert len(set(EXPECTED)) == len(EXPECTED)


def test_a_command_speaks_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = tmp_path / "garden.yaml"
    bad.write_text((EXAMPLES / "balcony" / "garden.yaml").read_text().replace("30 lb", "0 lb"))
    with pytest.raises(SystemExit) as ended:
        cli.main(["plan", str(bad), "--out", str(tmp_path / "p"), "--language", "de"])
    assert ended.value.code == 2
    said = capsys.readouterr().err
    assert "Fehler in der Eingabe:" in said
    assert "erwartet: " in said
    assert "expected" not in said
