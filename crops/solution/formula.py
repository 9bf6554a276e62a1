"""Chemical formulas such as ``5Ca(NO3)2.NH4NO3.10H2O``: atoms, molar mass, mass shares.

Nitrogen is told apart as nitrate (NO3), ammonium (NH4) and the rest, because plants, pH and
conductivity tell them apart.
"""

from __future__ import annotations

import re
from collections import Counter

# Standard atomic weights, abridged to five digits: Prohaska et al. 2022, Pure and Applied
# Chemistry 94:573-600 (IUPAC 2021), as far as fertilizers, acids and water need them [g/mol].
ATOMIC_WEIGHTS: dict[str, float] = {
    "H": 1.0080,
    "B": 10.81,
    "C": 12.011,
    "N": 14.007,
    "O": 15.999,
    "Na": 22.990,
    "Mg": 24.305,
    "Si": 28.085,
    "P": 30.974,
    "S": 32.06,
    "Cl": 35.45,
    "K": 39.098,
    "Ca": 40.078,
    "Mn": 54.938,
    "Fe": 55.845,
    "Co": 58.933,
    "Ni": 58.693,
    "Cu": 63.546,
    "Zn": 65.38,
    "Mo": 95.95,
}

NITRATE, AMMONIUM = "NO3", "NH4"
_GROUPS = {NITRATE: {"N": 1, "O": 3}, AMMONIUM: {"N": 1, "H": 4}}
_TOKEN = re.compile(r"NO3(?!\d)|NH4(?!\d)|[A-Z][a-z]?|[()\[\]]|\d+")
_DOTS = re.compile(r"[.\u00b7\u2022*]")
_SUBSCRIPTS = {0x2080 + digit: str(digit) for digit in range(10)}
LONGEST = 80
_MOST_ATOMS = 100_000


class FormulaFault(ValueError):
    """A text that is no chemical formula; says why."""


def groups(text: str) -> Counter[str]:
    """Count of each element, with the groups ``NO3`` and ``NH4`` counted as one thing each.

    Parameters
    ----------
    text : formula; water of crystallisation after a dot, subscripts as plain or lowered digits.

    Raises
    ------
    FormulaFault
        Empty, too long, an unknown element, or brackets that do not match.
    """
    plain = "".join(text.split()).translate(_SUBSCRIPTS)
    if not plain or len(plain) > LONGEST:
        raise FormulaFault(f"expected a formula of 1 to {LONGEST} signs, such as Ca(NO3)2.4H2O")
    total: Counter[str] = Counter()
    for part in _DOTS.split(plain):
        match = re.match(r"\d+", part)
        times = int(match[0]) if match else 1
        body = part[match.end() :] if match else part
        if not body or times == 0:
            raise FormulaFault(f"{text!r}: a part without elements")
        for name, count in _part(body, text).items():
            total[name] += count * times
    if sum(total.values()) > _MOST_ATOMS:
        raise FormulaFault(f"{text!r}: more atoms than any salt has")
    return total


def _part(body: str, text: str) -> Counter[str]:
    stack: list[Counter[str]] = [Counter()]
    last: Counter[str] | None = None  # what a number behind it multiplies
    place = 0
    while place < len(body):
        match = _TOKEN.match(body, place)
        if match is None:
            raise FormulaFault(f"{text!r}: {body[place]!r} is no part of a formula")
        token, place = match[0], match.end()
        if token in "([":
            stack.append(Counter())
            last = None
        elif token in ")]":
            if len(stack) == 1 or not stack[-1]:
                raise FormulaFault(f"{text!r}: a bracket is closed that holds nothing")
            last = stack.pop()
            stack[-1].update(last)
        elif token.isdigit():
            if last is None or not 0 < int(token) <= 1000:
                raise FormulaFault(f"{text!r}: the number {token} stands behind no element")
            for name, count in last.items():
                stack[-1][name] += count * (int(token) - 1)
            last = None
        else:
            if token not in ATOMIC_WEIGHTS and token not in _GROUPS:
                raise FormulaFault(f"{text!r}: {token} is no element of a fertilizer")
            last = Counter({token: 1})
            stack[-1].update(last)
    if len(stack) > 1:
        raise FormulaFault(f"{text!r}: a bracket stays open")
    return stack[0]


def atoms(text: str) -> Counter[str]:
    """Count of each element.

    Raises
    ------
    FormulaFault
        As `groups`.
    """
    total: Counter[str] = Counter()
    for name, count in groups(text).items():
        for element, number in _GROUPS.get(name, {name: 1}).items():
            total[element] += number * count
    return total


def molar_mass(text: str) -> float:
    """Mass of one mole [g/mol].

    Raises
    ------
    FormulaFault
        As `groups`.
    """
    return sum(ATOMIC_WEIGHTS[name] * count for name, count in atoms(text).items())


def mass_shares(text: str) -> dict[str, float]:
    """Mass share of each element [g/g]; of nitrogen also as ``NO3`` and ``NH4``, in g N per g.

    Raises
    ------
    FormulaFault
        As `groups`.
    """
    mass = molar_mass(text)
    out = {name: ATOMIC_WEIGHTS[name] * count / mass for name, count in atoms(text).items()}
    found = groups(text)
    for group in (NITRATE, AMMONIUM):
        if found[group]:
            out[group] = ATOMIC_WEIGHTS["N"] * found[group] / mass
    return out


def oxide_factor(oxide: str, element: str) -> float:
    """Grams of the element in one gram of its oxide as labels state it, such as P2O5 and P."""
    return mass_shares(oxide)[element]
