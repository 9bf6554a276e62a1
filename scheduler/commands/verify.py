"""``dryline verify DIR``: check every rule of a plan again."""

from __future__ import annotations

import json
from pathlib import Path

import click

from scheduler.commands.share import plan_argument
from scheduler.commands.waiting import waiting


@click.command()
@plan_argument()
@click.option("--json", "as_json", is_flag=True, help="the verdict as JSON")
def command(folder: Path, as_json: bool) -> int:
    """Check every rule of the plan in DIR again, from the garden beside it.

    Ends with 0 if all rules hold, 1 if one is broken.
    """
    from scheduler.plans.folder import read_plan_dir
    from scheduler.verify import verify
    from scheduler.verify.text import earlier, lines

    with waiting("checking every rule"):
        garden, plan = read_plan_dir(folder)
        verdict = verify(garden, plan)
    if as_json:
        click.echo(json.dumps(verdict.as_dict(), indent=1, ensure_ascii=False))
    else:
        click.echo("\n".join([*lines(verdict, garden.units), *earlier(plan)]))
    return 0 if verdict.ok else 1
