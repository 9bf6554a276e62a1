"""Words as typed, one entry: ``2027-06-03 lost A 2 2 of 6``, as the cells of a line of the log."""

from __future__ import annotations

import re
import shlex
from collections.abc import Mapping, Sequence
from datetime import date

from crops.names import same_name
from crops.units import number
from scheduler.base.faults import BadInput, Fault
from scheduler.garden.model import Garden
from scheduler.log.amounts import FAILED, NEEDS_NOTE, OF_COLUMN, OF_GARDEN, OF_SEEDLINGS, RAIN, SOWN

_OPTIONS = ("--crop", "--note")
_TIER = re.compile(r"[1-9]\d{0,3}")


def row_of(
    garden: Garden,
    words: Sequence[str],
    today: date,
    crop: str = "",
    note: str = "",
    confirm: bool = False,
) -> dict[str, str]:
    """The cells of a line of the log: day, what, and what goes with it, in the order typed.

    A place that an entry can do without may be left out: ``rain 12 mm``, ``emerged lettuce 9 of
    12``, ``note B water looks green``.
    """
    day, what, *rest = [*words, "", ""][: max(len(words), 2)]
    kind = what.lower()
    known = {same_name(c.name): len(c.tiers) for c in garden.columns}
    column = tier = ""
    if rest and same_name(rest[0]) not in known and kind in OF_SEEDLINGS - {SOWN, FAILED}:
        crop, rest = crop or rest[0], rest[1:]
    elif rest and not (kind in OF_GARDEN and same_name(rest[0]) not in known):
        column, rest = rest[0], rest[1:]
        tiers = known.get(same_name(column)) if kind == RAIN else None
        if rest and not (kind in OF_COLUMN and not _is_tier(rest, tiers)):
            tier, rest = rest[0], rest[1:]
    amount = " ".join(rest)
    if kind in NEEDS_NOTE and not note:
        note, amount = amount, ""
    if confirm:
        note = f"{note}, confirmed" if note else "confirmed"
    return {
        "date": today.isoformat() if day.lower() == "today" else day,
        "what": what,
        "column": column,
        "tier": tier,
        "crop": crop,
        "amount": amount,
        "note": note,
    }


def _is_tier(rest: Sequence[str], tiers: int | None) -> bool:
    """Whether the first word is a tier, and no amount such as ``12 mm``, or ``12`` of 3 tiers."""
    if not _TIER.fullmatch(rest[0]):
        return False
    if len(rest) == 1:
        return tiers is None or int(rest[0]) <= tiers
    return number(rest[1]) is not None or not rest[1][:1].isalpha()


def rows_of(
    garden: Garden, text: str, file: str, today: date
) -> tuple[list[dict[str, str]], list[tuple[str, int]]]:
    """Rows of a text with an entry a line, in words as for `row_of`, and where each was read.

    Blank lines and remarks (#) are none. ``--crop``, ``--note`` and ``--confirm`` as in the
    command.

    Raises
    ------
    BadInput
        Every line that is no words, and a text without any.
    """
    rows, places, faults = [], [], []
    for at, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        try:
            words = shlex.split(line, comments=False)
            options, words = _options(words)
        except ValueError as error:
            faults.append(
                Fault(file, at, "", line.strip()[:60], _WORDS.get(str(error), str(error)))
            )
            continue
        rows.append(
            row_of(
                garden,
                words,
                today,
                options.get("--crop", ""),
                options.get("--note", ""),
                "--confirm" in options,
            )
        )
        places.append((file, at))
    if not rows and not faults:
        faults.append(Fault(file, None, "", "no line", "an entry a line, as 2027-06-03 ripe A 2"))
    if faults:
        raise BadInput(faults)
    return rows, places


_WORDS = {
    "No closing quotation": "a text in quotes to be closed on its line",
    "No escaped character": "no stroke (\\) at the end of a line",
}


def _options(words: list[str]) -> tuple[Mapping[str, str], list[str]]:
    """Options with their values, and the words without them."""
    options, rest, it = {}, [], iter(words)
    for word in it:
        name, sign, value = word.partition("=")
        if name in _OPTIONS:
            found = value if sign else next(it, None)
            if found is None:
                raise ValueError(f"a text behind {name}")
            options[name] = found
        elif word == "--confirm":
            options[word] = ""
        elif word.startswith("--"):
            raise ValueError("--crop, --note or --confirm, no other option")
        else:
            rest.append(word)
    return options, rest
