"""An open series of lettuce heads against the curve of growth.

``open_lettuce.csv`` tells what of it was read. Climate and the day of transplanting are not told
with it, so the curve's shape is checked, not its days: the first sampling stands for transplanting,
the fifth, 28 days later, for ready.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd
from row import Row

from crops.growth import leaf_area, mass_share

SOURCE = "3rd Autonomous Greenhouse Challenge 2021, open data (4TU.ResearchData), 42 of 388 heads"


def rows() -> Iterator[Row]:
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
