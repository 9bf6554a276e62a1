"""``dryline open DIR``: a page on this machine to work with a plan."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import click

from scheduler.commands.day import day_of
from scheduler.commands.share import units_option

HOST = "127.0.0.1"  # this machine only; the page has no users and no passwords


@click.command()
@click.argument("folder", metavar="[DIR]", default=".", type=click.Path(path_type=Path))
@click.option(
    "--port",
    default=8417,
    show_default=True,
    type=click.IntRange(0, 65535),
    help="0: any that is free",
)
@click.option("--language", metavar="CODE", help="of the page, such as de; default: English")
@units_option()
@click.option(
    "--time-limit",
    metavar="S",
    default=30.0,
    show_default=True,
    type=click.FloatRange(0.1, 3600),
    help="seconds to search at most",
)
@click.option("--today", metavar="DATE", help="take this day for today, to try things out")
@click.option("--no-browser", is_flag=True, help="only tell the address")
@click.option("--json", "as_json", is_flag=True, help="tell the address as JSON")
def command(
    folder: Path,
    port: int,
    language: str | None,
    units: str | None,
    time_limit: float,
    today: str | None,
    no_browser: bool,
    as_json: bool,
) -> int:
    """Open a page to work with the plan in DIR, or in its folder season: see the day's work, write
    down levels, picks and failures, plan again, accept or discard.

    Where there is no plan yet it asks what `dryline start` asks, writes the garden into DIR and
    plans it.

    It is served to this machine only, until Ctrl-C. Whoever uses this machine can open it.
    """
    from scheduler.base.faults import DrylineError
    from scheduler.words.words import check_language

    try:
        import flask  # noqa: F401
        import waitress  # noqa: F401
    except ImportError:
        raise DrylineError("the page needs more libraries: pip install 'dryline[page]'") from None
    from scheduler.page.serve import Serving
    from scheduler.solvers.cp_sat import Settings

    check_language(language)
    day = None if today is None else day_of(today, "--today")
    serving = Serving(
        folder,
        port,
        language=language,
        units=units,
        settings=Settings(time_limit=time_limit),
        today=date.today if day is None else lambda: day,
    )
    if as_json:
        click.echo(json.dumps({"address": serving.address, "folder": str(folder)}))
    else:
        click.echo(f"{serving.address}   (Ctrl-C to end)")
    if not no_browser and not as_json:
        import webbrowser

        webbrowser.open(serving.address)
    try:
        serving.run()
    except KeyboardInterrupt:
        pass
    finally:
        serving.close()
    return 0
