"""Values and tables as TOML writes them, so that the setup file's own reader reads them back the same."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, time

Value = bool | int | float | str | date | time | list["Value"] | dict[str, "Value"]


def one_line(words: str) -> str:
    """Words without what would break a line."""
    return "".join(letter if letter.isprintable() else " " for letter in words)


def written(value: Value) -> str:
    """
    A value as TOML writes it.

    Examples
    --------
    >>> written(True), written(0.1), written("a \\"b\\""), written([1, 2.5])
    ('true', '0.1', '"a \\\\"b\\\\""', '[1, 2.5]')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, time):
        return json.dumps(f"{value:%H:%M}")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, list):
        return "[" + ", ".join(written(each) for each in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key_text(key)} = {written(each)}" for key, each in value.items()) + " }"
    # What JSON leaves as it is and TOML does not allow is the one letter DEL.
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")


def key_text(key: str) -> str:
    """A key, in quotes where it needs them."""
    return key if key and key.isascii() and key.replace("_", "").replace("-", "").isalnum() else json.dumps(key)


def block(head: str, values: Mapping[str, Value | None]) -> str:
    """A table; what is None is left out."""
    lines = [f"{key_text(key)} = {written(value)}" for key, value in values.items() if value is not None]
    return "\n".join([head, *lines])


def or_none(value: Value, usual: Value) -> Value | None:
    """A value, or None where it is the usual one and need not be written."""
    return None if value == usual else value


def share_text(share: float) -> str:
    """A share in percent."""
    return f"{100 * share!r} %"


def hours_text(hours: float) -> str:
    """A time in hours."""
    return f"{hours!r} h"
