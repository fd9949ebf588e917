"""Setup: from nothing to the first sowing, and every later change of the farm itself."""
