"""Plants and water: pure, vectorised functions, no solver, no files but the catalogue."""
