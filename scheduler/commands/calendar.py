"""``dryline calendar``: a plan's work as text, CSV, calendar feed, page or print."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import click

from scheduler.base.faults import DrylineError
from scheduler.commands.share import plan_argument, units_option
from scheduler.commands.waiting import waiting
from scheduler.garden.model import Garden
from scheduler.plans.model import Plan
from scheduler.plans.places import check_places

FORMATS = ("text", "csv", "ics", "html", "pdf")


class Day(click.ParamType):  # type: ignore[type-arg]  # generic in newer releases only
    """A day written as 2027-04-12."""

    name = "date"

    def convert(self, value: Any, param: Any, ctx: Any) -> date:
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(value)
        except ValueError:
            self.fail(f"{value!r}; expected a day written as 2027-04-12", param, ctx)


@click.command()
@plan_argument()
@click.option("--format", "form", type=click.Choice(FORMATS), default="text", show_default=True)
@click.option("--from", "first", type=Day(), help="first day shown")
@click.option("--to", "last", type=Day(), help="last day shown")
@units_option()
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="write to this file")
@click.option("--paper", type=click.Choice(["a4", "letter"]), help="pdf: paper size")
@click.option("--alarm", type=click.IntRange(0, 23), metavar="HOUR", help="ics: alarm at HOUR")
@click.option("--kind", help="ics: only this kind of work, such as sow; 'each': a feed for each")
@click.option(
    "--before",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="ics: folder of the plan before; days that lost all their work are cancelled",
)
@click.option("--language", metavar="CODE", help="such as de; en_US: weeks begin on Sunday")
@click.option("--json", "as_json", is_flag=True, help="the work as JSON, for machines")
def command(
    folder: Path,
    form: str,
    first: date | None,
    last: date | None,
    units: str | None,
    out: Path | None,
    paper: str | None,
    alarm: int | None,
    kind: str | None,
    before: Path | None,
    language: str | None,
    as_json: bool,
) -> int:
    """Print the calendar of the plan in DIR.

    Text and CSV go to the terminal unless --out names a file; a page, a feed and a PDF are written
    to calendar.html, calendar.ics and calendar.pdf in DIR. The PDF of one day alone (--from D --to
    D) is a sheet of one page with blanks for what is measured.
    """
    from scheduler.outputs.act import with_act
    from scheduler.outputs.work import KINDS, work_items
    from scheduler.plans.folder import read_plan_dir
    from scheduler.watch.forecast import read
    from scheduler.words.words import Units, check_language, use_language

    check_language(language)
    use_language(language)
    if first and last and last < first:
        raise DrylineError(f"--to {last} lies before --from {first}")
    if kind is not None and kind not in (*KINDS, "each"):
        raise DrylineError(f"--kind {kind!r}; expected one of {', '.join(KINDS)}, or each")
    for option, needs, given in (
        ("--alarm", "ics", alarm is not None),
        ("--kind", "ics", kind is not None),
        ("--before", "ics", before is not None),
        ("--paper", "pdf", paper is not None),
    ):
        if given and form != needs:
            raise DrylineError(f"{option} goes with --format {needs} only")
    garden, plan = read_plan_dir(folder)
    check_places(garden, plan, str(folder / "plan.json"))
    if (first and first > plan.end) or (last and last < garden.first):
        raise DrylineError(f"no day of the season lies there; it is {garden.first} to {plan.end}")
    show = Units(units or garden.units)
    items = with_act(plan, work_items(garden, plan), read(folder, plan))
    shown = tuple(
        w for w in items if (not first or w.date >= first) and (not last or w.date <= last)
    )
    if as_json:
        body = [as_data(w) for w in shown]
        click.echo(json.dumps({"work": body}, indent=1, ensure_ascii=False))
        return 0
    made: str | bytes
    if form == "text":
        from scheduler.outputs import text

        made = text.calendar(garden, plan, items, show, first, last)
    elif form == "csv":
        from scheduler.outputs import csv

        made = (csv.BOM if out else "") + csv.work_csv(garden, shown, show)
    elif form == "ics" and kind == "each":
        for one in KINDS:
            if before or any(w.kind == one for w in shown):
                file = out or folder / "calendar.ics"
                made = _feed(folder, garden, plan, items, show, first, last, alarm, one, before)
                _write(file.with_stem(f"{file.stem}-{one}"), made)
        return 0
    elif form == "ics":
        made = _feed(folder, garden, plan, items, show, first, last, alarm, kind, before)
    elif form == "pdf":
        from scheduler.outputs import pdf

        size = paper or ("letter" if show.us else "a4")
        with waiting("making the print"):
            made = pdf.document(garden, plan, items, show, size, first, last)
    else:
        from scheduler.outputs import html

        with waiting("making the page"):
            made = html.page(garden, plan, items, show, first, last)
    if out is None and isinstance(made, str) and form in ("text", "csv"):
        click.echo(made, nl=False)
        return 0
    _write(out or folder / f"calendar.{form}", made)
    return 0


def _feed(
    folder: Path,
    garden: Garden,
    plan: Plan,
    items: tuple[Any, ...],
    units: Any,
    first: date | None,
    last: date | None,
    alarm: int | None,
    kind: str | None,
    before: Path | None,
) -> bytes:
    from datetime import UTC, datetime

    from scheduler.outputs import ics
    from scheduler.outputs.work import KINDS, work_items
    from scheduler.plans.folder import read_plan_dir

    earlier: tuple[Any, ...] = ()
    if before is not None:
        old_garden, old_plan = read_plan_dir(before)
        check_places(old_garden, old_plan, str(before / "plan.json"))
        earlier = work_items(old_garden, old_plan)
    # The plan's own age stamps the feed, so that the same plan gives the same file.
    made = datetime.fromtimestamp(int((folder / "plan.json").stat().st_mtime), UTC)
    return ics.feed(
        garden,
        plan,
        items,
        units,
        made,
        first=first,
        last=last,
        kinds=[kind] if kind else KINDS,
        alarm_hour=alarm,
        before=earlier,
    )


def _write(file: Path, made: str | bytes) -> None:
    from scheduler.base.files import write_atomic

    write_atomic(file, made)
    click.echo(f"wrote {file}")


def as_data(item: Any) -> dict[str, Any]:
    """One item of work as plain data; amounts in L, cm, g, kg, dates ISO."""
    from dataclasses import asdict

    return {
        k: v.isoformat() if isinstance(v, date) else v
        for k, v in asdict(item).items()
        if v is not None
    }
