"""Where crop came from and where it went, and calling it back."""
