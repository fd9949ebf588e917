"""Entries and states as bytes, and back.

The book keeps an entry as canonical JSON: keys sorted, no spaces, times in UTC. The same entry always gives the same
bytes, whoever says it, so the book can chain hashes over them. Entries written by an older Trayward are lifted to
today's shape when they are read; the bytes in the book stay as they are.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, datetime
from decimal import Decimal
from numbers import Integral, Real
from typing import Any

import msgspec

from trayward.errors import BookError, InputError
from trayward.farm.entries import KINDS, Body, Entry, PlanKept
from trayward.farm.state import FarmState

Lift = Callable[[dict[str, Any]], dict[str, Any]]


def as_it_was(body: dict[str, Any]) -> dict[str, Any]:
    """The next version only has more to say; what it says when nothing is said is how it was."""
    return body


LIFTS: dict[tuple[str, int], Lift] = {
    ("kit set", 1): as_it_was,
    ("sowing made", 1): as_it_was,
    ("washed", 1): as_it_was,
    ("sanitised", 1): as_it_was,
    ("kit returned", 1): as_it_was,
    ("price list set", 1): as_it_was,
    ("recall kept", 1): as_it_was,
    ("record habit set", 1): as_it_was,
}
"""(kind, version it lifts from) -> body of that version to body of the next."""


class _Written(msgspec.Struct, frozen=True, kw_only=True):
    """An entry as it is written."""

    id: str
    at: datetime
    recorded: datetime
    by: str
    kind: str
    version: int
    body: Body


class _Read(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An entry as it is read, before its kind is known."""

    id: str
    at: datetime
    recorded: datetime
    by: str
    kind: str
    version: int
    body: msgspec.Raw


def _plain_number(value: Any) -> int | float:
    """A number of another library (numpy's) as one of Python's. Raises `TypeError` for what is none."""
    if isinstance(value, Integral):
        return int(value)
    if isinstance(value, Real):
        return float(value)
    raise TypeError(f"{type(value).__name__} is neither text nor a number nor a list of them")


_ENCODER = msgspec.json.Encoder(order="sorted", enc_hook=_plain_number)
_READER = msgspec.json.Decoder(_Read)
_BODIES: dict[str, msgspec.json.Decoder[Body]] = {kind: msgspec.json.Decoder(body) for kind, body in KINDS.items()}
_STATE_ENCODER = msgspec.json.Encoder()
_STATE_DECODER = msgspec.json.Decoder(FarmState)


# Entries --------------------------------------------------------------------------------------------------------------


def encode_entry(entry: Entry) -> bytes:
    """
    An entry as canonical JSON.

    Whole numbers in fields of amounts are written as amounts (`20` as `20.0`) and times in UTC, so
    `encode_entry(decode_entry(encode_entry(entry)))` is always the same bytes.

    Raises
    ------
    InputError
        If the entry holds something the book cannot keep: a time without offset, a number that is none.
    """
    return _write(normal(entry))


def normal(entry: Entry) -> Entry:
    """The entry as the book will give it back: times in UTC, amounts as floats. Raises as `encode_entry` does."""
    _require_finite(entry.kind, entry.body)
    try:
        return _read(_write(entry))
    except (msgspec.DecodeError, UnicodeEncodeError, TypeError) as err:
        said = f"{entry.kind}, {entry.id}"
        raise InputError("entry", said, f"the book cannot keep it: {err}", "Say it with a value of that kind.") from err


def decode_entry(data: bytes) -> Entry:
    """
    An entry from the bytes `encode_entry` gave, today or in an older version.

    Raises
    ------
    BookError
        If the bytes are no entry, or one of a kind or version this Trayward does not know.
    """
    try:
        return _read(data)
    except (msgspec.DecodeError, UnicodeDecodeError) as err:
        raise BookError(f"entry = {_glimpse(data)}: cannot be read: {err}. Restore the book from a backup.") from err


def _write(entry: Entry) -> bytes:
    body = entry.body
    if isinstance(body, PlanKept):
        body = PlanKept(plan=msgspec.Raw(_ENCODER.encode(msgspec.json.decode(body.plan))))
    return _ENCODER.encode(
        _Written(
            id=entry.id,
            at=_utc(entry.at, "at"),
            recorded=_utc(entry.recorded, "recorded"),
            by=entry.by,
            kind=body.KIND,
            version=body.VERSION,
            body=body,
        )
    )


def _read(data: bytes) -> Entry:
    read = _READER.decode(data)
    decoder = _BODIES.get(read.kind)
    if decoder is None:
        raise BookError(f"entry {read.id} = kind {read.kind!r}: this Trayward does not know it. Use a newer Trayward.")
    newest = KINDS[read.kind].VERSION
    body = decoder.decode(read.body if read.version == newest else _lifted(read, newest))
    at, recorded = _utc(read.at, "at"), _utc(read.recorded, "recorded")
    return Entry(id=read.id, at=at, recorded=recorded, by=read.by, body=body)


def _lifted(read: _Read, newest: int) -> bytes | msgspec.Raw:
    """The body brought to the newest version, one step at a time."""
    thing = f"entry {read.id} = {read.kind!r} version {read.version}"
    if read.version > newest:
        raise BookError(f"{thing}: this Trayward knows up to version {newest}. Use a newer Trayward.")
    lifts = [LIFTS.get((read.kind, version)) for version in range(read.version, newest)]
    if None in lifts:
        version = read.version + lifts.index(None)
        raise BookError(f"{thing}: nothing lifts it from version {version}. Restore the book from a backup.")
    if all(lift is as_it_was for lift in lifts):  # long books are full of these
        return read.body
    body: dict[str, Any] = msgspec.json.decode(read.body)
    for lift in lifts:
        assert lift is not None
        body = lift(body)
    return _ENCODER.encode(body)


def _utc(moment: datetime, name: str) -> datetime:
    if moment.tzinfo is None:
        raise InputError(name, moment.isoformat(), "a time needs its offset", "Give it the farm's time zone.")
    return moment.astimezone(UTC)


def _require_finite(name: str, value: object) -> None:
    """JSON has no word for these numbers; they would come back as blanks."""
    if isinstance(value, float | Decimal):
        if not math.isfinite(value):
            raise InputError(name, value, "must be a number that can be measured", "Leave it out if it is not known.")
    elif isinstance(value, msgspec.Struct):
        for field in value.__struct_fields__:
            _require_finite(field, getattr(value, field))
    elif isinstance(value, tuple):
        for part in value:
            _require_finite(name, part)


def _glimpse(data: bytes) -> str:
    return data[:60].decode("utf-8", "replace") + ("..." if len(data) > 60 else "")


# States ---------------------------------------------------------------------------------------------------------------


def encode_state(state: FarmState) -> bytes:
    """
    A state as JSON; folding the same entries always gives the same bytes.

    Fields come in the order they are declared, named things in the order they came into the book (trays as they were
    sown, which the rounds rely on), sets sorted.
    """
    fields = msgspec.structs.asdict(state)
    return _STATE_ENCODER.encode(
        {name: sorted(value) if isinstance(value, set) else value for name, value in fields.items()}
    )


def decode_state(data: bytes) -> FarmState:
    """A state from the bytes `encode_state` gave. Raises `BookError` for bytes of another shape."""
    try:
        return _STATE_DECODER.decode(data)
    except (msgspec.DecodeError, UnicodeDecodeError) as err:
        raise BookError(f"checkpoint = {_glimpse(data)}: cannot be read: {err}. Rebuild it from the book.") from err
