"""A review as text of at most 79 columns, and as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from crops import learning
from crops.learning import Estimate
from scheduler.mix_text import wrapped
from scheduler.outputs.words import Units
from scheduler.review import KEYS, CropReview, Seen, next_acid, next_fill

LABEL = {
    learning.DAYS.name: "days to harvest", learning.DEMAND.name: "drinks, peak",
    learning.MASS.name: "mass of a plant", learning.UPTAKE.name: "uptake of K",
}  # fmt: skip
_SHOWN = {learning.UPTAKE.name: "uptake_k"}  # of the five that move together, the largest
_UNIT = {learning.DAYS.name: "d", learning.DEMAND.name: "mL/d", learning.MASS.name: "g",
         learning.UPTAKE.name: "mg/L"}  # fmt: skip


def lines(reviews: Sequence[CropReview], units: Units) -> list[str]:
    """Every crop with what its finished tiers show, what is learned, and what to do next."""
    out: list[str] = []
    for crop in reviews:
        n = len(crop.seen)
        out += [f"{crop.catalogue.title}: {n} finished crop{'s' if n > 1 else ''}", ""]
        out += _seen_table(crop.seen, units)
        out += ["", *_learned_table(crop), *_tier_lines(crop)]
        for text in advice(crop):
            out += wrapped(text, "* ", "  ")
        out.append("")
    if not reviews:
        out.append("No finished crop in the log: nothing is learned yet.")
    return out


def _seen_table(seen: Sequence[Seen], units: Units) -> list[str]:
    mass = "oz" if units.us else "g"
    out = [f"  {'tier':<10}{'planted':<12}{'days':>5}{mass + '/plant':>10}{'mL/g':>7}{'drinks':>8}"
           f"{'end EC':>8}{'end pH':>8}"]  # fmt: skip
    for x in seen:
        demand = x.factors.get(learning.DEMAND.name)
        grams = None if x.grams_per_plant is None else units.mass(x.grams_per_plant)
        cells = [_number(grams, 1 if units.us else 0, 10), _number(x.mL_per_g, 0, 7),
                 f"{f'x {demand:.2f}' if demand else '-':>8}", _number(x.end_ec, 2, 8),
                 _number(x.end_ph, 1, 8)]  # fmt: skip
        out.append(f"  {x.stand.place[:9]:<10}{x.stand.transplant!s:<12}{x.days:>5}"
                   + "".join(cells))  # fmt: skip
    return out


def _number(value: float | None, digits: int, width: int) -> str:
    return f"{'-':>{width}}" if value is None else f"{value:>{width}.{digits}f}"


def _learned_table(crop: CropReview) -> list[str]:
    out = [f"  {'':<18}{'catalogue':>11}{'seen':>9}{'learned':>10}  90 % interval   from"]
    for prior in learning.PRIORS:
        e = crop.estimates[prior.name]
        if not e.n:
            continue
        key = _SHOWN.get(prior.name, KEYS[prior.name][0])
        base = getattr(crop.catalogue, key)
        digits = 1 if prior is learning.DAYS else 0
        label = f"{LABEL[prior.name]}, {_UNIT[prior.name]}"
        span = f"{base * e.low:.{digits}f} to {base * e.high:.{digits}f}"
        out.append(f"  {label:<22}{base:>7.{digits}f}{base * e.seen:>9.{digits}f}"
                   f"{base * e.factor:>10.{digits}f}  {span:<16}{e.n}")  # fmt: skip
    return out if len(out) > 1 else ["  Nothing measured that teaches: levels, masses and EC do."]


def _tier_lines(crop: CropReview) -> list[str]:
    """Tiers that differ from the crop as a whole, where several are known."""
    if len(crop.tiers) < 2:
        return []
    out = ["", "  By tier, times the catalogue:"]
    names = [p.name for p in learning.PRIORS if crop.estimates[p.name].n]
    if not names:
        return []
    out.append(f"  {'tier':<10}" + "".join(f"{LABEL[n]:>16}" for n in names))
    for place, found in crop.tiers.items():
        cells = [f"{f'{found[n].factor:.2f} ({found[n].n})' if found[n].n else '-':>16}"
                 for n in names]  # fmt: skip
        out.append(f"  {place[:9]:<10}" + "".join(cells))
    return [*out, ""]


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
        text = (f"The fills were {word}: the crop took up {change:+.0%} against the strength it "
                f"was given (90 %: {low:+.0%} to {high:+.0%}).")  # fmt: skip
        if name != "right":
            step = max(-0.15, min(0.15, change))
            text += f" Mix the next fill {abs(step):.0%} {'stronger' if step > 0 else 'weaker'}."
        out.append(text)
    acid = next_acid(crop)
    if acid is not None and acid.meq > 0:
        text = (f"pH ended above {crop.catalogue.ph_high:g}: take {acid.meq:.2f} meq more acid per "
                f"litre for the next fill (as for {acid.caco3:.0f} mg/L of alkalinity)")
        text += f"; no more, for {acid.limited}." if acid.limited else "."
        out.append(text)
    elif acid is not None and acid.limited:
        out.append(f"pH ended above {crop.catalogue.ph_high:g}, but the water leaves no alkalinity "
                   "for more acid: a little of the nitrogen as ammonium lowers it.")  # fmt: skip
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
            "fill": None if found is None else dict(
                zip(("conclusion", "change", "low", "high"), found, strict=True)
            ),
            "acid": None if acid is None else asdict(acid),
        }  # fmt: skip
    return out


def _estimate(e: Estimate) -> dict[str, Any]:
    return asdict(e)


def _seen_data(x: Seen) -> dict[str, Any]:
    return {
        "column": x.stand.column, "tier": x.stand.tier,
        "transplant": x.stand.transplant.isoformat(), "first_pick": x.stand.first_pick.isoformat(),
        "days": x.days, "grams_per_plant": x.grams_per_plant, "drunk_litres": x.drunk,
        "ml_per_g": x.mL_per_g, "end_ec": x.end_ec, "end_ph": x.end_ph, "factors": x.factors,
        "verdict": None if x.verdict is None else asdict(x.verdict),
    }  # fmt: skip
