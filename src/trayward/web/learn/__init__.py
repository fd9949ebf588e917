"""Learn: what the records say, with its doubt, and the trials worth making."""
