"""What went wrong, on its way out: one shape for programs, words beside the field for people."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

import msgspec
from starlette.responses import Response

from trayward.errors import (
    Doubt,
    DoubtError,
    InputError,
    NotFoundError,
    RefusedError,
    TakenBackError,
    TraywardError,
    kind_of,
    without_password,
)
from trayward.rounds.restack import NoRoomError, Restack
from trayward.rounds.spoken import spoken

if TYPE_CHECKING:
    from trayward.web.look.locales import Tongue


class ShutError(TraywardError):
    """This person may not do this, or nobody is known to ask."""

    def __init__(self, rule: str, remedy: str, *, status: int = 403) -> None:
        self.rule, self.remedy, self.status = rule, remedy, status
        super().__init__(f"{rule} {remedy}".strip())


class Fault(msgspec.Struct, frozen=True, kw_only=True):
    """What went wrong, as a page or a program is told. In JSON it is `{"error": {...}}`."""

    kind: str
    """input, not found, refused, doubt, conflict, setup, plan, book, shut, fault."""
    thing: str = ""
    """What was wrong: a field, a tray, an entry."""
    value: str = ""
    unit: str = ""
    rule: str = ""
    remedy: str = ""
    sentence: str
    """All of it in words."""
    doubts: tuple[Doubt, ...] = ()
    restack: Restack | None = None
    """Moves that would make the room that was missing."""

    @property
    def field(self) -> str:
        """The thing as a form's field would be called: `seed lot` is `seed_lot`."""
        return as_field(self.thing)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The words line by line, for a page: a refusal may have several."""
        lines = [doubt.sentence() for doubt in self.doubts] or self.sentence.split("\n")
        return tuple(re.sub(r"`([^`]+)`", r"“\1”", line) for line in lines if line)


def as_field(thing: str) -> str:
    """
    A thing as a form's field would be called.

    Examples
    --------
    >>> as_field("seed lot"), as_field("weight-of-tray")
    ('seed_lot', 'weight_of_tray')
    """
    return re.sub(r"\W+", "_", thing.strip().lower()).strip("_")


STATUS = {"not found": 404, "conflict": 409, "book": 503}
"""HTTP's number for errors of a kind; 422 for all others. A conflict and a book out of reach are tried again."""


def status_of(error: TraywardError, *, of_an_act: bool) -> int:
    """HTTP's number; a name that an act does not find was said wrong, while a page that is not there is not found."""
    if isinstance(error, ShutError):
        return error.status
    if of_an_act and isinstance(error, NotFoundError):
        return 422
    return STATUS.get(kind_of(error), 422)


def fault_of(error: TraywardError) -> Fault:
    """An error as it is told. What `--sure` is on the command line is a button here."""
    kind = "shut" if isinstance(error, ShutError) else kind_of(error) or "input"
    said = without_password(str(error))
    if isinstance(error, InputError):
        value = "" if error.value is None else str(error.value)
        return Fault(
            kind=kind, thing=error.name, value=value, unit=error.unit, rule=error.rule, remedy=error.remedy,
            sentence=spoken(said), restack=error.restack if isinstance(error, NoRoomError) else None,
        )  # fmt: skip
    if isinstance(error, TakenBackError):
        return Fault(kind=kind, thing=error.kind, value=error.name, rule=error.rule, remedy=error.remedy, sentence=said)
    if isinstance(error, NotFoundError):
        near = f"Did you mean {' or '.join(error.near)}?" if error.near else ""
        return Fault(kind=kind, thing=error.kind, value=error.name, rule="is not known", remedy=near, sentence=said)
    if isinstance(error, DoubtError):
        return _doubted(error)
    if isinstance(error, RefusedError):
        return Fault(kind=kind, rule=error.findings[0].message, remedy=error.remedy, sentence=said)
    rule, remedy = getattr(error, "rule", ""), getattr(error, "remedy", "")
    return Fault(kind=kind, rule=rule, remedy=remedy, sentence=said)


def _doubted(error: DoubtError) -> Fault:
    first = error.doubts[0]
    return Fault(
        kind="doubt", thing=first.what or first.subject, value=str(first.value), unit=first.unit, rule=first.rule,
        remedy="Correct it, or keep it as it is.", doubts=error.doubts,
        sentence="\n".join(doubt.sentence() for doubt in error.doubts),
    )  # fmt: skip


def as_json(fault: Fault, say: Callable[[str], str] = str) -> bytes:
    """The one shape of what went wrong; `say`: its sentences in the language of who reads them."""
    told: dict[str, Any] = msgspec.to_builtins(fault)
    doubts = [_with_words(doubt, say) for doubt in fault.doubts]
    if fault.restack is None:
        del told["restack"]
    return msgspec.json.encode({"error": told | {"sentence": say(fault.sentence), "doubts": doubts}})


def json_fault(
    fault: Fault, status: int, tongue: Tongue, say: Callable[[str], str], headers: Mapping[str, str] | None = None
) -> Response:
    """The answer that says what went wrong to a program, in a language; `say` makes sentences of it."""
    told = {"Content-Language": tongue.tag, "Vary": "Accept-Language", **(headers or {})}
    return Response(as_json(fault, say), status_code=status, headers=told, media_type="application/json")


def _with_words(doubt: Doubt, say: Callable[[str], str]) -> dict[str, Any]:
    told: dict[str, Any] = msgspec.to_builtins(doubt)
    return told | {"sentence": say(doubt.sentence())}
