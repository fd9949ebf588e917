"""Entries of the book as tracing events of EPCIS 2.0: what was received, sown, cut, packed, shipped, thrown away.

What becomes of something else is a transformation (seed to trays, trays to a harvest lot, lots to packs); all else is
an object event. Who did it, prices and notes stay at home.

References
----------
GS1 EPCIS 2.0, sections 7.4.1 to 7.4.6, and GS1 Core Business Vocabulary 2.0, business steps and dispositions: the words
as in GS1's JSON Schema, github.com/gs1/EPCIS, EPCIS-JSON-Schema.json. UN/ECE Recommendation 20: `GRM` is the gram.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime, timedelta
from typing import Any, Final

from trayward.exchange.event_hash import event_id, event_time
from trayward.exchange.names import Names
from trayward.farm.calendar import zone
from trayward.farm.entries import (
    Body,
    Cut,
    Delivered,
    Discarded,
    Entry,
    Packed,
    RecallKept,
    SeedReceived,
    SowingMade,
    ThrownAway,
)
from trayward.farm.state import FarmState
from trayward.trace.balance import is_sample
from trayward.trace.record import grams_by_lot, loose_in, packs_by_lot, packs_in

Event = dict[str, Any]
GRAM: Final = "GRM"
KINDS: Final = (SeedReceived, SowingMade, Cut, Packed, Delivered, ThrownAway, Discarded, RecallKept)
"""The kinds of entry that are told to others."""


def event_of(entry: Entry, names: Names, state: FarmState) -> Event | None:
    """
    An entry as an event; None for one that others are not told.

    Parameters
    ----------
    entry : Entry
        One of `KINDS`; of others nothing comes.
    names : Names
        How the farm calls things.
    state : FarmState
        For the products of packs and whose own table a delivery went to.

    Returns
    -------
    dict
        The event, with its id.
    """
    make = _MADE.get(type(entry.body))
    told = make(entry.body, names, state) if make is not None else None
    if told is None:
        return None
    event: Event = {
        "type": told.pop("type"), "eventTime": event_time(entry.at), "eventTimeZoneOffset": _offset(entry.at, names),
        **told,
    }  # fmt: skip
    event["eventID"] = event_id(event)
    event["recordTime"] = event_time(entry.recorded)
    return event


def declared_wrong(event: Event, at: datetime, instead: tuple[str, ...]) -> Event:
    """
    An event that was taken back: the same again, with the word that it is wrong.

    Parameters
    ----------
    at : datetime
        When it was taken back.
    instead : tuple of str
        Ids of the events that say it right; none: it never happened.
    """
    reason = "incorrect_data" if instead else "did_not_occur"
    declaration: Event = {"declarationTime": event_time(at), "reason": reason}
    if instead:
        declaration["correctiveEventIDs"] = list(instead)
    return event | {"errorDeclaration": declaration}


def _offset(at: datetime, names: Names) -> str:
    """What the farm's wall clock was ahead of UTC: `+01:00`."""
    ahead = at.astimezone(zone(names.settings)).utcoffset() or timedelta()
    minutes = round(ahead.total_seconds() / 60)
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02}:{abs(minutes) % 60:02}"


# One kind of entry each -----------------------------------------------------------------------------------------------


def _received(body: SeedReceived, names: Names, state: FarmState) -> Event | None:  # noqa: ARG001
    if body.expected_on is not None:
        return None
    told = _object("OBSERVE", "receiving", "in_progress", names)
    told["quantityList"] = _weighed({names.seed(body.lot): body.grams})
    if body.supplier:
        told["sourceList"] = [{"type": "possessing_party", "source": names.customer(body.supplier)}]
        told["destinationList"] = [{"type": "possessing_party", "destination": names.self()}]
    return told


def _sown(body: SowingMade, names: Names, state: FarmState) -> Event:  # noqa: ARG001
    seed = {names.seed(used.lot): 0.0 for used in body.lots}
    for used in body.lots:
        seed[names.seed(used.lot)] += used.grams
    told = _transformed("commissioning", "in_progress", names)
    inputs = {"inputQuantityList": _weighed(seed)} if seed else {"transformationID": names.sowing(body.sowing)}
    return told | inputs | {"outputEPCList": [names.tray(each.tray) for each in body.trays]}


def _cut(body: Cut, names: Names, state: FarmState) -> Event:  # noqa: ARG001
    trays = list(dict.fromkeys(names.tray(each.tray) for each in body.trays))
    told = _transformed("creating_class_instance", "in_progress", names)
    told["inputEPCList"] = trays
    told["outputQuantityList"] = _weighed({names.harvest(body.harvest): sum(each.grams for each in body.trays)})
    # A tray that grows again goes in and comes out: it is not used up.
    return told | ({"outputEPCList": trays} if body.regrow else {})


def _packed(body: Packed, names: Names, state: FarmState) -> Event:  # noqa: ARG001
    told = _transformed("creating_class_instance", "sellable_not_accessible", names)
    told["inputQuantityList"] = _weighed({names.harvest(lot): grams for lot, grams in grams_by_lot(body.parts).items()})
    told["outputQuantityList"] = [{"epcClass": names.pack(body.pack, body.product), "quantity": body.packs}]
    if body.best_before is not None:
        told["ilmd"] = {"cbvmda:bestBeforeDate": body.best_before.isoformat()}
    return told


def _delivered(body: Delivered, names: Names, state: FarmState) -> Event:
    held = state.customers.get(body.customer)
    if held is not None and held.home:
        return _object("DELETE", "decommissioning", "inactive", names, stays=False) | _contents(body, names, state)
    told = _object("OBSERVE", "shipping", "in_transit", names, stays=False) | _contents(body, names, state)
    orders = dict.fromkeys(names.order(line.line.rpartition("/")[0] or line.line) for line in body.lines)
    papers = [{"type": "po", "bizTransaction": order} for order in orders]
    papers += [{"type": "desadv", "bizTransaction": names.note(body.document)}] if body.document else []
    return told | {
        "bizTransactionList": papers,
        "sourceList": [{"type": "possessing_party", "source": names.self()}],
        "destinationList": [{"type": "possessing_party", "destination": names.customer(body.customer)}],
    }


def _contents(body: Delivered, names: Names, state: FarmState) -> Event:
    trays = list(dict.fromkeys(names.tray(tray) for line in body.lines for tray in line.trays))
    packs = _counted(packs_in(body), names, state)
    loose = _weighed({names.harvest(lot): grams for lot, grams in loose_in(body).items()})
    return _things(trays, packs + loose)


def _thrown(body: ThrownAway, names: Names, state: FarmState) -> Event:
    loose = _weighed({names.harvest(lot): grams for lot, grams in grams_by_lot(body.parts).items()})
    packs = _counted(packs_by_lot(body.packs), names, state)
    step = "sampling" if is_sample(body.reason) else "destroying"
    return _object("DELETE", step, "destroyed", names, stays=False) | _things([], packs + loose)


def _discarded(body: Discarded, names: Names, state: FarmState) -> Event:  # noqa: ARG001
    trays = list(dict.fromkeys(names.tray(tray) for tray in body.trays))
    return _object("DELETE", "destroying", "destroyed", names, stays=False) | _things(trays, [])


def _recalled(body: RecallKept, names: Names, state: FarmState) -> Event | None:
    """What was called back in earnest; one that was only tried out is told nobody."""
    recall = body.recall
    lots = {names.harvest(lot): state.harvests[lot].grams for lot in recall.harvests if lot in state.harvests}
    packs = {name: state.packs[name].packs for name in recall.packs if name in state.packs}
    held = _counted(packs, names, state) + _weighed(lots)
    if recall.exercise or not held:
        return None
    return _object("OBSERVE", "holding", "recalled", names, stays=False) | _things([], held)


# Parts of them --------------------------------------------------------------------------------------------------------


def _object(action: str, step: str, disposition: str, names: Names, *, stays: bool = True) -> Event:
    told: Event = {"type": "ObjectEvent", "action": action, "bizStep": step, "disposition": disposition}
    return told | _where(names, stays=stays)


def _transformed(step: str, disposition: str, names: Names) -> Event:
    told: Event = {"type": "TransformationEvent", "bizStep": step, "disposition": disposition}
    return told | _where(names, stays=True)


def _where(names: Names, *, stays: bool) -> Event:
    """Where it happened; and where the things are from then on, if they stay."""
    place = {"id": names.farm()}
    return {"readPoint": place} | ({"bizLocation": place} if stays else {})


def _things(single: list[str], amounts: list[Event]) -> Event:
    return ({"epcList": single} if single or not amounts else {}) | ({"quantityList": amounts} if amounts else {})


def _weighed(grams: Mapping[str, float]) -> list[Event]:
    return [{"epcClass": uri, "quantity": _figure(amount), "uom": GRAM} for uri, amount in grams.items()]


def _counted(packs: Mapping[str, int], names: Names, state: FarmState) -> list[Event]:
    held = state.packs
    return [
        {"epcClass": names.pack(name, held[name].product if name in held else ""), "quantity": number}
        for name, number in packs.items()
    ]


def _figure(amount: float) -> float:
    """Grams to the milligram: sums of scale readings carry no more. [g]"""
    rounded = round(amount, 3)
    return int(rounded) if rounded == int(rounded) else rounded


Make = Callable[[Any, Names, FarmState], Event | None]
_MADE: Final[dict[type[Body], Make]] = {
    SeedReceived: _received, SowingMade: _sown, Cut: _cut, Packed: _packed, Delivered: _delivered,
    ThrownAway: _thrown, Discarded: _discarded, RecallKept: _recalled,
}  # fmt: skip


def same_thing(entry: Entry) -> str:
    """What an entry brings about, as the book files it: a later entry about it may say right what was struck."""
    body = entry.body
    if isinstance(body, SeedReceived):
        return f"lot:{body.lot}"
    if isinstance(body, SowingMade):
        return f"sowing:{body.sowing}"
    if isinstance(body, Cut):
        return f"harvest:{body.harvest}"
    if isinstance(body, Packed):
        return f"pack:{body.pack}"
    return f"delivery:{body.delivery}" if isinstance(body, Delivered) else ""


def told_events(entries: Iterator[Entry], names: Names, state: FarmState) -> Iterator[tuple[Entry, Event]]:
    """The events of some entries, with the entries they come of."""
    for entry in entries:
        if isinstance(entry.body, KINDS) and (event := event_of(entry, names, state)) is not None:
            yield entry, event
