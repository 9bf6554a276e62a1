"""What weather years do to a plan."""
