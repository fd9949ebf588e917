"""For tests without signal: rows to answer, a line that can be cut anywhere, a clock that runs, what is in the book."""

from __future__ import annotations

import hashlib
import select
import socket
import threading
from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import monotonic, sleep
from typing import Any

from playwright.sync_api import Page
from starlette.responses import Response

from tests.web.conftest import Clock
from trayward import Farm
from trayward.errors import Finding, InputError
from trayward.farm.entries import Entry, Note
from trayward.web.app import ROUTES
from trayward.web.ask import Ask
from trayward.web.look.look import _clock, _when
from trayward.web.routing import UPLOAD_LIMIT, Way, act, page

ROWS = "/tray/try"
"""The rows of these tests stand where a tray's page would, so that the worker keeps them."""

PAGE = """
{% extends "base.html" %}
{% block title %}Rows{% endblock %}
{% block main %}
<h1>Rows</h1>
<ol class="rows">
{% for row, notes in rows %}
<li class="row" id="row-{{ row }}" data-live>
  <h2>Row {{ row }}</h2><p class="place">rack A shelf {{ row }}</p>
  {% for note in notes %}<p class="answered">{{ note }}</p>{% endfor %}
  {% if not notes and ask.may("answer") %}
  <form method="post" action="/try/answer" enctype="multipart/form-data" data-send>
    {{ parts.form_keys("row " ~ row) }}
    <input type="hidden" name="row" value="{{ row }}">
    {{ parts.field("words", "Words", form="row " ~ row) }}
    {% set kinds = [("", ""), ("a", "Amber"), ("b", "Blue")] %}
    {{ parts.field("kind", "Kind", kind="select", options=kinds, form="row " ~ row) }}
    {{ parts.field("photo", "Photo", kind="file", form="row " ~ row) }}
    {{ parts.answer_button("Moist", value="moist") }}{{ parts.answer_button("Dry", value="dry", kind="second") }}
  </form>
  {% endif %}
</li>
{% endfor %}
</ol>
<form method="post" action="/try/needed" data-send="more" id="more">
  {{ parts.form_keys("more") }}{{ parts.field("words", "More", required=true, form="more") }}<button>Keep</button>
</form>
<form method="post" action="/try/crash" data-send id="crash">{{ parts.form_keys("crash") }}<button>Crash</button></form>
{% endblock %}
"""


def rows(ask: Ask) -> Response:
    """Rows, each with its form until it is answered."""
    found: dict[str, list[str]] = {str(number): [] for number in range(1, 7)}
    struck = ask.farm.book.struck()
    for kept in ask.farm.book.entries():
        body = kept.entry.body
        if isinstance(body, Note) and body.text.startswith("row ") and kept.entry.id not in struck:
            found[body.text.split(" ")[1].rstrip(":")].append(f"{body.text}, {kept.entry.by}")
    made = ask._house.look.environment(ask.tongue, ask.units).from_string(PAGE)
    shown = made.render(ask=ask, clock=_clock(ask), when=_when(ask), rows=list(found.items()))
    return Response(shown, media_type="text/html", status_code=422 if ask.fault else 200)


def answer(ask: Ask) -> Response:
    """Keep an answer to a row as a note; others' answers to the same row are told."""
    row, words = ask.form.need("row"), ask.form.text("words")
    if words == "wrong":
        raise InputError("words", words, "that word is not known here", "Say it otherwise.")
    photo = ask.form.file("photo")
    seen = f" {hashlib.sha256(photo.content).hexdigest()[:12]} {photo.name}" if photo is not None else ""
    others = [each for each in said_by(ask.farm, f"row {row}:") if each.by]
    told = [Finding(code="twice", severity="odd", message=f"{each.by} answered this row, too.") for each in others]
    text = " ".join(f"row {row}: {ask.form.text('answer')} {words} {ask.form.text('kind')}{seen}".split())
    receipt = ask.farm.note(text, **ask.said)
    return ask.go(ROWS, f"Row {row} kept.", findings=told, undo=[kept.entry.id for kept in receipt.kept])


def needed(ask: Ask) -> Response:
    """Keep a note."""
    ask.farm.note(ask.form.need("words"), **ask.said)
    return ask.go(ROWS, "Noted.")


def crash(ask: Ask) -> Response:
    """A fault of ours."""
    raise ZeroDivisionError(ask.at.isoformat())


TRY: tuple[Way, ...] = (
    page(ROWS, rows, may="look"),
    act("/try/answer", answer, may="answer", limit=UPLOAD_LIMIT),
    act("/try/needed", needed, may="answer"),
    act("/try/crash", crash, may="answer"),
)
EVERY_WAY = (*TRY, *ROUTES)


class RunningClock(Clock):
    """A clock that runs on from the morning, as a server's does."""

    def __init__(self) -> None:
        super().__init__()
        self._began = monotonic()

    def __call__(self) -> datetime:
        return self.at + timedelta(seconds=monotonic() - self._began)


def said_by(farm: Farm, beginning: str) -> list[Entry]:
    """The notes of a book that begin so, in the order in which they were kept."""
    found = (kept.entry for kept in farm.book.entries())
    return [entry for entry in found if isinstance(entry.body, Note) and entry.body.text.startswith(beginning)]


def said_in(book: Path, beginning: str = "row ") -> list[Entry]:
    """The same, read by another process's way."""
    with Farm.open(str(book)) as farm:
        return said_by(farm, beginning)


def texts(book: Path, beginning: str = "row ") -> list[str]:
    """Their words alone."""
    return [entry.body.text for entry in said_in(book, beginning) if isinstance(entry.body, Note)]


def kept_on(page: Page) -> list[dict[str, Any]]:
    """What the device keeps, read from its store by the page's own hand."""
    found: list[dict[str, Any]] = page.evaluate(
        """async () => (await trayward.kept.all()).map(({ fields, ...rest }) => ({
            ...rest, fields: fields.map(([name, value]) => [name, value.file ? value.file.size : value]) }))"""
    )
    return found


def tap(page: Page, row: int, answer: str = "Moist", **fields: str) -> None:
    """Answer a row with one tap."""
    form = page.locator(f"#row-{row} form")
    for name, value in fields.items():
        form.locator(f"[name={name}]").fill(value)
    form.get_by_role("button", name=answer, exact=True).click()


def holds(page: Page, script: str, seconds: float = 40.0) -> None:
    """Wait until a page says that something is so. (Playwright's own way wants `eval`, which our policy bars.)"""
    waits_until(lambda: page.evaluate(script), seconds)


def small_farm(path: Path, clock: Clock) -> Path:
    """A shelf with something sown: these tests are about the line, not about the farm."""
    with Farm.create(path, "shelf", at=clock.at - timedelta(days=1)) as farm:
        farm.sow("broccoli", 1, at=clock.at - timedelta(hours=1))
    return path


def waits_until(true: Any, seconds: float = 40.0) -> None:
    """Wait until something is so in the book, or fail."""
    until = monotonic() + seconds
    while not true():
        assert monotonic() < until, "that did not come about"
        sleep(0.1)


class Line:
    """
    What lies between a phone and the server, as a port of its own.

    `cut`: nothing gets through. `swallow`: requests get to the server, but the line goes down before any answer to
    a POST comes back. `deaf`: nothing is heard of what moved in the book meanwhile, which would show the row answered
    before a test that is about the answer itself gets to it. `slow`: answers take so long. [s]
    """

    def __init__(self, port: int) -> None:
        self._to, self.cut, self.swallow, self.slow = port, False, False, 0.0
        self.swallowed, self.deaf = 0, False
        self._open: set[socket.socket] = set()
        self._door = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._door.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        threading.Thread(target=self._serve, daemon=True).start()

    def down(self) -> None:
        """Cut the line, also what is on it."""
        self.cut = True
        for each in tuple(self._open):
            with suppress(OSError):
                each.shutdown(socket.SHUT_RDWR)

    def up(self) -> None:
        """Mend the line."""
        self.cut = self.swallow = self.deaf = False

    def close(self) -> None:
        """End."""
        self.down()
        self._door.close()

    def _serve(self) -> None:
        while True:
            try:
                near, _ = self._door.accept()
            except OSError:
                return
            threading.Thread(target=self._carry, args=(near,), daemon=True).start()

    def _carry(self, near: socket.socket) -> None:
        with near, suppress(OSError):
            if self.cut:
                return
            with socket.create_connection(("127.0.0.1", self._to)) as far:
                self._open |= {near, far}
                try:
                    for told in self._chunks(near, far):
                        told()
                finally:
                    self._open -= {near, far}

    def _chunks(self, near: socket.socket, far: socket.socket) -> Iterator[Any]:
        posting = hearing = False
        while not self.cut:
            ready, _, _ = select.select([near, far], [], [], 0.2)
            for each in ready:
                chunk = each.recv(65536)
                if not chunk:
                    return
                if each is near:
                    posting = posting or chunk.startswith((b"POST /try", b"POST /round"))
                    hearing = hearing or chunk.startswith(b"GET /live ")
                    yield lambda chunk=chunk: far.sendall(chunk)
                    continue
                if hearing and self.deaf:
                    return
                if posting and self.swallow:
                    self.swallowed += 1
                    return
                sleep(self.slow)
                yield lambda chunk=chunk: near.sendall(chunk)


def now_utc() -> datetime:
    """This machine's clock, which is the browser's."""
    return datetime.now(UTC)
