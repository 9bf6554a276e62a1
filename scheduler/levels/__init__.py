"""What levels read in a tier teach of its thirst, and how surely."""
