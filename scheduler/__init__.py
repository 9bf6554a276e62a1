"""Time and space: garden -> candidates -> model -> plan -> calendar.

For notebooks: `plan`, `replan`, `explain`, `load`, what they give and what they raise; see
``scheduler/README.md``. They are loaded when they are first asked for, so that a line of the log
waits for no solver.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from scheduler.base.faults import BadInput, DrylineError, Fault, NoPlan, OutOfTime, OwnFault
    from scheduler.door import explain, load, plan, replan
    from scheduler.explanation import Explanation
    from scheduler.garden.model import Garden
    from scheduler.plans.model import Plan
    from scheduler.season import Season

__all__ = [
    "BadInput",
    "DrylineError",
    "Explanation",
    "Fault",
    "Garden",
    "NoPlan",
    "OutOfTime",
    "OwnFault",
    "Plan",
    "Season",
    "explain",
    "load",
    "plan",
    "replan",
]

_FROM = {
    **dict.fromkeys(("explain", "load", "plan", "replan"), "scheduler.door"),
    **dict.fromkeys(
        ("BadInput", "DrylineError", "Fault", "NoPlan", "OutOfTime", "OwnFault"),
        "scheduler.base.faults",
    ),
    "Explanation": "scheduler.explanation",
    "Garden": "scheduler.garden.model",
    "Plan": "scheduler.plans.model",
    "Season": "scheduler.season",
}


if not TYPE_CHECKING:  # a checker of types takes the names above, and no others

    def __getattr__(name: str) -> Any:
        from importlib import import_module

        if name not in _FROM:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        found = globals()[name] = getattr(import_module(_FROM[name]), name)
        return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
