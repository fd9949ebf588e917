"""The README's pictures of the pages: Lantern Loft at a fixed moment, in a real Chromium, phone and desk, light.

`python -m tools.screenshots` makes them anew in `docs/pictures`; with `--check` it only says whether they can be made.
The farm is lived through afresh, planned and served on this machine, so a picture shows what the pages show. It takes a
few minutes. Look at every picture before you keep it.
"""

from __future__ import annotations

import argparse
import io
import shutil
import socket
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from importlib.util import find_spec
from pathlib import Path
from time import monotonic, sleep
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

ROOT = Path(__file__).resolve().parents[1]
FOLDER = ROOT / "docs" / "pictures"
MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
"""Lantern Loft keeps UTC: its morning round is on."""
DAYS = 60
"""Of history, as the demo has."""
WEEKS = 6
MOST_BYTES = 120_000
"""What one picture may weigh."""
SIZES = {"phone": (390, 844), "desk": (1280, 800)}
SHARP = {"phone": 2, "desk": 1}
"""Pixels of the picture for one of the page: a phone's words are small on a page otherwise."""
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
PATIENCE = 300.0
"""How long the farm's plan and outlook may take to be worked out. [s]"""


TO_THE_TOP = "each => scrollTo(0, each.getBoundingClientRect().top + scrollY - 16)"


def as_it_opens(page: Page) -> None:
    """Nothing more than what one sees first."""
    page.evaluate("scrollTo(0, 0)")


def at_a_look(page: Page) -> None:
    """The first rack whose trays are looked at: cues, and their answers."""
    page.locator("#round-rows .group:has(.cue)").first.evaluate(TO_THE_TOP)


def at_a_lit_rack(page: Page) -> None:
    """The rack with the most trays in the light."""
    page.get_by_role("heading", name="Rack E").first.evaluate(TO_THE_TOP)


def at_the_pad(page: Page) -> None:
    """The first tray of the first cut, with the figures to type its grams."""
    pad = page.locator("[data-pad]").first
    pad.scroll_into_view_if_needed()
    pad.locator("input").first.click()
    page.keyboard.type("158")
    sleep(0.5)
    pad.evaluate(TO_THE_TOP)
    sleep(0.3)


class Shown(NamedTuple):
    """A page to show, and how it is made to stand."""

    name: str
    path: str
    stand: Callable[[Page], None] = as_it_opens


PAGES = (
    Shown("round", "/round", at_a_look),
    Shown("racks", "/racks", at_a_lit_rack),
    Shown("sow", "/sow"),
    Shown("orders", "/orders"),
    Shown("harvest-pad", "/round", at_the_pad),
)


def names() -> list[str]:
    """The files of all pictures."""
    return [f"{shown.name}-{wide}.png" for shown in PAGES for wide in SIZES]


# Can they be made -----------------------------------------------------------------------------------------------------


def chromium() -> str | None:
    """Where Chromium is on this machine."""
    return next((found for name in BROWSERS if (found := shutil.which(name))), None)


def missing() -> list[str]:
    """What is not here that the pictures need, each with the way to get it."""
    found = []
    if chromium() is None:
        found.append("Chromium is not here. Install it: apt-get install chromium")
    absent = [name for name in ("playwright", "PIL", "uvicorn") if find_spec(name) is None]
    if absent:
        found.append(f"{', '.join(absent)} not installed. Say: make")
    return found


# The farm -------------------------------------------------------------------------------------------------------------


def live(book: Path, tell: Callable[[str], None]) -> None:
    """Lantern Loft in a new book: its history, its orders, and its plan kept."""
    from trayward.desk.sheets.demo import demo_order_sheet
    from trayward.study.demo import PERSON, make_demo, take_in_orders

    with make_demo(str(book), now=MORNING, tell=tell, days=DAYS) as farm:
        take_in_orders(farm, demo_order_sheet(MORNING.date()), at=MORNING - timedelta(minutes=30))
        tell(f"planning {WEEKS} weeks")
        plan = farm.plan(MORNING - timedelta(minutes=20), weeks=WEEKS)
        farm.keep_plan(plan, at=MORNING - timedelta(minutes=20), by=PERSON, recorded=None, ids=None, sure=False)


@contextmanager
def served(book: Path) -> Iterator[tuple[str, Callable[[], bool]]]:
    """The pages of a book on a free port of this machine: their address, and what waits until long work is done."""
    import uvicorn

    from trayward.web.app import create_app

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
    app = create_app(str(book), now=lambda: MORNING)
    config = uvicorn.Config(app, host="127.0.0.1", port=port, log_level="warning", access_log=False, ws="none")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    until = monotonic() + 60
    while not server.started:
        if monotonic() > until:
            raise SystemExit("The pages did not start.")
        sleep(0.05)
    try:
        yield f"http://127.0.0.1:{port}", lambda: bool(app.state.house.work.wait(PATIENCE))
    finally:
        app.state.house.live.let_go()
        server.should_exit = True
        thread.join(15)


# The pictures ---------------------------------------------------------------------------------------------------------


def take(url: str, wait: Callable[[], bool], folder: Path, tell: Callable[[str], None]) -> None:
    """Every page at both widths, into a folder."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        sandbox = ["--no-sandbox", "--disable-dev-shm-usage"]
        browser = playwright.chromium.launch(executable_path=chromium(), args=sandbox)
        for shown in PAGES:
            for wide in SIZES:
                picture = small_png(_seen(browser, url, wait, shown, wide))
                (folder / f"{shown.name}-{wide}.png").write_bytes(picture)
                tell(f"{shown.name}-{wide}.png: {len(picture) / 1000:.0f} kB")
        browser.close()


def _seen(browser: Browser, url: str, wait: Callable[[], bool], shown: Shown, wide: str) -> bytes:
    """One page as it is seen, once what takes long is worked out."""
    width, height = SIZES[wide]
    context = browser.new_context(
        viewport={"width": width, "height": height},
        device_scale_factor=SHARP[wide],
        locale="en-GB",
        color_scheme="light",
        reduced_motion="reduce",
        service_workers="block",
    )
    context.set_default_timeout(60_000)
    page = context.new_page()
    page.goto(url + shown.path)
    if not wait():
        raise SystemExit(f"{shown.path}: what is worked out for it took longer than {PATIENCE:.0f} s.")
    page.reload()
    shown.stand(page)
    taken = page.screenshot(animations="disabled", caret="hide")
    context.close()
    return taken


def small_png(png: bytes, most: int = MOST_BYTES) -> bytes:
    """
    A picture with as many colours as fit into so many bytes.

    Parameters
    ----------
    png : bytes
        As the browser took it.
    most : int
        What it may weigh. [byte]

    Returns
    -------
    bytes
        A PNG with a palette.

    Raises
    ------
    ValueError
        If even 16 colours weigh more.
    """
    from PIL import Image

    picture = Image.open(io.BytesIO(png)).convert("RGB")
    for colours in (128, 64, 32, 16):
        kept = io.BytesIO()
        few = picture.quantize(colors=colours, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
        few.save(kept, "PNG", optimize=True)
        if kept.tell() <= most:
            return kept.getvalue()
    raise ValueError(f"picture = {kept.tell()} bytes with 16 colours: at most {most}. Show less of the page.")


def main(words: list[str] | None = None) -> int:
    """Make the pictures, or say whether they can be made."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--check", action="store_true", help="only say whether they can be made")
    parser.add_argument("--folder", type=Path, default=FOLDER, help="where they go")
    parser.add_argument("--book", type=Path, help="a book of Lantern Loft at that moment; a fresh one if left out")
    said = parser.parse_args(words)
    lacking = missing()
    if said.check or lacking:
        print("\n".join(lacking) or f"{len(names())} pictures can be made: {', '.join(names())}")
        return 1 if lacking else 0
    started = monotonic()

    def tell(line: str) -> None:
        print(f"{monotonic() - started:6.1f} s  {line}", file=sys.stderr)

    said.folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as home:
        book = Path(home) / "lantern-loft.sqlite"
        if said.book is not None:
            shutil.copyfile(said.book, book)
        else:
            live(book, tell)
        with served(book) as (url, wait):
            take(url, wait, said.folder, tell)
    return 0


if __name__ == "__main__":
    sys.exit(main())
