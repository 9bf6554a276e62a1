"""The printed calendar, one file a kind of page; `scheduler.outputs.pdf` binds them."""
