"""Pictures where people would rather look than read: of trays to come, and of what the records say."""
