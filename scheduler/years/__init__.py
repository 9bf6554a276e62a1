"""Weather years: whole past years, or years made around the garden's climate."""

# How many there are unless asked otherwise: to plan with, to choose between plans, to promise from.
PLANNED, CHOOSING, JUDGED = 20, 24, 200
