"""Bench: the small sums of the work table as forms that compute as one types."""
