"""Bench: a page for each bench, a page for each sum; nothing is kept."""

from __future__ import annotations

from typing import Any

import msgspec
from starlette.responses import Response

from trayward.errors import InputError, NotFoundError, TraywardError
from trayward.farm.settings import US
from trayward.farm.state import FarmState
from trayward.web.ask import Ask
from trayward.web.bench import work
from trayward.web.bench.fields import (
    FieldShown,
    example_of,
    field_meant,
    fields_shown,
    lacking,
    offers_of,
    values_of,
)
from trayward.web.bench.given import OfPage, farm_says
from trayward.web.bench.sums.declared import BENCHES, Answer, Bench, Sum, TextFile, bench_named
from trayward.web.bench.view import AnswerShown, shown
from trayward.web.bench.words import TITLES, label_of, page_words
from trayward.web.routing import UPLOAD_LIMIT, act, page
from trayward.web.typed import Typed
from trayward.web.work import Long

PART = "trayward-part"
"""The header of a script that only wants the answer."""


class Reply(msgspec.Struct, frozen=True, kw_only=True):
    """What stands below the form."""

    answer: AnswerShown | None = None
    lacks: tuple[str, ...] = ()
    """Labels of fields that are needed first."""
    wrong: str = ""
    field: str = ""
    """The field that was wrong."""
    long: Long[Answer] | None = None


def benches(ask: Ask) -> Response:
    """Every bench with its sums."""
    return ask.show("bench/benches.html", benches=[bench_named(name) for name in BENCHES], titles=TITLES)


def bench(ask: Ask) -> Response:
    """One bench: its sums as a list."""
    found = _bench(ask)
    return ask.show("bench/bench.html", bench=found, title=TITLES[found.name])


def one_sum(ask: Ask) -> Response:
    """A sum: its form, and its answer where there is enough to work it out."""
    return _page(ask, ask.query)


def sent_sum(ask: Ask) -> Response:
    """The same for a form that sends a file."""
    return _page(ask, ask.form)


def _page(ask: Ask, typed: Typed) -> Response:
    found, each = _sum(ask)
    given = OfPage(ask)
    reply = reply_of(ask, found.name, each, typed, given)
    common: dict[str, Any] = {"bench": found, "sum": each, "reply": reply, "what": dict(found.answers)[each.name]}
    if ask.request.headers.get(PART) == "answer":
        return ask.show("bench/answer.html", **common)
    fields = _fields(found.name, each, typed, given, reply)
    return ask.show(
        "bench/sum.html",
        **common,
        title=TITLES[found.name],
        main=[field for field in fields if field.main],
        more=[field for field in fields if not field.main],
        more_open=any(field.value and not field.main and field.name != "us" for field in fields),
        sends_file=any(isinstance(field.type, TextFile) for field in each.fields),
        example=example_of(each),
    )


def _fields(bench: str, each: Sum, typed: Typed, given: OfPage, reply: Reply) -> tuple[FieldShown, ...]:
    state: FarmState | None = given.state if given.has_farm else None
    farm = farm_says(bench, each, given)
    return fields_shown(bench, each, typed, offers_of(bench, state), farm, (reply.field, reply.wrong))


def reply_of(ask: Ask, bench: str, each: Sum, typed: Typed, given: OfPage) -> Reply:
    """The answer, or what it still needs, or what was wrong with what was typed."""
    lacks = lacking(each, typed)
    if lacks:
        labels = {field.name: label_of(bench, field) for field in each.fields}
        return Reply(lacks=tuple(ask._(labels[name]) for name in lacks))
    blank = not any(field.name in typed or typed.file(field.name) is not None for field in each.fields)
    try:
        values = values_of(each, typed)
        if not given.has_farm and values["us"] is None and ask.units == US:
            values["us"] = True
        if work.is_long(bench, each, typed, has_farm=given.has_farm):
            return _long(ask, bench, each, typed)
        return Reply(answer=shown(bench, each, each.work(given, **values)))
    except TraywardError as error:
        # Before anything is typed nothing is wrong yet.
        return Reply() if blank else _wrong(bench, each, error)


def _wrong(bench: str, each: Sum, error: TraywardError) -> Reply:
    named = error.name if isinstance(error, InputError) else getattr(error, "kind", "")
    field = field_meant(bench, each, named)
    return Reply(wrong=page_words(str(error), bench, each), field=field)


def _long(ask: Ask, bench: str, each: Sum, typed: Typed) -> Reply:
    names = {field.name for field in each.fields}
    words = tuple((name, word) for name, word in typed if name in names and word.strip())
    us = None if ask.units == ask.settings.units else ask.units == US
    long = ask.long("bench sum", bench=bench, task=each.name, words=words, us=us)
    if long.error:
        return Reply(wrong=page_words(long.error, bench, each))
    answer = shown(bench, each, long.value) if long.value is not None else None
    return Reply(answer=answer, long=long)


def _bench(ask: Ask) -> Bench:
    name = ask.path["bench"]
    if name not in BENCHES:
        raise NotFoundError("bench", name, BENCHES)
    return bench_named(name)


def _sum(ask: Ask) -> tuple[Bench, Sum]:
    found = _bench(ask)
    name = ask.path["sum"]
    if name not in found.sums:
        raise NotFoundError("sum", name, tuple(found.sums))
    return found, found.sums[name]


ROUTES = (
    page("/bench", benches, may="look", farmless=True),
    page("/bench/{bench}", bench, may="look", farmless=True),
    page("/bench/{bench}/{sum}", one_sum, may="look", farmless=True),
    act("/bench/{bench}/{sum}", sent_sum, may="look", farmless=True, limit=UPLOAD_LIMIT),
)
