"""What the numbers of one crop must be to each other."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

Broken = tuple[str, str, str]  # key, value, expected


def relations(v: Mapping[str, Any]) -> list[Broken]:
    """Relations that do not hold between the numbers of a crop.

    Parameters
    ----------
    v : field of `crops.crop.Crop` to its number; a field that failed on its own is left out, and
        so are the relations it takes part in.

    Returns
    -------
    (key, value, expected) of every broken one.
    """
    out: list[Broken] = []

    def below(low: str, high: str, unit: str, strict: bool) -> None:
        if low not in v or high not in v:
            return
        if v[low] > v[high] or (strict and v[low] == v[high]):
            word = "below" if strict else "at most"
            out.append((low, f"{v[low]:g}{unit}", f"{word} {high} ({v[high]:g}{unit})"))

    below("t_base", "t_opt", " degC", True)
    below("t_opt", "t_max", " degC", True)
    for key in ("reference_temperature", "nursery_temperature"):
        if {key, "t_base", "t_max"} <= v.keys() and not v["t_base"] < v[key] < v["t_max"]:
            inside = f"between t_base ({v['t_base']:g}) and t_max ({v['t_max']:g} degC)"
            out.append((key, f"{v[key]:g} degC", inside))
    below("kill_hardened", "kill_temperature", " degC", False)
    below("dli_min", "dli_target", " mol/m^2/day", False)
    below("stage_start", "stage_full", "", True)
    below("ec_low", "ec_high", " mS/cm", False)
    below("ph_low", "ph_high", "", False)
    if {"plants_per_hole", "seeds_per_cell"} <= v.keys():
        below("plants_per_hole", "seeds_per_cell", "", False)
    out += _cuts(v) + _bolting(v) + _emergence(v)
    return out


def _cuts(v: Mapping[str, Any]) -> list[Broken]:
    out: list[Broken] = []
    cuts, shares = v.get("cuts"), v.get("cut_shares")
    if shares is not None:
        if cuts is not None and len(shares) != cuts:
            out.append(("cut_shares", f"{len(shares)} shares", f"{cuts}, one for each of the cuts"))
        if abs(sum(shares) - 1) > 1e-6:
            out.append(("cut_shares", f"a sum of {sum(shares):g}", "a sum of 1"))
        if min(shares, default=0) <= 0:
            out.append(("cut_shares", "a share of 0", "shares above 0"))
    if cuts is not None and cuts > 1 and v.get("cut_interval", 1) < 1:
        out.append(("cut_interval", f"{v['cut_interval']:g} day", "1 day or more between cuts"))
    return out


def _bolting(v: Mapping[str, Any]) -> list[Broken]:
    if not {"bolt_heat", "bolt_daylength"} <= v.keys():
        return []
    out: list[Broken] = []
    heat, days = v["bolt_heat"], v["bolt_daylength"]
    if v.get("bolt_both") and (heat is None or days is None):
        out.append(("bolt_both", "true", "false, or both bolt_heat and bolt_daylength given"))
    if (heat is not None or days is not None) and v.get("bolt_days", 1) < 1:
        out.append(("bolt_days", f"{v['bolt_days']:g} day", "1 day or more where bolting is given"))
    if v.get("slow_to_bolt") and v.get("bolt_days_slow", 1) < max(v.get("bolt_days", 1), 1):
        least = f"the {v['bolt_days']:g} of quick ones or more" if "bolt_days" in v else "1 or more"
        out.append(("slow_to_bolt", "true", f"false, or bolt_days_slow, {least}"))
    return out


def _emergence(v: Mapping[str, Any]) -> list[Broken]:
    table = v.get("emergence")
    if table is None:
        return []
    if any(a[0] >= b[0] for a, b in pairwise(table)):
        return [("emergence", "temperatures out of order", "temperatures that rise")]
    return []
