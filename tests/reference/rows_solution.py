"""Published uptake, evaporation and light, all seen in the source named."""

from __future__ import annotations

from collections.abc import Iterator

from row import Row

from crops import evaporation, radiation
from crops.catalogue import catalogue
from crops.solution import balance

CROPS = catalogue()
ROOTS = 1.1  # a tenth more in roots: common practice, no source


def held(name: str, element: str) -> float:
    """What 100 g of the harvest hold [mg], as the uptake per litre has it."""
    per_litre = float(getattr(CROPS[name], f"uptake_{element.lower()}"))
    return per_litre * balance.REFERENCE_USE / 10 / ROOTS


def rows() -> Iterator[Row]:
    yield from _uptake()
    yield from _evaporation()
    yield from _light()


def _uptake() -> Iterator[Row]:
    topic = "uptake"
    # 187.7 mg/L of nitrogen were taken up: at the litres that brings the nitrogen told here.
    source = "Frontiers in Plant Science 15:1411572 (2024), abstract, Batavia in closed hydroponics"
    lettuce = CROPS["leaf_lettuce"]
    litres = lettuce.uptake_n * balance.REFERENCE_USE / 187.7  # mL per g
    taken = balance.uptake(lettuce, litres)
    for element, told, off in (
        ("K", 398.8, ""),
        ("Mg", 20.9, ""),
        ("Ca", 125.4, "field lettuce holds a quarter of it; something between is taken"),
    ):
        yield Row(topic, f"lettuce, {element} taken up with 187.7 mg/L of N, within 30 %", "mg/L",
                  source, 0.7 * told, 1.3 * told, taken[element], off=off)  # fmt: skip
    brazil = "mineral composition of lettuce grown in soil and hydroponics, Salvador, abstract"
    for element, told in (("Ca", 51.58), ("Mg", 19.21)):
        yield Row(topic, f"hydroponic lettuce, {element} in 100 g, within 30 %", "mg", brazil,
                  0.7 * told, 1.3 * told, held("leaf_lettuce", element))  # fmt: skip
    need = "hydroponic spinach, J. Agric. Sci. Food Research 7(2), 2016, abstract, of 90 g"
    for element, told in (("N", 191), ("K", 345)):
        yield Row(topic, f"spinach, {element} that 100 g need, within 30 %", "mg", need,
                  0.7 * told / 0.9, 1.3 * told / 0.9, held("spinach", element),
                  off="theirs is the least that will do; the food tables have what it takes up")  # fmt: skip


def _evaporation() -> Iterator[Row]:
    """Fallon, Nevada, 1 July 2015: 66.65 and 102.80 °F, 674.07 ly, 4.80 mph at 3 m, 1208.5 m."""
    ra = radiation.extraterrestrial(39.4575, 182)
    wind = evaporation.wind_at_2m(4.80 * 0.44704, 3)
    et0 = evaporation.penman_monteith((66.65 - 32) / 1.8, (102.80 - 32) / 1.8,
                                      674.07 * 0.041868, ra, 1.2206674, wind, 1208.5)  # fmt: skip
    yield Row("evaporation", "Fallon, Nevada, 1 July 2015, grass, within 1 %", "mm/d",
              "test values of the library refet 0.5.0: 7.942; its clear sky knows the humidity too",
              7.942 * 0.99, 7.942 * 1.01, float(et0))  # fmt: skip


def _light() -> Iterator[Row]:
    yield Row("light", "photons of 1 MJ of sun and sky", "mol",
              "Logan et al. 2016, AMS 96th Annual Meeting, 289816, abstract: 7.058 mol/kWh; Faust & "
              "Logan 2018: 7.265", 7.058 / 3.6, 7.27 / 3.6,
              float(radiation.light_integral(1.0)))  # fmt: skip
