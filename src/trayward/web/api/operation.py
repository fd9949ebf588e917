"""One operation of the API: what it takes and gives as types, from which its view and its description are made."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any, Literal

import msgspec
from starlette.responses import Response

from trayward.bootstrap import FIRST_YEAR, LAST_YEAR
from trayward.errors import InputError, TraywardError
from trayward.web.api.misshapen import misshapen
from trayward.web.api.telling import Kept, Telling, earlier_receipt, note_heard, receipt_of, said_of
from trayward.web.ask import Ask
from trayward.web.faults import fault_of, status_of
from trayward.web.guard import Right
from trayward.web.routing import FORM_LIMIT, Way, api
from trayward.words import as_text

BASE = "/api/1"
LONGEST_NAME = 200
"""So many letters a name in an address may have."""

JSON = "application/json"
FIRST_DAY, LAST_DAY = date(FIRST_YEAR, 1, 1), date(LAST_YEAR, 12, 31)
"""Days beyond these are slips: no farm of ours was there, and sums with them leave the calendar."""


class Nothing(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An operation that is asked nothing."""


class Operation(msgspec.Struct, frozen=True, kw_only=True):
    """One way in for programs."""

    method: Literal["GET", "POST"]
    path: str
    """Behind `/api/1`, with parts as in `/trays/{name:path}`."""
    does: Callable[..., Any]
    """GET: `(ask, query)` to what is told. POST: `(ask, told, said)` to a receipt, or to what is told."""
    may: Right
    tag: str
    summary: str
    takes: type[msgspec.Struct] = Nothing
    """GET: what stands behind the `?`. POST: the JSON that is sent."""
    gives: Any
    """What is answered."""
    status: int = 200
    kinds: tuple[str, ...] = ()
    """What the first entry of a telling may be; empty: of any kind."""
    limit: int = FORM_LIMIT
    """What is sent may weigh. [byte]"""
    steady: bool = False
    """Whether what it tells stays as it is until the book moves or the day is over, and does not go with the minute."""

    @property
    def name(self) -> str:
        """What a generated client calls it."""
        words = re.sub(r"\W+", "_", re.sub(r"\{(\w+)[^}]*\}", r"by_\1", self.path)).strip("_")
        return f"{'get' if self.method == 'GET' else 'do'}_{words}"

    @property
    def parts(self) -> tuple[str, ...]:
        """The named parts of its path."""
        return tuple(re.findall(r"\{(\w+)", self.path))

    def way(self) -> Way:
        """As the pages' application lists it."""

        def view(ask: Ask) -> Response:
            return _answer(self, ask)

        view.__doc__ = self.summary
        return api(self.method, BASE + self.path, view, may=self.may, limit=self.limit)


def look(
    path: str, does: Callable[[Ask, Any], Any], gives: Any, tag: str, summary: str,
    *, takes: type[msgspec.Struct] = Nothing, steady: bool = False, may: Right = "look",
) -> Operation:  # fmt: skip
    """Something to be told."""
    return Operation(
        method="GET", path=path, does=does, may=may, tag=tag, summary=summary, takes=takes, gives=gives, steady=steady
    )


def tell(
    path: str, does: Callable[[Ask, Any, Any], Any], takes: type[msgspec.Struct], tag: str, summary: str,
    *, gives: Any = Kept, may: Right = "answer", status: int = 200, kinds: tuple[str, ...] = (),
    limit: int = FORM_LIMIT,
) -> Operation:  # fmt: skip
    """Something that is said to the farm."""
    return Operation(
        method="POST", path=path, does=does, may=may, tag=tag, summary=summary, takes=takes,
        gives=gives, status=status, kinds=kinds, limit=limit,
    )  # fmt: skip


# One request ----------------------------------------------------------------------------------------------------------


def _answer(operation: Operation, ask: Ask) -> Response:
    try:
        for part in operation.parts:
            _require_name(part, ask.path[part])
        return _told(operation, ask) if operation.method == "GET" else _done(operation, ask)
    except UnreadableError as error:
        return ask.told_wrong(fault_of(error), error.status)
    except TraywardError as error:
        of_an_act = operation.method != "GET" and not operation.parts
        return ask.told_wrong(fault_of(error), status_of(error, of_an_act=of_an_act))
    except OverflowError:
        fault = fault_of(InputError("value", "", "a day or a number is beyond all bounds", "Check what was sent."))
        return ask.told_wrong(fault, 422)


def _told(operation: Operation, ask: Ask) -> Response:
    query = _query(operation, ask)
    mark = _mark(operation, ask)
    headers = {"ETag": mark, "Trayward-Version": ask.version}
    if mark in [each.strip() for each in ask.request.headers.get("if-none-match", "").split(",")]:
        return Response(status_code=304, headers=headers)
    key = ("api", operation.path, tuple(sorted(ask.path.items())), ask.request.url.query, mark)
    body = ask.kept(key, lambda: msgspec.json.encode(operation.does(ask, query), enc_hook=as_text))
    return Response(body, media_type=JSON, headers=headers)


def _mark(operation: Operation, ask: Ask) -> str:
    """What tells one answer from the next to the same question: the book's version, and the day or the minute."""
    until = ask.today.isoformat() if operation.steady else ask.at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M")
    return f'W/"{ask.version}.{until}"'


def _done(operation: Operation, ask: Ask) -> Response:
    told = _body(operation, ask)
    if not isinstance(told, Telling):
        return ask.json(operation.does(ask, told, ask.said), status=operation.status)
    found = earlier_receipt(ask, told, operation.kinds)
    if found is None:
        found = receipt_of(operation.does(ask, told, said_of(ask, told)))
        note_heard(ask, told)
    return ask.json(found, status=operation.status)


# What was sent --------------------------------------------------------------------------------------------------------


class UnreadableError(InputError):
    """What was sent cannot be read at all."""

    def __init__(self, name: str, value: object, rule: str, remedy: str, *, status: int = 400) -> None:
        self.status = status
        super().__init__(name, value, rule, remedy)


def _body(operation: Operation, ask: Ask) -> Any:
    kind = ask.request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != JSON:
        raise UnreadableError("content type", kind or "none", f"it must be {JSON}", "Send JSON.", status=415)
    try:
        plain = msgspec.json.decode(ask.body)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise UnreadableError("body", _glimpse(ask.body), f"this is no JSON ({error})", "See /api.") from error
    try:
        body = msgspec.convert(plain, operation.takes)
    except msgspec.ValidationError as error:
        raise misshapen(error, plain, operation.takes, "body") from error
    _require_days(body)
    return body


def _query(operation: Operation, ask: Ask) -> Any:
    given = ask.request.query_params.multi_items()
    names = [name for name, _ in given]
    for name in names:
        if names.count(name) > 1:
            raise InputError(name, "several", "it is asked once", "Leave the others out.")
    if any("\x00" in word for _, word in given):
        raise InputError("query", "a control character", "is no part of a word", "Leave it out.")
    try:
        query = msgspec.convert(dict(given), operation.takes, strict=False)
    except msgspec.ValidationError as error:
        raise misshapen(error, dict(given), operation.takes, "query") from error
    _require_days(query)
    return query


def _require_days(sent: msgspec.Struct) -> None:
    """Raise `InputError` for a day that cannot be meant."""
    for name in sent.__struct_fields__:
        held = getattr(sent, name)
        for day in held if isinstance(held, tuple) else (held,):
            if isinstance(day, date) and not isinstance(day, datetime) and not FIRST_DAY <= day <= LAST_DAY:
                raise InputError(name, day.isoformat(), f"must lie from {FIRST_DAY} to {LAST_DAY}", "Check the year.")


def _require_name(part: str, name: str) -> None:
    if not 0 < len(name) <= LONGEST_NAME or not name.isprintable():
        raise UnreadableError(
            part, name[:40], f"it must be a name of up to {LONGEST_NAME} letters", "Check the address.", status=404
        )


def _glimpse(body: bytes) -> str:
    return body[:40].decode("utf-8", "replace") or "nothing"
