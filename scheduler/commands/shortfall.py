"""``dryline shortfall DIR``: what holds a plan back, and what would help most."""

from __future__ import annotations

import contextlib
import json
import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.commands.share import Threads

if TYPE_CHECKING:
    from scheduler.garden.model import Garden
    from scheduler.garden.season_weather import WeatherOf
    from scheduler.plans.model import Plan
    from scheduler.solvers.cp_sat import Settings


@click.command()
@click.argument("place", metavar="DIR|GARDEN.yaml", type=click.Path())
@click.option(
    "--time-limit",
    metavar="S",
    default=300.0,
    show_default=True,
    type=click.FloatRange(min=0.1, max=86400),
    help="seconds for everything",
)
@click.option(
    "--seed",
    metavar="N",
    type=click.IntRange(0, 2**31 - 1),
    help="random seed; the plan's own unless given",
)
@click.option(
    "--workers",
    metavar="N",
    default=2,
    show_default=True,
    type=Threads(),
    help="gardens solved side by side",
)
@click.option("--json", "as_json", is_flag=True, help="the answer as JSON")
def command(place: str, time_limit: float, seed: int | None, workers: int, as_json: bool) -> int:
    """Tell which rule holds a plan back, by how much, and which small change would help most.

    The garden of the plan in DIR is changed in one thing at a time (four more nursery cells, a
    further work day, another tier, ...) and solved anew from that plan. Of a GARDEN.yaml without a
    plan one is made first, in a third of the time. Where no plan exists it tells why, and the
    smallest changes that give one.

    Ctrl-C ends the search and tells what is known so far.
    """
    from scheduler.commands.plan import ctrl_c
    from scheduler.shortfall.must_give import must_give
    from scheduler.shortfall.reach import against
    from scheduler.shortfall.text import data, lines
    from scheduler.solvers.cp_sat import Settings
    from scheduler.words.words import Units

    began = time.monotonic()
    settings = Settings(time_limit, 0.0, 0 if seed is None else seed, workers)
    with ctrl_c() as stop, saying(as_json) as say:
        garden, plan, weather = _begin(Path(place), settings, stop, say)
        if seed is None:
            settings = replace(settings, seed=plan.seed)
        left = max(time_limit - (time.monotonic() - began), 0.1)
        settings = replace(settings, time_limit=left)
        found = must_give(garden, plan, settings, weather, say, stop)
        nowhere = [
            n
            for r in found.reach
            if r.grams
            for d in garden.demands
            if d.group == r.group
            for n in d.crops
            if n not in r.crops
        ]
        stands = against(garden, nowhere, Units(garden.units))
    if as_json:
        click.echo(json.dumps(data(found, stands), indent=1, ensure_ascii=False))
    else:
        click.echo("\n".join(lines(found, stands)))
    return 0


def _begin(
    place: Path, settings: Settings, stop: threading.Event, say: Callable[[str, int, int], None]
) -> tuple[Garden, Plan, WeatherOf]:
    """The garden, a plan of it that keeps every rule, and the weather of its site."""
    from scheduler.base.faults import DrylineError
    from scheduler.garden.season_weather import weather_of
    from scheduler.plans.folder import GARDEN_FILE, read_plan_dir
    from scheduler.shortfall.no_plan import refuse_empty
    from scheduler.usecases import plan_season
    from scheduler.verify import verify

    if not place.is_dir():
        say("a plan of the garden as it is", 0, 1)
        part = replace(settings, time_limit=settings.time_limit / 3)
        made = plan_season(place, part, stop=stop)
        return made.garden, made.plan, made.weather
    garden, plan = read_plan_dir(place)
    weather = weather_of(place / GARDEN_FILE)
    if plan.as_of is not None:
        raise DrylineError(
            f"{place}: this season is under way (planned again on {plan.as_of}); shortfall is "
            "for a season that has not begun. dryline rebalance plans what is left of it"
        )
    verdict = verify(garden, plan)
    if not verdict.ok:
        from scheduler.verify.text import lines as broken

        head = "this plan breaks a rule, so nothing can be compared with it:"
        raise DrylineError("\n".join([head, *broken(verdict, garden.units)]))
    if not plan.batches:
        refuse_empty(garden, plan, weather)
    return garden, plan, weather


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
            live.update(Text(f"{what}: {done} of {of}", overflow="ellipsis", no_wrap=True))

        yield moving
