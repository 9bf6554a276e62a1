"""Weather years: whole past years, or years made around the garden's climate."""
