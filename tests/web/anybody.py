"""Somebody before the pages whose name and role a test sets as it goes."""

from __future__ import annotations

from typing import Literal

from starlette.requests import Request
from starlette.responses import Response

from trayward.web.guard import Role, Who


class Anybody:
    """One person; `is_now` makes them another. A test module that needs it returns one from its `people` fixture."""

    def __init__(self) -> None:
        self.is_now("Maren", "owner")

    def is_now(self, name: str, role: Role, *, units: Literal["", "metric", "us"] = "") -> None:
        """Who asks from now on, and in which units they read."""
        self._who = Who(name=name, role=role, units=units)

    def anyone(self) -> bool:
        """Nobody is a stranger."""
        return False

    def who(self, request: Request) -> Who | None:
        """Who asks."""
        return self._who

    def stranger(self, request: Request) -> Response | None:
        """Never asked."""
        return None

    def answered(self, request: Request, response: Response) -> None:
        """Nothing to add."""
