"""Ports of this machine that are a test's own from the moment they are found."""

from __future__ import annotations

import os
import socket
import weakref


class HeldPort:
    """
    A free port that nobody else is given, though nothing listens yet; let go with this.

    A port that is looked for, let go and bound later may be another test's by then. This one stays bound, without
    listening, with SO_REUSEADDR: a server that sets that too (uvicorn and mosquitto do) can listen at it meanwhile,
    again and again, while neither another search for a port nor an outgoing connection is given it.
    """

    def __init__(self) -> None:
        with socket.socket() as held:
            held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            held.bind(("127.0.0.1", 0))
            self.number: int = held.getsockname()[1]
            weakref.finalize(self, os.close, held.detach())
