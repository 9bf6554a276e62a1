"""From what happened to a plan for the rest of the season."""
