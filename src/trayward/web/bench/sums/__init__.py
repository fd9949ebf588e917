"""The sums of the work table, declared once for the command line and the pages."""
