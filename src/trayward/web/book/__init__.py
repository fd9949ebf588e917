"""The book: read and search everything, one entry whole, stories, mistakes struck, what does not add up, copies."""
