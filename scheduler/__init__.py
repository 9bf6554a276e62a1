"""Time and space: garden -> candidates -> model -> plan -> calendar."""
