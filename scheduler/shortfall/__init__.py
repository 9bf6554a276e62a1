"""What holds a plan back, and what would help."""
