"""Three invented climates to try a garden in, where no table of its place is at hand yet.

Plausible, nothing more: none is of a place there is. A garden made with one says so on every sheet.
"""

from __future__ import annotations

from scheduler.words.units import METRIC, SYSTEMS, convert
from scheduler.words.words import N_

MILD, COLD, WARM = "mild", "cold", "warm"
# Daily lowest and highest temperature [degC], January to December, north of the equator.
KINDS: dict[str, tuple[tuple[int, int], ...]] = {
    MILD: (
        *((2, 8), (2, 9), (4, 12), (5, 14), (8, 18), (11, 21)),
        *((13, 23), (13, 23), (11, 20), (8, 16), (5, 11), (3, 8)),
    ),
    COLD: (
        *((-4, 3), (-3, 5), (0, 10), (4, 15), (9, 20), (13, 24)),
        *((15, 27), (15, 26), (11, 21), (6, 15), (1, 8), (-3, 4)),
    ),
    WARM: (
        *((6, 16), (7, 17), (9, 20), (11, 23), (15, 27), (19, 31)),
        *((21, 34), (21, 34), (18, 30), (14, 26), (10, 21), (7, 17)),
    ),
}
MEANING = {
    MILD: N_("cool summers, winters with little frost"),
    COLD: N_("warm summers, winters with frost"),
    WARM: N_("hot summers, no frost"),
}
PUBLISHED = N_(
    "Normals of your nearest station (mean daily lowest and highest temperature of each month) are "
    "published by your national weather service, and for the world as the climate normals of the "
    "World Meteorological Organization. `dryline climate FILE --out DIR` reads what they publish."
)


def is_table(text: str) -> bool:
    """Whether a table is one of those below as it was written: nobody has put in a number."""
    return any(
        text == table(kind, south, units)
        for kind in KINDS
        for south in (False, True)
        for units in SYSTEMS
    )


def table(kind: str, south: bool, units: str) -> str:
    """climate.csv of an invented climate; south of the equator half a year later."""
    unit = "degC" if units == METRIC else "degF"
    lines = [
        f"# Invented weather ({MEANING[kind]}), of no real place. Put in the monthly means of the",
        "# daily lowest and highest temperature of your nearest station; with global radiation as",
        "# a column rs [MJ/m^2/day], rh [%] and wind [m/s] demand is estimated better still.",
        f"month,tmin [{unit}],tmax [{unit}]",
    ]
    for month in range(1, 13):
        low, high = KINDS[kind][(month - 1 + (6 if south else 0)) % 12]
        low, high = (round(convert(float(t), "degC", unit)) for t in (low, high))
        lines.append(f"{month},{low},{high}")
    return "\n".join(lines) + "\n"
