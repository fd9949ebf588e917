"""Bringing the tables of an older book up to date. Only this module knows alembic; a current book needs none."""

from __future__ import annotations

from importlib.resources import files

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection


def upgrade(connection: Connection, revision: str = "head") -> None:
    """Bring the tables to a revision inside the connection's open transaction; the caller keeps or drops it."""
    command.upgrade(alembic_config(connection), revision)


def alembic_config(connection: Connection | None = None) -> Config:
    """Alembic's settings: where the revisions are, and the connection to work on."""
    config = Config()
    config.set_main_option("script_location", str(files("trayward.store") / "migrations").replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    return config
