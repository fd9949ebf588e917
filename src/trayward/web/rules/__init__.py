"""Which public rules may apply: the facts asked, the readings that follow, and no verdict."""
