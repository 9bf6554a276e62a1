"""``dryline start DIR``: a garden from a dozen answers, or an example of one that has every key."""

from __future__ import annotations

import json
import sys
from datetime import date, timedelta
from importlib import resources
from pathlib import Path
from string import Template

import click

from scheduler.base.files import write_atomic
from scheduler.commands.day import day_of
from scheduler.commands.share import language_option, time_limit_option, workers_option
from scheduler.words.units import METRIC, SYSTEMS, convert

LOG_HEADER = "date,what,column,tier,crop,amount,unit,note\n"
WEEKS = 24

_QUANTITIES = {
    "metric": {
        "elevation": "150 m",
        "bottom": "26 cm",
        "top": "29 cm",
        "height": "37 cm",
        "fill": "15 L",
        "fill_depth": "24 cm",
        "left_now": "18 cm",
        "keep": "2 cm",
        "mass": "1.5 kg",
        "indoors": "20 degC",
        "lettuce": "220 g",
        "greens": "170 g",
        "herbs": "15 g",
        "lift": "18 kg",
    },
    "us": {
        "elevation": "500 ft",
        "bottom": "10.25 in",
        "top": "11.5 in",
        "height": "14.5 in",
        "fill": "4 gal",
        "fill_depth": "9 in",
        "left_now": "7 in",
        "keep": "0.75 in",
        "mass": "3.3 lb",
        "indoors": "68 degF",
        "lettuce": "8 oz",
        "greens": "6 oz",
        "herbs": "0.5 oz",
        "lift": "40 lb",
    },
}

# Invented normals of a temperate northern site: lowest and highest daily temperature [degC].
_NORMALS = (
    (-4, 3),
    (-3, 5),
    (0, 10),
    (4, 15),
    (9, 20),
    (13, 24),
    (15, 27),
    (15, 26),
    (11, 21),
    (6, 15),
    (1, 8),
    (-3, 4),
)


def season_start(today: date) -> date:
    """The next Monday on or after 12 April."""
    year = today.year if today <= date(today.year, 4, 12) else today.year + 1
    day = date(year, 4, 12)
    return day + timedelta(days=-day.weekday() % 7)


def garden_text(units: str, today: date) -> str:
    """garden.yaml for the season after ``today``."""
    start = season_start(today)

    def after(weeks: int, days: int = 0) -> str:
        return (start + timedelta(weeks=weeks, days=days)).isoformat()

    template = (resources.files("scheduler") / "data" / "start_garden.yaml").read_text("utf-8")
    text = Template(template).substitute(
        _QUANTITIES[units],
        units=units,
        start=after(0),
        end=after(WEEKS, -1),
        first=after(8),
        herbs_first=after(11),
        away_from=after(15, 5),
        away_to=after(16, 6),
        planted=after(-3),
        sown=after(-2, 3),
    )
    return "\n".join(_aligned(line) for line in text.splitlines()) + "\n"


def _aligned(line: str) -> str:
    """A line with the remark after its value in one column."""
    value, mark, remark = line.partition("  # ")
    return f"{value.rstrip() + '  ':<26}# {remark.strip()}" if mark and value.strip() else line


def climate_text(units: str) -> str:
    """climate.csv: twelve rows to overwrite."""
    unit = "degC" if units == METRIC else "degF"
    lines = [
        "# Invented numbers. Put in the monthly means of the daily lowest and highest temperature",
        "# of your nearest weather station; any weather service has them. If it gives global",
        "# radiation too, add a column rs [MJ/m^2/day]; with rh [%] and wind [m/s] (at 2 m) demand",
        "# is estimated better still.",
        f"month,tmin [{unit}],tmax [{unit}]",
    ]
    for month, normals in enumerate(_NORMALS, 1):
        low, high = (round(convert(float(t), "degC", unit)) for t in normals)
        lines.append(f"{month},{low},{high}")
    return "\n".join(lines) + "\n"


@click.command(name="start")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--units", type=click.Choice(SYSTEMS), help="units the files are written in")
@click.option(
    "--place", metavar="TEXT", help="latitude and height (45.2 N, 120 m), or a large town"
)
@click.option("--climate", metavar="FILE", help="a station's file; or mild, cold, warm: invented")
@click.option("--stack", metavar="TEXT", help="columns x tiers x plants in a tier, as 1 x 3 x 3")
@click.option("--vessel", metavar="TEXT", help="a common size, 1 to 5, or your own: 15 L, 30 cm")
@click.option("--stand", metavar="TEXT", help="where the columns stand: open, wall or balcony")
@click.option(
    "--grows", metavar="TEXT", help="what grows today: A 1 kale 2027-05-20; A 2 basil 40 %"
)
@click.option("--season", metavar="TEXT", help="first and last day: 2027-04-12 to 2027-10-10")
@click.option("--work-days", metavar="TEXT", help="weekdays with work: wed, sat; or all")
@click.option("--away", metavar="TEXT", help="days without work: 2027-08-01 to 2027-08-14; or none")
@click.option("--wish", metavar="TEXT", help="a week's wish: 2 people x 3 salads, 4 heads, 600 g")
@click.option("--groups", metavar="TEXT", help="of what: lettuce, greens, herbs")
@click.option(
    "--ask/--no-ask", "asked", default=None, help="ask what is not told; on a terminal unless told"
)
@click.option("--today", "day", metavar="DATE", help="begin as on this day, such as 2027-06-03")
@click.option("--no-plan", is_flag=True, help="write the files only")
@time_limit_option(20.0)
@workers_option()
@language_option()
@click.option("--json", "as_json", is_flag=True, help="for machines")
def command(
    folder: Path,
    asked: bool | None,
    day: str | None,
    no_plan: bool,
    time_limit: float,
    workers: int,
    as_json: bool,
    **told: str | None,
) -> int:
    """Ask a dozen questions, write garden.yaml, climate.csv and log.csv into DIR, plan it.

    Each answer is an option, too, and each question has a default. Without a terminal, and with no
    answer told, it writes an example to change that has every key. Nothing is overwritten.
    """
    from scheduler.beginning.files import refuse_what_is_there

    refuse_what_is_there(folder)
    given = {key: text for key, text in told.items() if text is not None}
    if asked is None:
        asked = not as_json and sys.stdin.isatty() and sys.stdout.isatty()
    if not asked and not given.keys() - {"units"}:
        return _example(folder, given.get("units", METRIC), as_json)
    today = date.today() if day is None else day_of(day, "--today")
    from scheduler.commands import start_asking

    return start_asking.begin(
        folder, given, asked, None if no_plan else time_limit, workers, as_json, today
    )


def _example(folder: Path, units: str, as_json: bool) -> int:
    """Write the example that has every key."""
    files = {
        "garden.yaml": garden_text(units, date.today()),
        "climate.csv": climate_text(units),
        "log.csv": LOG_HEADER,
    }
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        write_atomic(folder / name, text)
    written = [str(folder / name) for name in files]
    if as_json:
        click.echo(json.dumps({"written": written, "units": units}, indent=1))
        return 0
    click.echo("written:")
    meanings = ("the garden: change it to yours", "weather: fill in your station's", "what you did")
    for path, meaning in zip(written, meanings, strict=True):
        click.echo(f"  {path}   {meaning}")
    click.echo(f"next: dryline plan {folder / 'garden.yaml'} --out {folder / 'season'}")
    return 0
