"""Who may do what, and who is asking: the one contract between the pages and the people who use them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, Protocol

import msgspec

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

Role = Literal["owner", "hand", "reader", "sensor"]
"""What somebody is on the farm: keeps it, works on it, only looks at it; or a program that hands in readings."""

Right = Literal["look", "answer", "run", "sense"]
"""look: read everything. answer: rounds, cuts, washes, notes. run: orders, plan, stores, setup, people. sense: hand in
readings of sensors, and nothing else."""

MAY: dict[Role, frozenset[Right]] = {
    "owner": frozenset(("look", "answer", "run", "sense")),
    "hand": frozenset(("look", "answer", "sense")),
    "reader": frozenset(("look",)),
    "sensor": frozenset(("sense",)),
}
"""What each role may do."""


class Who(msgspec.Struct, frozen=True, kw_only=True):
    """Somebody who is known: what is written beside each entry, and what they may do."""

    name: str
    role: Role
    language: str = ""
    """Language they chose (`en`, `es`); empty: as the browser asks."""
    units: Literal["", "metric", "us"] = ""
    """Units they chose; empty: the farm's."""
    by_token: bool = False
    """Known by a token in the request's own header rather than by a cookie: no other site can send it for them."""

    def may(self, right: Right) -> bool:
        """Whether they may do what takes that right."""
        return right in MAY[self.role]


class People(Protocol):
    """Who is asking. Called in a worker thread, never in the event loop, so it may look into a database and hash.

    It reads no clock: `request.state.now` is the present moment, by the clock of the pages. Its own pages (log-in, PIN,
    pairing) are listed like all others, with `may="anyone"` where strangers must get in.
    """

    def anyone(self) -> bool:
        """Whether there is anybody who has to log in; without, the pages stay on this machine."""

    def who(self, request: Request) -> Who | None:
        """Who sends this; None for a stranger, for one whose session ended, and where a PIN is waited for."""

    def stranger(self, request: Request) -> Response | None:
        """What somebody unknown gets who asks for a page: the log-in or the PIN. None: the plain 401.

        Asked only of pages read by a person; JSON and kept sends always get the 401 in the one error shape.
        """

    def answered(self, request: Request, response: Response) -> None:
        """Last touch on what goes back to somebody known: renew a session's cookie, ..."""


class OnePerson:
    """One person at this machine, with no log-in: everything is theirs. Only ever on loopback."""

    def __init__(self, name: str = "grower", *, language: str = "", units: Literal["", "metric", "us"] = "") -> None:
        self._who = Who(name=name, role="owner", language=language, units=units)

    def anyone(self) -> bool:
        """Nobody has to log in."""
        return False

    def who(self, request: Request) -> Who | None:  # noqa: ARG002
        """The one person there is."""
        return self._who

    def stranger(self, request: Request) -> Response | None:  # noqa: ARG002
        """There are none."""
        return None

    def answered(self, request: Request, response: Response) -> None:
        """Nothing to add."""
