"""`dryline rebalance` tells what a level teaches of a tier's thirst, and between what it lies."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from cut_off import lay
from season_case import season_files, standing

from scheduler.cli import main
from scheduler.log.model import HEADER

QUICK = ("--time-limit", "0.3", "--workers", "1")


@pytest.mark.slow
def test_a_level_teaches_within_bounds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Half way to its pick half of the fill of one tier is gone."""
    season = tmp_path / "season"
    lay(season, season_files())
    batch, day = standing(season)
    row = f"{day},level,{batch.column},{batch.tier},,{batch.fill_litres / 2:.1f},L,"
    (season / "log.csv").write_text(f"{HEADER}\n{row}\n")
    out = tmp_path / "next"
    with pytest.raises(SystemExit) as ended:
        main(["rebalance", str(season), "--on", str(day), "--out", str(out), "--json", *QUICK])
    assert ended.value.code in (0, None)
    body = json.loads(capsys.readouterr().out)
    (told,) = body["demand"]
    assert told["id"] == batch.id
    assert told["readings"] == 1
    assert 1 / 3 <= told["low"] < told["factor"] < told["high"] <= 3
    (said,) = [r for r in body["remarks"] if r.startswith(f"{batch.id} drinks")]
    low, high = f"{told['low']:.2f}", f"{told['high']:.2f}"
    assert f"times what was expected (90 %: {low} to {high}; 1 reading)" in said
