"""The summary of many gardens in 79 characters, and for machines."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from scheduler.many.gardens import Result
from scheduler.words.units import share

WIDTH = 79


def table(results: Sequence[Result]) -> list[str]:
    """One line a garden, then what is wrong with those that have no plan."""
    out = [f"{'garden':<32}{'outcome':<15}{'met':>7}{'at most':>9}{'batches':>8}{'seconds':>8}"]
    for r in results:
        name = r.name if len(r.name) <= 31 else "…" + r.name[-30:]
        met = "" if r.met is None else share(r.met)
        most = "" if r.most is None else share(r.most, up=True)
        batches = str(r.batches) if r.planned else ""
        outcome = r.outcome.replace("_", " ")
        out.append(f"{name:<32}{outcome:<15}{met:>7}{most:>9}{batches:>8}{r.seconds:>8.1f}")
    done = [r for r in results if r.planned]
    out += ["", f"{len(done)} of {len(results)} gardens planned."]
    again = [r for r in done if r.attempts > 1]
    if again:
        out.append(f"{len(again)} of them begun again after a process was lost.")
    busy = [r for r in done if r.busy]
    if busy:
        out.append(
            f"{len(busy)} of them searched on a busy machine: more may be found on one that is not."
        )
    for r in results:
        if not r.planned:
            out += ["", f"{r.name}:"]
            for line in r.message.splitlines():
                out += textwrap.wrap(
                    line.strip(),
                    WIDTH,
                    initial_indent="  ",
                    subsequent_indent="      ",
                    break_on_hyphens=False,
                )
    return out


def line(result: Result, number: int, of: int) -> str:
    """One line of progress."""
    met = "" if result.met is None else f", {share(result.met)} of the wish met"
    text = f"{number}/{of} {result.name}: {result.outcome.replace('_', ' ')}{met}"
    return text if len(text) <= WIDTH else text[: WIDTH - 1] + "…"


def data(results: Sequence[Result], **run: Any) -> dict[str, Any]:
    """The same for machines."""
    gardens = []
    for r in results:
        body = asdict(r)
        body.pop("files")
        gardens.append({**body, "planned": r.planned})
    return {**run, "planned": sum(r.planned for r in results), "gardens": gardens}
