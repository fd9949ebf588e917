"""Hygiene records: which kinds there are and what rules ask of them, what is due, what was found, and packs of them."""
