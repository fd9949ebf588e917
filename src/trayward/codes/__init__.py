"""Codes on labels: our own lot codes with a check character, and those of GS1 for farms that have a company prefix."""
