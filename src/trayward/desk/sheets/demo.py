"""Lantern Loft's order sheet: what its customers ask for beside their standing orders, over six weeks. All invented."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta

_TUE, _FRI, _SAT = 1, 4, 5
_CLOSED = ((12, 25), (12, 26), (1, 1))
_HEADINGS = ("Customer", "Deliver on", "Item", "Quantity", "Note")
_ASKED = (
    # week, weekday, customer, item, quantity, note
    (1, _FRI, "Upside Ladle", "radish", "60 g", ""),
    (1, _SAT, "Saturday stall", "garden mix", "2 packs", "neighbours' day"),
    (2, _TUE, "Tin Whistle Canteen", "pea", "120 g", ""),
    (2, _FRI, "Moth & Marrow", "red cabbage", "60 g", "tasting menu, 24 guests"),
    (2, _FRI, "Moth & Marrow", "amaranth", "30 g", "tasting menu, 24 guests"),
    (2, _FRI, "Upside Ladle", "garden mix", "4 packs", ""),
    (2, _SAT, "Saturday stall", "live radish tray", "1 tray", ""),
    (3, _TUE, "Pickled Otter Bistro", "kale", "80 g", ""),
    (3, _TUE, "Thimble Row Grocer", "radish punnet", "6 packs", "window display"),
    (3, _FRI, "Ninepenny Supper Club", "basil", "40 g", ""),
    (3, _FRI, "Ninepenny Supper Club", "cilantro", "40 g", ""),
    (3, _SAT, "our own table", "broccoli", "95 g", "visitors"),
    (4, _TUE, "Upside Ladle", "soup mix", "0.2 kg", ""),
    (4, _TUE, "Moth & Marrow", "mustard", "60 g", ""),
    (4, _FRI, "Upside Ladle", "radish", "100 g", "staff party"),
    (4, _FRI, "Pickled Otter Bistro", "pak choi", "80 g", ""),
    (4, _FRI, "Thimble Row Grocer", "garden mix", "6 packs", "holiday boxes"),
    (4, _FRI, "Thimble Row Grocer", "pea punnet", "4 packs", "holiday boxes"),
    (5, _TUE, "Tin Whistle Canteen", "broccoli", "150 g", ""),
    (5, _TUE, "Upside Ladle", "arugula", "60 g", ""),
    (5, _FRI, "Moth & Marrow", "basil", "40 g", ""),
    (5, _SAT, "our own table", "pea", "150 g", ""),
    (6, _TUE, "Thimble Row Grocer", "fire mix", "4 packs", ""),
    (6, _TUE, "Pickled Otter Bistro", "mizuna", "60 g", ""),
    (6, _FRI, "Moth & Marrow", "amaranth", "40 g", ""),
    (6, _FRI, "Upside Ladle", "live pea tray", "2 trays", "for the counter"),
    (6, _SAT, "Saturday stall", "sunflower punnet", "4 packs", ""),
)  # fmt: skip


def demo_order_sheet(first_day: date) -> str:
    """
    Lantern Loft's order sheet as CSV, with the days of the six weeks after `first_day`.

    Parameters
    ----------
    first_day : date
        The demo's today; every order falls after it, on a Tuesday, Friday or Saturday. Orders for Christmas Day, the
        day after it and New Year's Day come before them instead.

    Returns
    -------
    str
        A heading row and one row for each order line, by day.
    """
    rows = [(_day(first_day, asked[0], asked[1]), asked) for asked in _ASKED]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(_HEADINGS)
    for day, (_, _, customer, item, quantity, note) in sorted(rows, key=lambda row: row[0]):
        writer.writerow((customer, day.isoformat(), item, quantity, note))
    return text.getvalue()


def _day(first_day: date, week: int, weekday: int) -> date:
    """The weekday in a week after the first day (week 1 begins the day after it), before days the farm is shut."""
    begin = first_day + timedelta(days=1 + 7 * (week - 1))
    day = begin + timedelta(days=(weekday - begin.weekday()) % 7)
    while (day.month, day.day) in _CLOSED and day > first_day:
        day -= timedelta(days=1)
    return day
