"""What was cut against what was expected, the cold room, and cutting trays that no round asks for."""
