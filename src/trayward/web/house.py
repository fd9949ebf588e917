"""The house of the pages: one farm, its people, its look; and how a request is answered, from the door to the end."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any
from urllib.parse import urlsplit

import msgspec
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Match, Route

from trayward.bootstrap import Farm
from trayward.desk.core import kept_under
from trayward.errors import NotFoundError, TraywardError
from trayward.farm.settings import ShownUnits
from trayward.web.ask import Ask, Gone, Sent
from trayward.web.faults import Fault, ShutError, fault_of, json_fault, status_of
from trayward.web.guard import People, Who
from trayward.web.heard import Heard
from trayward.web.held import HELD, STILL_HERE, Held, held_of, packed
from trayward.web.live import Live
from trayward.web.look.look import Look
from trayward.web.office import Office
from trayward.web.once import once
from trayward.web.routing import Way
from trayward.web.send import is_send, read_send
from trayward.web.sensors.rate import Rate
from trayward.web.shield import KEY_COOKIE, KEY_FIELD, require_loopback, require_own_page
from trayward.web.warming import Warming
from trayward.web.words_kept import SAY_COOKIE, word_for
from trayward.web.work import Work

log = logging.getLogger("trayward.web")

LANGUAGE_COOKIE = "trayward-lang"
API_PATH = "/api/"
A_YEAR_S = 365 * 24 * 3600
SAID_S = 60
"""How long a short word waits for its page. [s]"""

WARM_S = 20
"""So long a page waits at most for the farm to be made ready; then it works out itself what it needs. [s]"""


class House:
    """
    Everything that requests share.

    Parameters
    ----------
    book : str or Farm
        Where the book is, or an open farm.
    ways : sequence of Way
        Every page and act of every feature.
    now : callable
        The clock of the pages: the present moment, with offset. The only one there is.
    people : People
        Who is who.
    """

    def __init__(self, book: str | Farm, ways: Sequence[Way], *, now: Callable[[], datetime], people: People) -> None:
        self.now, self.people, self.ways = now, people, tuple(ways)
        self.office = Office(book)
        self.look = Look()
        self.work = Work(self.office)
        self.warming = Warming(self.office, now)
        self.live = Live(self._glance)
        self.rate = Rate()
        self.heard = Heard()
        self.work.moved = self.live.nudge
        self.pages = {way.path for way in self.ways if way.method == "GET"}

    @property
    def version(self) -> str:
        """Moves whenever the book does, or long work is done."""
        return f"{self.office.version}.{self.work.finished}"

    def _glance(self) -> str:
        return f"{self.office.glance()}.{self.work.finished}"

    def close(self) -> None:
        """End the other process and let go of the book; who still waits for the farm is told so, and sends it again."""
        self.office.shut()
        self.warming.end()
        self.work.close()
        self.office.close()

    # One request -----------------------------------------------------------------------------------------------------

    def known(self, request: Request) -> Who | None:
        """Who sends a request; looked up once."""
        if not hasattr(request.state, "who"):
            request.state.now = self.now()
            request.state.who = self.people.who(request)
        who: Who | None = request.state.who
        return who

    def answer(self, request: Request, way: Way, sent: Sent) -> Response:
        """Answer a request, whatever happens. Runs in a worker thread."""
        before = self.office.version
        try:
            who = self.known(request)
            ask = Ask(self, request, way, request.state.now, who, sent)
        except Exception:
            log.exception("nobody could be told apart at %s", request.url.path)
            return self.crash(request)
        try:
            response = self._answered(ask)
            self._last_touch(ask, response)
        finally:
            ask.done()
        if self.office.version != before or way.method != "GET":
            self.live.nudge()
        return response

    def _answered(self, ask: Ask) -> Response:
        try:
            self._guard(ask)
            return self._seen(ask)
        except TraywardError as error:
            return self._refused(ask, error)
        except Exception:
            log.exception("a view failed at %s", ask.request.url.path)
            return self.crash(ask.request, json=ask.wants_json)

    def _guard(self, ask: Ask) -> None:
        """Raise `ShutError` for who may not, and for what another site sent."""
        request, way = ask.request, ask.way
        if not self.people.anyone():
            require_loopback(request.headers)
        if way.may != "anyone":
            if ask.known is None:
                raise ShutError("Nobody is logged in.", "Log in first.", status=401)
            if not ask.known.may(way.may):
                raise ShutError("This is not yours to do here.", "Ask who keeps the farm.")
        if way.method != "GET":
            by_token = ask.known is not None and ask.known.by_token
            key = next((word for name, word in ask.sent_words if name == KEY_FIELD), "")
            by_program = way.asking == "json" and request.headers.get("content-type", "").startswith("application/json")
            # Where nobody logs in there is no key to send: of anything but JSON, a form's say, the API speaks itself.
            by_program = by_program or (way.path.startswith(API_PATH) and not self.people.anyone())
            require_own_page(request.headers, request.cookies, key, by_token=by_token, by_program=by_program)

    def _seen(self, ask: Ask) -> Response:
        """What the view says, once it is known that it may be asked."""
        way = ask.way
        if way.warm:
            self.warming.wait(WARM_S)  # without holding the farm: other pages are answered meanwhile
        if way.may != "anyone" and not way.farmless and not ask.has_farm:
            return self._no_farm(ask)
        if is_send(ask.request.headers) and way.asking == "page":
            ask.send = read_send(ask.request.headers, ask.now)
            # The same sending once more: its first answer got lost on the way.
            kept = kept_under(ask.farm.book, [ask.send.id])
            if kept:
                return Gone("/", ask._("Kept already."), (), [each.entry.id for each in kept])
        return way.view(ask)

    def _no_farm(self, ask: Ask) -> Response:
        if "/setup" in self.pages and not ask.wants_json:
            return RedirectResponse("/setup", status_code=303)
        raise ShutError("There is no farm here yet.", "Make one: trayward init --setup shelf.", status=409)

    def _last_touch(self, ask: Ask, response: Response) -> None:
        """Cookies, and the word for the next page."""
        secure = ask.request.url.scheme == "https"
        seen_by_people = ask.way.asking == "page" and ask.way.method == "GET"
        if ask.key_is_new or (seen_by_people and KEY_COOKIE not in ask.request.cookies):
            response.set_cookie(KEY_COOKIE, ask.key, max_age=A_YEAR_S, httponly=True, samesite="lax", secure=secure)
        chosen = ask.request.query_params.get("lang", "")
        if chosen and chosen[:2] == ask.tongue.language:
            response.set_cookie(
                LANGUAGE_COOKIE, ask.tongue.locale, max_age=A_YEAR_S, httponly=True, samesite="lax", secure=secure
            )
        if isinstance(response, Gone) and (response.say or response.findings):
            told = word_for(response.say, response.findings, response.undo)
            response.set_cookie(SAY_COOKIE, told, max_age=SAID_S, httponly=True, samesite="lax", secure=secure)
        elif ask.word_shown:
            response.delete_cookie(SAY_COOKIE, httponly=True, samesite="lax", secure=secure)
        if ask.known is not None:
            self.people.answered(ask.request, response)

    # What went wrong -------------------------------------------------------------------------------------------------

    def _refused(self, ask: Ask, error: TraywardError) -> Response:
        of_an_act = ask.way.method != "GET"
        error = _taken_back(ask, error)
        fault, status = fault_of(error), status_of(error, of_an_act=of_an_act)
        if ask.wants_json:
            return ask.told_wrong(fault, status)
        if status == 401:
            return self._stranger(ask) or self.plain(ask.request, fault, status)
        if of_an_act and ask.known is not None:
            shown = self._again(ask, fault, status)
            if shown is not None:
                return shown
        return self.plain(ask.request, fault, status, typed=_worth_keeping(ask))

    def _stranger(self, ask: Ask) -> Response | None:
        """The log-in or the lock. A form that was on its way goes through it along, to be shown again afterwards."""
        door, request = self.people.stranger(ask.request), ask.request
        held = held_of(request.url.path, ask.sent_words, request.headers, request.cookies) if ask.sent_words else None
        if held is None or not isinstance(door, RedirectResponse):
            return door
        where = urlsplit(door.headers["location"])
        found = self._way_at(where.path, "GET", request)
        if found is None:
            return door
        way, scope = found
        words: tuple[tuple[str, str], ...] = ((HELD, packed(held)), ("next", held.page))
        at_door = Ask(self, Request({**scope, "query_string": b""}), way, ask.now, None, Sent(words=words))
        try:
            shown = way.view(at_door)
            shown.status_code = 401
            return shown
        except Exception:
            log.exception("the log-in could not be shown with a form of %s", held.action)
            return door
        finally:
            at_door.done()

    def shown_again(self, ask: Ask, held: Held, who: Who) -> Response | None:
        """A form that went through the log-in, on its page, to be looked over; None where there is no such form."""
        found = self._way_at(urlsplit(held.action).path, "POST", ask.request)
        if found is None:
            return None
        way, scope = found
        if way.may == "anyone":
            return None
        act = Ask(self, Request(scope), way, ask.now, who, Sent(words=held.words))
        try:
            shown = self._again(act, STILL_HERE, 200) if who.may(way.may) else None
            return shown or self.plain(ask.request, STILL_HERE, 200, typed=_worth_keeping(act))
        finally:
            act.done()

    def _way_at(self, path: str, method: str, request: Request) -> tuple[Way, dict[str, Any]] | None:
        """What answers at a path, and a request's scope as it would ask there."""
        scope = {**request.scope, "method": method, "path": path, "raw_path": path.encode(), "query_string": b""}
        for way, route in self._all_routes:
            match, more = route.matches({**scope, "method": "GET"})
            if match is Match.FULL and way.method == method and way.asking == "page":
                return way, {**scope, **more}
        return None

    def _again(self, ask: Ask, fault: Fault, status: int) -> Response | None:
        """The form's own page with what was typed and what was wrong; None where it cannot be shown."""
        found = self._page_of(ask)
        if found is None:
            return None
        way, scope = found
        again = Ask(self, Request(scope), way, ask.now, ask.known, Sent())
        again.fault, again.refused = fault, ask
        try:
            ask.hand_on(again)
            shown = way.view(again)
            shown.status_code = status
            ask.word_shown = ask.word_shown or again.word_shown
            return shown
        except Exception:
            log.exception("the page of a refused form failed at %s", scope["path"])
            return None
        finally:
            again.done()

    def _page_of(self, ask: Ask) -> tuple[Way, dict[str, Any]] | None:
        """The page a form stands on: the one its act names, or the one it came from."""
        came_from = urlsplit(next((word for name, word in ask.sent_words if name == "_from"), ""))
        scope: dict[str, Any] = {**ask.request.scope, "method": "GET", "query_string": came_from.query.encode()}
        if ask.way.again is not None:
            return msgspec.structs.replace(ask.way, view=ask.way.again, method="GET", again=None), scope
        scope |= {"path": came_from.path, "raw_path": came_from.path.encode()}
        for way, route in self._routes:
            match, more = route.matches(scope)
            if match is Match.FULL and (way.may == "anyone" or ask.may(way.may)):
                return way, {**scope, **more}
        return None

    def allowed(self, request: Request) -> str:
        """What can be done at a request's path, for one that wants something else there."""
        scope = {"type": "http", "method": "GET", "path": request.url.path}
        found = {way.method for way, route in self._all_routes if route.matches(scope)[0] is not Match.NONE}
        return ", ".join(sorted(found | ({"HEAD"} if "GET" in found else set())))

    @once
    def _routes(self) -> tuple[tuple[Way, Route], ...]:
        return tuple((way, route) for way, route in self._all_routes if way.method == "GET")

    @once
    def _all_routes(self) -> tuple[tuple[Way, Route], ...]:
        def nothing(request: Request) -> Response:
            raise NotImplementedError

        return tuple((way, Route(way.path, nothing)) for way in self.ways)

    def crash(self, request: Request, *, json: bool = False) -> Response:
        """What somebody is told where the fault is ours. What went wrong is in the log, not on the page."""
        sentence = "This went wrong, and the fault is ours. What was kept before is in the book."
        fault = Fault(kind="fault", rule="this went wrong", remedy="Try it again, or go back.", sentence=sentence)
        if json:
            return self.wrong(request, fault, 500)
        return self.plain(request, fault, 500)

    def wrong(self, request: Request, fault: Fault, status: int, **headers: str) -> Response:
        """What went wrong as JSON, where no view was reached: in the language that the header asks for."""
        tongue = self.look.tongues.choose("", request.headers.get("accept-language", ""))
        return json_fault(fault, status, tongue, tongue.said, headers)

    def plain(
        self, request: Request, fault: Fault, status: int, *, typed: Sequence[tuple[str, str]] = ()
    ) -> HTMLResponse:
        """A page that needs no farm: what went wrong, what was typed, and a way back."""
        tongue = self.look.tongues.choose(
            request.query_params.get("lang", "") or request.cookies.get(LANGUAGE_COOKIE, ""),
            request.headers.get("accept-language", ""),
        )
        template = self.look.environment(tongue, ShownUnits()).get_template("plain.html")
        back = urlsplit(request.headers.get("referer", "")).path or "/"
        shown = template.render(fault=fault, status=status, typed=typed, back=back, loggedout=status == 401)
        return HTMLResponse(shown, status_code=status)


def _taken_back(ask: Ask, error: TraywardError) -> TraywardError:
    """The error, or who took back meanwhile what it does not find."""
    if not isinstance(error, NotFoundError) or ask.known is None or not ask.has_farm:
        return error
    return ask.farm.not_found(error, ask.now)


def landed(gone: Gone) -> dict[str, Any]:
    """What a program, or a device that kept an answer, is told of something done."""
    findings = [{**msgspec.to_builtins(finding), "sentence": finding.sentence()} for finding in gone.findings]
    return {"landed": True, "say": gone.say, "findings": findings, "undo": list(gone.undo), "where": gone.where}


def _worth_keeping(ask: Ask) -> tuple[tuple[str, str], ...]:
    """What was typed, to be shown where its form cannot be; no secrets."""
    hidden = ("_", "password", "pin", "sure")
    return tuple((name, word) for name, word in ask.sent_words if word and not name.startswith(hidden))
