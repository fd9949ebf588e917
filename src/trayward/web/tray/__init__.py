"""One tray: what it is, what is likely, all that happened to it, and what to say or do about it."""
