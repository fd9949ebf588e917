"""A real Chromium before the pages, served on a free port of this machine."""

from __future__ import annotations

import os
import shutil
import threading
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, ViewportSize, expect, sync_playwright

from tests.ports import HeldPort
from tests.web.conftest import Clock
from trayward.web.app import ROUTES, create_app
from trayward.web.guard import People
from trayward.web.routing import Way

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
WIDTHS = {"phone": 390, "desk": 1280}
EVERY_LOOK = tuple((wide, scheme) for wide in WIDTHS for scheme in ("light", "dark"))
"""Width and colour scheme."""
LIGHT = (("phone", "light"), ("desk", "light"))
THREE_LOOKS = (("phone", "light"), ("phone", "dark"), ("desk", "light"))
SHOTS = "TRAYWARD_SCREENSHOTS"
"""Environment variable: a folder where screenshots are kept."""
PATIENCE_MS = 30_000
"""How long a page is given to come to what is expected of it; a busy machine needs more than the usual five seconds."""
AXE = Path(__file__).parents[1] / "vendor" / "axe.min.js"

expect.set_options(timeout=PATIENCE_MS)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Every test of this folder drives a browser: one that fails is tried once more, and named at the end."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.drives)


class Server:
    """The pages on a port of this machine, in a thread; it can be stopped and started again at the same address."""

    def __init__(self, book: Path, clock: Clock, people: People | None, routes: tuple[Way, ...] = ROUTES) -> None:
        self.book, self.clock, self.people, self.routes = book, clock, people, routes
        self._held = HeldPort()
        self.port = self._held.number
        self.url = f"http://127.0.0.1:{self.port}"
        self._server: uvicorn.Server | None = None
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Answer."""
        self.app = create_app(str(self.book), now=self.clock, people=self.people, routes=self.routes, warm=True)
        config = uvicorn.Config(
            self.app, host="127.0.0.1", port=self.port, log_level="warning", access_log=False, ws="none",
            timeout_graceful_shutdown=2,
        )  # fmt: skip
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._server.run, daemon=True)
        self._thread.start()
        until = monotonic() + 20
        while not self._server.started:
            assert monotonic() < until, "the pages did not start"
            sleep(0.02)

    def stop(self) -> None:
        """End, as when the machine goes away; the book is closed."""
        if self._server is None or self._thread is None:
            return
        self.app.state.house.live.let_go()
        self._server.should_exit = True
        self._thread.join(15)
        self._server = None


def size_of(wide: str) -> ViewportSize:
    """A phone's screen, or a desk's."""
    return {"width": WIDTHS[wide], "height": 844 if wide == "phone" else 900}


class Shown(list[str]):
    """What a browser complained of: errors on its console, and what the page's own policy kept out."""


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium; where there is none the test is left out, and said so. In CI it has to be there."""
    if CHROMIUM is None:
        if os.environ.get("CI"):
            pytest.fail("Chromium is not here. Install it: apt-get install chromium")
        pytest.skip("Chromium is not here. Install it for the browser tests: apt-get install chromium")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-dev-shm-usage"])
        yield started
        started.close()


@pytest.fixture
def server(book: Path, clock: Clock, people: People | None) -> Iterator[Server]:
    """The pages of Lantern Loft, on a port."""
    served = Server(book, clock, people)
    served.start()
    yield served
    served.stop()


@pytest.fixture
def complaints() -> Shown:
    """What the browser complained of so far; empty at the end of a test unless it takes complaints out itself."""
    return Shown()


PageAt = Callable[..., Page]


@pytest.fixture
def page_at(browser: Browser, server: Server, complaints: Shown) -> Iterator[PageAt]:
    """
    Open a page: `page_at("/round")` on a phone, `page_at("/round", "desk")` on a desk, each in a browser of its own.

    More words go to the browser's context (`color_scheme="dark"`, `locale="es-ES"`, `java_script_enabled=False`).
    """
    opened: list[BrowserContext] = []

    def open_page(path: str, wide: str = "phone", **more: Any) -> Page:
        context = browser.new_context(
            viewport=size_of(wide), locale=more.pop("locale", "en-GB"), timezone_id="Europe/Berlin", **more
        )  # type: ignore[arg-type]
        context.set_default_timeout(PATIENCE_MS)
        opened.append(context)
        page = context.new_page()
        page.on(
            "console", lambda message: complaints.append(message.text) if message.type in ("error", "warning") else None
        )
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.goto(server.url + path)
        return page

    yield open_page
    for context in opened:
        context.close()
    assert not complaints, f"the browser complained: {complaints}"


def shot(page: Page, name: str) -> None:
    """Keep a screenshot of the whole page, where the environment says so."""
    folder = os.environ.get(SHOTS)
    if folder:
        Path(folder).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=str(Path(folder) / f"{name}.png"), full_page=True)


def assert_for_everyone(page: Page, name: str, looks: Iterable[tuple[str, str]] = EVERY_LOOK) -> None:
    """
    The page fits the screen and axe finds nothing, in each of these looks: (width, colour scheme).

    The page stays the one that was loaded, for which a phone turned or a scheme changed asks too; loading it anew for
    each look costs three times as much. A page whose scripts ask for the width as they load is opened at each width.
    """
    for wide, scheme in looks:
        page.set_viewport_size(size_of(wide))
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        shot(page, f"{name}-{wide}-{scheme}")
        assert_fits(page)
        assert axe(page) == [], f"{name} on a {wide}, {scheme}"


def axe(page: Page) -> list[str]:
    """What axe finds against WCAG 2.2 A and AA on a page: one line each, empty when all is well."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE.read_text(encoding="utf-8"))
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    # Only violations are told in full: three to four times quicker.
    run = "tags => axe.run({resultTypes: ['violations'], runOnly: {type: 'tag', values: tags}})"
    found = page.evaluate(run, tags)
    return [
        f"{each['id']}: {each['help']}: {node['target']} {node.get('failureSummary', '')}"
        for each in found["violations"]
        for node in each["nodes"]
    ]


def assert_fits(page: Page) -> None:
    """Nothing is wider than the screen, and what can be tapped is at least 44 px (WCAG 2.2 asks 24; ours is larger)."""
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "the page is wider than the screen"
    small = page.evaluate(
        """() => [...document.querySelectorAll("button, .button, nav a, summary, input:not([type=hidden]), select")]
        .filter((each) => each.checkVisibility() && !each.closest("label"))
        .map((each) => [each.textContent.trim() || each.name, each.getBoundingClientRect()])
        .filter(([, box]) => box.width < 44 || box.height < 44)
        .map(([words, box]) => `${words} ${box.width}x${box.height}`)"""
    )
    assert not small, f"too small to tap: {small}"
