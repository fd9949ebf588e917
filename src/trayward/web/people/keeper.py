"""Who sends a request: by the key in its cookie, or by a token; and where somebody unknown is sent.

What a shared phone may claim
-----------------------------
Several people may be paired with one phone. While there is signal, the phone's server-side lock says who is at it, by
PIN. Without signal nothing can check a PIN, so the phone itself keeps who said each answer and names them as it sends
(`Trayward-Who`). That claim is taken only

1. from a session that is logged in and not locked: after a while somebody has to give a PIN before anything is sent;
2. for a person who is paired with this very phone, named by id or by a name that is or was theirs (what was said under
   a name stands in the book under it, also when it is sent after the name was changed);
3. if who is at the phone now may do at least as much as that person: a hand cannot send what only an owner may by
   naming one. Where the claim would need more, it waits on the phone (401) until such a person is at it.

So who shares a phone can, without signal or with some skill, say a thing under the name of another who shares it, but
never do more than they may themselves. People who should be told apart for certain do not share a phone.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING
from urllib.parse import quote, unquote, urlsplit

from starlette.responses import RedirectResponse, Response

from trayward.bootstrap import Farm
from trayward.errors import BookError
from trayward.store import SqlBook, open_book
from trayward.store.people import Hasher, Person, Seen, SqlPeople
from trayward.web.guard import Role, Who

if TYPE_CHECKING:
    from starlette.requests import Request

COOKIE = "trayward"
SECURE_COOKIE = "__Host-trayward"
"""Over TLS: browsers take a cookie of that name only from this very host, over TLS, for all its paths (the cookie
prefixes of RFC 6265bis, from memory)."""
DAY_S = 24 * 3600
BEARER = "bearer "
RANK: dict[Role, int] = {"sensor": -1, "reader": 0, "hand": 1, "owner": 2}
AT_ONCE = timedelta(minutes=1)
"""An answer sent this soon after it was said was tapped just now; an older one comes out of the phone's queue."""


class FarmPeople:
    """
    The people of a farm, as the pages ask for them; implements `trayward.web.guard.People`.

    Parameters
    ----------
    book : str or Farm
        Where the book is, as for `create_app`. There need not be one yet.
    name : str
        Who writes while there are no people, and no log-in.
    hasher : Hasher, optional
        Tests take one with less to work out.
    """

    def __init__(self, book: str | Farm, *, name: str = "grower", hasher: Hasher | None = None) -> None:
        self._url = book if isinstance(book, str) else ""
        self._lent = book.book if isinstance(book, Farm) else None
        self._opened: SqlBook | None = None
        self._hasher = hasher or Hasher()
        self._lock = Lock()
        self._kept: SqlPeople | None = None
        self._somebody = False
        self._nobody = Who(name=name, role="owner")

    # The store -------------------------------------------------------------------------------------------------------

    @property
    def kept(self) -> SqlPeople | None:
        """Where people are kept; None while there is no book."""
        if self._kept is None:
            with self._lock:
                book = self._book()
                if self._kept is None and book is not None:
                    self._kept = SqlPeople(book, hasher=self._hasher)
        return self._kept

    @property
    def needed(self) -> SqlPeople:
        """As `kept`. Raises `BookError` while there is no book."""
        found = self.kept
        if found is None:
            raise BookError("There is no farm here yet. Set one up first.")
        return found

    def _book(self) -> SqlBook | None:
        if self._lent is not None:
            assert isinstance(self._lent, SqlBook)
            return self._lent
        path = Path(self._url)
        if "://" not in self._url and not (path.is_file() and path.stat().st_size):
            return None
        # A book of its own on the same database: who is asked for must not wait for the farm.
        self._opened = self._opened or open_book(self._url)
        return self._opened

    def close(self) -> None:
        """Let go of the database."""
        with self._lock:
            self._kept = None
            if self._opened is not None:
                self._opened.close()
                self._opened = None

    # What the pages ask ----------------------------------------------------------------------------------------------

    def anyone(self) -> bool:
        """Whether there is anybody; once there is, there always is, as the last owner stays."""
        if not self._somebody:
            kept = self.kept
            self._somebody = kept is not None and kept.persons.anyone()
        return self._somebody

    def who(self, request: Request) -> Who | None:
        """Who sends this; None for a stranger, and where a PIN is waited for."""
        if not self.anyone():
            return self._nobody
        at: datetime = request.state.now
        if "authorization" in request.headers:
            return self._program(request, at)
        seen = self._at_it(request, at)
        if seen is None or seen.locked:
            return None
        if seen.due and _by_hand(request):
            self.needed.sessions.touch(seen.session, at)
        return self._claimed(request, seen)

    def stranger(self, request: Request) -> Response:
        """On to the lock of a phone that somebody may use, or to the log-in; and back afterwards to where they were."""
        where = "/lock" if getattr(request.state, "seen", None) is not None else "/login"
        asked = request.url if request.method == "GET" else urlsplit(request.headers.get("referer", ""))
        here = asked.path + (f"?{asked.query}" if asked.query else "")
        back = f"?next={quote(here, safe='/')}" if here not in ("", "/") else ""
        return RedirectResponse(where + back, status_code=303, headers={"Cache-Control": "no-store"})

    def answered(self, request: Request, response: Response) -> None:
        """Nothing to add: a cookie lives as long as its session may."""

    # Keys ------------------------------------------------------------------------------------------------------------

    def _program(self, request: Request, at: datetime) -> Who | None:
        words = request.headers["authorization"]
        if not words.lower().startswith(BEARER):
            return None
        token = self.needed.tokens.check(words[len(BEARER) :].strip(), at)
        # A program speaks for itself alone.
        if token is None or _named(request) not in ("", token.name):
            return None
        return Who(name=token.name, role=token.role, by_token=True)

    def _at_it(self, request: Request, at: datetime) -> Seen | None:
        key = key_of(request)
        request.state.seen = None if key is None else self.needed.sessions.seen(key, at)
        found: Seen | None = request.state.seen
        return found

    def _claimed(self, request: Request, seen: Seen) -> Who | None:
        """Who is at the phone; or who said what it sends, where that is another whom it may name. See above."""
        named = _named(request)
        # What was said before there were people, on this very machine, is theirs who log in there.
        if named in ("", seen.name, seen.person, self._nobody.name):
            return Who(name=seen.name, role=seen.role, language=seen.language, units=seen.units)
        for one in self.needed.sessions.paired(seen.session):
            name = one.person.name if named == one.person.id else named
            if self.needed.persons.goes_by(one.person.id, name) and RANK[one.person.role] <= RANK[seen.role]:
                return Who(name=name, role=one.person.role, language=seen.language, units=seen.units)
        return None

    # For its own pages -----------------------------------------------------------------------------------------------

    def let_in(self, request: Request, response: Response, person: Person, at: datetime) -> None:
        """Log somebody in on the device that asks, and give it its key."""
        kept = self.needed
        key = kept.sessions.begin(person.id, device_words(request), at=at, key=key_of(request))
        secure = request.url.scheme == "https"
        response.set_cookie(
            SECURE_COOKIE if secure else COOKIE,
            key,
            max_age=kept.setting("most_days") * DAY_S,
            path="/",
            httponly=True,
            samesite="strict",
            secure=secure,
        )

    def forget(self, request: Request, response: Response) -> None:
        """Take the device's key away."""
        secure = request.url.scheme == "https"
        name = SECURE_COOKIE if secure else COOKIE
        response.delete_cookie(name, path="/", httponly=True, samesite="strict", secure=secure)


def _named(request: Request) -> str:
    """Who is said to have said it: their id, or their name as the page called them."""
    return unquote(request.headers.get("trayward-who", ""))


def key_of(request: Request) -> str | None:
    """The key a device has; over TLS only the one that was given over TLS counts."""
    return request.cookies.get(SECURE_COOKIE if request.url.scheme == "https" else COOKIE)


def address_of(request: Request) -> str:
    """Where a request comes from. Behind a proxy the server is told by it (`--behind-proxy`)."""
    return request.client.host if request.client is not None else ""


def local_path(text: str) -> str:
    """A path of ours to go on to; the first page for anything else."""
    parts = urlsplit(text)
    ours = text.startswith("/") and not text.startswith(("//", "/\\")) and not parts.scheme and not parts.netloc
    return text if ours and text.isprintable() and "\\" not in text else "/"


BROWSERS = (("Edg", "Edge"), ("OPR", "Opera"), ("Firefox", "Firefox"), ("FxiOS", "Firefox"),
            ("SamsungBrowser", "Samsung"), ("CriOS", "Chrome"), ("Chrome", "Chrome"), ("Safari", "Safari"))  # fmt: skip
SYSTEMS = (("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("Windows", "Windows"), ("Mac OS", "Mac"),
           ("CrOS", "Chromebook"), ("Linux", "Linux"))  # fmt: skip


def device_words(request: Request) -> str:
    """What a device says it is, in words that its owner knows it by: `Firefox on Android`."""
    said = request.headers.get("user-agent", "")
    browser = next((word for mark, word in BROWSERS if mark in said), "")
    system = next((word for mark, word in SYSTEMS if mark in said), "")
    return " on ".join(word for word in (browser, system) if word) or "a device that does not say what it is"


def _by_hand(request: Request) -> bool:
    """Whether a person did this just now: pages left open look by themselves, and queues send by themselves."""
    headers = request.headers
    if "trayward-id" in headers:
        try:
            said, sent = (datetime.fromisoformat(headers.get(name, "")) for name in ("trayward-said", "trayward-now"))
            return abs(sent - said) <= AT_ONCE
        except (ValueError, TypeError):
            return False
    if request.method != "GET":
        return True
    return "trayward-live" not in headers and headers.get("sec-fetch-mode", "navigate") == "navigate"
