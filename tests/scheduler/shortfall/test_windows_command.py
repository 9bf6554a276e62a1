"""``dryline windows`` on the examples: text, JSON, pictures, faults."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from rich.cells import cell_len

from scheduler.batches.windows import sow_windows
from scheduler.cli import main
from scheduler.garden.file import load_garden
from scheduler.garden.model import Garden
from scheduler.years.expected import expecting

EXAMPLES = Path(__file__).parents[3] / "examples"
COURTYARD = str(EXAMPLES / "courtyard" / "garden.yaml")
BALCONY = str(EXAMPLES / "balcony" / "garden.yaml")


@pytest.fixture
def run(capsys):
    def call(*arguments: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as end:
            main(["windows", *arguments])
        out, err = capsys.readouterr()
        return int(end.value.code or 0), out, err

    return call


@pytest.mark.slow
def test_text_fits_80_columns_and_names_every_crop(run):
    code, out, _ = run(COURTYARD)
    assert code == 0
    assert max(cell_len(line) for line in out.splitlines()) <= 80
    for crop in load_garden(COURTYARD).crops.values():
        assert crop.title.upper() in out
    assert "invented" in out
    assert "you are away 6 to 15 Aug" in out
    assert "not ready before the season ends" in out
    # Even slow spinach bolts in long warm days in any June at 44 degrees north.
    spinach = out[out.index("SPINACH") :].split("\n\n")[0]
    assert "bolts" in spinach
    assert "warm days of 15 h" in " ".join(spinach.split())


@pytest.mark.deep
def test_json_is_complete(run):
    code, out, _ = run(COURTYARD, "--json")
    assert code == 0
    data = json.loads(out)
    garden = load_garden(COURTYARD)
    days = sum(garden.season.work_mask)
    places = {(c.name, t.number) for c in garden.columns for t in c.tiers}
    assert [c["crop"] for c in data["crops"]] == list(garden.crops)
    for crop in data["crops"]:
        assert {(t["column"], t["tier"]) for k in crop["kinds"] for t in k["tiers"]} == places
        for kind in crop["kinds"]:
            assert len(kind["sow"]) == len(kind["transplant"]) == days
            assert all(s["text"] and s["reason"] for s in kind["sow"])
            # Runs and days tell the same.
            spans = [(r["first"], r["last"], r["reason"]) for r in kind["runs"]]
            for s in kind["sow"]:
                (reason,) = [r for a, b, r in spans if a <= s["date"] <= b]
                assert reason == s["reason"]
                assert s["works"] == (reason == "works")
    assert run(COURTYARD, "--format", "json")[1] == out


def test_one_crop_and_some_dates(run):
    code, out, _ = run(
        COURTYARD, "--crop", "Pak choi", "--from", "2027-07-20", "--to", "2027-08-04", "--json"
    )
    assert code == 0
    (crop,) = json.loads(out)["crops"]
    assert crop["crop"] == "pak_choi"
    shown = {date.fromisoformat(s["date"]) for k in crop["kinds"] for s in k["sow"]}
    assert min(shown) == date(2027, 7, 21)  # Wednesday
    assert max(shown) == date(2027, 8, 4)
    code, out, _ = run(COURTYARD, "--crop", "pak choi", "--from", "2027-07-20")
    assert "LETTUCE" not in out
    assert "first seedlings" not in out  # that is told only where the season's first day is shown


def test_units(run):
    assert "°F" in run(BALCONY)[1]
    text = run(BALCONY, "--units", "metric")[1]
    assert "°C" in text
    assert "°F" not in text


def test_faults_say_what_is_wrong(run):
    code, _, err = run(COURTYARD, "--crop", "basl", "--crop", "xyzzy")
    assert code == 2
    assert "basil" in err
    assert "xyzzy" in err
    assert run(COURTYARD, "--from", "2027-06-01", "--to", "2027-05-01")[0] == 2
    code, _, err = run(COURTYARD, "--from", "2028-01-01")
    assert code == 2
    assert "2027-10-10" in err
    assert run("nowhere.yaml")[0] == 2
    assert run(COURTYARD, "--from", "soon")[0] == 2


def test_files(run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert run(BALCONY, "--out", "w.txt")[0] == 0
    assert "PAK CHOI" in (tmp_path / "w.txt").read_text()
    code, out, _ = run(BALCONY, "--format", "svg")
    assert (code, out) == (0, "wrote windows.svg\n")
    assert "pak choi" in (tmp_path / "windows.svg").read_text()
    assert run(BALCONY, "--format", "png", "--out", "w.png")[0] == 0
    assert (tmp_path / "w.png").read_bytes().startswith(b"\x89PNG\r\n\x1a\n")
    code, _, err = run(BALCONY, "--format", "png", "--out", "no/such/folder.png")
    assert code == 2
    assert "Traceback" not in err


def test_they_are_those_of_the_years_that_a_plan_is_made_with(
    run: Callable[..., tuple[int, str, str]],
) -> None:
    """Of a day on which it is too hot in some years alone the heat is told, too."""
    code, text, _ = run(BALCONY)
    said = " ".join(text.split())
    assert code == 0
    assert "20 weather years" in said
    assert "over ;" not in said
    garden = expecting(load_garden(BALCONY), 20, 0)
    (crop,) = json.loads(run(BALCONY, "--json", "--crop", "leaf_lettuce")[1])["crops"]
    told = [[s["works"] for s in kind["sow"]] for kind in crop["kinds"]]

    def works(of: Garden) -> list[list[bool]]:
        return [[d.works for d in w.days] for w in sow_windows(of, ("leaf_lettuce",))]

    assert told == works(garden) != works(load_garden(BALCONY))
