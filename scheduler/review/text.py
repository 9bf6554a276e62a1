"""A review as text of at most 79 columns, and as plain data."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict
from typing import Any

from crops import learning
from crops.learning import Estimate
from scheduler.mix.text import WIDTH, wrapped
from scheduler.review.estimates import KEYS, CropReview, Seen, next_acid, next_fill
from scheduler.words.words import Units, table

LABEL = {
    learning.DAYS.name: "days to harvest",
    learning.DEMAND.name: "drinks, peak",
    learning.MASS.name: "mass of a plant",
    learning.UPTAKE.name: "uptake of K",
}
_SHOWN = {learning.UPTAKE.name: "uptake_k"}  # of the five that move together, the largest


def lines(reviews: Sequence[CropReview], units: Units) -> list[str]:
    """Every crop with what its finished tiers show, what is learned, and what to do next."""
    out: list[str] = []
    for crop in reviews:
        n = len(crop.seen)
        out += [f"{crop.catalogue.title}: {n} finished crop{'s' if n > 1 else ''}", ""]
        out += _seen_table(crop.seen, units)
        out += ["", *_learned_table(crop, units), *_tier_lines(crop)]
        for text in advice(crop):
            out += wrapped(text, "* ", "  ")
        out.append("")
    if not reviews:
        out.append("No finished crop in the log: nothing is learned yet.")
    return out


def _seen_table(seen: Sequence[Seen], units: Units) -> list[str]:
    mass = units.mass_unit
    heads = (
        "tier",
        "planted",
        "days",
        f"{mass}/plant",
        f"{units.small_volume_unit}/{mass}",
        "drinks",
        "end EC",
        "end pH",
    )
    rows = []
    for x in seen:
        demand = x.factors.get(learning.DEMAND.name)
        grams = None if x.grams_per_plant is None else units.mass(x.grams_per_plant)
        water = x.mL_per_g
        if water is not None:
            water = units.small_volume(water) / units.mass(1)
        rows.append(
            (
                x.stand.place,
                str(x.stand.transplant),
                str(x.days),
                _number(grams, int(units.us)),
                _number(water, 0),
                f"x {demand:.2f} ± {demand * x.doubts[learning.DEMAND.name]:.2f}"
                if demand
                else "-",
                _number(x.end_ec, 2),
                _number(x.end_ph, 1),
            )
        )
    return _indented(table(heads, rows, "<<>>>>>>", WIDTH - 2))


def _number(value: float | None, digits: int) -> str:
    return "-" if value is None else f"{value:.{digits}f}"


def _indented(lines: Sequence[str]) -> list[str]:
    return [f"  {line}" for line in lines]


def _learned_table(crop: CropReview, units: Units) -> list[str]:
    kinds: dict[str, tuple[str, Callable[[float], float], int]] = {
        learning.DAYS.name: ("d", float, 1),
        learning.DEMAND.name: (f"{units.small_volume_unit}/d", units.small_volume, int(units.us)),
        learning.MASS.name: (units.mass_unit, units.mass, int(units.us)),
        learning.UPTAKE.name: ("mg/L", float, 0),
    }
    rows = []
    for prior in learning.PRIORS:
        e = crop.estimates[prior.name]
        if not e.n:
            continue
        unit, change, digits = kinds[prior.name]
        key = _SHOWN.get(prior.name, KEYS[prior.name][0])
        base = change(getattr(crop.catalogue, key))
        low, seen, mean, high, known = (
            f"{base * x:.{digits}f}" for x in (e.low, e.seen, e.factor, e.high, 1)
        )
        rows.append(
            (f"{LABEL[prior.name]}, {unit}", known, seen, mean, f"{low} to {high}", str(e.n))
        )
    if not rows:
        return ["  Nothing measured that teaches: levels, masses and EC do."]
    heads = ("", "catalogue", "seen", "learned", "90 % interval", "from")
    return _indented(table(heads, rows, "<>>>>>", WIDTH - 2))


def _tier_lines(crop: CropReview) -> list[str]:
    """Tiers that differ from the crop as a whole, where several are known."""
    if len(crop.tiers) < 2:
        return []
    names = [p.name for p in learning.PRIORS if crop.estimates[p.name].n]
    if not names:
        return []
    rows = [
        (place, *(f"{found[n].factor:.2f} ({found[n].n})" if found[n].n else "-" for n in names))
        for place, found in crop.tiers.items()
    ]
    heads = ("tier", *(LABEL[n] for n in names))
    out = table(heads, rows, "<" + ">" * len(names), WIDTH - 2)
    return ["", "  By tier, times the catalogue:", *_indented(out), ""]


_WORDS = {"weak": "a little weak", "right": "about right", "strong": "a little strong"}


def advice(crop: CropReview) -> list[str]:
    """What the ends say of the next fill, one text each."""
    out = []
    found = next_fill(crop)
    if found is not None:
        name, change, low, high = found
        if abs(change) > 0.15:
            word = {"weak": "weak", "right": "about right", "strong": "strong"}[name]
        else:
            word = _WORDS[name]
        text = (
            f"The fills were {word}: the crop took up {change:+.0%} against the strength it "
            f"was given (90 %: {low:+.0%} to {high:+.0%})."
        )
        if name != "right":
            step = max(-0.15, min(0.15, change))
            text += f" Mix the next fill {abs(step):.0%} {'stronger' if step > 0 else 'weaker'}."
        out.append(text)
    acid = next_acid(crop)
    if acid is not None and acid.meq > 0:
        text = (
            f"pH ended above {crop.catalogue.ph_high:g}: take {acid.meq:.2f} meq more acid per "
            f"litre for the next fill (as for {acid.caco3:.0f} mg/L of alkalinity)"
        )
        text += f"; no more, for {acid.limited}." if acid.limited else "."
        out.append(text)
    elif acid is not None and acid.limited:
        out.append(
            f"pH ended above {crop.catalogue.ph_high:g}, but the water leaves no alkalinity "
            "for more acid: a little of the nitrogen as ammonium lowers it."
        )
    return out


def as_data(reviews: Sequence[CropReview]) -> dict[str, Any]:
    """The review for machines."""
    out = {}
    for crop in reviews:
        found, acid = next_fill(crop), next_acid(crop)
        out[crop.catalogue.name] = {
            "finished": [_seen_data(x) for x in crop.seen],
            "learned": {n: _estimate(e) for n, e in crop.estimates.items()},
            "tiers": {p: {n: _estimate(e) for n, e in t.items()} for p, t in crop.tiers.items()},
            "fill": None
            if found is None
            else dict(zip(("conclusion", "change", "low", "high"), found, strict=True)),
            "acid": None if acid is None else asdict(acid),
        }
    return out


def _estimate(e: Estimate) -> dict[str, Any]:
    return asdict(e)


def _seen_data(x: Seen) -> dict[str, Any]:
    return {
        "column": x.stand.column,
        "tier": x.stand.tier,
        "transplant": x.stand.transplant.isoformat(),
        "first_pick": x.stand.first_pick.isoformat(),
        "days": x.days,
        "grams_per_plant": x.grams_per_plant,
        "drunk_litres": x.drunk,
        "ml_per_g": x.mL_per_g,
        "end_ec": x.end_ec,
        "end_ph": x.end_ph,
        "factors": x.factors,
        "doubts": x.doubts,
        "verdict": None if x.verdict is None else asdict(x.verdict),
    }
