"""The page of the setup file: its keys, kinds, bounds and defaults as the reader itself asks for them.

The reader is run over `docs/reference/every-key.toml` while its getters are listened to, so that a key which is read
and not described here, or described and not read, is found.
"""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any
from unittest import mock

from tools.setup_words import TABLES, Described
from trayward.desk.setup.file import read_setup
from trayward.desk.setup.table import Table

EXAMPLE = Path(__file__).resolve().parents[1] / "docs" / "reference" / "every-key.toml"
GETTERS = (
    "has", "raw", "text", "flag", "choice", "number", "whole", "amount", "amounts", "day", "days", "texts", "table",
    "tables",
)  # fmt: skip
NAMED_ONLY = ("crop", "recipe.stage")
"""Tables whose keys are names of tables, described as one."""
PARSED = {
    "parse_mass": 'weight, such as `"20 g"`',
    "parse_volume": 'volume, such as `"1/4 cup"`',
    "parse_length": 'length, such as `"13 mm"` or `"1/2 in"`',
    "parse_minutes": 'time, such as `"5 min"`',
    "parse_hours": 'time, such as `"16 h"`',
    "parse_days": 'time, such as `"2 d"`',
    "parse_share": 'share, such as `"80 %"`',
}
PLAIN = {
    "text": "words", "flag": "true or false", "day": "day", "days": "list of days", "texts": "list of words",
    "table": "table", "tables": "tables",
}  # fmt: skip
INTRO = """# The setup file

After reading this page you can look up any key of a setup file: what it says, what it may hold, and what counts when
you leave it out. [Set up your farm](../how-to/set-up-your-farm.md) shows how to begin.

Made by `make reference` from the reader of the file; do not edit. A test fails when this page is out of date. The file
is TOML (toml.io, version 1.0): `[name]` is a table, `[[name]]` one of several alike. Amounts are words with a unit, or
a plain number in the unit named here. [every-key.toml](every-key.toml) has every key in it at least once.

A key nobody knows is an error, with the nearest one that is known. All mistakes of a file are listed at once, each with
its line, and nothing is recorded until there are none.
"""


class Asked:
    """How the reader asked for one key."""

    def __init__(self) -> None:
        self.getter = "raw"
        self.words: dict[str, Any] = {}
        self.guarded = False

    def take(self, getter: str, words: dict[str, Any]) -> None:
        """Remember how it was asked; a bare look whether it is there says that it may be left out."""
        if getter in ("has", "raw"):
            self.guarded |= getter == "has"
        else:
            self.getter, self.words = getter, words


Keys = dict[str, dict[str, Asked]]


def place(path: tuple[str | int, ...]) -> str:
    """The table a path leads to, without its number and without names of the grower's own."""
    names = [part for part in path if isinstance(part, str)]
    if names[:1] == ["every_recipe"]:
        names[0] = "recipe"  # it is read like a recipe
    if names[:1] == ["crop"] and len(names) == 2:
        return "crop.NAME"
    if names[:2] == ["recipe", "stage"] and len(names) == 3:
        return "recipe.stage.NAME"
    return ".".join(names)


@contextmanager
def listening(found: Keys) -> Iterator[None]:
    """Listen to the getters of a table; what a getter asks of another is its own affair."""
    depth = [0]

    def heard(name: str) -> Callable[..., Any]:
        getter = getattr(Table, name)
        signature = inspect.signature(getter)

        @functools.wraps(getter)
        def ask(table: Table, key: str, *given: Any, **words: Any) -> Any:
            if not depth[0]:
                bound = signature.bind(table, key, *given, **words)
                bound.apply_defaults()
                asked = found.setdefault(place(table.path), {}).setdefault(key, Asked())
                asked.take(name, dict(bound.arguments))
            depth[0] += 1
            try:
                return getter(table, key, *given, **words)
            finally:
                depth[0] -= 1

        return ask

    with ExitStack() as stack:
        for name in GETTERS:
            stack.enter_context(mock.patch.object(Table, name, heard(name)))
        yield


def known_keys(text: str) -> Keys:
    """Every table and key that the reader asks for."""
    found: Keys = {}
    with listening(found):
        read_setup(text, name=EXAMPLE.name)
    return {table: keys for table, keys in found.items() if table not in NAMED_ONLY}


def gaps(known: Keys) -> list[str]:
    """Keys without words, and words for keys that nobody reads. Keys of the grower's own making are left out."""
    found = []
    for described in TABLES:
        keys = set() if described.own_keys else set(known.get(described.table, {}))
        told = set() if described.own_keys else set(described.keys)
        found += [f"{described.table}, {key}: no words" for key in sorted(keys - told)]
        found += [f"{described.table}, {key}: is not read" for key in sorted(told - keys)]
    return found + sorted(f"{table}: no words" for table in set(known) - {described.table for described in TABLES})


# Words ----------------------------------------------------------------------------------------------------------------


def kind(asked: Asked) -> str:
    """What a key holds."""
    words = asked.words
    if asked.getter == "choice":
        return "one of " + ", ".join(f'`"{choice}"`' for choice in words["choices"])
    if asked.getter == "whole":
        return f"whole number, {words['low']} to {words['high']}"
    if asked.getter == "number":
        return f"number{bounds(words)}" + (f", {words['unit']}" if words["unit"] else "")
    if asked.getter == "amount":
        return PARSED[words["parse"].__name__] + bounds(words) + unit_words(words["unit"])
    if asked.getter == "amounts":
        one = PARSED.get(words["parse"].__name__, f"number, {words['unit']}")
        return f"list of {' or '.join(map(str, words['count']))} from low to high; each a {one}"
    return PLAIN.get(asked.getter, "words")


def unit_words(unit: str) -> str:
    """The unit a plain number is in; shares explain themselves."""
    return f"; a plain number is in {unit}" if unit and unit != "as a share" else ""


def bounds(words: dict[str, Any]) -> str:
    """The range a number must lie in; nothing where it only must not be negative."""
    low, high = words["low"], words["high"]
    return f", {low:g} to {high:g}" if high < float("inf") else f", at least {low:g}" if low else ""


def default(asked: Asked) -> str:
    """What counts where a key is left out."""
    if asked.guarded or asked.getter in ("amounts", "table", "tables", "texts", "days", "raw"):
        return "may be left out"
    if asked.getter == "day":
        return "needed" if asked.words["needed"] else "may be left out"
    value = asked.words.get("default")
    if value is None:
        return "needed"
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    if isinstance(value, str):
        return f'`"{value}"`' if value else "may be left out"
    return f"{value:g}"


def row(key: str, asked: Asked, words: str | tuple[str, str, str]) -> str:
    """A row of the table; words may come with a kind and a default of their own."""
    what, usual, says = (kind(asked), default(asked), words) if isinstance(words, str) else words
    return f"| `{key}` | {what} | {usual} | {says} |"


def section(described: Described, keys: dict[str, Asked]) -> str:
    """One table of the file."""
    head = "| key | holds | if left out | says |\n|---|---|---|---|\n"
    rows = "\n".join(row(key, keys.get(key, Asked()), words) for key, words in described.keys.items())
    return f"## {described.title}\n\n{described.words}\n\n{head}{rows}\n"


def page() -> str:
    """The whole page."""
    known = known_keys(EXAMPLE.read_text(encoding="utf-8"))
    return "\n".join([INTRO, *(section(described, known.get(described.table, {})) for described in TABLES)])
