"""One file a command of the command line; `scheduler.cli` lists them."""
