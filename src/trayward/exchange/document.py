"""Tracing events as one EPCIS 2.0 document in JSON-LD, written a piece at a time: a long period never fills memory.

References
----------
GS1 EPCIS 2.0, section 9 (JSON-LD binding); the shape as in GS1's JSON Schema, github.com/gs1/EPCIS,
EPCIS-JSON-Schema.json: `@context`, `schemaVersion`, `creationDate`, `epcisBody.eventList`, and master data in
`epcisHeader`. Names of the master data's attributes: from memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Final

import msgspec

from trayward.exchange.event_hash import PREFIXES, event_time
from trayward.exchange.events import Event
from trayward.exchange.names import VOCABULARY, Named, Names

CONTEXT: Final = ["https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld", PREFIXES]
MEDIA_TYPE: Final = "application/ld+json"
_AT_ONCE: Final = 200
"""Events in one piece."""


def document(events: Iterable[Event], names: Names, at: datetime) -> Iterator[bytes]:
    """
    A document, piece by piece.

    Parameters
    ----------
    events : iterable of dict
        Asked for one after the other, while it is written.
    names : Names
        Those that made the events: what they called goes into the header, which comes last for that.
    at : datetime
        When it is made.
    """
    head = {
        "@context": CONTEXT, "type": "EPCISDocument", "schemaVersion": "2.0", "creationDate": event_time(at),
    }  # fmt: skip
    yield msgspec.json.encode(head)[:-1] + b',"epcisBody":{"eventList":[\n'
    piece: list[bytes] = []
    mark = b""
    for event in events:
        piece.append(mark + msgspec.json.encode(event))
        mark = b",\n"
        if len(piece) >= _AT_ONCE:
            yield b"".join(piece)
            piece = []
    yield b"".join(piece) + b'\n]},"epcisHeader":' + msgspec.json.encode(_header(names.called.values())) + b"}\n"


def _header(called: Iterable[Named]) -> dict[str, object]:
    """What the names in the events are in words."""
    found: dict[str, list[dict[str, object]]] = {}
    for each in called:
        if each.sort in VOCABULARY:
            attribute = "name" if each.sort in ("loc", "party") else "descriptionShort"
            told = [{"id": f"cbvmda:{attribute}", "attribute": each.words}]
            found.setdefault(VOCABULARY[each.sort], []).append({"id": each.uri, "attributes": told})
    listed = [{"type": sort, "vocabularyElementList": elements} for sort, elements in found.items()]
    return {"epcisMasterData": {"vocabularyList": listed}}
