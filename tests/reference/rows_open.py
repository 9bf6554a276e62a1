"""An open series of lettuce heads, and a table of baby leaves, against the curve of growth.

``open_lettuce.csv`` tells what of it was read. Climate and the day of transplanting are not told
with it, so the curve's shape is checked, not its days: the first sampling stands for transplanting,
the fifth, 28 days later, for ready. The baby leaves stood 144 to a square foot for 12 days, their
warmth not told: the crop's optimum is taken. Collards stand for kale, their sister.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd
from row import Row

from crops import development
from crops.catalogue import catalogue
from crops.growth import leaf_area, mass_share

SOURCE = "3rd Autonomous Greenhouse Challenge 2021, open data (4TU.ResearchData), 42 of 388 heads"

BABY_LEAF = (
    "Gagne & Mattson 2019, Increasing yields of baby leaf vegetables, Under Control, table 1"
)
BABY_DAYS = 12
NEAR = 0.15  # as `rows_growth`
# Crop: pounds per square foot at two daily light integrals [mol m-2 d-1].
BABY = (
    ("mizuna", 6, 0.31, 12, 0.64, ""),
    ("kale", 6, 0.22, 12, 0.35, ""),
    ("leaf_lettuce", 6, 0.12, 12, 0.22, "another trial lets lettuce lose more, this one less, than "
     "here; the safe side in dim light"),
    ("pak_choi", 6, 0.17, 12, 0.37, ""),
    ("mizuna", 18, 1.09, 30, 1.75, "more than the light aimed at adds a tenth to the pace at most: "
     "the safe side for dates"),
)  # fmt: skip


def rows() -> Iterator[Row]:
    yield from _heads()
    yield from _baby_leaves()


def _baby_leaves() -> Iterator[Row]:
    for name, dim, few, bright, many, off in BABY:
        crop = catalogue()[name]
        progress = [
            BABY_DAYS / crop.days_to_harvest * float(development.lit(crop, dli, 1.0))
            for dli in (dim, bright)
        ]
        here = float(mass_share(progress[0]) / mass_share(progress[1]))
        told = few / many
        yield Row("growth", f"{crop.title}, baby leaves, mass at {dim} over that at {bright} mol m⁻² "
                  "d⁻¹", "", BABY_LEAF, told * (1 - NEAR), told * (1 + NEAR), here, off=off)  # fmt: skip


def _heads() -> Iterator[Row]:
    table = pd.read_csv(Path(__file__).parent / "open_lettuce.csv", comment="#")
    mean = table.groupby("week").mean()
    last = float(mean["fresh"].iloc[-1])
    for week in (2, 3, 4):
        told = float(mean["fresh"][week]) / last
        yield Row("growth", f"lettuce in an open series, mass {7 * (5 - week)} days before the end "
                  "over that at the end, within 20 %", "", SOURCE, 0.8 * told, 1.2 * told,
                  float(mass_share((week - 1) / 4)))  # fmt: skip
    power = float(np.polyfit(np.log(mean["fresh"]), np.log(mean["leaf_area"]), 1)[0])
    here = float(np.log(leaf_area(0.5) / leaf_area(0.05)) / np.log(10))
    yield Row("growth", "the same, power of its mass with which leaf area goes", "", SOURCE,
              power - 0.1, power + 0.1, here,
              off="leaves torn off and laid out; those of a head shade each other, and drink less")  # fmt: skip
