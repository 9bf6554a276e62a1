"""What `dryline review` is worth: coverage of its intervals, and dry tiers with and without it.

``python -m tests.bench.bench_review`` grows crops in the computer, with known true numbers and
noise, keeps a log of them as a grower would, reviews it, and writes the two tables to
``tests/bench/review.md``. Everything is seeded; a run takes some minutes.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np

from crops import learning
from crops.catalogue import catalogue
from crops.level import batch_course
from crops.vessel import Vessel
from scheduler.garden.file import load_garden
from scheduler.garden.model import Column, Garden
from scheduler.log.finished import Season
from scheduler.log.model import read_log
from scheduler.plans.model import Plan
from scheduler.review.estimates import CropReview, review, scaled
from tests.scheduler import calendar_case
from tests.scheduler.review_case import PRIOR, grown

GARDENS = 300
HERE = Path(__file__).parent
# Within what the prior holds possible: three quarters of a doubt and less.
TRUTH = {"days": 1.04, "demand": 1.30, "mass": 1.05, "uptake": 0.85}


def growing_garden() -> Garden:
    """Ten columns of three tiers with large vessels, so that crops ripen before they run dry."""
    base = calendar_case.garden(
        end=date(2027, 9, 30),
        vessels={"pail": Vessel("pail", "round", (26.0, 29.0), 37.0, 20.0, 2.0, 1.6)},
    )
    tiers = base.columns[0].tiers
    return replace(base, columns=tuple(Column(f"C{i}", tiers) for i in range(10)))


def reviewed(garden: Garden, truth: dict[str, float], n: int, seed: int, crop: str) -> CropReview:
    """The review of ``n`` crops of one kind."""
    log = read_log(grown(garden, truth, n, seed, crop).log().encode(), "log.csv", garden)
    assert not log.faults, log.faults
    return review([Season(garden, log)])[0]


def coverage(n: int, gardens: int, crop: str = "leaf_lettuce") -> dict[str, float]:
    """Share of gardens in which each 90 % interval holds the truth, which differs from garden to
    garden as the prior says."""
    garden = growing_garden()
    held = dict.fromkeys(PRIOR, 0)
    for seed in range(gardens):
        rng = np.random.default_rng([n, seed])
        truth = {k: math.exp(rng.normal(0, p.doubt * 0.7)) for k, p in PRIOR.items()}
        found = reviewed(garden, truth, n, seed, crop)
        for name, e in found.estimates.items():
            held[name] += e.low <= truth[name] <= e.high
    return {name: count / gardens for name, count in held.items()}


def dry_tiers(garden: Garden, plan: Plan, truth: dict[str, float], seasons: int = 20) -> float:
    """Tiers a season that run dry before their last pick, when crops are as in ``truth``."""
    rng = np.random.default_rng(7)
    dry = 0
    for _ in range(seasons):
        for b in plan.batches:
            noise = {k: f * math.exp(rng.normal(0, PRIOR[k].noise)) for k, f in truth.items()}
            real = scaled(catalogue()[b.crop], noise)
            tier = garden.tier(b.column, b.tier)
            index = garden.season.index
            course = batch_course(
                real,
                garden.vessels[tier.vessel],
                garden.site.weather,
                tier.light,
                index(b.transplant),
                b.plants,
                [(index(p.date), p.plants) for p in b.picks],
            )
            dry += course.dry_index is not None and course.dry_index <= index(b.picks[-1].date)
    return dry / seasons


def courtyard() -> Garden:
    """The courtyard example with the crops that are picked once: those the grower can grow here."""
    garden = load_garden(HERE.parents[1] / "examples/courtyard/garden.yaml")
    crops = {k: c for k, c in garden.crops.items() if c.cuts == 1}
    wishes = tuple(
        replace(d, crops=tuple(c for c in d.crops if c in crops))
        for d in garden.demands
        if any(c in crops for c in d.crops)
    )
    return replace(garden, crops=crops, demands=wishes)


def planned(garden: Garden, seconds: float) -> Plan:
    """The season's plan, in so many seconds."""
    from scheduler.search.solve import Settings, solve

    return solve(garden, Settings(time_limit=seconds, workers=1)).plan


def with_learned(garden: Garden, n: int, seed: int, truth: dict[str, float] = TRUTH) -> Garden:
    """The garden with what ``n`` finished crops of each kind taught, in the same weather."""
    tiers = garden.columns[0].tiers
    field = replace(
        garden,
        columns=tuple(Column(f"C{i}", tiers) for i in range(10)),
        vessels={
            k: replace(v, height_cm=v.height_cm * 2, fill_l=v.fill_l * 1.6, size_cm=v.size_cm)
            for k, v in garden.vessels.items()
        },
    )
    crops = {
        name: reviewed(field, truth, n, seed + i, name).learned
        for i, name in enumerate(garden.crops)
    }
    return replace(garden, crops=crops)


def main() -> None:
    lines = [
        "# What dryline review is worth",
        "",
        "Crops grown in the computer with known true numbers; see `bench_review.py`.",
        "",
        f"## Share of 90 % intervals that hold the truth ({GARDENS} gardens each)",
        "",
        "| finished crops | " + " | ".join(p.name for p in learning.PRIORS) + " |",
        "| ---: |" + " ---: |" * len(learning.PRIORS),
    ]
    for n in (3, 10, 30):
        found = coverage(n, GARDENS)
        row = f"| {n} | " + " | ".join(f"{found[p.name]:.0%}" for p in learning.PRIORS) + " |"
        lines.append(row)
        print(row, flush=True)
    garden = courtyard()
    lines += [
        "",
        "## Dry tiers in the courtyard example, crops that are picked once",
        "",
        f"True crops: demand {TRUTH['demand']:.2f}, days {TRUTH['days']:.2f}, mass "
        f"{TRUTH['mass']:.2f} times the catalogue. Mean of 20 seasons each.",
        "",
        "| planned with | batches | dry tiers a season | share |",
        "| --- | ---: | ---: | ---: |",
    ]
    cases = [("the catalogue", garden)]
    cases += [
        (f"{n} finished crops of each kind, log {seed}", with_learned(garden, n, 100 * seed))
        for n in (3, 10, 30)
        for seed in (1, 2)
    ]
    cases.append(
        ("the truth", replace(garden, crops={k: scaled(c, TRUTH) for k, c in garden.crops.items()}))
    )
    for name, planning in cases:
        plan = planned(planning, 15.0)
        dry = dry_tiers(garden, plan, TRUTH)
        share = dry / len(plan.batches) if plan.batches else 0.0
        row = f"| {name} | {len(plan.batches)} | {dry:.2f} | {share:.0%} |"
        lines.append(row)
        print(row, flush=True)
    (HERE / "review.md").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
