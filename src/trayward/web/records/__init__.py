"""The page of hygiene records: what is due, writing one down, what was found, reviews, and the inspection pack."""
