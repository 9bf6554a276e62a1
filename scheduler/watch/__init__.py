"""What a tier's readings foretell, said at once: no model of plants and weather is run for it."""
