"""Lantern Loft on the pages: a farm lived through once, copied for each test, and a clock that tests set."""

from __future__ import annotations

import re
import shutil
import uuid
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from httpx2 import Response
from starlette.testclient import TestClient

from tests.forked import from_one_that_has_loaded
from tests.once_lived import MORNING, made_once, thirty_days
from trayward import Farm
from trayward.web import work
from trayward.web.app import create_app
from trayward.web.guard import People

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
    from_one_that_has_loaded()
    before, work.START = work.START, "forkserver"
    yield
    work.START = before


@pytest.fixture(scope="session")
def lantern_loft(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Lantern Loft's book, lived through once for the whole run, also by several workers. Never write to it."""
    return made_once(tmp_path_factory, "lantern-loft", lambda path: live_lantern_loft(path, tmp_path_factory))


def live_lantern_loft(path: Path, factory: pytest.TempPathFactory) -> None:
    """Thirty days of records up to the evening before, and the order sheet."""
    from trayward.desk.sheets.demo import demo_order_sheet
    from trayward.study.demo import take_in_orders

    shutil.copyfile(thirty_days(factory), path)
    with Farm.open(str(path)) as farm:
        take_in_orders(farm, demo_order_sheet(MORNING.date()), at=MORNING - timedelta(hours=11))
        # What the outlook finds in these days is kept in the book: the first page of every copy need not find it again.
        for _ in farm.get_ready(MORNING - timedelta(hours=11)):
            pass


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


@pytest.fixture
def farm(pages: Pages) -> Iterator[Farm]:
    """The farm that the pages show, opened once more."""
    with pages.farm() as farm:
        yield farm


def words_of(page: Response | str) -> str:
    """The words of a page without its marks, spaces made one."""
    text = page if isinstance(page, str) else page.text
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text)).strip()
