"""The pages put together: every feature's ways in, as one application."""

from __future__ import annotations

import json
import logging
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import datetime
from typing import Any

import msgspec
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import BaseRoute, Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from trayward.bootstrap import Farm
from trayward.errors import InputError
from trayward.web.api.routes import ROUTES as API
from trayward.web.ask import Gone, Sent
from trayward.web.bench.routes import ROUTES as BENCH
from trayward.web.book.routes import ROUTES as BOOK
from trayward.web.exchange.routes import ROUTES as EXCHANGE
from trayward.web.faults import Fault, fault_of
from trayward.web.guard import People
from trayward.web.harvest.routes import ROUTES as HARVEST
from trayward.web.held import worth_reading
from trayward.web.home.routes import ROUTES as HOME
from trayward.web.house import API_PATH, House, landed
from trayward.web.learn.routes import ROUTES as LEARN
from trayward.web.look.statics import ASK_FIRST, FOR_EVER
from trayward.web.money.routes import ROUTES as MONEY
from trayward.web.orders.routes import ROUTES as ORDERS
from trayward.web.paper.routes import ROUTES as PAPER
from trayward.web.people.keeper import FarmPeople
from trayward.web.people.routes import ROUTES as PEOPLE
from trayward.web.racks.routes import ROUTES as RACKS
from trayward.web.records.routes import ROUTES as RECORDS
from trayward.web.round.routes import ROUTES as ROUND
from trayward.web.routing import FORM_LIMIT, Way
from trayward.web.rules.routes import ROUTES as RULES
from trayward.web.sensors.routes import ROUTES as SENSORS
from trayward.web.sensors.telling import Tell, Tellers
from trayward.web.sensors.watch import Watch
from trayward.web.setup.routes import ROUTES as SETUP
from trayward.web.shield import HEADERS
from trayward.web.sow.routes import ROUTES as SOW
from trayward.web.stores.routes import ROUTES as STORES
from trayward.web.trace.routes import ROUTES as TRACE
from trayward.web.tray.routes import ROUTES as TRAY
from trayward.web.trouble.routes import ROUTES as TROUBLE
from trayward.web.typed import Upload
from trayward.web.unsent.routes import ROUTES as UNSENT

log = logging.getLogger("trayward.web")

ROUTES: tuple[Way, ...] = (
    *HOME,
    *ROUND,
    *PEOPLE,
    *SETUP,
    *BENCH,
    *SOW,
    *UNSENT,
    *BOOK,
    *LEARN,
    *API,
    *HARVEST,
    *RACKS,
    *TRACE,
    *EXCHANGE,
    *TRAY,
    *TROUBLE,
    *ORDERS,
    *STORES,
    *MONEY,
    *PAPER,
    *RECORDS,
    *RULES,
    *SENSORS,
)
"""Every page and act of every feature. A new feature's `ROUTES` are added here."""

MOST_FIELDS = 3000
MOST_FILES = 20


def create_app(
    book: str | Farm,
    *,
    now: Callable[[], datetime],
    people: People | None = None,
    routes: tuple[Way, ...] = ROUTES,
    warm: bool = False,
    made_ready: Callable[[], object] | None = None,
    tell: Tell | Tellers | None = None,
) -> Starlette:
    """
    The pages of a farm.

    Parameters
    ----------
    book : str or Farm
        Where the book is (a file or a database URL; there need not be one yet), or an open farm, which stays open.
    now : callable
        The clock: gives the present moment, with offset.
    people : People, optional
        Who is who; whom the book knows if left out. Where it knows nobody, only this machine is answered.
    routes : tuple of Way
        Every page and act.
    warm : bool
        Make the farm ready for the first round while the pages open, in a thread that ends with that.
    made_ready : callable, optional
        Called once in that thread when all is ready.
    tell : callable or Tellers, optional
        Told of every alarm of a sensor; the sensors are watched where `warm` is set.

    Returns
    -------
    Starlette
        An ASGI application; its `state.house` is the `House`, its `state.watch` the `Watch` over the sensors.
    """
    own = FarmPeople(book)
    house = House(book, routes, now=now, people=people if people is not None else own)

    house.office.told_by = tell.names if isinstance(tell, Tellers) else ()
    watch = Watch(house.office, now, moved=house.live.nudge, tell=tell)

    @asynccontextmanager
    async def open_hours(app: Starlette) -> AsyncIterator[None]:
        house.office.open()
        await house.live.begin()
        if warm:
            house.warming.begin(made_ready)
            watch.begin()
        listening = getattr(app.state, "listening", None)
        if listening is not None:
            listening.begin()
        try:
            yield
        finally:
            if listening is not None:
                await run_in_threadpool(listening.end)
            await run_in_threadpool(watch.end)
            await house.live.end()
            await run_in_threadpool(house.close)
            await run_in_threadpool(own.close)

    app = Starlette(
        routes=[*(_route(house, way) for way in routes), *_own_routes(house)],
        middleware=[Middleware(Guarded), Middleware(GZipMiddleware, minimum_size=600, compresslevel=5)],
        exception_handlers={HTTPException: _no_such_page(house), Exception: _crashed(house)},
        lifespan=open_hours,
    )
    app.state.house, app.state.watch = house, watch
    return app


def _route(house: House, way: Way) -> Route:
    async def endpoint(request: Request) -> Response:
        sent = Sent()
        if way.method != "GET":
            if _length(request) > way.limit:
                raise HTTPException(413)
            # Who it is comes first: a stranger's upload is not read.
            stranger = way.may != "anyone" and await run_in_threadpool(house.known, request) is None
            if stranger and not worth_reading(way, request.headers, request.cookies):
                return await run_in_threadpool(house.answer, request, way, sent)
            limit = min(way.limit, FORM_LIMIT) if stranger else way.limit
            sent = await _sent(Request(request.scope, _no_longer_than(limit, request.receive)), limit)
        response = await run_in_threadpool(house.answer, request, way, sent)
        return _for_programs(request, way, response)

    return Route(way.path, endpoint, methods=[way.method], name=f"{way.method} {way.path}")


def _length(request: Request) -> int:
    """How long a request says that it is; one that does not say is cut off where it gets too long. [byte]"""
    said = request.headers.get("content-length", "")
    return int(said) if said.isdecimal() else 0


def _no_longer_than(limit: int, receive: Receive) -> Receive:
    """Hear a request's body up to a limit; what goes on beyond it is refused with 413."""
    heard = 0

    async def limited() -> Message:
        nonlocal heard
        message = await receive()
        heard += len(message.get("body", b""))
        if heard > limit:
            raise HTTPException(413)
        return message

    return limited


async def _sent(request: Request, limit: int) -> Sent:
    """What came with a request, read within its limits."""
    if request.headers.get("content-type", "").startswith(("multipart/form-data", "application/x-www-form-urlencoded")):
        async with request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS, max_part_size=limit) as form:
            words = tuple((name, value) for name, value in form.multi_items() if isinstance(value, str))
            files = {name: await _upload(value) for name, value in form.multi_items() if isinstance(value, UploadFile)}
        return Sent(words=words, files={name: file for name, file in files.items() if file.content})
    return Sent(body=await request.body())


async def _upload(file: UploadFile) -> Upload:
    return Upload(name=(file.filename or "")[:200], kind=file.content_type or "", content=await file.read())


def _for_programs(request: Request, way: Way, response: Response) -> Response:
    """A word for the next page, as JSON where a program or a device's queue asked."""
    asks = request.headers
    by_program = way.asking == "json" or "trayward-id" in asks or asks.get("accept", "").startswith("application/json")
    if not isinstance(response, Gone) or not by_program:
        return response
    told = JSONResponse(landed(response))
    told.raw_headers += [
        pair for pair in response.raw_headers if pair[0] == b"set-cookie" and b"trayward-say" not in pair[1]
    ]
    return told


# The house's own: live, static files, the worker of pages kept on a phone --------------------------------------------


def _own_routes(house: House) -> list[BaseRoute]:
    return [
        Route("/live", _live(house)),
        Route("/live/now", _live_now(house)),
        Route("/static/{hash}/{name:path}", _static(house)),
        Route("/sw.js", _worker(house)),
    ]


def _allowed(house: House, request: Request) -> bool:
    who = house.known(request)
    return who is not None and who.may("look")


def _live(house: House) -> Callable[[Request], Any]:
    async def live(request: Request) -> Response:
        if not await run_in_threadpool(_allowed, house, request):
            return Response(status_code=401)

        def still_known() -> bool:
            del request.state.who
            return _allowed(house, request)

        heard = house.live.told(still_known)
        headers = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}
        return StreamingResponse(heard, media_type="text/event-stream", headers=headers)

    return live


def _live_now(house: House) -> Callable[[Request], Any]:
    async def live_now(request: Request) -> Response:
        if not await run_in_threadpool(_allowed, house, request):
            return Response(status_code=401)
        # A device sets its answers' times right by our clock before it sends them.
        told = {"version": house.live.version, "now": house.now().isoformat()}
        return JSONResponse(told, headers={"Cache-Control": "no-store"})

    return live_now


def _static(house: House) -> Callable[[Request], Any]:
    async def static(request: Request) -> Response:
        # An address of yesterday gets today's file, not to be kept: a page left open still works.
        lasting = FOR_EVER if request.path_params["hash"] == house.look.statics.hash else ASK_FIRST
        found = house.look.statics.answer(request, request.path_params["name"], lasting=lasting)
        if found is None:
            raise HTTPException(404)
        return found

    return static


def _worker(house: House) -> Callable[[Request], Any]:
    """The service worker, from the root so that it may keep every page; it is told where the static files are."""

    async def worker(request: Request) -> Response:  # noqa: ARG001
        statics = house.look.statics
        script = statics.files.get("sw.js")
        if script is None:
            raise HTTPException(404)
        told = json.dumps({"static": f"/static/{statics.hash}/", "files": list(statics.files)})
        body = f"const TRAYWARD = {told};\n".encode() + script.plain
        return Response(body, media_type="text/javascript", headers={"Cache-Control": ASK_FIRST})

    return worker


# What no view answers -------------------------------------------------------------------------------------------------

SENTENCES = {
    400: ("This could not be read.", "Go back and send it again."),
    404: ("There is no such page.", "Go back, or begin at the round."),
    405: ("This cannot be done here.", "Go back, or begin at the round."),
    413: ("This is too large to send.", "Send less at once, or a smaller picture."),
}
NO_OPERATION = {
    404: ("there is no such address", "Those there are stand on the page /api."),
    405: ("it is asked by another method", "The header Allow says by which."),
}
"""What programs are told instead: HTTP's number -> rule and way out."""


def _no_such_page(house: House) -> Callable[[Request, Exception], Any]:
    async def no_such_page(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        rule, remedy = SENTENCES.get(error.status_code, SENTENCES[400])
        fault = Fault(
            kind="not found" if error.status_code == 404 else "input", rule=rule, remedy=remedy, sentence=rule
        )
        asks, at_api = request.headers, request.url.path.startswith(API_PATH)
        if at_api and error.status_code in NO_OPERATION:
            wrong = fault_of(InputError("address", request.url.path[:200], *NO_OPERATION[error.status_code]))
            fault = msgspec.structs.replace(wrong, kind=fault.kind)
        by_program = at_api or "trayward-id" in asks
        if by_program or asks.get("accept", "").startswith("application/json"):
            allowed = {"Allow": house.allowed(request)} if error.status_code == 405 else {}
            return await run_in_threadpool(house.wrong, request, fault, error.status_code, **allowed)
        return await run_in_threadpool(house.plain, request, fault, error.status_code)

    return no_such_page


def _crashed(house: House) -> Callable[[Request, Exception], Any]:
    async def crashed(request: Request, error: Exception) -> Response:
        log.error("a request failed at %s", request.url.path, exc_info=error)
        return await run_in_threadpool(house.crash, request)

    return crashed


class Guarded:
    """Puts the headers on every answer that keep strangers' pages and scripts out."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, with the headers."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = message.setdefault("headers", [])
                there = {name.lower() for name, _ in headers}
                headers += [(name.lower().encode(), value.encode()) for name, value in HEADERS]
                if b"cache-control" not in there:
                    headers.append((b"cache-control", b"private, no-cache"))
                    headers.append((b"vary", b"Cookie, Accept-Language, Accept"))
            await send(message)

        await self._app(scope, receive, guarded)
