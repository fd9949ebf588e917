"""Trayward: the planner, round sheet and memory of a microgreens grower."""
