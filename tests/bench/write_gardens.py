"""Writes the gardens of the benchmark: ``python tests/bench/write_gardens.py``.

The files in ``gardens/`` are what is measured; this only keeps fifteen of them alike. Nothing in
them is drawn by chance. Everything is invented. Balcony and courtyard are the examples with other
last days; the rest stand on a mild coast where something can grow in every month.
"""

from __future__ import annotations

import re
from datetime import date, timedelta
from itertools import product
from pathlib import Path

HERE = Path(__file__).parent
OUT = HERE / "gardens"
EXAMPLES = HERE.parents[1] / "examples"
WEEKS = (13, 26, 52)

COAST = """\
# Invented monthly normals for an invented mild coast at 38 degrees north; no real station.
month,tmin [degC],tmax [degC],rs [MJ/m^2/day]
1,5.5,14.0,7.6
2,6.0,15.0,10.4
3,7.0,16.5,14.6
4,8.5,18.5,18.7
5,11.0,21.5,22.0
6,13.5,24.5,24.3
7,15.0,26.5,24.6
8,15.0,26.5,21.8
9,14.0,25.0,17.7
10,11.5,21.5,12.9
11,8.5,17.0,8.8
12,6.0,14.5,7.0
"""

# Litres: inside widths at bottom and top, height [cm], empty mass [kg], holes.
VESSELS = {18: (26, 29, 37, 1.6, 4), 15: (25.5, 28, 33, 1.4, 4), 11: (24.5, 27, 26, 1.1, 3)}

# Light in the five tiers of a column, from the open to the half shade: to the nearest 5 %.
EXPOSURES = {
    "open": (1.0, 0.85, 0.7, 0.6, 0.5),
    "light": (0.95, 0.8, 0.65, 0.55, 0.5),
    "east": (0.9, 0.75, 0.65, 0.55, 0.45),
    "west": (0.85, 0.7, 0.6, 0.5, 0.45),
    "wall": (0.8, 0.7, 0.55, 0.5, 0.4),
}
# How close columns stand: what the lower tiers lose or gain.
SPACINGS = {"close": -0.05, "usual": 0.0, "wide": 0.03}
# Vessels from top to bottom.
STACKS = {
    "18": (18,) * 5,
    "15": (15,) * 5,
    "11": (11,) * 5,
    "mixed": (11, 15, 15, 18, 18),
}

CROPS = (
    "leaf_lettuce",
    "butterhead",
    "romaine",
    "pak_choi",
    "arugula",
    "mizuna",
    "swiss_chard",
    "kale",
    "spinach",
    "basil",
    "coriander",
    "parsley",
)

# Columns: name, count, vessels and light from top to bottom.
Columns = list[tuple[str, int, tuple[int, ...], tuple[float, ...]]]


def shares(total: int, kinds: int) -> list[int]:
    """``total`` columns in ``kinds`` unequal parts: the largest about twice the smallest."""
    weights = [2 * kinds + (7 * k) % kinds for k in range(kinds)]
    out = [total * w // sum(weights) for w in weights]
    for k in range(total - sum(out)):
        out[k] += 1
    return out


def terrace() -> Columns:
    """100 columns: three vessel sizes, five exposures."""
    mixes = list(product((18, 15, 11), EXPOSURES.items()))
    return [
        (f"{size}L {name} ", n, (size,) * 5, light)
        for (size, (name, light)), n in zip(mixes, shares(100, len(mixes)), strict=True)
    ]


def estate() -> Columns:
    """1,000 columns: four stacks, five exposures."""
    mixes = list(product(STACKS.items(), EXPOSURES.items()))
    return [
        (f"{stack} {name} ", n, sizes, light)
        for ((stack, sizes), (name, light)), n in zip(mixes, shares(1000, len(mixes)), strict=True)
    ]


def region() -> Columns:
    """10,000 columns in 60 kinds: four stacks, five exposures, three spacings."""
    mixes = list(product(STACKS.items(), EXPOSURES.items(), SPACINGS.items()))
    return [
        (
            f"{stack} {name} {near} ",
            n,
            sizes,
            (light[0], *(round(max(x + more, 0.4), 2) for x in light[1:])),
        )
        for ((stack, sizes), (name, light), (near, more)), n in zip(
            mixes, shares(10_000, len(mixes)), strict=True
        )
    ]


# Columns, work days, who it is, and how much of the courtyard's wish for a plant is asked for.
LARGE = {
    "terrace": (terrace, "[mon, wed, fri]", "A restaurant's roof terrace"),
    "estate": (estate, "[mon, tue, wed, thu, fri]", "The gardens of a large estate"),
    "region": (region, "[mon, tue, wed, thu, fri]", "The growers of a whole region"),
}
# Weekly wish for each hole [g], and for the examples times theirs: chosen so that a little less
# than all of it can be met by tiers and nursery (not in the winter of the two inland gardens).
WISH = {13: (15.0, 12.0, 0.84), 26: (14.4, 11.5, 0.8), 52: (10.5, 8.4, 0.6)}
TIMES = {"courtyard-13": 1.6, "balcony-26": 0.7, "balcony-52": 0.7}


def text(name: str, weeks: int) -> str:
    """garden.yaml of a large garden."""
    columns, work_days, who = LARGE[name]
    stand = columns()
    start = date(2027, 3, 1)
    end = start + timedelta(days=7 * weeks - 1)
    tiers = sum(n * len(sizes) for _, n, sizes, _ in stand)
    holes = sum(n * VESSELS[size][4] for _, n, sizes, _ in stand for size in sizes)
    work = work_days.count(",") + 1
    # As the courtyard: 48 cells for 88 holes; 12 fills and 18 picks a week for 24 tiers.
    cells = round(holes * 48 / 88)
    fills, picks = -(-tiers * 12 // (24 * work)), -(-tiers * 18 // (24 * work))
    sizes = sorted({size for _, _, s, _ in stand for size in s}, reverse=True)
    lines = [
        f"# {who} on a coast that does not exist. Place, weather, sizes and wishes are",
        "# invented; they are plausible, nothing more. Written by tests/bench/write_gardens.py.",
        f"name: {name}-{weeks}",
        "invented: true",
        "",
        "site:",
        "  latitude: 38.3 degree",
        "  elevation: 60 m",
        "  climate: coast.csv",
        "",
        "season:",
        f"  start: {start}",
        f"  end: {end}",
        f"  work_days: {work_days}",
    ]
    if weeks > 13:
        lines += ["  away:", "    - {from: 2027-08-14, to: 2027-08-22}"]
    if weeks > 26:
        lines += ["    - {from: 2027-12-24, to: 2028-01-02}"]
    lines += ["", "vessels:"]
    for size in sizes:
        bottom, top, height, mass, _ = VESSELS[size]
        lines += [
            f"  pail_{size}:",
            "    shape: round",
            f"    bottom: {bottom} cm",
            f"    top: {top} cm",
            f"    height: {height} cm",
            f"    fill: {size} L",
            "    keep: 2 cm",
            f"    mass: {mass} kg",
        ]
    lines += ["", f"columns:  # {sum(n for _, n, _, _ in stand):,} in {len(stand)} kinds"]
    for label, count, stack, light in stand:
        lines += [f"  - name: '{label.strip()}-'", f"    count: {count}", "    tiers:"]
        for size, share in zip(stack, light, strict=True):
            lines.append(
                f"      - {{vessel: pail_{size}, light: {share:g}, plants: {VESSELS[size][4]}}}"
            )
    lines += ["", "nursery:", f"  cells: {cells}", "  temperature: 20 degC", "", "demand:"]
    for group, each, first, weight in zip(
        ("lettuce", "greens", "herbs"),
        WISH[weeks],
        (date(2027, 4, 26), date(2027, 4, 26), date(2027, 5, 10)),
        (1, 1, 6),
        strict=True,
    ):
        grams = round(each * holes / 100) * 100
        lines.append(
            f"  - {{group: {group}, per_week: {grams} g, from: {first}, to: {end}, "
            f"weight: {weight}}}"
        )
    lines += [
        "",
        "limits:",
        "  lift: 16 kg",
        f"  fills_per_day: {fills}",
        f"  picks_per_day: {picks}",
        "  dry_margin: 2 days",
        "  turnaround: 1 day",
        "",
        "crops:",
        "  which:",
        *(f"    - {c}" for c in CROPS),
    ]
    return "\n".join(lines) + "\n"


def example(name: str, weeks: int) -> str:
    """An example with another last day; its wishes go on to that day."""
    raw = (EXAMPLES / name / "garden.yaml").read_text(encoding="utf-8")
    lines = raw.splitlines()
    start = next(x.split(": ")[1] for x in lines if x.startswith("  start: "))
    old = next(x.split(": ")[1] for x in lines if x.startswith("  end: "))
    end = date.fromisoformat(start) + timedelta(days=7 * weeks - 1)
    if date(2027, 8, 6) > end:  # before the days away begin
        lines = [x for x in lines if "2027-08-06" not in x and x != "  away:"]
    out = "\n".join(lines).replace(old, str(end)).replace("climate.csv", f"{name}.csv")
    times = TIMES.get(f"{name}-{weeks}", 1.0)
    out = re.sub(r"per_week: ([\d.]+)", lambda m: f"per_week: {float(m[1]) * times:g}", out)
    out = out.replace(f"name: {name}\n", f"name: {name}-{weeks}\n", 1)
    words = "# The example with a season of its own. Written by tests/bench/write_gardens.py.\n"
    return words + out + "\n"


def main() -> None:
    """Write all."""
    OUT.mkdir(exist_ok=True)
    (OUT / "coast.csv").write_text(COAST, encoding="utf-8")
    for name, weeks in product(("balcony", "courtyard", *LARGE), WEEKS):
        made = text(name, weeks) if name in LARGE else example(name, weeks)
        (OUT / f"{name}-{weeks}.yaml").write_text(made, encoding="utf-8")
    for name in ("balcony", "courtyard"):
        climate = (EXAMPLES / name / "climate.csv").read_text(encoding="utf-8")
        (OUT / f"{name}.csv").write_text(climate, encoding="utf-8")


if __name__ == "__main__":
    main()
