"""What readings teach `rebalance` of a tier's thirst, against least squares: simulated tiers.

``python -m tests.bench.tier_thirst`` writes ``tier_thirst.md``. The tiers are those of the plans of
`tests.bench.tier_watch`, picked once; the truth of each is a weather year that its plan has not
seen and a thirst of its own, level and slope. A reading is the true depth with a normal error of a
quarter inch, on the days of the calendar. What is compared is how much is foretold to be gone by
the last pick.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from scheduler.levels.batch import course_from
from scheduler.levels.estimate import Course, Estimate, Reading
from scheduler.levels.events import RULER_CM, ruler_error
from scheduler.lived.doubt import Doubt
from scheduler.lived.laid import lay_out
from scheduler.lived.water import one_plant
from scheduler.replanning.measured import course_of, standing_on
from scheduler.watch.forecast import Foretold
from scheduler.years import PLANNED
from scheduler.years.expected import expecting
from scheduler.years.purposes import years_for
from tests.bench.tier_watch import YEARS, Planned, planned

TABLE = Path(__file__).with_suffix(".md")
COUNT, SEED = 600, 1234
EIGHTY = 1.2816  # standard normal quantile of an 80 % interval
Draw = Callable[[np.random.Generator], tuple[float, float]]
# Level and slope of a tier's thirst.
THIRSTS: dict[str, Draw] = {
    "level 1 and slope 0, spread 0.2 and 0.25": lambda r: (r.normal(1, 0.2), r.normal(0, 0.25)),
    "level 0.7 to 1.4, slope -0.3 to 0.3": lambda r: (r.uniform(0.7, 1.4), r.uniform(-0.3, 0.3)),
    "0.7": lambda _: (0.7, 0.0),
    "1": lambda _: (1.0, 0.0),
    "1.3": lambda _: (1.3, 0.0),
}
WAYS = ("least squares", "estimate", "with the plan's own table")


def tiers(season: Planned, draw: Draw) -> Iterator[tuple[int, str, float, float, bool]]:
    """Readings so far, way, error of what is foretold as a share of the truth, its truth within."""
    plan, garden = season.plan, expecting(season.garden, PLANNED, 1)  # as `rebalance` has it
    rng = np.random.default_rng(SEED)
    years = years_for(season.garden, YEARS, 90_000 + SEED, "promise", garden.site.past)
    laid = lay_out(season.garden, plan.batches, years, Doubt(demand=0.0), 90_000 + SEED)
    able = [
        i
        for i, b in enumerate(laid.batches)
        if garden.crops[b.crop].cuts == 1 and season.days.get(b.id)
    ]
    for _ in range(COUNT):
        i, year = int(rng.choice(able)), int(rng.integers(years.count))
        level, slope = draw(rng)
        batch = laid.batches[i]
        drinks, progress = (x[year] for x in one_plant(laid, i))
        thirst = np.maximum(max(level, 0.3) + slope * (np.minimum(progress[:-1], 1) - 0.5), 0.1)
        gone = np.concatenate([[0.0], np.cumsum(drinks * thirst * batch.plants)])
        vessel = garden.vessels[garden.tier(batch.column, batch.tier).vessel]
        course = course_of(garden, standing_on(garden, batch, 0), 1.0)
        plain = course_from(course.drinks / 1000, course.progress)
        states = {
            WAYS[1]: Estimate(plain),
            WAYS[2]: Estimate(of_table(plain, season.table, batch.id)),
        }
        end, water, seen = (batch.picks[-1].date - batch.transplant).days, plain.water, []
        for n, date in enumerate(season.days[batch.id], 1):
            day = (date - batch.transplant).days
            if not 0 < day < end or gone[day] >= vessel.fill_l - vessel.floor_l:
                continue
            cm = float(vessel.depth(vessel.fill_l - gone[day])) + rng.normal(0, RULER_CM)
            litres = min(float(vessel.volume(min(max(cm, 0.0), vessel.height_cm))), vessel.fill_l)
            seen.append((water[day], vessel.fill_l - litres))
            x, y = np.array(seen).T
            true, so_far = float(gone[end]), min(n, 3)
            yield so_far, WAYS[0], float(x @ y / (x @ x)) * water[end] / true - 1, False
            for way, state in states.items():
                state.read(Reading(day, vessel.fill_l - litres, ruler_error(vessel, litres)))
                mean, sd = state.drunk(end)
                yield so_far, way, mean / true - 1, abs(mean - true) < EIGHTY * sd


def of_table(plain: Course, table: Foretold, batch: str) -> Course:
    """The same course with the weather and the years of the plan's own table."""
    kind = table.kinds[table.batches[batch][0]]
    own = [n / max(d, 1e-9) ** 2 for n, d in zip(kind.noise, kind.drinks, strict=True)]
    own += own[-1:] * len(plain.drinks)
    noise = [share * d * d for share, d in zip(own, plain.drinks, strict=False)]
    return Course(plain.drinks, plain.slopes, noise, plain.growth, plain.growth_spread, kind.years)


def main() -> None:
    lines = [
        "# What readings teach of a tier's thirst",
        "",
        f"See `tier_thirst.py`: {COUNT} tiers a row, seed {SEED}. Error of what is foretold to be gone by",
        "the last pick, as a share of the truth: mean, and root of the mean square. After one reading,",
        "two, three and more. Truth within the 80 % interval: of all readings.",
        "",
        "| tiers, thirst | way | after 1 | after 2 | after 3 and more | within 80 % interval |",
        "|---|---|---|---|---|---|",
    ]
    for name in ("courtyard", "balcony"):
        season = planned(name)
        for thirst, draw in THIRSTS.items():
            found = defaultdict(list)
            for so_far, way, off, inside in tiers(season, draw):
                found[way, so_far].append((off, inside))
            for way in WAYS:
                rows = {n: np.array(found[way, n]) for n in (1, 2, 3)}
                cells = [
                    f"{r[:, 0].mean():+.2f}, {np.sqrt((r[:, 0] ** 2).mean()):.2f}"
                    for r in rows.values()
                ]
                inside = np.concatenate(list(rows.values()))[:, 1].mean()
                held = "-" if way == WAYS[0] else f"{inside:.0%}"
                lines.append(f"| {name}, {thirst} | {way} | {' | '.join(cells)} | {held} |")
                print(lines[-1], flush=True)
    TABLE.write_text("\n".join(lines) + "\n", "utf-8")


if __name__ == "__main__":
    main()
