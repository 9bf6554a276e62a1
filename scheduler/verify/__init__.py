"""Check a plan again, rule by rule, from the garden and the plan alone.

Nothing here is shared with the model or the solver: levels, dates, cells, lifts and produce are
counted day by day in plain loops. Only the equations of one plant on one day come from ``crops``.
"""

from scheduler.verify.check import verify
from scheduler.verify.verdict import Broken, Verdict

__all__ = ["Broken", "Verdict", "verify"]
