"""``dryline plans``: the plans below a folder, or what two of them have that is not the same."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from scheduler.plans.model import Plan

DEPTH = 3  # folders deep to look: a garden, its season, what was set aside in it
MOST = 500  # folders looked into; more are told to be left out


@click.command()
@click.argument("places", metavar="[FOLDER] | DIR DIR2", nargs=-1, type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="for machines")
def command(places: tuple[Path, ...], as_json: bool) -> int:
    """List the plans in FOLDER and the folders below it (by default where you stand).

    With two folders of plans of one garden it tells what the second has that the first has not:
    batches dropped, moved, new; weeks that bring more or less.
    """
    if len(places) > 2:
        raise click.UsageError("one folder to list, or two plans to compare")
    if len(places) == 2:
        return _compare(*places, as_json)
    root = places[0] if places else Path()
    found, faults, more = _below(root)
    if as_json:
        body = {"plans": [_data(p, plan) for p, plan in found], "unreadable": faults, "more": more}
        click.echo(json.dumps(body, indent=1, ensure_ascii=False))
        return 0
    if not found and not faults:
        click.echo(f"no plan in {root} or below it; dryline plan makes one")
        return 0
    from scheduler.words.words import table

    rows = [_row(root, place, plan) for place, plan in found]
    head = ("folder", "plan", "made", "begun", "batches", "usual year", "expected")
    click.echo("\n".join(table(head, rows, "<><<>>>", 79)))
    for fault in faults:
        click.echo(f"  {fault}", err=True)
    if more:
        click.echo(f"only the first {MOST} folders were looked into", err=True)
    return 0


def _below(root: Path) -> tuple[list[tuple[Path, Plan]], list[str], bool]:
    """Plans by folder as they were made, those that cannot be read, whether there was more."""
    from scheduler.base.faults import BadInput, Fault
    from scheduler.plans.folder import PLAN_FILE, read_plan

    if not root.is_dir():
        what = "a file" if root.exists() else "not there"
        raise BadInput([Fault(str(root), None, "", what, "a folder with plans")])
    folders, level = [root], [root]
    for _ in range(DEPTH):
        level = [
            p
            for folder in level
            for p in sorted(folder.iterdir())
            if p.is_dir() and not p.is_symlink() and not p.name.startswith(".")
        ]
        folders += level
        if len(folders) > MOST:
            break
    found, faults = [], []
    for folder in folders[:MOST]:
        if (folder / PLAN_FILE).is_file():
            try:
                found.append((folder, read_plan(folder)))
            except BadInput as error:
                faults.append(error.faults[0].text())
    found.sort(key=lambda pair: (pair[1].garden, pair[1].number, str(pair[0])))
    return found, faults, len(folders) > MOST


def _row(root: Path, place: Path, plan: Plan) -> tuple[str, ...]:
    from scheduler.plans.home import is_current
    from scheduler.words.units import share

    met = _expected(plan)
    name = str(place.relative_to(root)) if place != root else str(root)
    if is_current(place):
        name += ", current"
    return (
        name if len(name) <= 24 else "..." + name[-21:],
        str(plan.number or "?"),
        plan.made.isoformat() if plan.made else "?",
        plan.as_of.isoformat() if plan.as_of else "not yet",
        str(len(plan.batches)),
        "?" if plan.promise is None else share(plan.promise.usual),
        "?" if met is None else f"{met:,.0f} g",
    )


def _expected(plan: Plan) -> float | None:
    """Weighted grams of the wish that it meets if all comes as expected."""
    return next((s.value for s in plan.stages if s.name == "produce"), None)


def _data(place: Path, plan: Plan) -> dict[str, Any]:
    from scheduler.plans.home import is_current

    return {
        "folder": str(place),
        "current": is_current(place),
        "garden": plan.garden,
        "number": plan.number,
        "made": plan.made and plan.made.isoformat(),
        "as_of": plan.as_of and plan.as_of.isoformat(),
        "status": plan.status,
        "batches": len(plan.batches),
        "usual": None if plan.promise is None else plan.promise.usual,
        "expected_weighted_grams": _expected(plan),
    }


def _compare(first: Path, second: Path, as_json: bool) -> int:
    from scheduler.base.faults import DrylineError
    from scheduler.plans.folder import read_plan_dir
    from scheduler.replanning.diff import diff, lines

    garden, old = read_plan_dir(first)
    other, new = read_plan_dir(second)
    places = [{(c.name, t.number) for c in g.columns for t in c.tiers} for g in (garden, other)]
    if (garden.season.start, garden.season.end) != (other.season.start, other.season.end) or (
        places[0] != places[1]
    ):
        raise DrylineError(
            f"{first} and {second} are of gardens with other seasons or tiers: nothing to compare"
        )
    found = diff(other, old, new)
    if as_json:
        click.echo(json.dumps(found.as_dict(), indent=1, ensure_ascii=False))
    else:
        click.echo(f"{first} (plan {old.number}) -> {second} (plan {new.number})\n")
        click.echo("\n".join(lines(found, "", other.units)))
    return 0
