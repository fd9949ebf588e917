"""How an entry's body is laid out in a CSV row, so that it can be read in a spreadsheet and comes back unchanged.

One file for each kind (and version, once a kind has more than one). A column that always holds text holds it as it is;
every other cell is JSON, empty for null. Which columns are text is kept in `about.json`, so the files can still be read
when a kind has changed. A text that a spreadsheet would take for a formula gets an apostrophe in front.
"""

from __future__ import annotations

from functools import cache
from typing import Any, Literal, get_args, get_origin

import msgspec

from trayward.farm.entries import KINDS

ABOUT = "about.json"
ENVELOPE = ("seq", "hash", "entry_id", "at", "recorded", "by", "version")
"""Columns in front of the body's own."""

FORMULA = ("=", "+", "-", "@", "\t", "\r", "'")

_ENCODER = msgspec.json.Encoder(order="sorted")


class About(msgspec.Struct, kw_only=True):
    """What is to be known about a folder of CSV files in order to read it."""

    form: Literal[1] = 1
    kinds: dict[str, str] = {}
    """File name -> kind of the entries in it."""
    text: dict[str, list[str]] = {}
    """File name -> columns of the body that hold text as it is."""


class Written(msgspec.Struct, kw_only=True, forbid_unknown_fields=True):
    """An entry's canonical JSON, taken apart but not read: works for every version there ever was."""

    id: str
    at: str
    recorded: str
    by: str
    kind: str
    version: int
    body: dict[str, Any]


def file_name(kind: str, version: int) -> str:
    """The CSV file of a kind.

    Examples
    --------
    >>> file_name("seed received", 1), file_name("seed received", 2)
    ('seed-received.csv', 'seed-received.v2.csv')
    """
    return kind.replace(" ", "-") + (".csv" if version == 1 else f".v{version}.csv")


@cache
def text_columns(kind: str, version: int) -> frozenset[str]:
    """Columns of the body that hold text and nothing else; of an older version nothing is known."""
    body = KINDS.get(kind)
    if body is None or version != body.VERSION:
        return frozenset()
    return frozenset(field.name for field in msgspec.structs.fields(body) if _is_text(field.type))


def to_cells(written: Written, seq: int, digest: str, columns: list[str]) -> list[str]:
    """The row of an entry, in the order of `ENVELOPE` and `columns`."""
    text = text_columns(written.kind, written.version)
    front = [str(seq), digest, _safe(written.id), written.at, written.recorded, _safe(written.by), str(written.version)]
    return front + [_cell(written.body[column], column in text) for column in columns]


def to_canonical(kind: str, row: dict[str, str], text: list[str]) -> bytes:
    """The canonical JSON of the entry in a row. `ValueError` for cells that hold nothing of the kind."""
    body = {
        column: _plain(cell) if column in text else msgspec.json.decode(cell or "null")
        for column, cell in row.items()
        if column not in ENVELOPE
    }
    written = Written(
        id=_plain(row["entry_id"]),
        at=row["at"],
        recorded=row["recorded"],
        by=_plain(row["by"]),
        kind=kind,
        version=int(row["version"]),
        body=body,
    )
    return _ENCODER.encode(written)


def _is_text(kind: object) -> bool:
    literal = get_origin(kind) is Literal and all(isinstance(word, str) for word in get_args(kind))
    return kind is str or literal


def _cell(value: object, is_text: bool) -> str:
    if is_text:
        return _safe(str(value))
    return "" if value is None else _ENCODER.encode(value).decode()


def _safe(text: str) -> str:
    return f"'{text}" if text.startswith(FORMULA) else text


def _plain(cell: str) -> str:
    return cell.removeprefix("'")
