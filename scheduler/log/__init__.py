"""What happened: the log, and where every batch stands."""
