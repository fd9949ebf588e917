"""Every operation of the API, its document, and the page that lists them."""

from __future__ import annotations

from itertools import groupby

from starlette.responses import Response

from trayward.web.api import (
    bench,
    book,
    events,
    farm,
    goods,
    learned,
    money,
    orders,
    pictures,
    plans,
    records,
    rounds,
    sensors,
    setup,
    sheets,
    stores,
    supplies,
    tracing,
    trays,
)
from trayward.web.api.document import document
from trayward.web.api.operation import BASE, Operation
from trayward.web.api.view import tag_shown
from trayward.web.ask import Ask
from trayward.web.routing import Way, api, page

OPERATIONS: tuple[Operation, ...] = (
    *farm.OPERATIONS, *rounds.OPERATIONS, *trays.OPERATIONS, *pictures.OPERATIONS, *stores.OPERATIONS,
    *supplies.OPERATIONS, *orders.OPERATIONS, *sheets.OPERATIONS, *goods.OPERATIONS, *plans.OPERATIONS,
    *learned.OPERATIONS, *bench.OPERATIONS, *book.OPERATIONS, *tracing.OPERATIONS, *events.OPERATIONS,
    *records.OPERATIONS, *money.OPERATIONS, *sensors.OPERATIONS, *setup.OPERATIONS,
)  # fmt: skip


def _document(ask: Ask) -> Response:
    return ask.json(document(OPERATIONS))


def _page(ask: Ask) -> Response:
    told = document(OPERATIONS)
    by_tag = sorted(OPERATIONS, key=lambda each: TAGS.index(each.tag))
    groups = tuple(tag_shown(tag, list(each), told) for tag, each in groupby(by_tag, key=lambda each: each.tag))
    return ask.show("api/page.html", groups=groups, base=BASE, errors=told["components"]["schemas"]["ErrorTold"])


TAGS = tuple(dict.fromkeys(each.tag for each in OPERATIONS))

ROUTES: tuple[Way, ...] = (
    page("/api", _page, may="look"),
    api("GET", f"{BASE}/openapi.json", _document, may="look"),
    *(each.way() for each in OPERATIONS),
)
