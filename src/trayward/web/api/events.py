"""Tracing events for a buyer's program, as EPCIS 2.0."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import msgspec

from trayward.errors import InputError
from trayward.web.api.operation import look
from trayward.web.ask import Ask

MOST_DAYS = 92
"""So many days are told at once. [d]"""


class EventsAsked(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """From which day to which, both included."""

    first: date | None = None
    """A week back, where it is left out."""
    last: date | None = None
    """Today, where it is left out."""


def _events(ask: Ask, asked: EventsAsked) -> msgspec.Raw:
    last = asked.last or ask.today
    first = asked.first or last - timedelta(days=7)
    if not first <= last <= first + timedelta(days=MOST_DAYS):
        raise InputError("last", last.isoformat(), f"must lie within {MOST_DAYS} days of the first", "Ask for less.")
    return msgspec.Raw(b"".join(ask.farm.tracing_document(at=ask.at, first=first, last=last)))


OPERATIONS = (
    look("/exchange/events", _events, dict[str, Any], "tracing",
         "Tracing events of some days, an EPCIS 2.0 document in JSON-LD.", takes=EventsAsked, may="run"),
)  # fmt: skip
