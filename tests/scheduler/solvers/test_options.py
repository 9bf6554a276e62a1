"""Options that commands share."""

from __future__ import annotations

import math

import click
import pytest
from click.testing import CliRunner

from scheduler.commands import plan, rebalance, running, share, shortfall
from scheduler.commands.share import Threads
from scheduler.solvers.cp_sat import Phases, Progress


@click.command()
@click.option("--workers", default=2, type=Threads())
def asked(workers: int) -> None:
    click.echo(f"got {workers}")


@pytest.mark.parametrize(
    ("cores", "asks", "gets", "told"),
    [
        (1, None, 1, False),
        (1, 1, 1, False),
        (1, 3, 1, True),
        (4, None, 2, False),
        (4, 4, 4, False),
        (4, 5, 4, True),
        (4, 256, 4, True),
    ],
)
def test_no_more_threads_than_cores(
    monkeypatch: pytest.MonkeyPatch, cores: int, asks: int | None, gets: int, told: bool
) -> None:
    monkeypatch.setattr(share, "cores", lambda: cores)
    done = CliRunner().invoke(asked, [] if asks is None else ["--workers", str(asks)])
    assert done.stdout == f"got {gets}\n"
    assert (f"this machine has {cores} core" in done.stderr) == told


def test_a_number_out_of_range_is_refused_as_before() -> None:
    assert CliRunner().invoke(asked, ["--workers", "0"]).exit_code == 2
    assert CliRunner().invoke(asked, ["--workers", "257"]).exit_code == 2


@pytest.mark.parametrize("command", [plan.command, rebalance.command, shortfall.command])
def test_every_search_holds_to_it(command: click.Command) -> None:
    option = next(p for p in command.params if p.name == "workers")
    assert isinstance(option.type, Threads)


def test_parts_of_a_run_are_told_as_they_begin_and_add_up() -> None:
    told: list[Progress] = []
    phases = Phases(told.append)
    for name in ("reading", "writing", "reading"):
        with phases.phase(name):
            assert told[-1].stage == name
            assert math.isnan(told[-1].best)
    assert list(phases.seconds) == ["reading", "writing"]
    with pytest.raises(ZeroDivisionError), phases.phase("checking"):
        _ = 1 / 0
    assert phases.seconds["checking"] >= 0
    assert running.seconds_line({"reading": 0.04, "search": 19.96}) == (
        "Seconds: reading 0.0, search 20.0."
    )
    assert running.progress_line(Progress("writing", 61.2)) == "  61.2 s  writing the calendar"
    # A season under way that is lived has a value, and neither a bound nor the wish.
    line = running.progress_line(Progress("living", 3.0, 812.5))
    assert line == "   3.0 s  living it year by year"
