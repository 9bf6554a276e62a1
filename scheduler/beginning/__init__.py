"""A garden to begin with, from a grower's answers to a dozen questions."""
