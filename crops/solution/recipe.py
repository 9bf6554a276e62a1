"""How much of each salt for a volume, a target and the water at hand.

Two ways: a fixed proportion of fertilizers thinned to an EC, or the amounts that come nearest to
a target of elements (non-negative least squares), thinned to an EC or taken as it stands.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from crops.radiation import Array
from crops.solution import acid as acids
from crops.solution import cautions, limits
from crops.solution.acid import Acid, AcidFault, Dose
from crops.solution.conductivity import Conductivity, conductivity
from crops.solution.salts import ELEMENTS, MAIN, N_NITRATE, Composition, Salt, main_elements

# Plausibility of what is asked for: common practice, no source.
STRONGEST = 6.0  # EC [mS/cm]; leafy crops are harmed far below
MOST_LITRES = 20_000.0
# Kitchen scale: an element this far from the exact recipe by rounding is worth a word.
ROUNDING_SHARE = 0.10
# Sulfur is tolerated in a wide range; a miss in it counts less (common practice, no source).
_WEIGHT = {"S": 0.3}
_SMALL = 10.0  # [mg/L] targets below are judged as if they were this much


class RecipeFault(ValueError):
    """A recipe that is refused; says why and what to do instead."""


@dataclass(frozen=True)
class Water:
    """Source water: what is in it [mg/L], its alkalinity [mg/L CaCO3] and pH."""

    elements: Composition = field(default_factory=dict)
    alkalinity: float = 0.0
    ph: float = 7.5


@dataclass(frozen=True)
class Goal:
    """What is wanted.

    Attributes
    ----------
    ec : [mS/cm], or None: the target as it stands.
    target : elements of `salts.MAIN` [mg/L]; with an EC only their proportions count. None: the
        fixed proportion (`Salt.parts`) of the fertilizers.
    ph : wanted, for the dose of acid; None: no acid.
    """

    ec: float | None = None
    target: Mapping[str, float] | None = None
    ph: float | None = None


@dataclass(frozen=True)
class Recipe:
    """A recipe.

    Attributes
    ----------
    litres, goal, water : what was asked.
    salts : fertilizers that are weighed, in the order of dissolving.
    grams, weighed : each exactly, and as a scale shows it, in the same order [g].
    scale : step of the scale [g].
    dose : acid, if any.
    elements, ec : of the exact mix [mg/L] and [mS/cm].
    weighed_elements, weighed_ec : of the mix as weighed.
    wanted : target that the misfit is against [mg/L]; empty for a fixed proportion.
    misfit : exact mix minus wanted [mg/L].
    alkalinity : left in the mix [mg/L CaCO3].
    water_ec : of the water with its acid, before any fertilizer [mS/cm].
    notes : remarks of this recipe; steps, cautions : how to mix, and what to mind.
    """

    litres: float
    goal: Goal
    water: Water
    salts: tuple[Salt, ...]
    grams: tuple[float, ...]
    weighed: tuple[float, ...]
    scale: float
    dose: Dose | None
    elements: Mapping[str, float]
    ec: Conductivity
    weighed_elements: Mapping[str, float]
    weighed_ec: Conductivity
    wanted: Mapping[str, float]
    misfit: Mapping[str, float]
    alkalinity: float
    water_ec: Conductivity
    notes: tuple[str, ...]
    steps: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def composition(self) -> Mapping[str, float]:
        """What is poured in: the mix as weighed [mg/L], all names of `salts.ELEMENTS`."""
        return self.weighed_elements


def mix(
    salts: Sequence[Salt],
    goal: Goal,
    litres: float,
    water: Water | None = None,
    acid: Acid | None = None,
    scale: float = 0.1,
) -> Recipe:
    """The recipe for a volume.

    Parameters
    ----------
    salts : fertilizers at hand, at least one; for a goal without a target each with its parts.
    litres : solution wanted [L].
    acid : taken where ``goal.ph`` asks for it; None: the least dangerous.
    scale : smallest step of the scale [g].

    Raises
    ------
    RecipeFault
        Nothing to mix with, an impossible volume, EC or pH, water that is too strong already, a
        target that these fertilizers cannot come near, or what would poison a crop.
    """
    water = water or Water()
    _refuse(salts, goal, litres, scale)
    dose = _dose(goal, water, acid, litres)
    base = _water(water, dose)
    left = dose.left if dose else water.alkalinity
    shares = np.array([[s.shares.get(e, 0.0) * 1000 for e in ELEMENTS] for s in salts])
    per_litre = _per_litre(salts, shares, goal, base, left)
    grams = per_litre * litres
    weighed = np.round(grams / scale) * scale
    if not weighed.any():
        raise RecipeFault(
            f"a scale that shows {scale:g} g shows nothing of {grams.max():.2g} g; "
            "mix more at once, or weigh finer"
        )
    exact = _composition(base, per_litre @ shares)
    rounded = _composition(base, weighed / litres @ shares)
    poison = limits.toxic(exact)
    if poison:
        raise RecipeFault(
            f"{'; '.join(poison)}. Take other fertilizers or other water, or mix the "
            "water with rain water"
        )
    order = [salts.index(s) for s in cautions.dissolving_order(salts) if grams[salts.index(s)] > 0]
    used = tuple(salts[i] for i in order)
    ec, weighed_ec = conductivity(exact, left), conductivity(rounded, left)
    wanted = _wanted(goal, exact, ec)
    have = main_elements(exact)
    return Recipe(
        litres=litres,
        goal=goal,
        water=water,
        salts=used,
        grams=tuple(float(grams[i]) for i in order),
        weighed=tuple(float(f"{weighed[i]:.10g}") for i in order),
        scale=scale,
        dose=dose,
        elements=exact,
        ec=ec,
        weighed_elements=rounded,
        weighed_ec=weighed_ec,
        wanted=wanted,
        misfit={e: have[e] - w for e, w in wanted.items()},
        alkalinity=left,
        notes=(
            *_notes(exact, rounded, ec, weighed_ec),
            *_acidity(dose, left),
            *limits.remarks(exact, _stated(salts, water)),
        ),
        water_ec=conductivity(base, left),
        steps=tuple(cautions.steps(used, dose)),
        cautions=cautions.texts(dose),
    )


def _refuse(salts: Sequence[Salt], goal: Goal, litres: float, scale: float) -> None:
    refuse_ph(goal.ph)
    if not salts:
        raise RecipeFault("no fertilizer is named; expected at least one")
    if len({s.name for s in salts}) < len(salts):
        raise RecipeFault("two fertilizers of one name; expected a name for each")
    if not 0 < litres <= MOST_LITRES:
        raise RecipeFault(f"{litres:g} L; expected more than 0 and at most {MOST_LITRES:g} L")
    if not 0 < scale <= 100:
        raise RecipeFault(f"a scale that shows {scale:g} g; expected more than 0 and at most 100 g")
    if goal.ec is None and goal.target is None:
        raise RecipeFault("nothing is wanted; expected an EC, a target of elements, or both")
    if goal.ec is not None and not 0 < goal.ec <= STRONGEST:
        raise RecipeFault(
            f"EC {goal.ec:g} mS/cm; expected more than 0 and at most {STRONGEST:g}: "
            "stronger solution burns roots"
        )
    if goal.target is None:
        if any(s.parts is None or not s.parts > 0 for s in salts):
            raise RecipeFault(
                "fertilizers without parts, and no target of elements; expected one or the other"
            )
        return
    bad = [e for e, v in goal.target.items() if e not in MAIN or not 0 <= v <= 2000]
    if bad or not any(goal.target.values()):
        raise RecipeFault(
            f"a target of {dict(goal.target)}; expected mg/L from 0 to 2000 of "
            f"{', '.join(MAIN)}, not all 0"
        )


def refuse_ph(ph: float | None) -> None:
    """Refuse a pH that harms roots or lets nutrients fall out.

    Raises
    ------
    RecipeFault
    """
    low, high = acids.PH_RANGE
    if ph is not None and not low <= ph <= high:
        raise RecipeFault(
            f"pH {ph:g} is wanted; expected {low:g} to {high:g}: outside it roots "
            "are harmed and nutrients fall out"
        )


def _dose(goal: Goal, water: Water, acid: Acid | None, litres: float) -> Dose | None:
    if goal.ph is None:
        return None
    try:
        found = acids.dose(
            acid or acids.ACIDS[acids.DEFAULT_ACID], water.alkalinity, water.ph, goal.ph, litres
        )
    except AcidFault as error:
        raise RecipeFault(str(error)) from error
    return found if found.amount > 0 else None


def _water(water: Water, dose: Dose | None) -> Composition:
    """Source water with what its acid brought in [mg/L]."""
    out = dict(water.elements)
    if dose is not None and dose.element:
        name = N_NITRATE if dose.element == "N" else dose.element
        out[name] = out.get(name, 0.0) + dose.mg_per_l
    return out


def _stated(salts: Sequence[Salt], water: Water) -> frozenset[str]:
    """Elements that some label or the water's analysis names."""
    return frozenset(e for s in salts for e in s.shares) | frozenset(water.elements)


def _composition(base: Composition, added: Array) -> dict[str, float]:
    return {e: base.get(e, 0.0) + float(a) for e, a in zip(ELEMENTS, added, strict=True)}


def _per_litre(
    salts: Sequence[Salt], shares: Array, goal: Goal, base: Composition, alkalinity: float
) -> Array:
    """Grams of each fertilizer per litre."""
    if goal.target is None:
        parts = np.array([s.parts for s in salts], float)
        return parts * _strength(lambda k: parts * k, shares, goal, base, alkalinity)
    target = dict(goal.target)

    def nearest(k: float) -> Array:
        return _least_squares(shares, {e: k * v for e, v in target.items()}, base)

    if goal.ec is None:
        found = nearest(1.0)
        strength = conductivity(_composition(base, found @ shares), alkalinity).value
        if strength > STRONGEST:
            raise RecipeFault(
                f"this target has EC {strength:.1f} mS/cm; expected at most "
                f"{STRONGEST:g}: stronger solution burns roots"
            )
    else:
        found = nearest(_strength(nearest, shares, goal, base, alkalinity))
    if not found.any():
        raise RecipeFault(
            "the water alone comes as near to the target as these fertilizers can; "
            "expected others, or water with less in it"
        )
    return found


def _strength(
    grams: Callable[[float], Array],
    shares: Array,
    goal: Goal,
    base: Composition,
    alkalinity: float,
) -> float:
    """How many times the amounts must be taken to reach the EC wanted."""
    assert goal.ec is not None
    wanted = goal.ec

    def over(k: float) -> float:
        return conductivity(_composition(base, grams(k) @ shares), alkalinity).value - wanted

    if over(0.0) >= 0:
        raise RecipeFault(
            f"the water alone has EC {over(0.0) + wanted:.2f} mS/cm and {wanted:g} is wanted; "
            "there would be no room for fertilizer. Mix it with rain water or purified water"
        )
    high = 1.0
    while over(high) < 0:
        high *= 2
        if high > 1e5:
            raise RecipeFault(
                "these fertilizers do not raise the EC (urea does not conduct); expected salts"
            )
    return _root(over, high)


def _root(rising: Callable[[float], float], high: float) -> float:
    """Where a rising function that is below 0 at 0 and not at ``high`` comes to 0, by halves.

    SciPy's `brentq` gives the same to ten digits, and takes as long to load as a calendar to make.
    """
    low = 0.0
    for _ in range(100):
        middle = (low + high) / 2
        if high - low <= 1e-12 * high or middle in (low, high):
            break
        low, high = (middle, high) if rising(middle) < 0 else (low, middle)
    return (low + high) / 2


def _least_squares(shares: Array, target: Mapping[str, float], base: Composition) -> Array:
    """Grams per litre that come nearest to a target, each element relative to its own amount."""
    from scipy.optimize import nnls

    have = main_elements(base)
    columns = [main_elements(dict(zip(ELEMENTS, row, strict=True))) for row in shares]
    rows, right = [], []
    for element, wanted in target.items():
        scale = _WEIGHT.get(element, 1.0) / max(wanted, _SMALL)
        rows.append([c[element] * scale for c in columns])
        right.append((wanted - have[element]) * scale)
    found: Array = nnls(np.array(rows), np.array(right))[0]
    return found


def _wanted(goal: Goal, exact: Composition, ec: Conductivity) -> dict[str, float]:
    """The target at the strength of the mix, scaled so that both have the same EC by elements."""
    if goal.target is None:
        return {}
    if goal.ec is None:
        return dict(goal.target)
    full = conductivity(_as_ions(goal.target))
    return {e: v * ec.value / full.value for e, v in goal.target.items()} if full.value else {}


def _as_ions(target: Mapping[str, float]) -> dict[str, float]:
    return {N_NITRATE if e == "N" else e: v for e, v in target.items()}


def _acidity(dose: Dose | None, left: float) -> list[str]:
    """What becomes of the pH while the solution stands, and why acid was held back."""
    if dose is None:
        return (
            []
            if left <= 0
            else [
                f"No acid: the {left:.0f} mg/L of alkalinity keep it at about pH "
                f"{acids.open_ph(left):.1f}, until the crop moves it."
            ]
        )
    text = (
        f"The acid sets carbonic acid free, which leaves within days; then it stands at about "
        f"pH {dose.open_ph:.1f}, until the crop moves it."
    )
    if dose.eaten_ph is not None:
        text += (
            f" Microbes eat the {dose.acid.name} acid, for which they take about "
            f"{dose.oxygen:.0f} mg/L of oxygen in all, and the water holds "
            f"{acids.WATER_OXYGEN:.0f} at a time; after that about pH {dose.eaten_ph:.1f}."
        )
    out = [text]
    if dose.held:
        best = [a for a in acids.RANKED if not acids.ACIDS[a].oxygen][:2]
        out.append(
            f"{dose.acid.name.capitalize()} acid is held to {acids.EATEN_MOST:g} meq/L, for "
            f"the roots' sake: {dose.left:.0f} mg/L of alkalinity stay. Mix the water with "
            f"rain water, or let someone trained take {' or '.join(best)} acid, the best "
            "for hands and roots together."
        )
    return out


def _notes(
    exact: Composition, rounded: Composition, ec: Conductivity, weighed_ec: Conductivity
) -> tuple[str, ...]:
    """What weighing in steps of the scale does."""
    before, after = main_elements(exact), main_elements(rounded)
    off = {
        e: after[e] / before[e] - 1
        for e in MAIN
        if before[e] > 1 and abs(after[e] / before[e] - 1) > ROUNDING_SHARE
    }
    out = [f"As weighed the EC is {weighed_ec.value:.2f} mS/cm, exact {ec.value:.2f}."]
    if off:
        listed = ", ".join(f"{e} {100 * v:+.0f} %" for e, v in off.items())
        out.append(
            f"Rounding to the scale's steps moves {listed}: mix more at once, or weigh finer."
        )
    return tuple(out)
