"""What a line of the log needs of a plan and its garden: a small table beside plan.json.

Reading plan.json and the garden loads what checks them, which takes longer than a grower with wet
hands should wait for one line. `plans.folder` writes the table with each plan; it counts as long
as the files it was made from are those that lie there (size and time of each), and is made again
where they are not. Nothing is judged here: `scheduler.log` judges the same `Garden` and `Plan`.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import asdict, fields
from datetime import date
from pathlib import Path
from typing import Any

from crops.crop import Crop
from crops.vessel import Plugs, Vessel
from scheduler.garden.model import (
    Column,
    Garden,
    Helper,
    Labour,
    Limits,
    Rest,
    Season,
    Span,
    Stay,
    Tier,
)
from scheduler.plans.model import WITH_YEARS, Batch, Pick, Plan

TABLE_FILE = ".log-table.json"
# Raised whenever the table, or what is read from the same files, becomes another.
_SCHEMA = "dryline-log-table-2"
# Levels are most of a plan, and no line of the log asks how years differ.
_BATCH = tuple(f.name for f in fields(Batch) if f.name not in ("levels", *WITH_YEARS[Batch]))
_DAYS = ("sow", "transplant", "clear", "dry_date", "rest_until")
_CROP = tuple(f.name for f in fields(Crop) if f.name not in ("parameters", "kinds", "kind"))

Marks = dict[str, list[int] | None]


class BriefGarden(Garden):
    """A garden of which what the log seldom asks for is read when it is first asked for.

    ``read`` gives the whole garden; what it raises is raised where the garden is asked.
    """

    _read: Callable[[], Garden] | None = None

    @classmethod
    def of(cls, held: Mapping[str, Any], read: Callable[[], Garden]) -> BriefGarden:
        """A garden that knows ``held`` alone."""
        garden = object.__new__(cls)
        vars(garden).update(held, _read=read)
        return garden

    def __getattr__(self, name: str) -> Any:
        known = [f.name for f in fields(Garden)]
        if name not in known or self._read is None:
            raise AttributeError(name)
        whole = self._read()
        vars(self).update({n: getattr(whole, n) for n in known})
        return vars(self)[name]


def marks(folder: Path, names: Iterable[str]) -> Marks:
    """Size [bytes] and time [ns] of each file of a folder; None for one that is not there."""
    out: Marks = {}
    for name in sorted(names):
        out[name] = None
        with suppress(OSError):
            found = (folder / name).stat()
            out[name] = [found.st_size, found.st_mtime_ns]
    return out


def table(garden: Garden, plan: Plan, made_from: Marks) -> bytes:
    """The table of a plan, made from files of these `marks`."""
    season = garden.season
    body = {
        "schema": _SCHEMA,
        "made_from": made_from,
        "garden": {
            "name": garden.name,
            "units": garden.units,
            "season": [
                season.start,
                season.end,
                sorted(season.work_days),
                _spans(season.away),
                sorted(season.pick_days),
            ],
            "columns": [[c.name, [_tier(t) for t in c.tiers]] for c in garden.columns],
            "vessels": [asdict(v) for v in garden.vessels.values()],
            "limits": _limits(garden.limits),
            "crops": [[getattr(c, n) for n in _CROP] for c in garden.crops.values()],
        },
        "plan": {n: getattr(plan, n) for n in ("status", "garden", "seed", "number")},
        "days": [plan.start, plan.end, plan.as_of, plan.made],
        "batches": [_batch(b) for b in plan.batches],
    }
    return json.dumps(body, default=date.isoformat, separators=(",", ":")).encode()


def read_table(folder: Path, read: Callable[[], Garden]) -> tuple[Garden, Plan] | None:
    """Garden and plan as the table beside a plan tells them; None if it does not count.

    ``read`` gives the whole garden.
    """
    try:
        body = json.loads((folder / TABLE_FILE).read_bytes())
        made_from = body["made_from"]
        if body["schema"] != _SCHEMA or marks(folder, made_from) != made_from:
            return None
        return _garden(body["garden"], read), _plan(body)
    except (OSError, ValueError, TypeError, LookupError, AttributeError):
        return None  # not there, or cut off: it is made again


def _day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)


def _garden(body: dict[str, Any], read: Callable[[], Garden]) -> Garden:
    day = date.fromisoformat

    def spans(rows: list[list[str]]) -> tuple[Span, ...]:
        return tuple(Span(day(start), day(end)) for start, end in rows)

    def tier(number: int, row: list[Any]) -> Tier:
        vessel, light, plants, free, rests, stays = row
        after = tuple(Rest(family, day(until)) for family, until in rests)
        return Tier(number, vessel, light, plants, spans(free), after, _stays_of(stays))

    start, end, work_days, away, picks = body["season"]
    crops = [Crop(*row) for row in body["crops"]]
    for crop in crops:  # as a list JSON has what is a tuple
        vars(crop).update(
            emergence=tuple((t, d) for t, d in crop.emergence), cut_shares=tuple(crop.cut_shares)
        )
    vessels = [
        Vessel(
            **{
                **v,
                "size_cm": tuple(v["size_cm"]),
                "table_l": tuple(v["table_l"]),
                "plugs": None if v["plugs"] is None else Plugs(**v["plugs"]),
            }
        )
        for v in body["vessels"]
    ]
    labour = Labour(**body["limits"]["labour"])
    helpers = tuple(
        Helper(h["name"], frozenset(h["days"]), h["minutes"]) for h in body["limits"]["helpers"]
    )
    held = {
        "name": body["name"],
        "units": body["units"],
        "season": Season(day(start), day(end), frozenset(work_days), spans(away), frozenset(picks)),
        "columns": tuple(
            Column(name, tuple(tier(k, t) for k, t in enumerate(tiers, 1)))
            for name, tiers in body["columns"]
        ),
        "vessels": {v.name: v for v in vessels},
        "limits": Limits(**{**body["limits"], "labour": labour, "helpers": helpers}),
        "crops": {c.name: c for c in crops},
    }
    return BriefGarden.of(held, read)


def _plan(body: dict[str, Any]) -> Plan:
    start, end, as_of, made = map(_day, body["days"])
    assert start is not None
    assert end is not None
    batches = []
    for row in body["batches"]:
        values = dict(zip(_BATCH, row, strict=True))
        values.update({n: _day(values[n]) for n in _DAYS})
        picks = [Pick(date.fromisoformat(d), *others) for d, *others in values["picks"]]
        batches.append(Batch(**{**values, "picks": tuple(picks)}))
    return Plan(
        stages=(),
        start=start,
        end=end,
        batches=tuple(batches),
        unmet=(),
        as_of=as_of,
        made=made,
        **body["plan"],
    )


def _limits(limits: Limits) -> dict[str, Any]:
    helpers = [{**vars(h), "days": sorted(h.days)} for h in limits.helpers]
    return {**asdict(limits), "helpers": helpers}


def _spans(spans: tuple[Span, ...]) -> list[list[date]]:
    return [[s.start, s.end] for s in spans]


def _tier(tier: Tier) -> list[Any]:
    rests = [[r.family, r.until] for r in tier.rests]
    stays = [[s.start, s.end, asdict(s.place)] for s in tier.stays]
    return [tier.vessel, tier.light, tier.plants, _spans(tier.available), rests, stays]


def _stays_of(rows: list[list[Any]]) -> tuple[Stay, ...]:
    if not rows:
        return ()
    from crops.place import Lamp, Place  # with arrays, for which a line of the log does not wait

    def place(told: dict[str, Any]) -> Place:
        lamp = None if told["lamp"] is None else Lamp(**told["lamp"])
        return Place(**{**told, "lamp": lamp})

    day = date.fromisoformat
    return tuple(Stay(day(start), day(end), place(told)) for start, end, told in rows)


def _batch(batch: Batch) -> list[Any]:
    row = [getattr(batch, n) for n in _BATCH]
    row[_BATCH.index("picks")] = [[p.date, p.plants, p.grams, p.early] for p in batch.picks]
    return row
