"""The words of order sheets: headings as people write them, days in the ways they are written, numbers with commas."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Literal

from trayward.desk.sheets.order_words import unit_word

FIELDS = ("customer", "product", "quantity", "unit", "due", "price", "note", "repeat", "order")
"""What a column of an order sheet may hold."""
DayOrder = Literal["", "dmy", "mdy"]

_HEADINGS = {
    "customer": "customer client buyer account restaurant shop who name kunde cliente klant kundin"
    "|customer name|client name|deliver to|delivered to|ship to|sold to",
    "product": "product crop item variety what microgreen microgreens greens description produkt sorte produit producto"
    " article artikel|product name|item name",
    "quantity": "quantity qty amount weight number count ordered menge anzahl quantité quantite cantidad aantal"
    "|how much|how many|quantity ordered",
    "unit": "unit units uom measure einheit unité unite unidad eenheid|unit of measure",
    "due": "due date day when delivery needed datum lieferdatum liefertag fecha livraison"
    "|due date|due on|delivery date|delivery day|deliver on|needed by|needed on|date due|date de livraison",
    "price": "price rate preis prix precio prijs total value|unit price|price each|line total|total price|price per",
    "note": "note notes comment comments remark remarks bemerkung notiz anmerkung remarque nota|special instructions",
    "repeat": "repeat repeats recurring frequency every standing rhythm|how often|standing order",
    "order": "order ref reference po bestellung bestellnummer pedido"
    "|order no|order number|order id|po number|order ref",
}
_IGNORED = {
    "order date",
    "ordered on",
    "date ordered",
    "entered",
    "phone",
    "email",
    "e mail",
    "address",
    "invoice",
    "id",
}
"""Headings that look like ours and are not."""

_TOTALS = ("total", "totals", "sum", "subtotal", "grand total", "summe", "gesamt", "suma", "somme")


def says_total(cells: Iterable[object]) -> bool:
    """Whether a row sums up others and asks for nothing itself."""
    return any(isinstance(cell, str) and _plain(cell) in _TOTALS for cell in cells)


def _synonyms() -> dict[str, str]:
    found: dict[str, str] = {}
    for field, words in _HEADINGS.items():
        singles, *phrases = words.split("|")
        found |= dict.fromkeys([*singles.split(), *phrases], field)
    return found


SYNONYMS = _synonyms()
"""Heading -> field."""


def header_field(text: str) -> tuple[str, str]:
    """
    Which field a heading means, and the unit it names, each empty where it does not.

    Examples
    --------
    >>> header_field("Quantity (g)")
    ('quantity', 'g')
    >>> header_field("Price per kg")
    ('price', 'kg')
    >>> header_field("Grams")
    ('quantity', 'grams')
    """
    plain = text.casefold()
    inside = re.search(r"[(\[]([^)\]]*)[)\]]|(?:\bper\b|/)\s*(100 ?g|[a-z]+)\s*$", plain)
    unit = next((part.strip() for part in inside.groups() if part), "") if inside else ""
    bare = _plain(plain[: inside.start()] if inside else plain)
    if bare in _IGNORED:
        return "", ""
    field = SYNONYMS.get(bare, "")
    if not field and unit_word(bare) is not None:
        return "quantity", bare
    return field, _unit_named(unit)


def _unit_named(unit: str) -> str:
    """The unit word in what stands in brackets or after "per", for instance "€/kg" is `kg`; empty: none."""
    if re.search(r"100 ?g$", unit):
        return "100 g"
    last = re.split(r"[/ ]", unit)[-1]
    return last if last in ("each",) or unit_word(last) is not None else ""


def _plain(text: str) -> str:
    return " ".join(re.sub(r"[^\w]+", " ", text.casefold()).split())


# Days -----------------------------------------------------------------------------------------------------------------

_NUMERIC_DAY = re.compile(r"(\d{1,2})([/.-])(\d{1,2})\2(\d{4}|\d{2})")
_SERIAL = (36526.0, 73050.0)
"""Excel's day numbers of 2000-01-01 and 2099-12-31."""
_EXCEL_ZERO = date(1899, 12, 30)
_NAMED_DAYS = ("%d %b %Y", "%d %B %Y", "%b %d %Y", "%B %d %Y")


def slashed(cell: object) -> tuple[int, int] | None:
    """The first two numbers of a day such as 3/4/2026 or 3-4-26, whose order is not sure; None for anything else."""
    found = _NUMERIC_DAY.fullmatch(_without_weekday(cell)) if isinstance(cell, str) else None
    return (int(found[1]), int(found[3])) if found and found[2] != "." else None


def read_day(cell: object, order: DayOrder = "") -> date | None:
    """
    The day a cell means, or None where it means none, or either of two.

    Parameters
    ----------
    cell : object
        A day, an Excel day number, or words: 2026-12-04, 4.12.2026, 4 Dec 2026, 4/12/2026.
    order : {"", "dmy", "mdy"}
        What comes first in 4/12/2026; empty: only days that can be read in one way.
    """
    if isinstance(cell, date):
        return cell
    if isinstance(cell, float):
        return _EXCEL_ZERO + timedelta(days=int(cell)) if _SERIAL[0] <= cell <= _SERIAL[1] else None
    if not isinstance(cell, str):
        return None
    text = _without_weekday(cell)
    if re.fullmatch(r"[3-7]\d{4}", text):
        return read_day(float(text))
    if found := _NUMERIC_DAY.fullmatch(text):
        return _numeric_day(int(found[1]), int(found[3]), int(found[4]), "dmy" if found[2] == "." else order)
    for form in ("%Y-%m-%d", "%Y/%m/%d", "%Y%m%d", *_NAMED_DAYS):
        try:
            return datetime.strptime(text.replace(",", ""), form).date()  # noqa: DTZ007  a day has no zone
        except ValueError:
            continue
    return None


def _without_weekday(cell: str) -> str:
    """Without the weekday before it and the time of day after it, which some programs write."""
    text = re.sub(r"^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,? +", "", cell.strip(), flags=re.IGNORECASE)
    return re.sub(r"[T ]\d{1,2}:\d\d(?::\d\d)?$", "", text)


def _numeric_day(first: int, second: int, year: int, order: DayOrder) -> date | None:
    if not order and first <= 12 and second <= 12 and first != second:
        return None
    day, month = (second, first) if order == "mdy" or (not order and second > 12) else (first, second)
    try:
        return date(year if year > 99 else 2000 + year, month, day)
    except ValueError:
        return None


# Numbers --------------------------------------------------------------------------------------------------------------


def plain_number(text: str, decimal: str) -> str:
    """Words with their numbers brought to the form 1234.5, given which sign marks the decimals."""
    thousands = "." if decimal == "," else ","
    bare = re.sub(rf"(?<=\d)[{re.escape(thousands)}' ](?=\d{{3}}(?!\d))", "", text)
    return re.sub(r"(?<=\d),(?=\d)", ".", bare) if decimal == "," else bare


def read_price(cell: object, decimal: str) -> float | None:
    """The number of a price such as "€4.20" or "4,20 EUR"; None where there is not exactly one."""
    if isinstance(cell, float):
        return cell
    found = re.findall(r"\d+(?:\.\d+)?", plain_number(str(cell), decimal))
    return float(found[0]) if len(found) == 1 else None
