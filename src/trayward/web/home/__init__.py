"""Where to begin, what more there is, about, and taking back what was just said."""
