"""The round: what to do now, row by row, and what was said to it."""
