"""``dryline shortfall DIR``: what holds a plan back, and what would help most."""

from __future__ import annotations

import contextlib
import json
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import click

from scheduler.commands.share import (
    PlanDir,
    language_option,
    own_seed_option,
    time_limit_option,
    workers_option,
    years_option,
)
from scheduler.words.language import _


@click.command()
@click.argument("place", metavar="[DIR|GARDEN.yaml]", default=".", type=PlanDir())
@time_limit_option(300.0, "seconds for everything")
@own_seed_option()
@workers_option("gardens solved side by side")
@years_option("of a GARDEN.yaml: weather years to plan with; 0: the mean year")
@language_option()
@click.option("--json", "as_json", is_flag=True, help="the answer as JSON")
def command(
    place: Path, time_limit: float, seed: int | None, workers: int, years: int, as_json: bool
) -> int:
    """Tell which rule holds a plan back, by how much, and which small change would help most.

    The garden of the plan in DIR is changed in one thing at a time (four more nursery cells, a
    further work day, another tier, ...) and solved anew from that plan. A GARDEN.yaml without a
    plan is planned first, which takes a third of the time. Where no plan exists it tells why, and
    the smallest changes that give one.

    A plan that was made for weather years is lived in them with each change, and what the change
    brings is told in 200 other years, the same before and after. What cannot be told from chance
    has no figure.

    Ctrl-C ends the search and tells what is known so far.
    """
    from scheduler.commands.running import ctrl_c
    from scheduler.solvers.cp_sat import Settings
    from scheduler.usecases import explain_plan

    settings = Settings(time_limit, 0.0, 0 if seed is None else seed, workers)
    with ctrl_c() as stop, saying(as_json) as say:
        told = explain_plan(place, settings, say, stop, as_planned=seed is None, years=years)
    if as_json:
        click.echo(json.dumps(told.data(), indent=1, ensure_ascii=False))
    else:
        click.echo("\n".join(told.lines()))
    return 0


@contextlib.contextmanager
def saying(quiet: bool) -> Iterator[Callable[[str, int, int], None]]:
    """A function that shows what is done: one moving line on a terminal, else a line a part."""
    if quiet:
        yield lambda *_: None
        return
    if not sys.stderr.isatty():
        seen: set[str] = set()

        def plain(what: str, done: int, of: int) -> None:
            if what not in seen:
                seen.add(what)
                click.echo(f"{what} ...", err=True)

        yield plain
        return
    from rich.console import Console
    from rich.live import Live
    from rich.text import Text

    with Live(console=Console(stderr=True), refresh_per_second=4, transient=True) as live:

        def moving(what: str, done: int, of: int) -> None:
            live.update(
                Text(
                    _("{what}: {done} of {of}").format(what=what, done=done, of=of),
                    overflow="ellipsis",
                    no_wrap=True,
                )
            )

        yield moving
