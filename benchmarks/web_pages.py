"""How long the pages take: each page's time in the server, what it weighs, and many phones at once.

Server time is that of the whole application for one request, called in this process: who asks, the farm's lock, the
view, the template, gzip. Before each request an answer is recorded, as on a round, so nothing is served that was made
for the page before; its peer is a route that says hello in the same framework. Pages that read the whole book on
purpose (copies, exports, the check) are left out.

Many phones: a server in a process of its own with real sockets; each phone hears what moves (`/live`) and posts
answers, first one every few seconds, as twenty people walking would, then one after another, as queues that were kept
without signal would, while somebody opens the round once a second. Its peers are a bare route of
the same server asked by as many clients, and bare durable inserts into SQLite by as many writers.
"""

from __future__ import annotations

import asyncio
import json
import re
import socket
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from datetime import time as clock_time
from itertools import count
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, Any, Final

from benchmarks import appends, books, filled
from benchmarks.harness import ROOT, Figure, apart, progress, quantile, run

if TYPE_CHECKING:
    from starlette.applications import Starlette

SIZES: Final = ("Shelf", "Loft", "Barn")
ENTRIES: Final = {"Shelf": "1k", "Loft": "10k", "Barn": "1M"}
BOUND_MS: Final = {"Shelf": 50.0, "Loft": 50.0, "Barn": 150.0}
"""What p95 of every page is to stay below. [ms]"""
FIRST_PAGE_KB: Final = 150.0
"""What the first page may weigh with all it loads, compressed. [kB]"""
ASKED: Final = 20
"""How often each page is asked for."""
WHOLE_BOOK: Final = ("/book/export.jsonl", "/book/export.zip", "/book/backup", "/book/check", "/book/copies")
PHONES: Final = 20
SECONDS: Final = 30.0
PACE_S: Final = 3.0
"""From one answer of somebody walking to the next: our choice, quicker than a tray can be looked at. [s]"""
PHONE_SIZES: Final = ("Loft", "Barn")
MADE_READY_S: Final = 600.0
"""How long a farm is waited for until it is ready. [s]"""
MORNING: Final = clock_time(7, 30)
HELLO: Final = "hello of a bare route"


def figures(sizes: Iterable[str] = SIZES) -> list[Figure]:
    """Server time and weight of every page, and many phones at once, on three farms."""
    found = []
    for size in sizes:
        with tempfile.TemporaryDirectory(prefix="tray-bench-") as folder:
            book = _book(size, Path(folder))
            progress(f"web pages: {size}, {ENTRIES[size]} entries")
            found += _page_figures(size, apart("web_pages", str(book)))
            if size in PHONE_SIZES:
                progress(f"web pages: {size}, {PHONES} phones for {SECONDS:.0f} s")
                found += _phone_figures(size, _many_phones(book, Path(folder)))
    return found


def _book(size: str, folder: Path) -> Path:
    """A farm's book to do with as one likes."""
    if size != "Shelf":
        return filled.book_copy(ENTRIES[size], folder)
    from trayward.farm.codec import encode_entry
    from trayward.store import open_book
    from trayward.store.pen import Pen, prepare_canonical

    path = folder / "shelf.sqlite"
    said = books.entries(filled.entries_of(ENTRIES[size]), spots=books.SIZES[size])
    with open_book(path, create=True) as book, book.writing() as connection:
        pen = Pen(connection)
        pen.keep([prepare_canonical(encode_entry(entry)) for entry in said])
        pen.flush()
    return path


def _page_figures(size: str, told: dict[str, Any]) -> list[Figure]:
    words = f"{size}, {ENTRIES[size]} entries"
    pages = {path: [took * 1000 for took in times] for path, times in told["times"].items()}
    hello = quantile(told["hello"], 0.5) * 1000
    found = [
        Figure(f"GET {path}, p95", words, quantile(times, 0.95), "ms", "its p50", quantile(times, 0.5))
        for path, times in pages.items()
    ]
    p95 = {path: quantile(times, 0.95) for path, times in pages.items()}
    middle = median(quantile(times, 0.5) for times in pages.values())
    slowest = max(p95, key=lambda path: p95[path])
    heaviest = max(told["weights"].values()) / 1000
    return [
        *found,
        Figure("a page in the middle, p50", words, middle, "ms", HELLO, hello),
        Figure(f"the slowest page, p95 ({slowest})", words, p95[slowest], "ms", "bound", BOUND_MS[size]),
        Figure("pages that keep the bound", words, sum(p <= BOUND_MS[size] for p in p95.values()), "pages", "of all",
               len(p95)),
        Figure("the round again, nothing moved, p50", words, median(told["again"]) * 1000, "ms", HELLO, hello),
        Figure("/round with all it loads, compressed", words, told["first"] / 1000, "kB", "bound", FIRST_PAGE_KB),
        Figure("the heaviest page alone, compressed", words, heaviest, "kB", "bound", FIRST_PAGE_KB),
    ]  # fmt: skip


def _phone_figures(size: str, told: dict[str, Any]) -> list[Figure]:
    words = f"{size}, {PHONES} phones, {SECONDS:.0f} s"
    found = []
    for how, said in (("walking", told["walking"]), ("all at once", told["at once"])):
        pages = [took * 1000 for took in said["pages"]]
        took = [each * 1000 for each in said["took"]]
        found += [
            Figure(f"{how}: an answer, p95", words, quantile(took, 0.95), "ms", "its p50", quantile(took, 0.5)),
            Figure(f"{how}: GET /round, p95", words, quantile(pages, 0.95), "ms", "its p50", quantile(pages, 0.5)),
            Figure(f"{how}: errors", words, said["errors"], "errors", "answers sent", float(len(took))),
            Figure(f"{how}: told by /live that it moved", words, said["heard"], "times", "phones", float(PHONES)),
        ]
    answers = told["at once"]["answers"]
    return [
        *found,
        Figure("answers kept a second", words, answers, "1/s", "bare durable inserts", told["inserts"]),
        Figure("answers kept a second", words, answers, "1/s", HELLO, told["hellos"]),
    ]


# One page after another, in a process of its own ----------------------------------------------------------------------


def part(book: str) -> dict[str, Any]:
    """What the new process measures. [s], [byte]"""
    from trayward.web.app import create_app
    from trayward.web.warming import settle

    clock = _Clock(_morning(book))
    # As `trayward serve` opens it: made ready, and what was read left alone by the collector.
    app = create_app(book, now=clock, warm=True, made_ready=settle)
    return asyncio.run(_opened(app, clock))


class _Clock:
    """Goes on ten seconds with every answer."""

    def __init__(self, at: datetime) -> None:
        self.at = at

    def __call__(self) -> datetime:
        return self.at


def _morning(book: str) -> datetime:
    """Half past seven on the day after the book ends: the morning round is on, and nothing of it is answered yet."""
    from trayward.store import open_book

    with open_book(book) as held:
        ends = held.head().horizon
    assert ends is not None
    return datetime.combine(ends.date() + timedelta(days=1), MORNING, tzinfo=UTC)


async def _opened(app: Starlette, clock: _Clock) -> dict[str, Any]:
    async with app.router.lifespan_context(app):
        await asyncio.to_thread(app.state.house.warming.wait, MADE_READY_S)
        return await _measure(app, clock)


async def _measure(app: Starlette, clock: _Clock) -> dict[str, Any]:
    # Plans and lessons are worked out by another process; here it would only take this one's processor.
    app.state.house.work.close()
    answer, times, weights = _answers(app, clock), {}, {}
    for path in _paths(app):
        status, _, kind = await _ask(app, path)
        if status != 200 or not kind.startswith(("text/html", "application/json")):
            continue
        took = []
        for _ in range(ASKED):
            next(answer)
            began = time.perf_counter()
            _, body, _ = await _ask(app, path)
            took.append(time.perf_counter() - began)
        times[path], weights[path] = took, len(body)
    hello, again = await _in_turn(_bare(), "/hello"), await _in_turn(app, "/round")
    first = await _with_all_it_loads(app, "/round")
    return {"times": times, "weights": weights, "hello": hello, "again": again, "first": first}


async def _in_turn(app: Any, path: str) -> list[float]:
    """Times of the same request again and again, without the first. [s]"""
    found = []
    for _ in range(ASKED + 1):
        began = time.perf_counter()
        await _ask(app, path)
        found.append(time.perf_counter() - began)
    return found[1:]


def _answers(app: Starlette, clock: _Clock) -> Iterator[None]:
    """One tray after another is answered for, so that the book has moved before each request."""
    from trayward.farm.entries import RoundAnswered

    office = app.state.house.office
    for number in count():
        clock.at += timedelta(seconds=10)
        office.take()
        try:
            growing = [tray.tray for tray in office.farm.state(clock.at).growing()]
            said = RoundAnswered(trays=(growing[number % len(growing)],), round="measuring", moisture="moist")
            office.farm.record(said, at=clock.at)
        finally:
            office.give_back()
        yield


def _paths(app: Starlette) -> list[str]:
    """Every page and every look of the API; those about one thing with the name of one that there is."""
    house = app.state.house
    house.office.take()
    try:
        farm = house.office.farm
        state = farm.state(house.now())
        tray = state.growing()[0]
        known = {
            "tray": tray.tray, "recipe": tray.recipe, "id": next(iter(farm.book.entries())).entry.id,
            "seed": tray.lots[0], "lot": tray.lots[0], "harvest": next(iter(state.harvests), ""),
        }  # fmt: skip
    finally:
        house.office.give_back()
    paths = [way.path for way in house.ways if way.method == "GET" and way.path not in WHOLE_BOOK]
    return [path for each in paths if (path := _filled_in(each, known)) is not None]


def _filled_in(path: str, known: dict[str, str]) -> str | None:
    """A path with names in its parts; None where it is about something that we know no name of."""
    found = re.search(r"(\w+)/\{(\w+)[^}]*\}", path)
    if found is None:
        return path
    name = known.get(found[2]) or known.get(found[1].removesuffix("s"))
    return path.replace(path[found.start(2) - 1 : found.end()], name) if name else None


async def _ask(app: Any, path: str) -> tuple[int, bytes, str]:
    """Ask an application as a server would, and hear all that it answers."""
    path, _, query = path.partition("?")
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "GET", "scheme": "http",
        "path": path, "raw_path": path.encode(), "query_string": query.encode(), "root_path": "",
        "headers": [(b"host", b"127.0.0.1"), (b"accept-encoding", b"gzip"), (b"accept", b"text/html")],
        "client": ("127.0.0.1", 1), "server": ("127.0.0.1", 8470), "state": {},
    }  # fmt: skip
    heard: list[dict[str, Any]] = []
    unsaid: list[dict[str, Any]] = [{"type": "http.request", "body": b"", "more_body": False}]

    async def receive() -> dict[str, Any]:
        # What is sent in parts listens for whoever asked to go away: as with a real server, nothing more comes.
        return unsaid.pop() if unsaid else await asyncio.Event().wait() or {"type": "http.disconnect"}

    async def send(message: dict[str, Any]) -> None:
        heard.append(message)

    await app(scope, receive, send)
    kind = dict(heard[0]["headers"]).get(b"content-type", b"").decode()
    return heard[0]["status"], b"".join(each.get("body", b"") for each in heard[1:]), kind


async def _with_all_it_loads(app: Starlette, path: str) -> int:
    """What a page and the scripts, styles and pictures it names weigh as they are sent. [byte]"""
    import gzip

    _, body, _ = await _ask(app, path)
    page, seen, wanted = gzip.decompress(body).decode(), set(), []
    wanted = re.findall(r'(?:src|href)="(/static/[^"]+)"', page)
    total = len(body)
    while wanted:
        name = wanted.pop()
        if name in seen:
            continue
        seen.add(name)
        status, sent, kind = await _ask(app, name)
        total += len(sent) if status == 200 else 0
        if status == 200 and "javascript" in kind:
            text = gzip.decompress(sent).decode() if sent[:2] == b"\x1f\x8b" else sent.decode()
            wanted += [f"{name.rpartition('/')[0]}/{each}" for each in re.findall(r'from "\./([\w./-]+)"', text)]
    return total


def _bare() -> Any:
    from starlette.applications import Starlette
    from starlette.requests import Request
    from starlette.responses import PlainTextResponse
    from starlette.routing import Route

    def hello(request: Request) -> PlainTextResponse:  # noqa: ARG001
        return PlainTextResponse("hello")

    return Starlette(routes=[Route("/hello", hello, methods=["GET", "POST"])])


# Many phones ----------------------------------------------------------------------------------------------------------


def serve(book: str) -> None:
    """What the server's process does: the pages and a bare route, each on a socket; says where, and serves for ever."""
    import uvicorn

    from trayward.web.app import create_app
    from trayward.web.warming import settle

    began, start = time.monotonic(), _morning(book)

    def clock() -> datetime:
        return start + timedelta(seconds=time.monotonic() - began)

    pages = create_app(book, now=clock, warm=True, made_ready=settle)
    sockets = [_listening(), _listening()]
    print(json.dumps([each.getsockname()[1] for each in sockets]), flush=True)

    async def both() -> None:
        servers = [
            uvicorn.Server(
                uvicorn.Config(app, log_level="error", access_log=False, lifespan="on", timeout_graceful_shutdown=5)
            )
            for app in (pages, _bare())
        ]
        await asyncio.gather(*(one.serve([own]) for one, own in zip(servers, sockets, strict=True)))

    asyncio.run(both())


def _listening() -> socket.socket:
    # Named as TCP, or asyncio lets what is ready wait 40 ms for more.
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    found.bind(("127.0.0.1", 0))
    found.listen(128)
    return found


@contextmanager
def _served(book: Path) -> Iterator[tuple[str, str]]:
    """The server, and where its pages and its bare route are."""
    code = "import sys; from benchmarks.web_pages import serve; serve(sys.argv[1])"
    process = subprocess.Popen([sys.executable, "-c", code, str(book)], cwd=ROOT, stdout=subprocess.PIPE, text=True)
    try:
        assert process.stdout is not None
        pages, bare = json.loads(process.stdout.readline())
        yield f"http://127.0.0.1:{pages}", f"http://127.0.0.1:{bare}"
    finally:
        process.terminate()
        process.wait(20)


def _many_phones(book: Path, folder: Path) -> dict[str, Any]:
    with _served(book) as (pages, bare):
        rows = asyncio.run(_looks(pages))
        told: dict[str, Any] = {"walking": asyncio.run(_phones_at(pages, rows, SECONDS, PACE_S))}
        told["at once"] = asyncio.run(_phones_at(pages, rows, SECONDS, 0.0))
        told["hellos"] = asyncio.run(_hellos_at(bare, SECONDS / 10))
    where = str(folder / "bare.sqlite")
    appends._make_bare(where)
    told["inserts"] = appends._rate("bare", where, PHONES, 1, SECONDS / 10)
    return told


async def _looks(address: str) -> list[dict[str, Any]]:
    """The looks of the round as it begins; a phone without signal may answer one that others answered meanwhile."""
    async with _client(address, wait_s=MADE_READY_S) as client:
        await client.get("/round")  # It comes once the farm is ready.
        return [row for row in await _rows(client) if row["kind"] == "look"]


async def _phones_at(address: str, rows: list[dict[str, Any]], seconds: float, pace_s: float) -> dict[str, Any]:
    """What twenty phones got kept and how long it took, and how long the round took meanwhile. [1/s], [s]"""
    told: dict[str, Any] = {"took": [], "pages": [], "errors": 0, "heard": 0}
    async with _client(address) as client:
        await client.get("/round")
        listening = [asyncio.create_task(_listen(client, told)) for _ in range(PHONES)]
        shares = [rows[number::PHONES] or rows for number in range(PHONES)]
        began = time.perf_counter()
        end = began + seconds
        await asyncio.gather(
            _read(client, told, end),
            *(_phone(client, share, told, end, pace_s, number) for number, share in enumerate(shares)),
        )
        told["answers"] = (len(told["took"]) - told["errors"]) / (time.perf_counter() - began)
        for each in listening:
            each.cancel()
        await asyncio.gather(*listening, return_exceptions=True)
    return told


async def _rows(client: Any) -> list[dict[str, Any]]:
    return [row["told"] for row in (await client.get("/api/1/round")).json()["rows"]]


def _client(address: str, wait_s: float = 60.0) -> Any:
    """One client that keeps a connection for each phone and for each open page."""
    import httpx2

    limits = httpx2.Limits(max_connections=4 * PHONES, max_keepalive_connections=4 * PHONES)
    return httpx2.AsyncClient(base_url=address, timeout=wait_s, limits=limits)


async def _phone(
    client: Any, rows: list[dict[str, Any]], told: dict[str, Any], end: float, pace_s: float, phone: int
) -> None:
    """One phone: an answer as its queue sends it, then, once its time has come, the next."""
    await asyncio.sleep(pace_s * phone / PHONES)  # They do not walk in step.
    now, known = datetime.fromisoformat((await client.get("/live/now")).json()["now"]), time.perf_counter()
    for number in count():
        if time.perf_counter() > end:
            return
        said = (now + timedelta(seconds=time.perf_counter() - known)).isoformat()
        headers = {"Trayward-Id": str(uuid.uuid4()), "Trayward-Said": said, "Accept": "application/json"}
        form = {"row": json.dumps(rows[number % len(rows)]), "answer": "moist"}
        began = time.perf_counter()
        answer = await client.post("/round/answer", data=form, headers=headers)
        told["took"].append(time.perf_counter() - began)
        if answer.status_code != 200 or not answer.json().get("landed"):
            told["errors"] += 1
            progress(f"    {answer.status_code} {answer.text[:200]}")
        await asyncio.sleep(max(0.0, pace_s - (time.perf_counter() - began)))


async def _read(client: Any, told: dict[str, Any], end: float) -> None:
    """Somebody opens the round once a second."""
    while time.perf_counter() < end:
        began = time.perf_counter()
        answer = await client.get("/round")
        told["pages"].append(time.perf_counter() - began)
        told["errors"] += answer.status_code != 200
        await asyncio.sleep(max(0.0, 1.0 - (time.perf_counter() - began)))


async def _listen(client: Any, told: dict[str, Any]) -> None:
    """A page left open: it is told whenever the book has moved."""
    async with client.stream("GET", "/live", timeout=None) as heard:
        async for line in heard.aiter_lines():
            told["heard"] += line.startswith("data:")


async def _hellos_at(address: str, seconds: float) -> float:
    """How many hellos a second as many clients get. [1/s]"""
    done = 0

    async def one(client: Any) -> None:
        nonlocal done
        while time.perf_counter() < end:
            await client.post("/hello", data={"answer": "moist"})
            done += 1

    async with _client(address) as client:
        began = time.perf_counter()
        end = began + seconds
        await asyncio.gather(*(one(client) for _ in range(PHONES)))
        return done / (time.perf_counter() - began)


if __name__ == "__main__":
    run(figures, SIZES)
