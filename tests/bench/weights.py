"""What each number of a crop weighs on a plan: by hand, about twenty minutes of one processor.

    python tests/bench/weights.py

changes one number of one crop of the courtyard at a time, down and up, and writes by how many
points of the garden's wish that moves the most that could be met: the bound of the linear
relaxation, over the 20 weather years that a plan is made with. No plan is searched for: a search
of ten seconds of one processor ends one to four points below the bound, by chance, which is more
than most numbers weigh, while the bound is the same each time. A longer one comes near it: with
all numbers as they are 69.9 % of the wish were met after 40 s, the bound was 70.8 % (before the
growth curve; the bound is 73.4 % since). A number that
is no bottleneck weighs nothing here, as other crops can take the place. The rows go to
``scheduler/data/crop_weights.csv``, which ``dryline crops NAME`` prints.
"""

from __future__ import annotations

import csv
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

from crops.catalogue import CropFaults, with_overrides
from crops.crop import Crop
from crops.crop_keys import KEYS
from scheduler.garden.file import load_garden
from scheduler.garden.model import Garden
from scheduler.outputs.crop_weights import FILE
from scheduler.schedule.assemble import wish_total
from scheduler.shortfall.solve_again import Task, linear_bound
from scheduler.solvers.cp_sat import Settings
from scheduler.years.expected import expecting

ROOT = Path(__file__).parents[2]
GARDEN = "courtyard"
YEARS, SEED = 20, 0  # as `dryline plan`
SHARE, KELVIN = 0.2, 1.0  # a fifth of a temperature in degC means nothing: one degree is taken
ASKED = ("bolt_heat", "bolt_days", "days_to_harvest", "fresh_mass", "peak_demand", "nursery_days",
         "t_opt")  # fmt: skip


def bound(garden: Garden) -> float:
    """Most of the wish that could be met [points]."""
    got = linear_bound(Task(garden, garden, (), Settings(workers=1)))
    if got is None:
        raise SystemExit("no bound found in time")
    return 100 * got / wish_total(garden)


def changed(crop: Crop, key: str, sign: int) -> Crop | None:
    """The crop with one number moved; None where the file would be refused."""
    unit, value = KEYS[key].unit, getattr(crop, key)
    moved = value + sign * KELVIN if unit == "degC" else value * (1 + sign * SHARE)
    try:
        return with_overrides(crop, {key: f"{moved} {unit}".strip()})
    except CropFaults:
        return None


def main() -> None:
    garden = expecting(load_garden(ROOT / "examples" / GARDEN / "garden.yaml"), YEARS, SEED)
    as_it_is = bound(garden)
    commit = subprocess.run(["git", "rev-parse", "--short", "HEAD"], cwd=ROOT, check=True,
                            capture_output=True, text=True).stdout.strip()  # fmt: skip
    rows = []
    for name, crop in garden.crops.items():
        for key in ASKED:
            if key not in KEYS or not getattr(crop, key):
                continue  # does not apply to this crop
            moved = []
            for sign in (-1, 1):
                other = changed(crop, key, sign)
                crops = {**garden.crops, name: other} if other else None
                got = bound(replace(garden, crops=crops)) - as_it_is if crops else None
                moved.append("" if got is None else f"{got + 0.0:.1f}")
            change = f"{KELVIN:g} degC" if KEYS[key].unit == "degC" else f"{SHARE:.0%}"
            rows.append([name, key, f"{getattr(crop, key):g}", change, *moved])
            print(*rows[-1], file=sys.stderr, flush=True)
    with FILE.open("w", encoding="utf-8", newline="") as out:
        out.write(f"# garden {GARDEN} commit {commit} date {time.strftime('%Y-%m-%d')} "
                  f"bound {as_it_is:.1f} written by tests/bench/weights.py\n")  # fmt: skip
        table = csv.writer(out, lineterminator="\n")
        table.writerow(["crop", "key", "value", "change", "down", "up"])
        table.writerows(rows)


if __name__ == "__main__":
    main()
