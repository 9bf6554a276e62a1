"""The table of forecasts in a plan's folder: what is needed to answer a reading without the model.

`watch.made` writes it with a plan. A batch counts in it only as long as it is the one that the
table was made for; of any other nothing is foretold.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import astuple, dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from scheduler.levels.kind import Kind
from scheduler.plans.model import Batch, Plan

Day = date  # `Other` has a field called date

WATCH_FILE = "watch.json"
SCHEMA = "dryline-watch-1"
# In what the numbers of the table are whole: litres, square litres, progress and mass.
LITRE, LITRE2, SHARE = 1e-5, 1e-8, 1e-4
_MOST = 1e4  # of any of them; what is above is no number of a garden


@dataclass(frozen=True)
class Other:
    """Work that a plan's batches do not tell by themselves: a column to cover, heads to support.

    ``tier`` is None for a whole column; ``until``: last day of what lasts.
    """

    date: date
    kind: str
    column: str
    tier: int | None
    batch: str
    crop: str
    plants: int
    until: Day | None


@dataclass(frozen=True)
class Foretold:
    """A plan's table.

    Attributes
    ----------
    batches : which kind each is of, crop and transplanting day it was made for.
    checks : days after its transplanting on which the calendar asks for the level of a batch, and
        the depth below which to act [cm]; None: none.
    other : work beside sowing, planting, picking, clearing.
    meters : days after its transplanting on which EC and pH of a batch are measured too.
    leads : days before its transplanting by which a batch must be sown to be fit for it.
    """

    kinds: Sequence[Kind]
    batches: Mapping[str, tuple[int, str, date]]
    checks: Mapping[str, Mapping[int, float | None]] = field(default_factory=dict)
    other: Sequence[Other] = ()
    leads: Mapping[str, int] = field(default_factory=dict)
    meters: Mapping[str, int] = field(default_factory=dict)

    def of(self, batch: Batch) -> tuple[Kind, date] | None:
        """A batch's kind and its planned transplanting day; None where nothing is foretold."""
        kind, crop, day = self.batches.get(batch.id, (-1, "", date.min))
        return (self.kinds[kind], day) if kind >= 0 and crop == batch.crop else None


NOTHING = Foretold((), {})


def of_plan(plan: Plan) -> list[Any]:
    """What tells the plan that a table was made for from any other in the same folder."""
    return [plan.number, str(plan.made), str(plan.as_of), str(plan.start), len(plan.batches)]


def written(foretold: Foretold, plan: Plan) -> bytes:
    """The table as a file."""
    body = {
        "schema": SCHEMA,
        "plan": of_plan(plan),
        "batches": {i: [k, c, d.isoformat()] for i, (k, c, d) in foretold.batches.items()},
        "checks": {
            batch: [[day, None if cm is None else round(cm, 1)] for day, cm in days.items()]
            for batch, days in foretold.checks.items()
        },
        "other": [astuple(o) for o in foretold.other],
        "leads": dict(foretold.leads),
        "meters": dict(foretold.meters),
        "kinds": [
            {
                "drinks": _whole(k.drinks, LITRE),
                "slopes": _whole(k.slopes, LITRE),
                "noise": _whole(k.noise, LITRE2),
                "growth": _whole(k.growth, SHARE),
                "growth_spread": _whole(k.growth_spread, SHARE),
                "mass": _whole(k.mass, SHARE),
                "years": [[float(f"{c:.4g}") for c in row] for row in k.years],
            }
            for k in foretold.kinds
        ],
    }
    text = json.dumps(body, default=date.isoformat, separators=(",", ":"), ensure_ascii=False)
    return f"{text}\n".encode()


def read(folder: Path, plan: Plan) -> Foretold:
    """The table beside a plan; `NOTHING` where there is none, or one of another plan."""
    try:
        return parsed((folder / WATCH_FILE).read_bytes(), plan)
    except OSError:
        return NOTHING


def parsed(raw: bytes, plan: Plan) -> Foretold:
    """What a written table says; `NOTHING` where it is spoilt, or one of another plan."""
    try:
        body = json.loads(raw)
        if body["schema"] != SCHEMA or body["plan"] != of_plan(plan):
            return NOTHING
        kinds = tuple(_kind(row) for row in body["kinds"])
        batches = {
            i: (int(k), str(c), date.fromisoformat(d)) for i, (k, c, d) in body["batches"].items()
        }
        if not all(0 <= k < len(kinds) for k, _, _ in batches.values()):
            return NOTHING
        checks = {
            str(b): {int(day): None if cm is None else float(cm) for day, cm in days}
            for b, days in body["checks"].items()
        }
        leads = {str(b): int(days) for b, days in body.get("leads", {}).items()}
        other = tuple(_other(*row) for row in body["other"])
        meters = {str(b): int(day) for b, day in body.get("meters", {}).items()}
        return Foretold(kinds, batches, checks, other, leads, meters)
    except (ValueError, TypeError, LookupError, AttributeError, RecursionError):
        return NOTHING  # spoilt: the log says what it says without


def _whole(values: Sequence[float], unit: float) -> list[int]:
    return [round(float(v) / unit) for v in values]


def _other(
    day: str,
    kind: str,
    column: str,
    tier: int | None,
    batch: str,
    crop: str,
    plants: int,
    until: str | None,
) -> Other:
    last = None if until is None else date.fromisoformat(until)
    return Other(date.fromisoformat(day), kind, column, tier, batch, crop, plants, last)


def _kind(row: Mapping[str, Any]) -> Kind:
    def of(name: str, unit: float) -> list[float]:
        return [v * unit for v in row[name]]

    kind = Kind(
        of("drinks", LITRE),
        of("slopes", LITRE),
        of("noise", LITRE2),
        of("growth", SHARE),
        of("growth_spread", SHARE),
        of("mass", SHARE),
        [[float(c) for c in r] for r in row["years"]],
    )
    n = len(kind.drinks)
    if (
        [len(kind.slopes), len(kind.noise)] != [n] * 2
        or [len(kind.growth), len(kind.growth_spread), len(kind.mass)] != [n + 1] * 3
        or [len(r) for r in kind.years] != [3] * 3
    ):
        raise ValueError("rows of other lengths")
    sizes = (kind.drinks, kind.noise, kind.growth, kind.growth_spread, kind.mass)
    signed = (kind.slopes, *kind.years)
    if not (
        all(0 <= v < _MOST for row in sizes for v in row)
        and all(abs(v) < _MOST for row in signed for v in row)
    ):
        raise ValueError("numbers that cannot be")
    return kind
