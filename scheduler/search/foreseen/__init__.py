"""What no grower could better, one who knew the weather of a year beforehand: wait and see."""

from scheduler.search.foreseen.bound import Foreseen, foreseen

__all__ = ["Foreseen", "foreseen"]
