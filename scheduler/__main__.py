"""``python -m scheduler``: the command line."""

from scheduler.cli import main

main()
