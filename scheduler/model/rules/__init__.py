"""The rules of the model, one family a file. `BUILDERS` is the one list that builds them."""

from __future__ import annotations

from collections.abc import Callable

from ortools.sat.python import cp_model

from scheduler.model.rules import access, mixed, occupancy, shared
from scheduler.model.variables import Variables

Builder = Callable[[cp_model.CpModel, Variables], None]

# Name of the rule as in scheduler.plans.rules -> its builder. Rules that need no constraint because
# no candidate breaks them (work days, dry, ripe, light, bolting, ...) are settled in candidates.
BUILDERS: dict[str, Builder] = {
    "one crop at a time": occupancy.build,
    "what all share": shared.build,
    "lift limit": access.build,
    "how crops are mixed": mixed.build,
}
