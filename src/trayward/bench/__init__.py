"""The bench: calculators for the work table, usable with no farm at all; each answers with a sheet."""
