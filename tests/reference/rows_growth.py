"""Published values of growth by warmth, light and crowding, and of water per gram, a row each.

What a row calls "seen" was read in an abstract, unless it says page. Masses are compared on the
day on which the treatment that grew best is ready. Where the fit of `fit_growth` had a row, it says
fitted: such a row checks the fit, not the model.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import fit_growth
import numpy as np
import pandas as pd
from row import NEVER, Row
from test_growth_water import TUB, per_gram, steady

from crops import development, transpiration
from crops.catalogue import catalogue
from crops.level import batch_course
from crops.place import KINDS, Day, Lamp

CROPS = catalogue()
NEAR = 0.15  # what a ratio may be off by: that of the check values of common practice
OFF = {
    ("leaf_lettuce", 23.04): "more light adds nothing here; growth is told too slow in full sun, "
    "the safe side for dates; air rich in carbon dioxide there",
}
ROOM, HUMID = 24.0, 0.6  # air of rooms in such trials [degC, -], from memory


def rows() -> tuple[Row, ...]:
    return (*_ratios(), *_columns(), *_water())


def _ratios() -> Iterator[Row]:
    now = fit_growth.here()
    for gain in fit_growth.GAINS:
        unit = "°C" if gain.by == "celsius" else "mol m⁻² d⁻¹"
        told = "" if gain.fitted else " (fitted)"
        yield Row("growth", f"{CROPS[gain.crop].title}, mass at {gain.high:g} over that at "
                  f"{gain.low:g} {unit}{told}", "", gain.source, gain.ratio * (1 - NEAR),
                  gain.ratio * (1 + NEAR), fit_growth.ratio(gain, now),
                  off=OFF.get((gain.crop, gain.low), ""))  # fmt: skip
    basil = CROPS["basil"]
    swing, even = (float(development.warmth(basil, *t)) for t in ((15, 27), (21, 21)))
    yield Row("growth", "basil, rate at 27 and 15 °C by turns over that at 21 °C (no difference)",
              "", fit_growth.MORTENSEN, 0.9, 1.1, swing / even)  # fmt: skip
    warm = np.linspace(20, 36, 161)
    best = float(warm[np.argmax(development.warmth(basil, warm, warm))])
    yield Row("growth", "sweet basil, temperature of the greatest fresh mass at DLI 6 to 11", "°C",
              "Walters & Lopez 2023, PLoS ONE 18, modelling four herbs, abstract (authors from "
              "memory)", 32.6, 35.5, best, off="84 °F of a trade article; warmer days are told "
              "too slow, the safe side")  # fmt: skip


def _columns() -> Iterator[Row]:
    source = "Gobilik et al., Transactions on Science and Technology 8(1):7-24, abstract"
    crop = CROPS["pak_choi"]
    light = 0.35  # of the top's, not told there: own guess
    pace = float(development.lit(crop, crop.dli_target, light))
    yield Row("growth", "pak choi in columns, bottom or inside over top or outside, a third of the "
              "light (the light is not told)", "", source, 8.8 / 71.7, 20.3 / 39.2,
              float(development.mass_share(pace)))  # fmt: skip
    yield Row("growth", "pak choi crowded on a raft, 63 plants/m²", "g", source, 70, 95,
              crop.fresh_mass, off="plants of a tier do not shade each other here: who crowds them "
              "states a smaller fresh_mass, or takes the dwarf kind")  # fmt: skip


def room_per_gram(name: str, flux: float, hours: float) -> float:
    """Water of a crop in a room under a lamp of ``flux`` [umol m-2 s-1] until ready [mL/g]."""
    lamp = Lamp(flux / 2.0 / 0.8, 2.0, hours, 1.0)
    days = np.full(150, 10.0)
    place = replace(KINDS["indoors"], temperature=ROOM, humidity=HUMID, lamp=lamp)
    there = place.of(Day(days, days, days, days), 50.0)
    frame = pd.DataFrame(
        {name: np.broadcast_to(value, 150) for name, value in there._asdict().items()},
        index=pd.date_range("2027-01-01", periods=150),
    )
    course = batch_course(CROPS[name], TUB, frame, 1.0, 0, 1)
    assert course.ready_index is not None
    return float(course.drinks[: course.ready_index].sum() / CROPS[name].fresh_mass)


def _water() -> Iterator[Row]:
    langenfeld = "Langenfeld et al. 2022, Sustainability 14(16):10204, abstract: 3 to 6 g/L, at 5 %"
    for name in ("leaf_lettuce", "pak_choi", "mizuna"):
        yield Row("water", f"{CROPS[name].title}, water in moist air", "mL/g", langenfeld,
                  1000 * 0.05 / 6, 1000 * 0.05 / 3,
                  per_gram(name, steady("humid shelter")))  # fmt: skip
    yield Row("water", "pak choi, water below glass", "mL/g",
              "Tusi et al. 2026, Agriculture, doi 10.2478/agri-2025-0017, abstract: 87.8 and 65.3 "
              "kg/m³", 11.4, 15.3, per_gram("pak_choi", steady("humid shelter")))  # fmt: skip
    yield Row("water", "lettuce in still tanks, water in cold moist air", "mL/g",
              "Kratky 2010, CTAHR VC-1, as reprinted", 11, 20,
              per_gram("leaf_lettuce", steady("cold foggy coast")))  # fmt: skip
    yield Row("water", "lettuce under 215 µmol m⁻² s⁻¹ for 16 h, water, within a half (air from "
              "memory)", "mL/g", "Pennisi et al. 2019, Sci Rep 9:14127, abstract: 75 g/L",
              13.3 / 1.5, 13.3 * 1.5, room_per_gram("leaf_lettuce", 215, 16))  # fmt: skip
    dry, moist = (sum(transpiration.leaf_parts(ROOM, 8.0, kpa, 0.0)) for kpa in (1.76, 0.69))
    yield Row("water", "lettuce, water per gram at a deficit of 1.76 over that at 0.69 kPa, within "
              "a quarter", "", "Amitrano et al. 2021, Agronomy 11(7):1396, abstract: use 49 % more "
              "efficient; the deficits in Horticulturae 7:32, abstract", 1.49 * 0.75, 1.49 * 1.25,
              float(dry / moist))  # fmt: skip
    course = batch_course(CROPS["leaf_lettuce"], TUB, steady("courtyard"), 1.0, 0, 1)
    ready = course.ready_index
    assert ready is not None
    grown, drunk = np.diff(course.plant_grams)[:ready], course.drinks[:ready]
    yield Row("water", "lettuce, R² of water drunk in a day and growth of the day, at least", "",
              "Ciolkosz, Albright & Both 1998, Acta Horticulturae, abstract: 0.63", 0.63, NEVER,
              float(np.corrcoef(grown, drunk)[0, 1] ** 2))  # fmt: skip
