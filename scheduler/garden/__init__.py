"""The garden and its file: from text to one immutable, checked garden."""
