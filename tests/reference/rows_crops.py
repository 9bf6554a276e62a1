"""Published days, temperatures and shelf lives of the crops; all seen in the source named.

A row whose value the catalogue took from that very source says so; the others were read after the
number here stood. "Abstract", "page" and "trade article" tell what of the source was seen.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd
from row import NEVER, Row

from crops import development, radiation
from crops.catalogue import catalogue, with_overrides
from crops.crop import Crop

CROPS = catalogue()
LOOKED = 200  # days in which an end is looked for
CHAMBER = 12.0  # [h] day length where none is told


def nursery(name: str, celsius: float) -> float:
    """Days from sowing to a seedling fit to transplant [d] at a constant temperature."""
    rate = development.nursery_rate(CROPS[name], celsius, celsius)
    return float(1 / rate)


def tier(name: str, tmin: float, tmax: float, dli: float) -> float:
    """Days from transplanting to ready [d] in weather that never changes."""
    weather = pd.DataFrame(
        {"tmin": tmin, "tmax": tmax, "dli": dli, "daylength": CHAMBER},
        index=pd.date_range("2001-01-01", periods=LOOKED),
    )
    sums = development.running_sum(development.daily_rate(CROPS[name], weather, 1.0))
    return float(development.first_reach(sums, [0])[0])


def stands(name: str, celsius: float, hours: float) -> float:
    """Days that a batch stands until it bolts [d]; `NEVER` where it does not."""
    weather = pd.DataFrame(
        {"tmin": celsius, "tmax": celsius, "daylength": hours},
        index=pd.date_range("2001-01-01", periods=LOOKED),
    )
    found = float(development.good_until(CROPS[name], weather, [0])[0])
    return NEVER if found >= LOOKED else found


# Daily extremes of Georgetown, Delaware, by month [degF]: from memory, within a degree or two.
DELAWARE = (
    (26, 28, 34, 43, 52, 62, 67, 65, 58, 46, 37, 29),
    (45, 48, 56, 66, 75, 83, 87, 85, 79, 69, 59, 49),
)


def delaware(crop: Crop, month: int, day: int) -> tuple[float, float]:
    """Days that lettuce set out in Delaware (38.6° N) stands until it bolts and needs [d]."""
    days = np.arange(730)
    middle = ((days % 365) / 30.4 - 0.5) % 12
    low, high = ((np.interp(middle, range(13), [*row, row[0]]) - 32) / 1.8 for row in DELAWARE)
    weather = pd.DataFrame(
        {"tmin": low, "tmax": high, "dli": 35.0,
         "daylength": radiation.day_length(38.6, days % 365 + 1)},
        index=pd.date_range("2001-01-01", periods=730),
    )  # fmt: skip
    start = (pd.Timestamp(2001, month, day) - weather.index[0]).days
    stood = float(development.good_until(crop, weather, [start])[0])
    sums = development.running_sum(development.daily_rate(crop, weather, 1.0))
    return stood - start, float(development.first_reach(sums, [start])[0]) - start


def base_of_emergence(name: str) -> float:
    """Temperature [degC] at which the line through the rates of emergence up to 25 degC is 0."""
    t, days = (np.array(c) for c in zip(*CROPS[name].emergence, strict=True))
    slope, level = np.polyfit(t[t <= 25], 1 / days[t <= 25], 1)
    return float(-level / slope)


def rows() -> Iterator[Row]:
    yield from _nursery()
    yield from _emergence()
    yield from _days()
    yield from _temperature()
    yield from _bolting()
    yield from _heat()
    yield from _keeping()


def _nursery() -> Iterator[Row]:
    topic = "nursery"
    resh = "Resh, transplanting, chapter abstract, doi 10.1201/b18069-30"
    yield Row(topic, "arugula, sown to transplanted, 22.5 °C", "d", resh, 14, 18,
              nursery("arugula", 22.5))  # fmt: skip
    three = "Currey, Walters & Flax 2019, Agronomy 9(7):389, abstract: three weeks"
    yield Row(topic, "coriander, the same, 20 °C (taken)", "d", three, 20, 22,
              nursery("coriander", 20))  # fmt: skip
    yield Row(topic, "dill, the same", "d", three, 20, 22, nursery("dill", 23),
              off="another trial, at 23 °C, had four weeks; that is taken")  # fmt: skip
    yield Row(topic, "parsley, the same", "d", three, 20, 22, nursery("parsley", 20),
              off="another source has 5 to 6 weeks; that is taken")  # fmt: skip
    yield Row(topic, "parsley, transplanted after 5 to 6 weeks", "d", FAO, 35, 42,
              nursery("parsley", 20))  # fmt: skip
    yield Row(topic, "lettuce and leafy greens, smaller plugs: butterhead, 20 °C", "d",
              "Lettuce and leafy greens 101, Produce Grower, page: 10 to 14", 10, 14,
              nursery("butterhead", 20))  # fmt: skip
    yield Row(topic, "romaine, sown to transplanted, 25/20 °C", "d",
              "Sublett, Barickman & Sams 2018, Horticulturae 4(4):48, abstract: 21 days", 20, 22,
              nursery("romaine", 22.5),
              off="1 to 3 weeks in another source; a smaller seedling is set out here")  # fmt: skip


FAO = "FAO Fisheries and Aquaculture Technical Paper 589 (2014), appendix 1, as reprinted"


def _emergence() -> Iterator[Row]:
    topic = "emergence"
    yield Row(topic, "lettuce, sown to emerged, 13 to 21 °C: at 17", "d", FAO, 3, 7,
              development.emergence_days(CROPS["leaf_lettuce"], 17))  # fmt: skip
    yield Row(topic, "basil, sown to emerged, 20 to 25 °C: at 22.5", "d", FAO, 6, 7,
              development.emergence_days(CROPS["basil"], 22.5))  # fmt: skip
    yield Row(topic, "arugula, base temperature of the line through its rates", "°C",
              "Jalilian & Khaliliaqdam 2015, Iranian J. Seed Res. 2:127-133, abstract: 0.79", -1.2,
              2.8, base_of_emergence("arugula"),
              off="its days of emergence are from memory; those in the cold may be too many")  # fmt: skip
    chart = "University of California, Master Gardeners, chart of germination times, page"
    for name, told in (("kale", "kale"), ("mizuna", "mustard")):
        yield Row(topic, f"{name}, sown to emerged, 20 °C", "d", f"{chart} ({told})",
                  6, 10, development.emergence_days(CROPS[name], 20))  # fmt: skip
    yield Row(topic, "lettuce, sown to emerged, 15 °C", "d", f"{chart} (lettuce)", 6, 10,
              development.emergence_days(CROPS["leaf_lettuce"], 15),
              off="Harrington & Minges 1954 have 4 at 15 °C, 7 at 10; the chart tells no temperature")  # fmt: skip
    yield Row(topic, "basil, base temperature of the line through its rates", "°C",
              "germination of basil: base 6.1 (two cultivars, peerjournals.org, abstract) to 11.8 "
              "(six cultivars, ASA meeting 2012, 252-13, abstract)", 6.1, 11.8,
              base_of_emergence("basil"))  # fmt: skip
    yield Row(topic, "dill, the same", "°C",
              "cardinal temperatures of ajowan, fennel and dill, Ferdowsi University, abstract: 5.0",
              4, 6, base_of_emergence("dill"),
              off="its days of emergence are from memory; those at 10 °C may be too few")  # fmt: skip


def _days() -> Iterator[Row]:
    topic = "days"
    lettuce, butter = CROPS["leaf_lettuce"], CROPS["butterhead"]
    yield Row(topic, "leaf lettuce, seed to harvest, 20 °C", "d",
              "Kratky 2009, Acta Horticulturae 843:65-72, abstract: about 6 to 7 weeks", 42, 49,
              nursery("leaf_lettuce", lettuce.nursery_temperature) + tier("leaf_lettuce", 20, 20, 30))  # fmt: skip
    yield Row(topic, "leaf lettuce, transplanted to harvest, 15 to 22 °C: at 20", "d", FAO, 24, 32,
              tier("leaf_lettuce", 20, 20, 30))  # fmt: skip
    yield Row(topic, "parsley, transplanted to the first pick, 15 to 25 °C: at 20", "d", FAO, 20, 30,
              tier("parsley", 20, 20, 30),
              off="another FAO source has 70 to 100; 42 lie between")  # fmt: skip
    yield Row(topic, "basil, transplanted to the first pick, 23 °C", "d",
              "Walters & Currey 2015, HortTechnology 25:645-650, abstract: three weeks; FAO "
              "Technical Paper 589: five to six", 21, 42, tier("basil", 23, 23, 30))  # fmt: skip
    yield Row(topic, "butterhead of 5 oz, seed to harvest under controlled light; a tier takes "
              "up to five days more", "d",
              "Cornell University, Controlled Environment Agriculture, handbooks page", 35, 40,
              nursery("butterhead", butter.nursery_temperature) + tier("butterhead", 20, 20, 30))  # fmt: skip
    yield Row(topic, "pak choi, transplanted to harvest, 20 °C", "d",
              "Tusi et al. 2026, abstract: 24; pak choi in hydroponic systems and five ECs, Brazil, "
              "abstract: 35", 24, 35, tier("pak_choi", 20, 20, 30))  # fmt: skip
    yield Row(topic, "Swiss chard, transplanted to the first pick, 20 °C", "d",
              "trade article of Krishi Jagran: 4 to 5 weeks", 28, 35,
              tier("swiss_chard", 20, 20, 30))  # fmt: skip
    yield Row(topic, "mizuna, transplanted to harvest, 25 °C", "d",
              "Asian greens, Maximum Yield USA, April 2018, p. 60: three weeks when warm", 18, 24,
              tier("mizuna", 25, 25, 30))  # fmt: skip
    arugula = nursery("arugula", 20) + tier("arugula", 20, 20, 30)
    yield Row(topic, "arugula, seed to harvest, 20 °C", "d",
              "Green Man Publishing, page on arugula: 25 to 40", 25, 40, arugula)  # fmt: skip
    yield Row(topic, "spinach of 90 g, transplanted to harvest, 20/17 °C, 15.1 mol, 1000 ppm CO2",
              "d", "hydroponic spinach, Journal of Agricultural Science and Food Research 7(2), "
              "2016, abstract: 12 to 15", 12, 15, tier("spinach", 17, 20, 15.1),
              off="added carbon dioxide there; FAO 1998 has 27 and more")  # fmt: skip


def _temperature() -> Iterator[Row]:
    topic = "temperature"
    yield Row(topic, "lettuce, optimum in plain air", "°C",
              "Frantz et al. 2004, J. Amer. Soc. Hort. Sci. 129:331-338, abstract: 25", 24, 26,
              CROPS["leaf_lettuce"].t_opt)  # fmt: skip
    yield Row(topic, "arugula, optimum for fresh mass", "°C",
              "Currey & Imler 2020, trade article on university trials, p. 28: 74.8 °F", 23.2, 24.4,
              CROPS["arugula"].t_opt,
              off="Mortensen 2014 measured 62 % more at 27 than at 18 °C; it stands between the two")  # fmt: skip
    for name in ("leaf_lettuce", "pak_choi"):
        yield Row(topic, f"{CROPS[name].title}, warm solution harms, told from a mean of "
                  "the day not below that at which growth slows", "°C",
                  "microclimate and root temperature of hydroponic vegetables, Taiwan, 1992-94, "
                  "abstract: growth slows above 26", 26, 32, CROPS[name].heat_limit)  # fmt: skip


def _bolting() -> Iterator[Row]:
    yield Row("bolting", "lettuce, days of 8 h, 32 °C: grows to harvest without bolting", "d",
              "Waycott 1995, as told in Fine Gardening, Why lettuce bolts, page",
              CROPS["leaf_lettuce"].days_to_harvest, NEVER, stands("leaf_lettuce", 32, 8),
              off="short days are not counted for lettuce; it is refused too soon, the safe side")  # fmt: skip
    nursed = CROPS["leaf_lettuce"].nursery_days
    yield Row("bolting", "head lettuce, 28 °C, sown to flower buds: 1500 to 1700 K d above 5 °C",
              "d", "Iwama & Motai 1954, J. Japan. Soc. Hort. Sci. 22:203-216, abstract", 65, 74,
              nursed + stands("leaf_lettuce", 28, 14),
              off="a stalk is told from days above a warm line, not from a sum; the safe side")  # fmt: skip


def _heat() -> Iterator[Row]:
    """A trial of 43 lettuces in Delaware in 2012, and one of 14 heat tolerant ones later."""
    source = "University of Delaware, Weekly Crop Update, Heat tolerant lettuce varieties, page"
    quick = CROPS["romaine"]
    stood, needed = delaware(quick, 3, 30)
    yield Row("bolting", "romaine set out in Delaware on 30 March (nearly all of 43 lettuces "
              "headed): days it stands when ready", "d", source, 0, NEVER, stood - needed)  # fmt: skip
    stood, needed = delaware(quick, 8, 15)
    yield Row("bolting", "romaine set out there on 15 August (83 % of 43 lettuces bolted): days it "
              "stands when ready", "d", source, -NEVER, 0, stood - needed)  # fmt: skip
    stood, _ = delaware(with_overrides(quick, {"kind": "heat_tolerant"}), 6, 5)
    yield Row("bolting", "heat tolerant lettuce set out there on 5 June stands to 17 July (taken)",
              "d", source, 42, NEVER, stood)  # fmt: skip
    stood, _ = delaware(quick, 6, 5)
    yield Row("bolting", "other lettuce set out there on 5 June does not", "d", source, 0, 42,
              stood)  # fmt: skip


def _keeping() -> Iterator[Row]:
    topic = "keeping"
    leaves = "O'Hare, Wong, Prasad & Able 2001, Acta Horticulturae 553:695, abstract"
    for name in ("pak_choi", "mizuna"):
        yield Row(topic, f"{CROPS[name].title}, leaves at 1 °C", "d", leaves, 12, 20,
                  CROPS[name].storage_life)  # fmt: skip
    table = "postharvest.net.au, storage temperatures, table: 3 weeks at {} °C"
    for name, celsius in (("arugula", 2), ("kale", 0)):
        yield Row(topic, f"{CROPS[name].title}, {celsius} °C", "d", table.format(celsius), 18, 24,
                  CROPS[name].storage_life,
                  off="another table has half of that; the shorter one is taken, the safe side")  # fmt: skip
