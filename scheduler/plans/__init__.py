"""The plan: its parts, its JSON, its folder, the names of the rules."""
