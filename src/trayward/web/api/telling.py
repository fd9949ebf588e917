"""What every telling carries beside what it says, and the receipt it gets; told twice it gets the same one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Annotated
from uuid import UUID

import msgspec

from trayward.desk.answering import Answered
from trayward.desk.core import Receipt, Said, kept_under
from trayward.desk.naming import names_made
from trayward.errors import ConflictError, Finding, InputError
from trayward.web.ask import Ask
from trayward.web.heard import Heard

Moment = Annotated[datetime, msgspec.Meta(tz=True)]
"""With its offset from UTC."""
Name = Annotated[str, msgspec.Meta(min_length=1, max_length=200, pattern=r"^[^\x00-\x1f]+$")]
Words = Annotated[str, msgspec.Meta(max_length=4000, pattern=r"^[^\x00]*$")]
"""Written freely."""
Names = Annotated[tuple[Name, ...], msgspec.Meta(min_length=1, max_length=2000)]
Grams = Annotated[float, msgspec.Meta(ge=0, le=1e7)]
"""[g]"""
Millilitres = Annotated[float, msgspec.Meta(ge=0, le=1e6)]
"""[ml]"""
Count = Annotated[int, msgspec.Meta(ge=1, le=100_000)]
EARLIEST = datetime(2000, 1, 1, tzinfo=UTC)


class Telling(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What is said to the farm. Its own fields come beside these three."""

    id: UUID | None = None
    """Made by who sends it: the same one sent twice changes nothing, and gets the same receipt."""
    at: Moment | None = None
    """When it happened; now, where it is left out."""
    sure: bool = False
    """Keep it although it looks mistyped (an error of the kind `doubt` said so)."""


class KeptEntry(msgspec.Struct, frozen=True, kw_only=True):
    """An entry that came of a telling."""

    id: str
    seq: int
    """Its number in the book."""
    kind: str
    at: datetime
    by: str


class FindingTold(msgspec.Struct, frozen=True, kw_only=True):
    """Something that deserves a look; it was kept all the same."""

    code: str
    severity: str
    """wrong: cannot have been so. odd: can be."""
    message: str
    remedy: str
    entries: tuple[str, ...]


class OtherTold(msgspec.Struct, frozen=True, kw_only=True):
    """Somebody else's answer to the same row."""

    by: str
    at: datetime
    entries: tuple[str, ...]


class Kept(msgspec.Struct, frozen=True, kw_only=True):
    """What was kept. Sent again with the same `id`, entries and names are the same; findings are told once."""

    entries: tuple[KeptEntry, ...]
    names: tuple[str, ...] = ()
    """Names it made: of a sowing and its trays, a harvest lot, a pack lot, a delivery, an order."""
    findings: tuple[FindingTold, ...] = ()
    others: tuple[OtherTold, ...] = ()
    """Of a row: who answered it, too."""
    as_words: bool = False
    """Of a row: it was done already, so this was kept as a note and changes nothing more."""


def said_of(ask: Ask, told: Telling) -> Said:
    """How a telling is said to the farm. Raises `InputError` for a moment that cannot be meant."""
    at = told.at or ask.at
    if at < EARLIEST:
        raise InputError("at", at.isoformat(), "lies before there were farms of this kind", "Check the year.")
    if at > ask.now and at > ask.at:
        raise InputError("at", at.isoformat(), f"it cannot lie ahead of now, {ask.now.isoformat()}", "Check the clock.")
    ids = [str(told.id)] if told.id is not None else None
    return {"at": at, "by": ask.who.name, "recorded": ask.now, "ids": ids, "sure": told.sure}


def earlier_receipt(ask: Ask, told: Telling, kinds: Sequence[str] = ()) -> Kept | None:
    """The receipt of the same telling sent before; None for one that is new. `kinds`: what its first entry may be.

    Raises
    ------
    ConflictError
        If that id is somebody else's, of another moment or says another thing: then it is not the same telling. Of
        figures and names that differ that is known as long as these pages run.
    """
    if told.id is None:
        return None
    kept = kept_under(ask.farm.book, [str(told.id)])
    if not kept:
        return None
    first = kept[0].entry
    other = bool(kinds) and first.kind not in kinds
    other = other or not heard_of(ask).alike(str(told.id), _what(ask, told))
    if other or first.by != ask.who.name or (told.at is not None and first.at != told.at):
        raise ConflictError(f"id = {told.id}: another entry has it. Nothing was kept; make a new one.")
    return receipt_of(Receipt(kept=kept))


def note_heard(ask: Ask, told: Telling) -> None:
    """Remember what was kept under an id."""
    if told.id is not None:
        heard_of(ask).note(str(told.id), _what(ask, told))


def heard_of(ask: Ask) -> Heard:
    """What these pages heard of programs."""
    heard: Heard = ask.request.app.state.house.heard
    return heard


def _what(ask: Ask, told: Telling) -> bytes:
    """What a telling says, without when it happened and whether anybody was sure."""
    return ask.request.url.path.encode() + msgspec.json.encode(msgspec.structs.replace(told, at=None, sure=False))


def receipt_of(found: Receipt | Answered) -> Kept:
    """A receipt of the desk as programs are told of it."""
    others: tuple[OtherTold, ...] = ()
    as_words = False
    if isinstance(found, Answered):
        others = tuple(OtherTold(by=each.by, at=each.at, entries=each.ids) for each in found.others)
        as_words, found = found.as_words, found.receipt
    entries = tuple(
        KeptEntry(id=one.entry.id, seq=one.seq, kind=one.entry.kind, at=one.entry.at, by=one.entry.by)
        for one in found.kept
    )
    return Kept(
        entries=entries, names=names_made(each.entry.body for each in found.kept),
        findings=tuple(finding_told(each) for each in found.findings), others=others, as_words=as_words,
    )  # fmt: skip


def finding_told(finding: Finding) -> FindingTold:
    """A finding as programs are told of it."""
    return FindingTold(
        code=finding.code, severity=finding.severity, message=finding.message, remedy=finding.remedy,
        entries=finding.entries,
    )  # fmt: skip
