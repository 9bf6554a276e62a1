"""The table of the scale benchmark, from its results."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
Row = Mapping[str, Any]

# What is wanted of us: garden, within so much of the best proven bound [%], after so many seconds.
WANTED = [
    ("balcony-13", 0.0, 5.0),
    ("balcony-26", 0.0, 5.0),
    ("balcony-52", 0.0, 5.0),
    ("courtyard-26", 1.0, 10.0),
    ("courtyard-26", 0.3, 60.0),
    *((f"terrace-{w}", 1.0, 60.0) for w in (13, 26, 52)),
    *((f"estate-{w}", 1.0, 120.0) for w in (13, 26, 52)),
    *((f"region-{w}", 2.0, 600.0) for w in (13, 26, 52)),
]
MOST_MB = {"estate": 2048}


def best_bound(rows: list[Row]) -> float | None:
    """The lowest bound anyone proved for a garden."""
    bounds = [r["bound"] for r in rows if r.get("bound") is not None]
    bounds += [b for r in rows for _, _, b in r["track"] if b is not None]
    return min(bounds, default=None)


def gap(value: float | None, bound: float | None) -> float | None:
    """Share missing to the bound."""
    if value is None or bound is None:
        return None
    return max(bound - value, 0.0) / max(bound, 1e-9)


def reached(row: Row, bound: float | None, share: float) -> float | None:
    """Seconds until the best value was within ``share`` of the bound; None: never."""
    for at, best, _ in row["track"]:
        missing = gap(best, bound)
        if missing is not None and missing <= share + 1e-9:
            return float(at)
    return None


def gap_at(row: Row, bound: float | None, seconds: float) -> float | None:
    """Share missing after so many seconds."""
    values = [best for at, best, _ in row["track"] if at <= seconds and best is not None]
    return gap(max(values, default=None), bound)


def proof(row: Row) -> float | None:
    """Seconds until the run's own bound met its value; None: it did not."""
    if not row.get("proven"):
        return None
    meets = [
        at
        for at, best, bound in row["track"]
        if best is not None and bound is not None and bound - best <= 1e-6 * max(1, best)
    ]
    return float(min(meets, default=row["seconds"]))


def seconds(value: float | None) -> str:
    return "not" if value is None else f"{value:.1f}" if value < 100 else f"{value:.0f}"


def percent(value: float | None) -> str:
    return "none" if value is None else f"{100 * value:.2f}"


def whole(value: float | None) -> str:
    return "none" if value is None else f"{value:,.0f}"


def ratio(mine: float | None, ours: float | None, limit: float) -> str:
    """A time as a multiple of dryline's."""
    if ours is None:
        return "" if mine is None else "only this one"
    if mine is None:
        return f"> {limit / max(ours, 0.1):,.0f}"
    return f"{mine / max(ours, 0.1):,.1f}"


def by_garden(rows: Mapping[tuple[str, str, int], Row]) -> dict[str, list[Row]]:
    """Rows of each garden in the order of sizes, weeks, methods and seeds."""
    from tests.bench.scale_bench import METHODS, WAYS, wanted

    order = [*METHODS, *WAYS]

    out: dict[str, list[Row]] = {}
    for garden in wanted(""):
        mine = [r for (g, _, _), r in rows.items() if g == garden]
        if mine:
            out[garden] = sorted(mine, key=lambda r: (order.index(r["method"]), r["seed"]))
    return out


def _line(cells: list[object]) -> str:
    return "| " + " | ".join(str(c) for c in cells) + " |"


def _head(names: list[str]) -> list[str]:
    return [_line(list(names)), "|" + " --- |" * len(names)]


def ahead_table(groups: Mapping[str, list[Row]]) -> list[str]:
    """Seconds to 1 % of the best bound beside the other solvers', building the model left out."""
    lines = _head(["garden", "dryline s", "highs s", "scip s", "ahead"])
    for garden, rows in groups.items():
        bound = best_bound(rows)
        took: dict[str, float | None] = {}
        told: dict[str, str] = {}
        for method in ("dryline", "highs", "scip"):
            mine = [r for r in rows if r["method"] == method]
            if not mine:
                continue
            times = [reached(r, bound, 0.01) for r in mine]
            known = [t for t in times if t is not None]
            took[method] = max(known) if len(known) == len(times) else None  # the worst seed
            ended = next((r["ended"] for r in mine if r.get("ended")), "")
            told[method] = seconds(took[method]) + (f" ({ended})" if ended else "")
        others = [m for m in ("highs", "scip") if m in told]
        if "dryline" not in told or not others:
            continue
        ours = took["dryline"]
        behind = [m for m in others if took[m] is not None and (ours is None or took[m] < ours)]
        said = f"no: {', '.join(behind)}" if behind else "yes" if ours is not None else "none there"
        if any("no model" in told[m] for m in others):  # given up before it could be told
            said = "not compared"
        lines.append(
            _line([garden, *(told.get(m, "not run") for m in ("dryline", "highs", "scip")), said])
        )
    return lines


def gardens_table(groups: Mapping[str, list[Row]]) -> list[str]:
    lines = _head(
        [
            "garden",
            "weeks",
            "columns",
            "column kinds",
            "tiers",
            "tier kinds",
            "candidates",
            "load s",
            "candidates s",
            "wish g",
            "best bound g",
            "better simple rule g",
            "the rule, of the bound %",
        ]
    )
    for garden, rows in groups.items():
        r = next((r for r in rows if "candidates" in r), None)
        if r is None:
            continue
        bound = best_bound(rows)
        hand = next((x["by_hand"] for x in rows if x.get("by_hand") is not None), None)
        share = None if hand is None or bound is None else hand / bound
        name, weeks = garden.rsplit("-", 1)
        lines.append(
            _line(
                [
                    name,
                    weeks,
                    f"{r['columns']:,}",
                    r["column_kinds"],
                    f"{r['tiers']:,}",
                    r["tier_kinds"],
                    f"{r['candidates']:,}",
                    r["load"],
                    r["build"],
                    whole(r["wish"]),
                    whole(bound),
                    whole(hand),
                    percent(share),
                ]
            )
        )
    return lines


def methods_table(groups: Mapping[str, list[Row]]) -> list[str]:
    lines = _head(
        [
            "garden",
            "method",
            "seed",
            "limit s",
            "model s",
            "first plan s",
            "to 5 % s",
            "to 1 % s",
            "proven s",
            "gap at the limit %",
            "own gap %",
            "value g",
            "bound g",
            "memory MB",
            "check s",
            "to 5 %, × dryline",
            "to 1 %, × dryline",
            "remark",
        ]
    )
    for garden, rows in groups.items():
        bound = best_bound(rows)
        ours = next((r for r in rows if r["method"] == "dryline"), None)
        for r in rows:
            times = [reached(r, bound, share) for share in (0.05, 0.01)]
            first = r.get("first")
            if first is None and r["method"] != "dryline":
                first = next((at for at, best, _ in r["track"] if best is not None), None)
            ratios = ["", ""]
            if ours is not None and r["method"] in ("highs", "scip"):
                ratios = [
                    ratio(t, reached(ours, bound, share), r["limit"])
                    for t, share in zip(times, (0.05, 0.01), strict=True)
                ]
            lines.append(
                _line(
                    [
                        garden,
                        r["method"],
                        r["seed"],
                        f"{r['limit']:g}",
                        r.get("model", ""),
                        seconds(first),
                        *map(seconds, times),
                        seconds(proof(r)),
                        percent(gap(r.get("value"), bound)),
                        percent(gap(r.get("value"), r.get("bound"))),
                        whole(r.get("value")),
                        whole(r.get("bound")),
                        r["memory"],
                        r.get("verify", ""),
                        *ratios,
                        r.get("ended") or r.get("words", ""),
                    ]
                )
            )
    return lines


def stages_table(groups: Mapping[str, list[Row]]) -> list[str]:
    lines = _head(["garden", "method", "stage", "status", "value", "bound"])
    for garden, rows in groups.items():
        for r in rows:
            for name, status, value, bound in r.get("stages", ()):
                lines.append(_line([garden, r["method"], name, status, whole(value), whole(bound)]))
    return lines


def wanted_table(groups: Mapping[str, list[Row]]) -> list[str]:
    lines = _head(["garden", "seed", "wanted", "measured %", "memory MB", "kept"])
    for garden, most, after in WANTED:
        rows = groups.get(garden, [])
        for ours in (r for r in rows if r["method"] == "dryline"):
            found = gap_at(ours, best_bound(rows), after)
            kept = found is not None and 100 * found <= most + 1e-6
            aim = f"gap at most {most:g} % in {after:g} s"
            if most == 0:
                aim, kept = f"proven in {after:g} s", (proof(ours) or 1e9) <= after
            room = MOST_MB.get(garden.rsplit("-", 1)[0])
            if room is not None:
                aim, kept = f"{aim}, {room} MB", kept and ours["memory"] <= room
            lines.append(
                _line(
                    [
                        garden,
                        ours["seed"],
                        aim,
                        percent(found),
                        ours["memory"],
                        "yes" if kept else "no",
                    ]
                )
            )
    return lines


def text(rows: Mapping[tuple[str, str, int], Row]) -> str:
    """scale.md."""
    groups = by_garden(rows)
    machines = sorted({r["machine"] for r in rows.values()})
    return "\n".join(
        [
            "# Reach",
            "",
            "Written by `scale_bench.py` from `scale.jsonl`; what the columns mean and how it is "
            "measured stands in `README.md`. All gardens are invented.",
            "",
            *(f"- {m}" for m in machines),
            "",
            "## What is wanted",
            "",
            *wanted_table(groups),
            "",
            "## Seconds to 1 %",
            "",
            *ahead_table(groups),
            "",
            "The worst seed of each. On the courtyard's 52 weeks nobody is seen to be within 1 %: no "
            "bound known here counts stack access, and how much of what is missing that costs nobody "
            "knows. 'Not compared': a model tier by tier was given up before it was built.",
            "",
            "## Gardens",
            "",
            *gardens_table(groups),
            "",
            "## Methods",
            "",
            *methods_table(groups),
            "",
            "## Stages",
            "",
            *stages_table(groups),
            "",
        ]
    )


def write(rows: Mapping[tuple[str, str, int], Row]) -> None:
    """Write scale.md."""
    (HERE / "scale.md").write_text(text(rows), encoding="utf-8")
