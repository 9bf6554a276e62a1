"""``dryline shopping DIR``: seeds and salts that are still to be bought, with their days."""

from __future__ import annotations

import json
from pathlib import Path

import click

from scheduler.commands.share import plan_argument, units_option
from scheduler.commands.waiting import waiting


@click.command()
@plan_argument()
@click.option(
    "--prices",
    metavar="CSV",
    type=click.Path(path_type=Path),
    help="packets, prices, stock: a table what,packet,unit,price,have",
)
@units_option()
@click.option("--language", metavar="CODE", help="such as de")
@click.option("--json", "as_json", is_flag=True, help="the list as JSON")
def command(
    folder: Path, prices: Path | None, units: str | None, language: str | None, as_json: bool
) -> int:
    """Tell what the plan in DIR still needs: seeds, salts and acid, each by which day.

    With --prices also how many packets to buy, what they cost, and what is used for a kilogram and
    for a head. A line of the table: basil,200,seeds,2.50,40 (a packet of 200 seeds costs 2.50, 40
    are in stock). Prices never change a plan.
    """
    from scheduler.mix.buying import buying
    from scheduler.mix.fills import season_total
    from scheduler.mix.prices_file import read_prices
    from scheduler.outputs.buying_text import data, lines
    from scheduler.plans.folder import read_plan_dir
    from scheduler.words.words import Units, check_language, use_language

    check_language(language)
    use_language(language)
    garden, plan = read_plan_dir(folder)
    known = None
    if prices is not None:
        acids = tuple(name for name, _, _ in season_total(garden, plan))
        known = read_prices(prices, garden, acids)
    with waiting("adding up what is needed"):
        found = buying(garden, plan, known)
    if as_json:
        click.echo(json.dumps(data(found), indent=1, ensure_ascii=False))
    else:
        click.echo("\n".join(lines(garden, plan, found, Units(units or garden.units))))
    return 0
