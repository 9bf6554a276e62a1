"""How good the tier watch is: simulated tiers, each read on the days of its calendar.

``python -m tests.bench.tier_watch`` writes ``tier_watch.md``. The tiers are those of plans for the
two examples. The truth of each is a weather year and a pace that neither its plan nor its table of
forecasts has seen, and a thirst of its own: its level is drawn from 0.7 to 1.4, and apart from it
by how much that changes from transplanting to ripeness. A reading is the true depth with a normal
error of a quarter inch.
"""

from __future__ import annotations

import argparse
from collections import Counter
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path

import numpy as np

from scheduler.garden.file import load_garden
from scheduler.garden.model import Garden
from scheduler.levels.events import RULER_CM
from scheduler.lived.doubt import Doubt
from scheduler.lived.laid import lay_out
from scheduler.lived.water import one_plant
from scheduler.log.state import Followed
from scheduler.log.tracks import Reading
from scheduler.outputs.work import LEVEL, work_items
from scheduler.plans.model import GROWING, Batch, Plan
from scheduler.search.solve import solve
from scheduler.solvers.cp_sat import Settings
from scheduler.watch.forecast import Foretold
from scheduler.watch.judge import ALARM, CLOSE, DRY, watched_batch
from scheduler.watch.made import foretold
from scheduler.years import PLANNED
from scheduler.years.expected import expecting, without_years
from scheduler.years.purposes import years_for

EXAMPLES = Path(__file__).parents[2] / "examples"
TABLE = Path(__file__).with_suffix(".md")
LEAST, MOST = 0.7, 1.4  # thirst
AHEAD, SLACK = 5, 3  # days
# How the change of thirst from transplanting to ripeness is drawn: name, function of a generator.
SLOPES = {
    "up to 0.3 either way": lambda rng: rng.uniform(-0.3, 0.3),
    "begin and end each 0.7 to 1.4": None,
}
YEARS = 200  # of truth
SLIPS = 0.02  # levels that show anything between nothing and the fill, in rows that have such


@dataclass(frozen=True)
class Tier:
    """One simulated tier.

    ``dry``, ``last``: days after transplanting on which it is really dry (were nothing picked), and
    of its last planned pick; ``told``: first reading that alarms, None: never; ``close`` : first
    that says at least "close"; ``inside``: whether the 90 % interval of each reading held the truth.
    """

    dry: int
    last: int
    told: int | None
    close: int | None
    inside: tuple[bool, ...]


@dataclass(frozen=True)
class Planned:
    """A garden of the mean year, its plan and forecasts, and the days on which a batch is read."""

    garden: Garden
    plan: Plan
    table: Foretold
    days: dict[str, tuple[date, ...]]


@lru_cache
def planned(name: str) -> Planned:
    """An example with a plan."""
    garden = load_garden(EXAMPLES / name / "garden.yaml")
    season = expecting(garden, PLANNED, 1)
    plan = solve(season, Settings(time_limit=60.0, workers=1, deterministic=0.3)).plan
    return Planned(without_years(garden), plan, foretold(garden, plan), reading_days(season, plan))


def reading_days(garden: Garden, plan: Plan) -> dict[str, tuple[date, ...]]:
    """The days on which the calendar asks for a level of each batch."""
    days: dict[str, set[date]] = {}
    for w in work_items(garden, plan):
        if w.kind == LEVEL:
            days.setdefault(w.batch, set()).add(w.date)
    return {batch: tuple(sorted(found)) for batch, found in days.items()}


def simulated(
    season: Planned, count: int, seed: int, slopes: str, slips: float = 0.0
) -> list[Tier]:
    """So many tiers of a plan, drawn by ``seed``; ``slips`` : share of levels that are misread."""
    garden, plan, table, read = season.garden, season.plan, season.table, season.days
    rng = np.random.default_rng([seed, len(plan.batches)])
    years = years_for(garden, YEARS, 90_000 + seed, "promise", garden.site.past)
    laid = lay_out(garden, plan.batches, years, Doubt(demand=0.0), 90_000 + seed)
    able = [
        i for i, b in enumerate(laid.batches) if garden.crops[b.crop].cuts == 1 and read.get(b.id)
    ]
    out = []
    for _ in range(count):
        i, year = int(rng.choice(able)), int(rng.integers(years.count))
        first, then = rng.uniform(LEAST, MOST, 2)
        draw = SLOPES[slopes]
        level, slope = ((first + then) / 2, then - first) if draw is None else (first, draw(rng))
        drinks, progress = (x[year] for x in one_plant(laid, i))
        thirst = level + slope * (np.minimum(progress[:-1], 1.0) - 0.5)
        batch = laid.batches[i]
        left = _left(garden, batch, drinks * thirst)
        out.append(_lived(garden, batch, table, read[batch.id], left, rng, slips))
    return out


def _left(garden: Garden, batch: Batch, one: np.ndarray) -> np.ndarray:
    """Litres left on each morning, the last pick not made."""
    plants = np.full(len(one), float(batch.plants))
    for pick in batch.picks[:-1]:
        plants[(pick.date - batch.transplant).days :] -= pick.plants
    vessel = garden.vessels[garden.tier(batch.column, batch.tier).vessel]
    return np.maximum(vessel.fill_l - np.concatenate([[0.0], np.cumsum(one * plants)]), 0.0)


def _lived(
    garden: Garden,
    batch: Batch,
    table: Foretold,
    days: tuple[date, ...],
    left: np.ndarray,
    rng: np.random.Generator,
    slips: float,
) -> Tier:
    vessel = garden.vessels[garden.tier(batch.column, batch.tier).vessel]
    found = np.flatnonzero(left <= vessel.floor_l + 1e-9)
    dry = int(found[0]) if len(found) else len(left) + 99
    last = (batch.picks[-1].date - batch.transplant).days
    readings: list[Reading] = []
    told = close = None
    inside = []
    for day in days:
        at = (day - batch.transplant).days
        if at >= min(dry, last):
            break
        depth = float(vessel.depth(left[at])) + rng.normal(0, RULER_CM)
        if slips and rng.random() < slips:
            depth = rng.uniform(0, vessel.depth_at(vessel.fill_l))
        depth = min(max(depth, 0.0), vessel.depth_at(vessel.fill_l))
        readings.append(Reading(day, vessel.volume_at(depth), len(readings) + 2))
        done = sum(p.date < day for p in batch.picks)
        f = Followed(replace(batch, state=GROWING), done, tuple(readings))
        w = watched_batch(garden, f, table, day)
        assert w is not None
        if w.verdict in (ALARM, DRY) and told is None:
            told = at
        if w.verdict in (ALARM, DRY, CLOSE) and close is None:
            close = at
        if w.dry_from is not None and w.dry_to is not None:
            really = batch.transplant + timedelta(days=dry)
            inside.append(w.dry_from <= really <= w.dry_to)
    return Tier(dry, last, told, close, tuple(inside))


@dataclass(frozen=True)
class Score:
    """Shares [0..1] and how many tiers or readings each is of."""

    told: float
    early: int
    alarmed: float
    late: int
    close: float
    between: int
    covered: float
    readings: int


def score(tiers: list[Tier]) -> Score:
    early = [t for t in tiers if t.dry <= t.last - SLACK]
    late = [t for t in tiers if t.dry >= t.last + SLACK]
    between = [t for t in tiers if abs(t.dry - t.last) < SLACK]
    inside = [x for t in tiers for x in t.inside]
    return Score(
        _share(t.told is not None and t.told <= t.dry - AHEAD for t in early),
        len(early),
        _share(t.told is not None for t in late),
        len(late),
        _share(t.close is not None for t in between),
        len(between),
        _share(inside),
        len(inside),
    )


def _share(values: object) -> float:
    counted = Counter(bool(v) for v in values)  # type: ignore[attr-defined]
    return counted[True] / max(counted.total(), 1)


def row(name: str, slopes: str, count: int, s: Score) -> str:
    return (
        f"| {name}, {slopes} | {count} | {s.told:.1%} of {s.early} | {s.alarmed:.1%} of {s.late} "
        f"| {s.close:.1%} of {s.between} | {s.covered:.1%} of {s.readings} |"
    )


HEAD = """\
# Tier watch

See `tier_watch.py`: tiers of plans for the two examples, {count:,} a row, seed {seed}, which had no
part in setting the chances that alarm. Told 5 days ahead: of those that dry {slack} days or more before
their last pick, alarmed by a reading at least {ahead} days before they dry; wanted 95 %. Alarmed in
vain: of those that last {slack} days or more beyond it, ever alarmed; wanted at most 5 %. Truth within
the interval: of all readings whose interval has an end; wanted 87 to 93 %.

| tiers, change of thirst | simulated | told 5 days ahead | alarmed in vain | "close" or more, between | truth within 90 % interval |
|---|---|---|---|---|---|"""


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--count", type=int, default=2000)
    ask.add_argument("--seed", type=int, default=1789)
    ask.add_argument("--out", type=Path, default=TABLE)
    given = ask.parse_args()
    lines = [HEAD.format(count=given.count, seed=given.seed, slack=SLACK, ahead=AHEAD)]
    print(lines[0])
    for name in ("courtyard", "balcony"):
        for slopes in SLOPES:
            tiers = simulated(planned(name), given.count, given.seed, slopes)
            lines.append(row(name, slopes, given.count, score(tiers)))
            print(lines[-1], flush=True)
        slopes = next(iter(SLOPES))
        tiers = simulated(planned(name), given.count, given.seed, slopes, SLIPS)
        lines.append(row(name, f"{slopes}; one level in 50 misread", given.count, score(tiers)))
        print(lines[-1], flush=True)
    # What other benches have written below the table stays.
    below = given.out.read_text().partition("|\n\n")[2] if given.out.exists() else ""
    given.out.write_text("\n".join(lines) + "\n" + (f"\n{below}" if below else ""))


if __name__ == "__main__":
    main()
