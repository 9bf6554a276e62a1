"""``dryline risk DIR``: replay a plan over many weather years."""

from __future__ import annotations

import json
from pathlib import Path

import click
from click.core import ParameterSource

from scheduler.commands.share import Share, own_seed_option


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path())
@click.option(
    "--years",
    metavar="N",
    default=1000,
    show_default=True,
    type=click.IntRange(1, 10_000),
    help="weather years to replay",
)
@own_seed_option()
@click.option(
    "--past",
    metavar="CSV",
    type=click.Path(),
    help="daily climate table of past years to draw from; the garden's own unless given",
)
@click.option(
    "--block",
    metavar="DAYS",
    default=10,
    show_default=True,
    type=click.IntRange(1, 400),
    help="with --past: days drawn in a row",
)
@click.option(
    "--spread",
    metavar="K",
    default=1.0,
    show_default=True,
    type=click.FloatRange(0, 5),
    help="all spreads below times K; 0: the climate itself",
)
@click.option(
    "--temperature",
    metavar="DEGC",
    default=3.0,
    show_default=True,
    type=click.FloatRange(0, 15),
    help="spread of a day's temperature",
)
@click.option(
    "--et0",
    metavar="SHARE",
    default=0.20,
    show_default=True,
    type=Share(),
    help="spread of a day's evaporation",
)
@click.option(
    "--light",
    metavar="SHARE",
    default=0.30,
    show_default=True,
    type=Share(),
    help="spread of a day's light",
)
@click.option(
    "--memory",
    metavar="R",
    default=0.6,
    show_default=True,
    type=click.FloatRange(0, 0.99),
    help="correlation with the day before",
)
@click.option("--all", "every", is_flag=True, help="every batch, not only those most at risk")
@click.option("--json", "as_json", is_flag=True, help="the replay as JSON")
def command(
    folder: str,
    years: int,
    seed: int | None,
    past: str | None,
    block: int,
    spread: float,
    temperature: float,
    et0: float,
    light: float,
    memory: float,
    every: bool,
    as_json: bool,
) -> int:
    """Replay the plan in DIR over many weather years: how likely each batch is to run dry before
    its last pick or not to be ready, and how far weekly produce spreads.

    Years are put together from past daily rows (--past, or site.past of the garden); where there
    are none, or a spread is given, they are made from the garden's climate with that spread (one
    standard deviation). The output says what is assumed.
    """
    from scheduler.garden.past_file import read_past
    from scheduler.plans.folder import GARDEN_FILE, read_plan_dir
    from scheduler.risk.replay import replay
    from scheduler.risk.text import data, lines
    from scheduler.verify import verify
    from scheduler.verify.text import lines as broken_lines
    from scheduler.years.weather_years import Spread, resampled_years, spread_years

    garden, plan = read_plan_dir(folder)
    verdict = verify(garden, plan)
    if not verdict.ok:
        click.echo("This plan breaks a rule; chances would mean nothing:", err=True)
        click.echo("\n".join(broken_lines(verdict, garden.units)), err=True)
        return 1
    chosen = plan.seed if seed is None else seed
    rows = None if _spread_stated() else garden.site.past
    if past is not None:
        rows = read_past(past, garden, Path(folder) / GARDEN_FILE)
    if rows is not None:
        made = resampled_years(garden, rows, years, block, seed=chosen, as_of=plan.as_of)
    else:
        stated = Spread(temperature, et0, light, memory).scaled(spread)
        made = spread_years(garden, years, stated, chosen, plan.as_of)
    found = replay(garden, plan, made)
    if as_json:
        body = data(garden, plan, found, folder, chosen)
        click.echo(json.dumps(body, indent=1, ensure_ascii=False))
    else:
        click.echo("\n".join(lines(garden, plan, found, every)))
    return 0


def _spread_stated() -> bool:
    """Whether the spread of the years was given by hand."""
    given = click.get_current_context().get_parameter_source
    names = ("spread", "temperature", "et0", "light", "memory")
    return any(given(name) is ParameterSource.COMMANDLINE for name in names)
