"""``dryline plan-many FOLDER``: plan every garden below a folder."""

from __future__ import annotations

import contextlib
import json
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.commands.share import (
    LONGEST,
    gap_option,
    seed_option,
    time_limit_option,
    years_option,
)

if TYPE_CHECKING:
    from scheduler.many.gardens import Result


@click.command()
@click.argument("folder", metavar="FOLDER", type=click.Path(path_type=Path))
@click.option(
    "--out",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    help="for all plans; else each goes into plan beside its garden.yaml",
)
@click.option(
    "--jobs",
    metavar="N",
    type=click.IntRange(1, 1024),
    help="gardens at a time on this machine  [default: its processors]",
)
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="plan on the Dask cluster there, such as tcp://127.0.0.1:8786",
)
@time_limit_option(60.0, "seconds of search a garden")
@click.option(
    "--work",
    metavar="W",
    type=click.FloatRange(0.01, 1e6),
    help="limit the search by work done, not by the clock: repeatable",
)
@gap_option()
@seed_option("random seed, the same for all")
@years_option()
@click.option("--json", "as_json", is_flag=True, help="the summary as JSON")
def command(
    folder: Path,
    out: Path | None,
    jobs: int | None,
    cluster: str | None,
    time_limit: float,
    work: float | None,
    gap: float,
    seed: int,
    years: int,
    as_json: bool,
) -> int:
    """Plan every garden.yaml below FOLDER, each by itself and with one thread, several at a time.

    A garden with faults, or one whose process is lost three times, does not stop the others. With
    --work the plans are the same one at a time, in parallel or on a cluster, given the same
    versions of the solver's libraries; without it the clock ends each search, and a busy machine
    may find less.

    A cluster runs whatever it is sent: use one only on a network you trust.

    Ctrl-C keeps what is planned. Ends with 0 if every garden has a plan, 1 if not (the summary says
    why), 2 if FOLDER holds no garden.
    """
    from scheduler.commands.running import ctrl_c
    from scheduler.many.gardens import prepare, write
    from scheduler.many.text import data, table
    from scheduler.solvers.cp_sat import Settings

    if cluster is not None and jobs is not None:
        raise click.UsageError("--jobs is for this machine; a cluster has its own workers")
    # Where work done is the limit the clock is none.
    limit = time_limit if work is None else float(LONGEST)
    settings = Settings(limit, gap, seed, workers=1, deterministic=work)
    todo, results = prepare(folder, out, settings, years)
    by_name = {job.name: job for job in todo}
    with ctrl_c() as stop, _progress(len(todo) + len(results), as_json) as show:
        for result in results:
            show(result)

        def done(result: Result) -> None:
            kept = write(by_name[result.name], result)
            results.append(kept)
            show(kept)

        if cluster is not None:
            from scheduler.many.cluster import run_cluster

            run_cluster(cluster, todo, done, stop)
        elif todo:
            from scheduler.many.local import run_local

            run_local(todo, jobs or os.cpu_count() or 1, done, stop)
    results.sort(key=lambda r: r.name)
    if as_json:
        body = data(
            results,
            folder=str(folder),
            seed=seed,
            gap=gap,
            work=work,
            time_limit=None if work is not None else time_limit,
        )
        click.echo(json.dumps(body, indent=1, ensure_ascii=False))
    else:
        click.echo("\n".join(table(results)))
    return 0 if all(r.planned for r in results) else 1


@contextlib.contextmanager
def _progress(count: int, quiet: bool) -> Iterator[Callable[[Result], None]]:
    """A function that shows each result: a bar on a terminal, a line a garden elsewhere."""
    from scheduler.many.text import line

    if quiet:
        yield lambda _: None
        return
    if not sys.stderr.isatty():
        number = 0

        def plain(result: Result) -> None:
            nonlocal number
            number += 1
            click.echo(line(result, number, count), err=True)

        yield plain
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (
        MofNCompleteColumn(),
        BarColumn(24),
        TimeElapsedColumn(),
        TextColumn("{task.description}", markup=False),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=count)
        yield lambda r: bar.update(task, advance=1, description=f"{r.name[:34]} {r.outcome}")
