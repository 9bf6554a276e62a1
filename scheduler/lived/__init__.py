"""A season lived day by day in many weather years, by a grower who knows no weather ahead."""
