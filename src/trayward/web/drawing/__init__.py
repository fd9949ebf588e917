"""Charts for the pages as our own SVG: scales, marks, rows of ranges, curves. Pure: figures and words in, text out."""
