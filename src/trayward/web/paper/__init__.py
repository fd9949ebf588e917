"""Sheets and labels for the printer."""
