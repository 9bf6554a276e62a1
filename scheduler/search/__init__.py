"""From a first schedule to the best one found: stages, windows, whole columns."""
