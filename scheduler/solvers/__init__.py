"""Thin doors to CP-SAT and HiGHS."""
