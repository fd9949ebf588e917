"""Who may use the pages: logging in, phones that are shared, pairing, and what the owner changes about people."""
