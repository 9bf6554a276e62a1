"""``dryline risk DIR``: a plan lived in many weather years, or followed to the day in them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from scheduler.commands.share import Share, language_option, own_seed_option, plan_argument
from scheduler.commands.waiting import waiting
from scheduler.words.language import _
from scheduler.years import JUDGED

if TYPE_CHECKING:
    import pandas as pd

    from scheduler.garden.model import Garden
    from scheduler.plans.model import Plan
    from scheduler.years.weather_years import Spread

TO_THE_DAY = 1000  # years, of single days that stray


@click.command()
@plan_argument()
@click.option(
    "--years",
    metavar="N",
    type=click.IntRange(1, 10_000),
    help=f"weather years  [default: {JUDGED}; {TO_THE_DAY} to the day]",
)
@own_seed_option()
@click.option(
    "--past",
    metavar="CSV",
    type=click.Path(),
    help="daily climate table of past years to draw from; the garden's own unless given",
)
@click.option(
    "--to-the-day",
    is_flag=True,
    help="the calendar is followed to the day, and days stray one by one; what stands below goes "
    "with it",
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
    help="let the years stray K times as far as the options below say; 0: not at all",
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
@language_option()
@click.option("--json", "as_json", is_flag=True, help="the replay as JSON")
def command(
    folder: Path,
    years: int | None,
    seed: int | None,
    past: str | None,
    to_the_day: bool,
    block: int,
    spread: float,
    temperature: float,
    et0: float,
    light: float,
    memory: float,
    every: bool,
    as_json: bool,
) -> int:
    """Live the plan in DIR through many weather years: how late each batch may be, how likely it is
    lost, and how far weekly produce spreads.

    It is lived as the plan's promise is, by the same grower in the same years: whole past years
    (--past, or site.past of the garden), or years made around the climate table.

    --to-the-day, or a spread that is given, follows the calendar to the day instead. The output
    says what is assumed.
    """
    from scheduler.garden.past_file import read_past
    from scheduler.plans.folder import GARDEN_FILE, read_plan_dir
    from scheduler.verify import verify
    from scheduler.verify.text import lines as broken_lines
    from scheduler.years.weather_years import Spread

    garden, plan = read_plan_dir(folder)
    with waiting("checking every rule"):
        verdict = verify(garden, plan)
    if not verdict.ok:
        click.echo(_("This plan breaks a rule; chances would mean nothing:"), err=True)
        click.echo("\n".join(broken_lines(verdict, garden.units)), err=True)
        return 1
    stated = _spread_stated()
    rows = None if stated else garden.site.past
    if past is not None:
        rows = read_past(past, garden, folder / GARDEN_FILE)
    if to_the_day or stated:
        spreads = Spread(temperature, et0, light, memory).scaled(spread)
        chosen = plan.seed if seed is None else seed
        with waiting("living the plan in weather years"):
            body, text = _to_the_day(
                garden, plan, years or TO_THE_DAY, rows, block, spreads, chosen, every
            )
    else:
        own = plan.seed if plan.years is None else plan.years.seed
        chosen = own if seed is None else seed
        with waiting("living the plan in weather years"):
            body, text = _lived(garden, plan, years or JUDGED, rows, chosen, every)
    if as_json:
        click.echo(json.dumps({"folder": str(folder), **body}, indent=1, ensure_ascii=False))
    else:
        click.echo("\n".join(text))
    return 0


Said = tuple[dict[str, Any], list[str]]


def _lived(
    garden: Garden, plan: Plan, count: int, rows: pd.DataFrame | None, seed: int, every: bool
) -> Said:
    """Lived by the promise's grower; with the plan's own seed and 200 years, in its very years."""
    from scheduler.outputs.warned import warned, warned_lines
    from scheduler.risk.lived_plan import lived_plan
    from scheduler.risk.lived_text import data, lines
    from scheduler.years.expected import without_years
    from scheduler.years.purposes import years_for

    mean = without_years(garden)
    made = years_for(mean, count, seed, "promise", rows, plan.as_of)
    reachable = 1.0 if plan.promise is None else plan.promise.reachable
    found = lived_plan(mean, plan, made, seed, reachable)
    harm = warned(mean, plan, made)
    body = {**data(found, seed), "warned": harm}
    return body, [*lines(garden, plan, found, every), *warned_lines(garden, harm, every)]


def _to_the_day(
    garden: Garden,
    plan: Plan,
    count: int,
    rows: pd.DataFrame | None,
    block: int,
    spreads: Spread,
    seed: int,
    every: bool,
) -> Said:
    from scheduler.risk.replay import replay
    from scheduler.risk.text import data, lines
    from scheduler.years.weather_years import resampled_years, spread_years

    if rows is not None:
        made = resampled_years(garden, rows, count, block, seed=seed, as_of=plan.as_of)
    else:
        made = spread_years(garden, count, spreads, seed, plan.as_of)
    found = replay(garden, plan, made)
    return data(garden, plan, found, seed), lines(garden, plan, found, every)


def _spread_stated() -> bool:
    """Whether the spread of the years was given by hand."""
    given = click.get_current_context().get_parameter_source
    names = ("spread", "temperature", "et0", "light", "memory")
    return any(given(name) is ParameterSource.COMMANDLINE for name in names)
