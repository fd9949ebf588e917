"""A group of commands whose modules are imported only when one of them is asked for, so that help comes at once."""

from __future__ import annotations

import importlib
from typing import NamedTuple

import click


class Listed(NamedTuple):
    """Where a command lives, and the line that lists it."""

    module: str
    attribute: str
    line: str


class LazyGroup(click.Group):
    """A group that knows its commands by name and line, and imports a command's module when it is used."""

    def __init__(self, name: str, listed: dict[str, Listed], **settings: object) -> None:
        super().__init__(name, **settings)  # type: ignore[arg-type]
        self.listed = listed

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Names in the order of the work, not of the alphabet."""
        return list(self.listed)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import the command's module and hand the command out."""
        where = self.listed.get(cmd_name)
        if where is None:
            return None
        found = getattr(importlib.import_module(where.module), where.attribute)
        assert isinstance(found, click.Command)
        return found

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """List the commands from the table, without importing any."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, where.line) for name, where in self.listed.items()])
