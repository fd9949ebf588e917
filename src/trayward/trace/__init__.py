"""Where crop came from and where it went: from seed bag to plate and back, with quantities that balance."""
