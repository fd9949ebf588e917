"""Writing many rows at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, Table


def add_rows(connection: Connection, table: Table, rows: Sequence[tuple[Any, ...]]) -> None:
    """
    Add rows to a table, in their order, each with a value for every column.

    The driver is spoken to at once, and PostgreSQL is given whole columns: with hundreds of thousands of rows, the care
    for each value and the talk about each row would take several times as long as the database itself.
    """
    if not rows:
        return
    names = ", ".join(column.name for column in table.columns)
    if connection.dialect.name == "sqlite":
        marks = ", ".join("?" for _ in table.columns)
        connection.exec_driver_sql(f"INSERT INTO {table.name} ({names}) VALUES ({marks})", list(rows))
        return
    columns = ", ".join(f"%s::{column.type.compile(connection.dialect)}[]" for column in table.columns)
    given = f"unnest({columns}) WITH ORDINALITY AS given ({names}, place)"
    values = tuple(list(column) for column in zip(*rows, strict=True))
    connection.exec_driver_sql(f"INSERT INTO {table.name} ({names}) SELECT {names} FROM {given} ORDER BY place", values)
