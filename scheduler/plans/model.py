"""The plan: what the program hands back, and its JSON."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date
from math import isfinite
from typing import TYPE_CHECKING, Any

from scheduler.words.language import N_

if TYPE_CHECKING:
    import pandas as pd


SCHEMA = "dryline-plan-1"  # of the mean year
SCHEMA_2 = "dryline-plan-2"  # with weather years
SCHEMAS = (SCHEMA, SCHEMA_2)

Day = date  # inside `Pick` the name ``date`` is a field

# Names of answers.
PROVEN, WITHIN_GAP, BEST_FOUND = "proven", "within_gap", "best_found"
# Rules of thumb that a plan is measured against: a name for plan.json, and what it says.
LAGGING, OPEN_WISHES = "lagging group", "open wishes"
SIMPLE_RULES = {
    LAGGING: N_("a free tier gets the group furthest behind its wish, picked when ready"),
    OPEN_WISHES: N_("a free tier gets what meets most open wishes for each day in it"),
}

# States of a batch.
PLANNED, SOWN, GROWING, CLEARED, FAILED = "planned", "sown", "growing", "cleared", "failed"


@dataclass(frozen=True)
class Pick:
    """One harvest from a batch: date, plants picked (or cut), mass [g].

    ``early``: picked before it is ready, because the tier would run dry first. The mass is what
    has grown by then. ``young``: planned before it is ready, as the grower eats young heads.

    With weather years ``date`` is the usual day. The crop is looked at from ``look_from`` on and
    mostly picked from ``from_`` to ``to`` (``from`` in plan.json); ``share`` [0..1] of the years
    have this pick. `lived.spans` has the rule.
    """

    date: date
    plants: int
    grams: int
    early: bool = False
    young: bool = False
    look_from: Day | None = None
    from_: Day | None = None
    to: Day | None = None
    share: float | None = None


@dataclass(frozen=True)
class Level:
    """Solution on the morning of a day (on the day of filling: after it): [L] and [cm].

    With weather years one year of ten has less than ``low`` [L], one more than ``high``.
    """

    date: date
    litres: float
    depth_cm: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Chances:
    """What may go wrong with a batch: shares [0..1] of the years that its plan was chosen with.

    ``dry``, ``bolted``, ``cold``, ``heat``: something of it is lost before its last pick, to that;
    ``unripe``: on the usual day of its first pick it is not yet ripe, or not as large as a young
    pick asks for. Plans of before have no cold and heat: None.
    """

    dry: float
    bolted: float
    unripe: float
    cold: float | None = None
    heat: float | None = None


@dataclass(frozen=True)
class Batch:
    """One crop in one tier, from sowing to clearing.

    ``demand_factor`` corrects what the batch drinks, from its transplanting on, by the levels
    measured in it. ``rest_until``: after root disease its family may not be transplanted into the
    tier up to and including this day. ``fill_ec``: strength of its fill; ``harvest_ec``:
    what is expected on the day of the last pick, ``harvest_ec_spread`` half its 90 % interval
    [mS/cm]; None where it is not known. ``transplant_until``: with weather years, last day on
    which its seedlings can be transplanted, by the rule of seedling age; None once they are.
    With weather years the tier is dry before ``dry_date`` in one year of ten (`lived.water`).
    ``chances``: what the years may do to it; None of the mean year, and once it is over.
    """

    id: str
    crop: str
    column: str
    tier: int
    plants: int
    seeds: int
    cells: int
    sow: date
    transplant: date
    picks: tuple[Pick, ...]
    clear: date
    fill_litres: float
    dry_date: date | None
    margin_days: int | None
    state: str = PLANNED
    levels: tuple[Level, ...] = ()
    demand_factor: float = 1.0
    rest_until: date | None = None
    fill_ec: float | None = None
    harvest_ec: float | None = None
    harvest_ec_spread: float | None = None
    transplant_until: date | None = None
    chances: Chances | None = None

    @property
    def grams(self) -> int:
        return sum(p.grams for p in self.picks)


@dataclass(frozen=True)
class Stage:
    """One stage of the objective. ``bound`` is None unless a solver proved one."""

    name: str
    status: str
    value: float
    bound: float | None
    seconds: float


@dataclass(frozen=True)
class Shortfall:
    """Wish not met: group, ISO week, mass [g]."""

    group: str
    week: str
    grams: int


@dataclass(frozen=True)
class RiskTaken:
    """The risk of running dry within which a plan was made.

    At most a share ``most`` [0..1] of ``years`` weather years drawn with ``seed`` runs a batch dry
    before its last pick. ``past``: the years are drawn from the table of past weather beside the
    plan, not from the garden's climate.
    """

    most: float
    seed: int
    years: int
    past: bool = False


@dataclass(frozen=True)
class YearsTaken:
    """The weather years of a plan: how many, how many of them real past years, and their seed.

    ``planned`` years made the plan (0: the mean year of the climate table), ``judged`` years, none
    of them among those, its promise; ``chosen_with`` others chose it among several, and the spans
    of its picks are of them (0: not told). ``columns``: of a large garden so many were lived
    (`plans.part`), and only what stands in them has spans; None: all. ``worth``: how the worth of
    a gram falls (`lived.worth.TASTES`). ``sample``: so many columns of a large garden were planned
    by living them, each of the others as one that is like it; None: not so.
    """

    source: str
    planned: int
    judged: int
    real: int
    seed: int
    chosen_with: int = 0
    columns: int | None = None
    worth: str = "flat"
    sample: int | None = None


@dataclass(frozen=True)
class TwoKinds:
    """In how many weeks two kinds of a group or more come to the table, in each year of a promise.

    ``weeks``: those with a wish; ``by_year``: in how many of them what is eaten of other kinds than
    the one eaten most is a tenth of the wish or more.
    """

    group: str
    weeks: int
    by_year: tuple[int, ...]


@dataclass(frozen=True)
class Promise:
    """Shares of the wish [0..1], by their weights, that come to the table.

    ``usual``: in half of the years there is more; ``one_in_five``: in one of five there is less;
    ``worst_fifth``: mean of the worst fifth; ``reachable``: what lies in weeks that some batch
    could serve. ``shares``: year by year; ``seed``: of the doubt in the crops' numbers.
    ``foreseen``: the most that some of these years could bring to who knew their weather
    beforehand, of the years with the numbers ``foreseen_years`` (0 is the first); empty: not
    reckoned. ``two_kinds``: of each group of which the garden has several; empty: not told.
    """

    usual: float
    one_in_five: float
    worst_fifth: float
    reachable: float
    seed: int
    shares: tuple[float, ...] = ()
    foreseen_years: tuple[int, ...] = ()
    foreseen: tuple[float, ...] = ()
    two_kinds: tuple[TwoKinds, ...] = ()


@dataclass(frozen=True)
class Lifted:
    """What is lifted to fill and clear tiers.

    ``vessels`` in all, their masses ``kg`` together, the ``heaviest_kg`` of them. In a season that
    is under way, what is still to be lifted.
    """

    kg: float
    vessels: int
    heaviest_kg: float


@dataclass(frozen=True, repr=False)
class Plan:
    """A whole season. What lies before the day ``as_of`` has happened: facts, not plans.

    ``number`` counts the plans of a garden, from 1 on, ``made`` is the day on which this one was
    made; both are on every sheet. 0 and None: not known, in plans of earlier versions.

    ``gap``: share of the produce within which its first stage may be called ``within_gap``; None:
    not told. ``unknown``: fields of the plan.json it was read from that nothing here knows.
    """

    status: str
    stages: tuple[Stage, ...]
    start: date
    end: date
    batches: tuple[Batch, ...]
    unmet: tuple[Shortfall, ...]
    seed: int = 0
    versions: Mapping[str, str] = field(default_factory=dict)
    by_hand: Mapping[str, Any] = field(default_factory=dict)
    garden: str = ""
    as_of: date | None = None
    risk: RiskTaken | None = None
    number: int = 0
    made: date | None = None
    lifted: Lifted | None = None
    gap: float | None = None
    years: YearsTaken | None = None
    promise: Promise | None = None
    unknown: tuple[str, ...] = ()

    def __repr__(self) -> str:
        """One line: all batches with all levels would be thousands."""
        return (
            f"<Plan {self.number} of {self.garden}: {len(self.batches)} batches from "
            f"{self.start} to {self.end}, {self.status}>"
        )

    @property
    def schema(self) -> str:
        """Schema of its plan.json: a plan of the mean year is written as it always was."""
        return SCHEMA if self.years is None else SCHEMA_2

    def to_json(self) -> str:
        """The plan as the text of plan.json."""
        body: dict[str, Any] = {
            "schema": self.schema,
            "garden": self.garden,
            "status": self.status,
            "season": {"start": self.start, "end": self.end},
            "stages": [asdict(s) for s in self.stages],
            "batches": [],
            "unmet": [asdict(u) for u in self.unmet],
            "by_hand": dict(self.by_hand),
            "gap": self.gap,
            "versions": dict(self.versions),
            "seed": self.seed,
            "as_of": self.as_of,
            "risk": None if self.risk is None else asdict(self.risk),
            "number": self.number,
            "made": self.made,
            "lifted": None if self.lifted is None else asdict(self.lifted),
            "years": None if self.years is None else asdict(self.years),
            "promise": None if self.promise is None else asdict(self.promise),
        }
        # Piece by piece: of 200,000 batches one great tree would take gigabytes.
        text = _dumped(body) + "\n"
        return text.replace(
            '"batches": []', f'"batches": {_batches_text(self.batches, self.schema)}', 1
        )

    def to_frame(self) -> pd.DataFrame:
        """One row a batch: id, crop, column, tier, plants, seeds, cells, dates, grams, litres."""
        import pandas as pd

        rows = [
            {
                "id": b.id,
                "crop": b.crop,
                "column": b.column,
                "tier": b.tier,
                "plants": b.plants,
                "seeds": b.seeds,
                "cells": b.cells,
                "sow": pd.Timestamp(b.sow),
                "transplant": pd.Timestamp(b.transplant),
                "first_pick": pd.Timestamp(b.picks[0].date) if b.picks else pd.NaT,
                "last_pick": pd.Timestamp(b.picks[-1].date) if b.picks else pd.NaT,
                "clear": pd.Timestamp(b.clear),
                "grams": b.grams,
                "fill_litres": b.fill_litres,
                "dry_date": pd.Timestamp(b.dry_date) if b.dry_date else pd.NaT,
                "margin_days": b.margin_days,
                "state": b.state,
            }
            for b in self.batches
        ]
        return pd.DataFrame(rows)


def _dumped(value: Any, depth: int = 0) -> str:
    """JSON of a value that stands ``depth`` levels deep in plan.json."""
    text = json.dumps(value, indent=1, default=date.isoformat, ensure_ascii=False)
    return text.replace("\n", "\n" + " " * depth) if depth else text


# Fields that a plan has with weather years alone; a name of ours, and that in plan.json.
WITH_YEARS: Mapping[type, tuple[str, ...]] = {
    Level: ("low", "high"),
    Pick: ("look_from", "from_", "to", "share"),
    Batch: ("transplant_until", "chances"),
}
OUTSIDE = {"from_": "from"}  # a word that no field of Python can have


def _batches_text(batches: Sequence[Batch], schema: str) -> str:
    """The batches as they stand in plan.json.

    Line by line, as a layout with line ends costs the JSON library twenty times a line without;
    picks and levels that batches share are laid out once.
    """
    lists: dict[int, str] = {}
    left_out = {n for names in WITH_YEARS.values() for n in names} if schema == SCHEMA else set()

    def told(value: Pick | Level | Batch) -> dict[str, Any]:
        return {OUTSIDE.get(n, n): v for n, v in vars(value).items() if n not in left_out}

    def listed(values: Sequence[Pick] | Sequence[Level]) -> str:
        text = lists.get(id(values))
        if text is None:
            inner = ",\n    ".join(_object(told(v), 4) for v in values)
            text = lists[id(values)] = f"[\n    {inner}\n   ]" if inner else "[]"
        return text

    out = []
    for b in batches:
        texts = {"picks": listed(b.picks), "levels": listed(b.levels)}
        if b.chances is not None:
            texts["chances"] = _object(vars(b.chances), 3)
        out.append(_object(told(b), 2, texts))
    return "[\n  " + ",\n  ".join(out) + "\n ]" if out else "[]"


NONE: Mapping[str, str] = {}


def _object(values: Mapping[str, Any], depth: int, texts: Mapping[str, str] = NONE) -> str:
    """JSON of a mapping ``depth`` levels deep: of texts, numbers, days; ``texts`` are JSON."""
    space = "\n" + " " * (depth + 1)
    lines = [f'"{n}": {texts.get(n) or _one_line(v)}' for n, v in values.items()]
    return "{" + space + ("," + space).join(lines) + space[:-1] + "}"


def _one_line(value: Any) -> str:
    """JSON of a text, a number, a day or nothing."""
    if type(value) is float and isfinite(value):
        return repr(value)
    if type(value) is date:
        return f'"{value.isoformat()}"'
    return json.dumps(value, ensure_ascii=False)
