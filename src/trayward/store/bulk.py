"""Writing many rows at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, Table


def add_rows(connection: Connection, table: Table, rows: Sequence[tuple[Any, ...]]) -> None:
    """
    Add rows to a table, each with a value for every column, in their order.

    The driver is spoken to at once: with hundreds of thousands of rows, SQLAlchemy's care for each value of each row
    takes longer than the database does.
    """
    if not rows:
        return
    names = ", ".join(column.name for column in table.columns)
    marks = ", ".join(["?" if connection.dialect.name == "sqlite" else "%s"] * len(table.columns))
    connection.exec_driver_sql(f"INSERT INTO {table.name} ({names}) VALUES ({marks})", list(rows))
