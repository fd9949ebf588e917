"""Lantern Loft on the pages: a farm lived through once, copied for each test, and a clock that tests set."""

from __future__ import annotations

import re
import shutil
import uuid
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import pytest
from httpx2 import Response
from starlette.testclient import TestClient

from tests.forked import from_one_that_has_loaded
from trayward import Farm
from trayward.web import work
from trayward.web.app import create_app
from trayward.web.guard import People

MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
"""Lantern Loft keeps UTC: its morning round is on."""
DAYS = 30
"""Of history; enough for every stage, cuts, deliveries and learning, in a few seconds."""
ADDRESS = "http://127.0.0.1:8470"


class Clock:
    """The clock of the pages. It stands until it is set."""

    def __init__(self, at: datetime = MORNING) -> None:
        self.at = at

    def __call__(self) -> datetime:
        return self.at

    def forward(self, **more: float) -> datetime:
        """Put it forward: `clock.forward(minutes=5)`."""
        self.at += timedelta(**more)
        return self.at


class Pages:
    """Pages as a browser without scripts sees them: forms carry the key, cookies are kept."""

    def __init__(self, client: TestClient, book: Path, clock: Clock) -> None:
        self.client, self.book, self.clock = client, book, clock

    def get(self, path: str, **headers: str) -> Response:
        """A page, wherever it leads."""
        return self.client.get(path, headers=_named(headers))

    def post(self, path: str, form: dict[str, Any] | None = None, *, page: str = "/about", **more: Any) -> Response:
        """Send a form as the browser does that stands on `page`; gives what comes at once, without going on."""
        key = self.key(page)
        words = {"_key": key, "_from": page, **(form or {})}
        return self.client.post(path, data=words, follow_redirects=False, **more)

    def send(
        self,
        path: str,
        form: dict[str, Any],
        *,
        said: datetime | None = None,
        now: datetime | None = None,
        name: str = "",
    ) -> Response:
        """Send what a phone kept, as its queue does."""
        headers = {
            "Trayward-Id": name or str(uuid.uuid4()),
            "Trayward-Said": (said or self.clock.at).isoformat(),
            "Trayward-Now": (now or self.clock.at).isoformat(),
            "Accept": "application/json",
        }
        return self.client.post(path, data=form, headers=headers, follow_redirects=False)

    def key(self, page: str = "/about") -> str:
        """The key in the page's forms; the cookie of the same key stays with the client."""
        self.client.get(page)
        found = self.client.cookies.get("trayward-key")
        if found is None:  # no form on that page: any page with one gives the key
            return "no key"
        return str(found)

    def farm(self) -> Farm:
        """The farm, opened beside the pages as another process would; close it, or use it in a `with`."""
        return Farm.open(str(self.book))


def _named(headers: dict[str, str]) -> dict[str, str]:
    return {name.replace("_", "-"): value for name, value in headers.items()}


@pytest.fixture(scope="session", autouse=True)
def _long_work_starts_quickly() -> Iterator[None]:
    """
    The other process of the pages comes from one that has loaded all modules, a quarter of a second sooner each time.

    More than a hundred tests have one. It does the same work; `test_work.py` and all that `trayward serve` starts have
    it as growers do.
    """
    before, work.START = work.START, from_one_that_has_loaded().get_start_method()
    yield
    work.START = before


@pytest.fixture(scope="session")
def lantern_loft(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Lantern Loft's book, lived through once for the whole run, also by several workers. Never write to it."""
    shared = tmp_path_factory.getbasetemp().parent if "popen" in tmp_path_factory.getbasetemp().name else None
    folder = shared or tmp_path_factory.mktemp("lantern-loft")
    done, begun = folder / "lantern-loft.sqlite", folder / "lantern-loft.begun"
    try:
        begun.touch(exist_ok=False)
    except FileExistsError:
        return _waited_for(done)
    part = folder / "lantern-loft.part"
    live_lantern_loft(part)
    part.rename(done)
    return done


def live_lantern_loft(path: Path) -> None:
    """Thirty days of records up to the evening before, and the order sheet."""
    from trayward.desk.sheets.demo import demo_order_sheet
    from trayward.study.demo import make_demo, take_in_orders

    farm = make_demo(str(path), now=MORNING, tell=lambda _: None, days=DAYS)
    with farm:
        take_in_orders(farm, demo_order_sheet(MORNING.date()), at=MORNING - timedelta(hours=11))
        # What the outlook finds in these days is kept in the book: the first page of every copy need not find it again.
        for _ in farm.get_ready(MORNING - timedelta(hours=11)):
            pass


def _waited_for(done: Path) -> Path:
    until = monotonic() + 300
    while not done.exists():
        assert monotonic() < until, "another worker did not finish Lantern Loft"
        sleep(0.2)
    return done


@pytest.fixture
def book(lantern_loft: Path, tmp_path: Path) -> Path:
    """A copy of Lantern Loft's book, this test's own."""
    copied = tmp_path / "lantern-loft.sqlite"
    shutil.copyfile(lantern_loft, copied)
    return copied


@pytest.fixture
def clock() -> Clock:
    """The clock of the pages, at half past seven in the morning."""
    return Clock()


@pytest.fixture
def people() -> People | None:
    """Who is who; None: one person at this machine. A test module that needs others has a fixture of this name."""
    return None


@pytest.fixture
def pages(book: Path, clock: Clock, people: People | None) -> Iterator[Pages]:
    """The pages of Lantern Loft, without a browser."""
    app = create_app(str(book), now=clock, people=people)
    with TestClient(app, base_url=ADDRESS, raise_server_exceptions=True) as client:
        yield Pages(client, book, clock)


def words_of(page: Response | str) -> str:
    """The words of a page without its marks, spaces made one."""
    text = page if isinstance(page, str) else page.text
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text)).strip()
