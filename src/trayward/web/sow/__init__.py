"""What to sow: the kept plan by day, a new one beside it, what would be if, how full the racks get, what crops earn."""
