"""The bench's table, goals and picture, from the rows that were lived."""

from __future__ import annotations

import json
import platform
from collections.abc import Iterable, Sequence
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np

Row = dict[str, Any]
GROWERS = (("sensible", "eats young heads"), ("patient", "waits"), ("to the day", "to the day"))


def write_table(rows: Path, weekly: Path, into: Path) -> None:
    """results.md and results.svg."""
    read = [json.loads(line) for line in rows.read_text().splitlines()]
    again = [json.loads(x) for x in weekly.read_text().splitlines()] if weekly.exists() else []
    places = list(dict.fromkeys(row["place"] for row in read))
    text = [*_head(), *_growers(read, places), "", *_promises(read, places), ""]
    text += [*_goals(read, places), "", *_weekly(again)]
    (into / "results.md").write_text("\n".join(text) + "\n")
    _picture(read, places, into / "results.svg")


def _head() -> list[str]:
    return [
        "# What plans bring in real years",
        "",
        f"Made by run.py: ortools {version('ortools')}, Python {platform.python_version()}, two "
        "cores, time limit 120 s (courtyard) and 30 s (balcony). Shares of the wish [%], means over "
        "the lived years and the seeds. `years`: planned with weather years; `mean`: for the mean "
        "year, the batches of the commit before weather years (`--years 0`).",
    ]


def _growers(rows: Sequence[Row], places: Sequence[str]) -> list[str]:
    out = [
        "",
        "## Delivered, by grower",
        "",
        "`worst fifth`: mean of the worst fifth of the years of who eats young heads. `rule`: the "
        "better simple rule, lived likewise; `interval`: a grower who sows at fixed intervals. "
        "`killed`: share of the batches that cold or heat killed, with who eats young heads; empty "
        "where it was not counted.",
        "",
        "| garden-place | planned for | seeds | eats young heads | worst fifth | waits | to the day "
        "| rule | interval | killed |",
        "|---|---|---|---|---|---|---|---|---|---|",
    ]
    for place in places:
        for way in ("years", "mean"):
            mine = _of(rows, place, way)
            if not mine:
                continue
            cells: list[float | None] = [_mean(mine, "sensible"), _worst(mine)]
            cells += [_mean(mine, "patient"), _mean(mine, "to the day")]
            cells += [_mean(mine, k) if k in mine[0] else None for k in ("rule", "interval")]
            counted = [r["killed"] for r in mine if "killed" in r]
            cells.append(float(np.mean(counted)) if counted else None)
            shown = " | ".join("" if x is None else f"{100 * x:.1f}" for x in cells)
            out.append(f"| {place} | {way} | {len(mine)} | {shown} |")
    return out


def _promises(rows: Sequence[Row], places: Sequence[str]) -> list[str]:
    out = [
        "## Promised and arrived",
        "",
        "Of plans with weather years, whose promise carries the doubt in the crops' numbers; "
        "arrived: lived with crop speeds and thirst off by as much, eight draws a year. `error`: "
        "two standard errors of the lived mean, over the years. `below`: lived years and draws "
        "under the promised one year in five.",
        "",
        "| garden-place | years | promised, usual | arrived | off | error | below | mean year's "
        "promise | arrived |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for place in places:
        mine, old = _of(rows, place, "years"), _of(rows, place, "mean")
        if not mine:
            continue
        promised, arrived, error, below = _promise(mine)
        cells = f"{100 * promised:.1f} | {100 * arrived:.1f} | {100 * (promised - arrived):+.1f}"
        before = ["", ""]
        if old:
            before = [f"{100 * np.mean([r['promised'] for r in old]):.1f}"]
            before.append(f"{100 * _mean(old, 'doubted'):.1f}")
        out.append(
            f"| {place} | {mine[0]['years']} | {cells} | {100 * error:.1f} | {100 * below:.0f} % | "
            f"{before[0]} | {before[1]} |"
        )
    return out


def _promise(mine: Sequence[Row]) -> tuple[float, float, float, float]:
    """Promised, arrived, two standard errors of it over years, share of years below."""
    promised = float(np.mean([r["promised"] for r in mine]))
    by_year = np.mean([np.reshape(r["doubted"], (-1, r["years"])).mean(axis=0) for r in mine], 0)
    error = 2 * float(by_year.std(ddof=1)) / np.sqrt(len(by_year))
    below = float(np.mean([np.array(r["doubted"]) < r["one_in_five"] for r in mine]))
    return promised, float(by_year.mean()), float(error), below


def _goals(rows: Sequence[Row], places: Sequence[str]) -> list[str]:
    off, within, below, gain, low = [], [], [], {}, {}
    for place in places:
        mine, old = _of(rows, place, "years"), _of(rows, place, "mean")
        if not (mine and old):
            continue
        promised, arrived, error, _ = _promise(mine)
        off.append(promised - arrived)
        within.append(abs(promised - arrived) <= max(error, 0.04))
        below += [np.array(r["doubted"]) < r["one_in_five"] for r in mine]
        gain[place] = _mean(mine, "sensible") - _mean(old, "sensible")
        low[place] = _worst(mine) - _worst(old)
    pooled = float(np.concatenate(below).mean())

    def span(values: dict[str, float]) -> str:
        least = min(values, key=lambda k: values[k])
        mean = 100 * float(np.mean(list(values.values())))
        return f"{mean:+.1f} on the mean, least {100 * values[least]:+.1f} ({least})"

    return [
        "## What was wanted",
        "",
        "| wanted | is |",
        "|---|---|",
        f"| promise within 2 points of what arrives, mean over garden-places | "
        f"{100 * float(np.mean(off)):+.1f} |",
        f"| in each within two standard errors of the lived mean, about 4 points | "
        f"{sum(within)} of {len(within)} |",
        f"| of all lived years 10 to 33 % below 'one year in five' | {100 * pooled:.0f} % |",
        f"| delivered above the plan for the mean year, nowhere more than 1 point below | "
        f"{span(gain)} |",
        f"| worst fifth of the years likewise | {span(low)} |",
    ]


def _weekly(rows: Sequence[Row]) -> list[str]:
    if not rows:
        return []
    out = [
        "## Planned again each Monday",
        "",
        "Real years lived by who eats young heads and plans again each week, beside who only lets "
        "things slip. Levels are read with an error of a quarter of an inch. `again`: weeks in which "
        "something was searched for, with the limit of each search in seconds or in work "
        "(deterministic seconds); `taken`: in which the new plan was taken; `changed`: batches "
        "dropped, added, in another tier, or with a day outside what the calendar told, of so many. "
        "Up to 28 November 2026 another crop in place of a planned one was two of them, since then "
        "one.",
        "",
        "| garden-place | year | weekly | lets things slip | limit | again | taken | changed | of |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    last = {(r["place"], r["year"]): r for r in rows}
    for r in last.values():
        shares = f"{100 * r['weekly']:.1f} | {100 * r['sensible']:.1f}"
        limit = f"{r['work']:g} of work" if r.get("work") else f"{r['seconds']:g} s"
        counts = " | ".join(str(r[k]) for k in ("again", "taken", "changed", "batches"))
        failed = f" ({r['failed']} could not)" if r["failed"] else ""
        out.append(f"| {r['place']} | {r['year']} | {shares} | {limit} | {counts}{failed} |")
    gain = [100 * (r["weekly"] - r["sensible"]) for r in last.values()]
    out += ["", f"Mean {np.mean(gain):+.1f}, least {min(gain):+.1f}, most {max(gain):+.1f} points."]
    return out


def _of(rows: Iterable[Row], place: str, way: str) -> list[Row]:
    return [r for r in rows if (r["place"], r["way"]) == (place, way)]


def _mean(rows: Sequence[Row], name: str) -> float:
    return float(np.mean([np.mean(r[name]) for r in rows]))


def _worst(rows: Sequence[Row]) -> float:
    return float(
        np.mean([np.sort(r["sensible"])[: max(1, round(r["years"] / 5))].mean() for r in rows])
    )


def _picture(rows: Sequence[Row], places: Sequence[str], file: Path) -> None:
    """Each lived year as a dot, what was promised beside it."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    made = Figure(figsize=(8.0, 0.75 * len(places) + 1.4))
    FigureCanvasSVG(made)
    axes = made.add_axes((0.24, 0.16, 0.73, 0.76))
    marks = (
        ("years", 0.0, "#2f5d3a", "o"),
        ("mean", 0.2, "#8a6d3b", "x"),
        ("interval", 0.4, "#777", "+"),
    )
    for i, place in enumerate(places):
        for way, down, colour, mark in marks:
            mine = _of(rows, place, "mean" if way == "interval" else way)
            if not mine:
                continue
            shares = np.concatenate(
                [r["interval" if way == "interval" else "sensible"] for r in mine]
            )
            y = np.full(len(shares), i + down)
            axes.plot(100 * shares, y, mark, color=colour, markersize=4, alpha=0.6)
            if way != "interval":
                promised = 100 * float(np.mean([r["promised"] for r in mine]))
                axes.plot([promised] * 2, [i + down - 0.09, i + down + 0.09], color=colour, lw=2)
    axes.set_yticks([i + 0.2 for i in range(len(places))], list(places))
    axes.invert_yaxis()
    axes.set_xlabel(
        "share of the wish [%]: o planned with years, x for the mean year, + fixed interval; | promised",
        fontsize=8,
    )
    axes.grid(axis="x", lw=0.4)
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    made.savefig(file, metadata={"Date": None})
