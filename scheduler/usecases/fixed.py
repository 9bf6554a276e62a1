"""Fixed batches that no rule allows: faults of the garden, each with what stands against it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scheduler.garden.model import Fixed, Garden


def refuse_fixed(garden: Garden, file: str | Path) -> None:
    """Raise BadInput for each fixed batch that cannot be, whatever else is planned.

    Parameters
    ----------
    garden : with the years that are planned with; file : its garden.yaml.
    """
    from scheduler.base.faults import BadInput, Fault

    faults = []
    in_file = sorted(garden.fixed, key=lambda f: f.line)
    for number, one in enumerate(in_file):
        if one.planted_on >= garden.first and (why := _against(garden, one)):
            value = f"{one.crop}, {one.column} {one.tier}, {one.planted_on}"
            expected = f"a batch that the rules allow: {why}"
            faults.append(Fault(str(file), one.line or None, f"fixed[{number}]", value, expected))
    if faults:
        raise BadInput(faults)


def _against(garden: Garden, one: Fixed) -> str:
    """What stands against a fixed batch by itself; empty if nothing does."""
    import numpy as np

    from scheduler.batches.candidates import OK, build
    from scheduler.batches.fixed import fixed_rows
    from scheduler.batches.window_reasons import Reasons
    from scheduler.shortfall.window_words import day_text, why_text
    from scheduler.words.words import Units

    column = next(c for c in garden.columns if c.name == one.column)
    tier = column.tiers[one.tier - 1]
    alone = replace(
        garden,
        columns=(replace(column, tiers=(replace(tier, number=1),)),),
        crops={one.crop: garden.crops[one.crop]},
        fixed=(replace(one, tier=1),),
    )
    cand, windows = build(alone, alone.season.index(alone.first))
    if any(len(rows) for _, rows in fixed_rows(cand)):
        return ""
    window = windows[0]
    (at,) = np.flatnonzero(window.starts == alone.season.index(one.planted_on))
    if window.reason[at] != OK:
        reasons = Reasons(alone, garden.crops[one.crop], tier, window)
        return why_text([reasons.of(int(at))], Units(garden.units))
    cand, _ = build(replace(alone, fixed=()))  # picked on other days it could be
    mine = cand.table["transplant"].to_numpy(int) == window.starts[at]
    first, last = (int(cand.table[c].to_numpy(int)[mine].min()) for c in ("first", "last"))
    days = [day_text(alone.season.date(day)) for day in (first, last)]
    picked = ", ".join(day_text(day) for day in one.picked_on)
    soonest = days[0] if first == last else f"{days[0]} to {days[1]}"
    return f"picked on {picked} it breaks a rule; it can be picked on {soonest}"
