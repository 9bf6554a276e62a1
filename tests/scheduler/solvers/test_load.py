"""How much of the machine a search had, from figures of a system that are made up."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from scheduler.solvers import cp_sat as engine
from scheduler.solvers.cp_sat import Load, busy_seconds


def test_busy_seconds_of_the_processors_that_may_be_used(tmp_path: Path) -> None:
    """user nice system idle iowait irq softirq steal guest guest_nice, as proc(5) lists them; what
    guests used is in user already, idle and iowait are not work."""
    tick = os.sysconf("SC_CLK_TCK")
    stat = tmp_path / "stat"
    stat.write_text(
        "cpu  9 9 9 9 9 9 9 9 0 0\n"
        "cpu0 100 20 30 1000 500 1 2 47 99 9\n"
        "cpu1 1 1 1 1000 0 0 0 0 0 0\nintr 5\n"
    )
    assert busy_seconds([0], str(stat)) == 200 / tick
    assert busy_seconds([0, 1], str(stat)) == 203 / tick
    assert busy_seconds([2], str(stat)) is None
    assert busy_seconds([0], str(tmp_path / "none")) is None
    stat.write_text("cpu0 1 2 x\n")
    assert busy_seconds([0], str(stat)) is None


def load(
    monkeypatch: pytest.MonkeyPatch, cores: int, workers: int, own: float, others: float | None
) -> Load:
    """Ten seconds in which so many processors were used, by the search and by others."""
    clock = {"now": 0.0}
    monkeypatch.setattr(engine, "_cores", lambda: tuple(range(cores)))
    monkeypatch.setattr(engine.time, "monotonic", lambda: clock["now"])
    monkeypatch.setattr(engine, "_own_seconds", lambda: clock["now"] * own)
    monkeypatch.setattr(
        engine, "busy_seconds", lambda _: None if others is None else clock["now"] * (own + others)
    )
    made = Load(workers)
    clock["now"] = 10.0
    return made


@pytest.mark.parametrize(
    ("cores", "workers", "own", "others", "share"),
    [
        (2, 2, 2.0, 0.0, None),  # all to itself
        (2, 2, 1.1, 0.0, None),  # mostly one thread, and nobody in the way
        (2, 1, 1.0, 1.0, None),  # one thread on its own processor
        (8, 2, 2.0, 6.0, None),  # full, but two are its own
        (2, 2, 1.62, 0.38, None),
        (2, 2, 1.58, 0.42, 79),  # just enough, just not
        (2, 2, 1.0, 1.0, 50),
        (2, 2, 0.3, 1.7, 15),
        (2, 1, 0.5, 1.5, 50),
        (1, 8, 1.0, 0.0, None),  # more threads than processors are no one's fault
        (8, 2, 0.2, 0.0, 10),  # idle processors, but it does not get them: held back by its host
        (2, 2, 0.7, None, None),
        (2, 2, 0.5, None, 25),  # a system that does not tell of others
    ],
)
def test_a_busy_machine_is_told(
    monkeypatch: pytest.MonkeyPatch,
    cores: int,
    workers: int,
    own: float,
    others: float | None,
    share: int | None,
) -> None:
    told = load(monkeypatch, cores, workers, own, others).sentence()
    if share is None:
        assert told == ""
    else:
        assert f"about {share} % of the processor time" in told


def test_a_moment_is_too_short_to_judge(monkeypatch: pytest.MonkeyPatch) -> None:
    made = load(monkeypatch, 2, 2, 0.1, 1.9)
    monkeypatch.setattr(engine.time, "monotonic", lambda: 0.9)
    assert made.sentence() == ""
