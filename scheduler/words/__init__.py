"""Everything that turns a value into a reader's text: units, dates, language."""
