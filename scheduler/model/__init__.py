"""Variables, rules and stages as models for CP-SAT and HiGHS."""
