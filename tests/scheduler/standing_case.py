"""An invented yard with two columns alike and one of two tiers, in which things stand already."""

from __future__ import annotations

from pathlib import Path

# Two kinds of tier, of one hole and of three; a nursery of 4 cells. Straight vessels, so that a
# depth is a volume by hand: pi 12^2 cm^2 = 0.4524 L/cm; 15 L stand 33.16 cm deep.
GARDEN = """\
name: yard
invented: true
site: {latitude: 44 degree, elevation: 100 m, climate: climate.csv}
season: {start: 2027-06-07, end: 2027-09-26}
vessels:
  tub: {shape: straight, diameter: 24 cm, height: 36 cm, fill: 15 L, keep: 2 cm, mass: 1.5 kg}
columns:
  - name: A
    tiers:
      - {vessel: tub, light: 90 %, plants: 3}
      - {vessel: tub, light: 80 %, plants: 1}
  - name: B
    count: 2
    tiers: [{vessel: tub, light: 90 %, plants: 3}]
nursery: {cells: 4, temperature: 20 degC}
demand: [{group: lettuce, per_week: 500 g}]
crops: [leaf_lettuce, kale]
"""
MONTHS = [(-1, 5), (0, 7), (3, 12), (7, 17), (11, 21), (14, 24)]
MONTHS += [(16, 26), (16, 26), (13, 22), (8, 16), (4, 10), (0, 6)]
CLIMATE = "month,tmin,tmax\n" + "".join(f"{m},{a},{b}\n" for m, (a, b) in enumerate(MONTHS, 1))


def write(folder: Path, more: str, until: str = "2027-09-26") -> Path:
    (folder / "climate.csv").write_text(CLIMATE)
    (folder / "garden.yaml").write_text(GARDEN.replace("2027-09-26", until) + more)
    return folder / "garden.yaml"


def standing(text: str) -> str:
    return f"standing:\n  - {{{text}}}\n"
