"""A season planned, planned again and explained: from the grower's files to an answer that holds.

Whoever plans (a command, the page, many gardens at once, a notebook) calls `plan_season`; whoever
plans a season that is under way calls `plan_again`; whoever asks what holds a plan back calls
`explain_plan`. What is loaded, searched, mixed, checked and refused is the same everywhere. Nothing
here writes a file.
"""

from scheduler.usecases.explaining import Explained, explain_plan
from scheduler.usecases.planning import Planned, Within, plan_season, refuse_broken, sources_of
from scheduler.usecases.planning_again import (
    CHANGES_JSON,
    CHANGES_TEXT,
    Ask,
    PlannedAgain,
    files_again,
    plan_again,
    season_sources,
)

__all__ = [
    "CHANGES_JSON",
    "CHANGES_TEXT",
    "Ask",
    "Explained",
    "Planned",
    "PlannedAgain",
    "Within",
    "explain_plan",
    "files_again",
    "plan_again",
    "plan_season",
    "refuse_broken",
    "season_sources",
    "sources_of",
]
