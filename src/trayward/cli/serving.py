"""The pages: `trayward serve`, on this machine alone unless there are people who log in."""

from __future__ import annotations

import errno
import ipaddress
import signal
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from trayward.cli import clock
from trayward.cli.given import Given, command
from trayward.cli.numbers import whole
from trayward.errors import BookError, InputError

if TYPE_CHECKING:
    from starlette.applications import Starlette

    from trayward.web.sensors.telling import Tellers


HOST = "127.0.0.1"
PORT = 8470
_TELL = (
    click.option(
        "--tell", "post", envvar="TRAYWARD_ALARM_URL", metavar="URL",
        help="Address that takes a POST of each alarm. Example: https://alarm.lantern-loft.example/new.",
    ),
    click.option(
        "--tell-command", "run", envvar="TRAYWARD_ALARM_COMMAND", metavar="COMMAND",
        help='Command that is run for each alarm. Example: "/usr/local/bin/ring --loud".',
    ),
    click.option(
        "--mail", "mail", envvar="TRAYWARD_MAIL", metavar="URL",
        help="Mail server for alarms. Example: smtps://loft%40lantern-loft.example@mail.lantern-loft.example.",
    ),
)  # fmt: skip
"""Such addresses often hold a secret, and a command runs with our rights: they are the machine's, not the book's."""


class Told(NamedTuple):
    """How this machine tells alarms, as it was said."""

    post: str | None = None
    run: str | None = None
    mail: str | None = None


def tell_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Options that say how alarms are told; the function is given them together, as `told`."""

    @wraps(function)
    def with_told(*words: Any, post: str | None, run: str | None, mail: str | None, **others: Any) -> Any:
        return function(*words, told=Told(post, run, mail), **others)

    for option in reversed(_TELL):
        with_told = option(with_told)
    return with_told


def tellers_of(told: Told) -> Tellers | None:
    """
    Who tells alarms; nobody where nothing is said.

    Raises
    ------
    InputError
        If an address is none, or there is no such command.
    """
    if not any(told):
        return None
    from trayward.web.sensors.mailing import Mail, mail_server_of
    from trayward.web.sensors.running import Command
    from trayward.web.sensors.telling import Post, Tellers, Way

    ways: list[Way] = [Post(told.post)] if told.post else []
    ways += [Command(told.run)] if told.run else []
    ways += [Mail(mail_server_of(told.mail))] if told.mail else []
    return Tellers(ways)


@command("serve", example="trayward serve --book farm.sqlite", records=True)
@click.option("--host", default=HOST, show_default=True, help="Address to answer at. Example: 192.168.1.20.")
@click.option(
    "--port", type=whole(0, 65535), default=PORT, show_default=True, help="Port; 0 takes a free one. Example: 8471."
)
@tell_options
@click.option("--mqtt", metavar="URL", help="Hear sensors at this broker, too. Example: mqtt://127.0.0.1.")
def serve(given: Given, host: str, port: int, told: Told, mqtt: str | None) -> None:
    """Open the pages in a browser on this machine, or on phones once there are people.

    They stay until you stop them with Ctrl-C. `--at` starts their clock at that moment, to look around.
    """
    serve_pages(given, host, port, told=told, mqtt=mqtt)


def serve_pages(
    given: Given,
    host: str,
    port: int,
    *,
    or_any_port: bool = False,
    told: Told | None = None,
    mqtt: str | None = None,
) -> None:
    """Serve the pages until somebody stops them."""
    from trayward.cli.backing_up import PlannedBackups
    from trayward.web.app import create_app
    from trayward.web.people.keeper import FarmPeople
    from trayward.web.warming import settle

    _require_folder(given.book)
    people = FarmPeople(given.book, name=given.by)
    given.ctx.call_on_close(people.close)
    require_people_beyond_here(host, anyone=people.anyone())
    with listen(host, port, or_any_port=or_any_port) as listening:
        # A large farm's record stays as long as the pages do: the collector need not look through all of it again and
        # again, which on a farm of a million entries takes a second of a page's time.
        now, tell = pages_clock(given), _tellers(given, told)
        app = create_app(given.book, now=now, people=people, warm=True, made_ready=settle, tell=tell)
        _hear(given, mqtt, app, now)
        planned = PlannedBackups(app.state.house.office, given.book, pages_clock(given))
        planned.begin()
        try:
            run(app, listening, lambda: _tell(given, address_of(host, listening)))
        finally:
            planned.end()
    if not given.json:
        click.echo("Stopped. What was kept is in the book.")


def _tellers(given: Given, told: Told | None) -> Tellers | None:
    """Who tells alarms as long as the pages stay."""
    made = tellers_of(told or Told())
    if made is not None:
        given.ctx.call_on_close(made.end)
    return made


def _hear(given: Given, mqtt: str | None, app: Starlette, now: Callable[[], datetime]) -> None:
    """Hear the sensors at a broker as long as the pages stay, where one is given."""
    if mqtt:
        from trayward.web.sensors.listening import Listening, broker_of, called

        house, watch = app.state.house, app.state.watch

        def moved() -> None:
            house.live.nudge()
            watch.nudge()

        app.state.listening = Listening(
            house.office, broker_of(mqtt), now, name=called(given.book), moved=moved, say=click.echo
        )


def pages_clock(given: Given) -> Callable[[], datetime]:
    """The clock of the pages: it runs on from `--at` where that is given, and stands where the clock is stopped."""
    if not given.when:
        return clock.now
    if not given.has_farm:
        # The first farm is asked for on the pages: until then a moment is read by the clock of Greenwich.
        from trayward.farm.settings import FarmSettings

        given.settings = FarmSettings(name="")
    ahead = given.at - given.now
    return lambda: clock.now() + ahead


def require_people_beyond_here(host: str, *, anyone: bool) -> None:
    """Raise `InputError` for an address that others can reach, where nobody would have to log in."""
    if anyone or is_loopback(host):
        return
    rule = "others could reach the pages there, and nobody would have to log in"
    remedy = "Add yourself first: trayward people add NAME --role owner. Or leave --host out."
    raise InputError("host", host, rule, remedy)


def is_loopback(host: str) -> bool:
    """
    Whether only this machine reaches an address.

    Examples
    --------
    >>> is_loopback("127.0.0.1"), is_loopback("localhost"), is_loopback("::1"), is_loopback("0.0.0.0")
    (True, True, True, False)
    """
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def listen(host: str, port: int, *, or_any_port: bool = False) -> socket.socket:
    """
    A socket that listens at an address.

    Raises
    ------
    InputError
        If the port is taken, or the address is none of this machine's.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # Named as TCP: asyncio only then sends what is ready at once, and does not wait 40 ms for more (TCP_NODELAY).
    listening = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
    except OSError as error:
        listening.close()
        if error.errno == errno.EADDRINUSE and or_any_port:
            return listen(host, 0)
        raise _refused(host, port, error) from error
    return listening


def _refused(host: str, port: int, error: OSError) -> InputError:
    if error.errno == errno.EADDRINUSE:
        rule = "something answers there already; perhaps these very pages"
        return InputError(
            "port", port, rule, f"Open http://{host}:{port} and see, or choose another: --port {port + 1}."
        )
    if error.errno == errno.EACCES:
        return InputError("port", port, "this machine keeps it for itself", "Choose one above 1023, for instance 8470.")
    return InputError("host", host, f"this machine cannot answer there ({error.strerror})", "Check the address.")


def address_of(host: str, listening: socket.socket) -> str:
    """The address to type into a browser."""
    shown = f"[{host}]" if ":" in host else host
    return f"http://{shown}:{listening.getsockname()[1]}/"


def run(app: Starlette, listening: socket.socket, tell: Callable[[], None]) -> None:
    """Answer until Ctrl-C; `tell` is called once the pages can be opened."""
    import uvicorn

    class Serving(uvicorn.Server):
        """Says when it is up, and lets waiting pages go when it is to end."""

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            if self.started:
                tell()

        @contextmanager
        def capture_signals(self) -> Iterator[None]:
            # As uvicorn's own, but a signal that was heeded is not raised once more: its shutting down is all of it.
            heeded = (signal.SIGINT, signal.SIGTERM)
            before = {each: signal.signal(each, self.handle_exit) for each in heeded}
            try:
                yield
            finally:
                for each, handler in before.items():
                    signal.signal(each, handler)

        def handle_exit(self, sig: int, frame: Any) -> None:
            app.state.house.live.let_go()
            super().handle_exit(sig, frame)

    config = uvicorn.Config(
        app, log_level="warning", access_log=False, lifespan="on", server_header=False, timeout_graceful_shutdown=5,
    )  # fmt: skip
    Serving(config).run(sockets=[listening])


def _require_folder(book: str) -> None:
    if "://" not in book and not Path(book).absolute().parent.is_dir():
        raise BookError(f"book = {book}: there is no such folder. Make it first, or name another with --book.")


def _tell(given: Given, address: str) -> None:
    if given.json:
        import json

        click.echo(json.dumps({"address": address, "book": given.shown_book}))
        return
    click.echo(f"Open {address} in a browser on this machine. Stop with Ctrl-C.")
