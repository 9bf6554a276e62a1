"""Processes that log at the same time lose nothing; with one killed, only its own next line."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from many_loggers import rows, start
from verify_case import garden

from scheduler.log.model import read_log_file


def keys(file: Path) -> list[tuple[str, str, str, str]]:
    log = read_log_file(file, garden())
    assert not log.faults
    return sorted((str(e.date), e.what, e.column, str(e.tier)) for e in log.entries)


def wanted(lines: int) -> list[tuple[str, str, str, str]]:
    return sorted((r["date"], r["what"], r["column"], r["tier"]) for r in rows()[:lines])


def test_two_processes_lose_no_line(tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    for process in start(file, 2, 60):
        assert process.wait(120) == 0
    assert keys(file) == wanted(60)
    assert len(file.read_text().splitlines()) == 61


@pytest.mark.slow
def test_one_of_them_killed_costs_the_others_nothing(tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    first, second = start(file, 2, 120)
    while not file.exists() or len(file.read_bytes().splitlines()) < 20:
        time.sleep(0.002)
        assert first.poll() is None
    first.kill()
    assert first.wait(60) == -9
    assert second.wait(120) == 0
    told = keys(file)
    others = sorted((r["date"], r["what"], r["column"], r["tier"]) for r in rows()[:120][1::2])
    assert set(others) <= set(told)
    # What the killed one wrote is there without a gap: a line was acknowledged before the next.
    mine = rows()[:120][0::2]
    kept = [(r["date"], r["what"], r["column"], r["tier"]) in told for r in mine]
    assert kept == sorted(kept, reverse=True)
    assert 0 < sum(kept) < len(kept)
