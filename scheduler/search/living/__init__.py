"""A schedule made better by living it in weather years."""

from scheduler.search.living.in_hand import InHand
from scheduler.search.living.search import Found, improved
from scheduler.search.living.taken_over import taken_over

__all__ = ["Found", "InHand", "improved", "taken_over"]
