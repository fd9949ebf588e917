"""A farm described in one file: read, checked line by line, and set against the farm as it is."""
