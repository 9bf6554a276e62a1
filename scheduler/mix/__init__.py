"""Salts and acid for the day's fills."""
