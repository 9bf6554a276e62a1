"""Published values and what is reckoned here, a row each; `table.md` is made of them.

    .venv/bin/python tests/reference/published.py

writes the table. `test_published.py` holds each row to its bounds, and the table to the rows. A row
that is known to be off says why, and must be off: what is mended is then taken out of that list.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd

HERE = Path(__file__).parent
for folder in (HERE, HERE.parent / "scheduler"):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))

import frost_elsewhere  # noqa: E402
import rows_crops  # noqa: E402
import rows_growth  # noqa: E402
import rows_open  # noqa: E402
import rows_solution  # noqa: E402
import test_places_published as places  # noqa: E402
import test_weather_spread as spread  # noqa: E402
from frost_days import frosts  # noqa: E402
from row import NEVER, Row  # noqa: E402

from crops import development, radiation  # noqa: E402
from crops.catalogue import catalogue  # noqa: E402
from crops.crop import Crop  # noqa: E402
from crops.place import KINDS  # noqa: E402
from crops.solution_heat import oxygen  # noqa: E402
from scheduler.garden.model import Garden  # noqa: E402
from scheduler.years.generator import generated_years  # noqa: E402

TABLE = HERE / "table.md"
CROPS = catalogue()
LOOKED = 300  # days in which bolting is looked for


@cache
def rows() -> tuple[Row, ...]:
    mine = (*_bolting(), *_frosts(), *_lamps(), *_water(), *_covers())
    return (
        *mine,
        *rows_crops.rows(),
        *rows_solution.rows(),
        *rows_growth.rows(),
        *rows_open.rows(),
    )


# Bolting. Days stand from transplanting on, in weather that never changes.


def stands(crop: Crop, celsius: float, hours: float, spread_k: float = 0.0) -> float:
    """Days that a batch stands until it bolts [d]; `NEVER` where it does not."""
    weather = pd.DataFrame(
        {"tmin": celsius - spread_k, "tmax": celsius + spread_k, "daylength": hours},
        index=pd.date_range("2001-01-01", periods=LOOKED),
    )
    found = float(development.good_until(crop, weather, [0])[0])
    return NEVER if found >= LOOKED else found


def spinach_all_year(slow: bool) -> np.ndarray:
    """Days from sowing to flower of spinach sown on each day of a year in Chillan [365].

    The normals are from memory, within a degree or two; 14 days in the nursery; 8 from stalk to
    flower, from memory too.
    """
    low_high = (
        (11, 10, 8, 6, 5, 4, 3.5, 4, 5, 6, 8, 10),
        (29, 28, 25, 20, 16, 13, 12, 14, 16, 20, 23, 26),
    )
    days = np.arange(3 * 365)
    month = ((days % 365) / 30.4 - 0.5) % 12
    low, high = (np.interp(month, range(13), [*row, row[0]]) for row in low_high)
    weather = pd.DataFrame(
        {"tmin": low, "tmax": high, "daylength": radiation.day_length(-36.53, days % 365 + 1)},
        index=pd.date_range("2001-01-01", periods=len(days)),
    )
    sown = np.arange(365, 730)
    kind = replace(CROPS["spinach"], slow_to_bolt=slow)
    out: np.ndarray = development.good_until(kind, weather, sown + 14) + 1 + 8 - sown
    return out


def _bolting() -> Iterator[Row]:
    spinach, pak_choi = CROPS["spinach"], CROPS["pak_choi"]
    lettuce, coriander = CROPS["leaf_lettuce"], CROPS["coriander"]
    topic = "bolting"
    chillan = "Gonzalez et al. 2004, Agricultura Tecnica 64:331-337, abstract"
    quick, slow = spinach_all_year(False), spinach_all_year(True)
    yield Row(topic, "spinach, 36.5° S, quickest kind, sown to flower, soonest (fitted)", "d",
              chillan, 41, 45, float(quick.min()))  # fmt: skip
    yield Row(topic, "spinach, the same, slowest kind, soonest (fitted)", "d",
              chillan, 58, 62, float(slow.min()))  # fmt: skip
    yield Row(topic, "spinach, the same, latest of all kinds and sowings", "d",
              chillan, 131, 148, float(max(quick.max(), slow.max())),
              off="days of winter count for too little, the unsafe side; a dose by the root of warmth "
              "gives 143, and refuses spinach in winters and on coasts where it is grown")  # fmt: skip
    yield Row(topic, "spinach raised in 8 to 12 h, then 15.5 h: 5 % bolted on day 14 or later", "d",
              "Chun, Kozai, Kubota & Okabe, XXV Int. Hort. Congress, part 5, abstract",
              14, NEVER, stands(spinach, 24, 15.5))  # fmt: skip
    yield Row(topic, "spinach raised in 15.5 h: 85 % bolted by day 14", "d",
              "same", 0, 14, stands(spinach, 24, 15.5),
              off="long days in the nursery are not counted; a quick kind stands 4 days longer")  # fmt: skip
    ratio = stands(spinach, 20, 10) / stands(spinach, 20, 16)
    yield Row(topic, "spinach, how many times longer in 10 h than in 16 h, at least (3 days after "
              "transplanting 0 and over 85 % had bolted)", "",
              "HortScience 36:889, abstract", 2, NEVER, ratio)  # fmt: skip
    yield Row(topic, "pak choi, days of cold that bring it on, 5 °C", "d",
              "Euphytica 33:591-595, abstract: 0 to more than 21 by kind",
              0, 21, stands(pak_choi, 5, 14))  # fmt: skip
    yield Row(topic, "Chinese cabbage raised warm, 18 °C, none bolted in 120 days", "d",
              "Scientia Horticulturae 25:217-224, abstract", 120, NEVER, stands(pak_choi, 18, 15))  # fmt: skip
    hot = coriander.nursery_days + stands(coriander, 24, 15, 6)
    yield Row(topic, "coriander in hot midsummer, sown to flower and seed set", "d",
              "Oregon State University Extension, plant cilantro in summer", 28, 42, hot)  # fmt: skip
    yield Row(topic, "coriander, 16 h, sown to flower buds (differentiated) and a stalk", "d",
              "Tomitaka, Karimata & Noguchi 2001, abstract: buds 49 days from sowing",
              49, 70, coriander.nursery_days + stands(coriander, 20, 16))  # fmt: skip
    yield Row(topic, "iceberg lettuce stands two weeks at 25 °C", "d",
              "Al-Said et al. 2018, Pakistan J. Agric. Sci. 55:95-101, abstract",
              14, NEVER, stands(lettuce, 25, 14))  # fmt: skip
    yield Row(topic, "iceberg lettuce bolts in constant 25 °C (looked for 100 days)", "d",
              "same", 14, 100, stands(lettuce, 25, 14))  # fmt: skip
    yield Row(topic, "iceberg lettuce heads at constant 13 °C", "d",
              "same", 60, NEVER, stands(lettuce, 13, 14))  # fmt: skip


# Nights of frost.

WHOLE = {
    True: (date(2027, 1, 1), date(2027, 12, 31)),
    False: (date(2026, 7, 1), date(2027, 6, 30)),
}
YEARS, APART = 200, 14  # years generated; days that a median of 8 to 23 years may be apart


@cache
def whole_year(station: str) -> Garden:
    """A garden of the monthly means of a station's early years, over a whole year."""
    known = dict(spread.PLACES)
    latitude, elevation, _first, _last = known[station]
    try:
        spread.PLACES[station] = (latitude, elevation, *WHOLE[latitude > 0])
        return spread.at(station)
    finally:
        spread.PLACES.update(known)


def _frosts() -> Iterator[Row]:
    table = pd.read_csv(HERE / "open_frosts.csv", comment="#")
    later: dict[tuple[str, str], list[float]] = {}
    for station in ("brussels", "champion", "cordoba"):
        tmin = generated_years(whole_year(station), YEARS, seed=11).tmin
        begins = "January" if spread.PLACES[station][0] > 0 else "July"
        for kind, days in zip(("last", "first"), frosts(tmin, 0.0), strict=True):
            here = float(np.median(days))
            mine = table[
                (table["station"] == station) & (table["kind"] == kind) & (table["celsius"] == 0)
            ]
            for one in mine.itertuples():
                later.setdefault((kind, str(one.years)), []).append(here - one.q50)
                yield Row(
                    "frost",
                    f"{station}, {one.years} years ({one.count} of them), median {kind} frost, "
                    f"from 1 {begins}",
                    "d",
                    f"open series, q50 {one.q50}; within {APART} days",
                    one.q50 - APART,
                    one.q50 + APART,
                    here,
                )
    # The years are made of the early means: late ones, warmer, may be free of frost sooner.
    for (kind, years), off in later.items():
        safe = APART / 2 if years == "late" else 3.0
        low, high = (-3.0, safe) if kind == "last" else (-safe, 3.0)
        yield Row("frost", f"median {kind} frost here, later than in {years} years by, mean of the "
                  "three", "d", "the same; 3 days, and on the safe side 7 of late years", low, high,
                  float(np.mean(off)))  # fmt: skip
    for years in ("early", "late"):
        last, first = np.mean(list(frost_elsewhere.later(years)), axis=0)
        why = (
            f"open series that nothing is fitted to, {years} half of 1991 to 2022; means of whole "
            "counties stray less than places, so here it is frosty longer: the safe side, 16 days"
        )
        what = f"six counties of England, median {{}} frost here, later by, mean, {years} half"
        yield Row("frost", what.format("last"), "d", why, -3, 16, float(last))
        yield Row("frost", what.format("first"), "d", why, -16, 3, float(first))


# What test_places_published holds to its bounds, told here as well.


def _cases(test: object) -> list[tuple]:
    marks = [m for m in test.pytestmark if m.name == "parametrize"]  # type: ignore[attr-defined]
    return list(marks[0].args[1])


def _lamps() -> Iterator[Row]:
    for flux, hours, told, share in _cases(places.test_light_of_a_lamp):
        yield Row("lamp", f"{flux:g} µmol m⁻² s⁻¹ for {hours:g} h", "mol m⁻² d⁻¹",
                  "named in test_places_published.py", told * (1 - share), told * (1 + share),
                  places.lamp(flux, hours).dli)  # fmt: skip


def _water() -> Iterator[Row]:
    for celsius, held, apart in _cases(places.test_oxygen_in_warm_water):
        yield Row("oxygen", f"water of {celsius:g} °C", "mg/L", "named in test_places_published.py",
                  held - apart, held + apart, float(oxygen(celsius)))  # fmt: skip


def _covers() -> Iterator[Row]:
    for kind, low, high in _cases(places.test_warmth_of_covers):
        yield Row("cover", f"{kind}, warmer at night", "K", "named in test_places_published.py",
                  low * 5 / 9, high * 5 / 9, KINDS[kind].night)  # fmt: skip


def text(found: tuple[Row, ...]) -> str:
    """The table, a line a row."""
    out = [
        "# Published values and what is reckoned here",
        "",
        "Written by `published.py`; `test_published.py` holds the rows to their bounds. Of a row "
        "that is off it is told why.",
        "",
        "| | what | published | here | off by | source |",
        "|---|---|---|---|---|---|",
    ]
    for row in found:
        high = "more" if math.isinf(row.high) else f"{row.high:.4g}"
        low = f"{row.low:.4g} to " if row.low > -math.inf else "at most "
        told = f"{low}{high}" + (f" {row.unit}" if row.unit else "")
        here = "never" if math.isinf(row.here) else f"{row.here:.4g}"
        by = max(row.low - row.here, row.here - row.high, 0.0)
        far = "" if math.isinf(by) else f"{by:.3g}: "
        away = "-" if row.within else far + row.off
        out.append(f"| {row.topic} | {row.what} | {told} | {here} | {away} | {row.source} |")
    inside = sum(row.within for row in found)
    sources = len({row.source for row in found})
    out += ["", f"{len(found)} values of {sources} sources, {inside} within their bounds."]
    return "\n".join(out) + "\n"


if __name__ == "__main__":
    TABLE.write_text(text(rows()), encoding="utf-8")
    print(f"wrote {TABLE.name}")
