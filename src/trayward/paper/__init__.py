"""Sheets for the wall and the table, labels and invoices as PDF: black on white, made from plain structs.

The sheets lay out structs they are given; `farm_sheets`, `going_out` and `farm_labels` fill those from a farm. Nothing
here reads a clock, so the same sheet is the same bytes.
"""
