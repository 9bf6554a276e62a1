"""Whether a plan names only what its garden has."""

from __future__ import annotations

from scheduler.base.faults import BadInput, Fault
from scheduler.garden.model import Garden
from scheduler.plans.model import Plan


def check_places(garden: Garden, plan: Plan, file: str) -> None:
    """Refuse a plan whose batches name crops or tiers that the garden does not have.

    Raises
    ------
    BadInput
        Every such batch.
    """
    tiers = {(c.name, t.number) for c in garden.columns for t in c.tiers}
    faults = []
    for i, batch in enumerate(plan.batches):
        if batch.crop not in garden.crops:
            faults.append(
                Fault(
                    file, None, f"batches[{i}].crop", batch.crop, "a crop of the garden beside it"
                )
            )
        if (batch.column, batch.tier) not in tiers:
            faults.append(
                Fault(
                    file,
                    None,
                    f"batches[{i}]",
                    f"{batch.column} {batch.tier}",
                    "a tier of the garden beside it",
                )
            )
    if faults:
        raise BadInput(faults)
