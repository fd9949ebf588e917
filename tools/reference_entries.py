"""The page of entries: every kind with its version and fields, as `farm/entries` has them."""

from __future__ import annotations

import ast
import inspect
import sys
import textwrap
import types
import typing
from collections.abc import Iterator
from datetime import UTC, date, datetime, time
from decimal import Decimal
from functools import cache
from typing import Any

import msgspec

from tools.entry_words import FIELDS
from trayward.farm.codec import encode_entry
from trayward.farm.entries import KINDS, Body, Entry, Washed

PLAIN: dict[Any, str] = {
    str: "words", int: "whole number", float: "number", bool: "true or false", date: "day", datetime: "moment",
    time: "time of day", types.NoneType: "nothing", msgspec.Raw: "JSON",
    Decimal: "amount in quotes",
}  # fmt: skip
INTRO = """# Entries

After reading this page you can read an exported book, line by line, and write a program that uses one.

Made by `make reference` from the kinds themselves; do not edit. A test fails when this page is out of date.

An *entry* is one fact in the book. `trayward book export farm.jsonl` writes the whole book, one entry a line, in this
form (JSON, keys sorted, times in UTC, the same bytes the hashes are made from):

```json
{example}
```

| key | holds |
|---|---|
| `id` | Made by the device that says it: 8 to 64 letters, digits, `-` or `_`. Sending it twice changes nothing. |
| `at` | When it happened. |
| `recorded` | When it was said. |
| `by` | Who says so. |
| `kind` | Its kind, one of those below, for ever. |
| `version` | The version of the kind's shape. Older ones are lifted when they are read; their bytes stay as they are. |
| `body` | What the kind says: its fields below. |

Units are the same everywhere: grams, millilitres, millimetres, degrees Celsius, dS/m, umol/m2/s, per cent relative
humidity; shares run from 0 to 1; money is in the farm's currency. A field with a default may be missing.
"""


# Types in words -------------------------------------------------------------------------------------------------------


def type_words(kind: Any) -> str:
    """A type as a reader would say it."""
    if kind in PLAIN:
        return PLAIN[kind]
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        return f"[{kind.__name__}](#{kind.__name__.lower()})"
    of = typing.get_args(kind)
    if typing.get_origin(kind) is typing.Literal:
        return "one of " + ", ".join(f'`"{word}"`' for word in of)
    if typing.get_origin(kind) is tuple:
        inner = f"list of {type_words(of[0])}"
        return inner if of[-1] is Ellipsis else f"{inner}, {len(of)} of them"
    if typing.get_origin(kind) is dict:
        return f"{type_words(of[1])} by {type_words(of[0])}"
    if isinstance(kind, types.UnionType) or typing.get_origin(kind) is typing.Union:
        return " or ".join(type_words(part) for part in of)
    raise TypeError(f"{kind} = no words: the page of entries cannot say this type. Add it to `type_words`.")


def structs_in(kind: Any) -> Iterator[type[msgspec.Struct]]:
    """The values that a type is made of."""
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        yield kind
    for part in typing.get_args(kind):
        yield from structs_in(part)


def hints(struct: type[msgspec.Struct]) -> dict[str, Any]:
    """Field -> type, with names resolved."""
    found = typing.get_type_hints(struct)
    return {name: found[name] for name in struct.__struct_fields__}


def inner_structs() -> list[type[msgspec.Struct]]:
    """Every value that stands inside a body, in the order of meeting."""
    found: dict[type[msgspec.Struct], None] = {}
    queue: list[type[msgspec.Struct]] = list(KINDS.values())
    for struct in queue:
        for kind in hints(struct).values():
            new = [inner for inner in structs_in(kind) if inner not in found]
            found |= dict.fromkeys(new)
            queue += new
    return list(found)


# Fields ---------------------------------------------------------------------------------------------------------------


@cache
def source_of(module: str) -> ast.Module:
    """A module's source, read once: most structs share theirs with many."""
    return ast.parse(inspect.getsource(sys.modules[module]))


@cache
def attribute_words(struct: type[msgspec.Struct]) -> dict[str, str]:
    """The words that stand below a field in the source; a class answers for the fields it inherits, too."""
    found: dict[str, str] = {}
    for base in reversed(struct.__mro__):
        if base.__module__.startswith("trayward"):
            own = next(
                node
                for node in source_of(base.__module__).body
                if isinstance(node, ast.ClassDef) and node.name == base.__name__
            )
            for field, after in zip(own.body, own.body[1:], strict=False):
                if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name) and _is_words(after):
                    found[field.target.id] = " ".join(typing.cast(Any, after).value.value.split())
    return found


def _is_words(node: ast.stmt) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)


def field_words(struct: type[msgspec.Struct], name: str) -> str:
    """What a field says: by the source, else by the words kept beside this tool; empty where nobody says."""
    own = attribute_words(struct).get(name)
    return own or FIELDS.get(f"{struct.__name__}.{name}") or FIELDS.get(name, "")


def gaps() -> list[str]:
    """Fields that nobody explains, and words for fields that are gone."""
    structs = [*KINDS.values(), *inner_structs()]
    silent = [
        f"{one.__name__}.{name}: no words" for one in structs for name in hints(one) if not field_words(one, name)
    ]
    names = {name for one in structs for name in hints(one)} | {f"{s.__name__}.{n}" for s in structs for n in hints(s)}
    return silent + [f"{name}: is gone" for name in sorted(set(FIELDS) - names)]


def default_words(field: Any) -> str:
    """What counts where a field is missing."""
    if field.default_factory is not msgspec.NODEFAULT:
        return "`[]`" if field.default_factory is list else "empty"
    if field.default is msgspec.NODEFAULT:
        return "needed"
    written = msgspec.json.encode(field.default).decode()
    return f"`{written}`" if len(written) < 40 else "its usual values"


def rows(struct: type[msgspec.Struct]) -> str:
    """The table of a value's fields."""
    found = []
    kinds = hints(struct)
    for field in msgspec.structs.fields(struct):
        words = field_words(struct, field.name).replace("|", "\\|")
        found.append(f"| `{field.name}` | {type_words(kinds[field.name])} | {default_words(field)} | {words} |")
    return "| field | holds | if missing | says |\n|---|---|---|---|\n" + "\n".join(found) + "\n"


def subject_kinds(body: type[Body]) -> str:
    """What such an entry is filed under: the kinds of subject its source names."""
    source = inspect.getsource(body.subjects)
    found = dict.fromkeys(part.partition(":")[0] for part in _texts(source) if part.endswith(":"))
    return ", ".join(f"`{kind}`" for kind in found)


def _texts(source: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(textwrap.dedent(source))):
        if isinstance(node, ast.JoinedStr) and isinstance(node.values[0], ast.Constant):
            yield str(node.values[0].value)


def kind_section(body: type[Body]) -> str:
    """One kind."""
    filed = subject_kinds(body)
    about = f" Filed under {filed}." if filed else ""
    return f"## {body.KIND}\n\n{plain(body)}\n\nVersion {body.VERSION}.{about}\n\n{rows(body)}"


def plain(struct: type[msgspec.Struct]) -> str:
    """The docstring as paragraphs of one line each."""
    paragraphs = inspect.cleandoc(struct.__doc__ or "").split("\n\n")
    return "\n\n".join(" ".join(paragraph.split()) for paragraph in paragraphs)


def example() -> str:
    """An entry as it is written."""
    at = datetime(2026, 11, 25, 7, 20, tzinfo=UTC)
    body = Washed(pool="mesh mat", count=6, rinse_c=20.0)
    return encode_entry(Entry(id="3f2a9c1d0b7e", at=at, recorded=at, by="Ada", body=body)).decode()


def page() -> str:
    """The whole page."""
    listed = "".join(
        f"- [{kind}](#{kind.replace(' ', '-')}): {plain(body).splitlines()[0]}\n" for kind, body in KINDS.items()
    )
    kinds = [kind_section(body) for body in KINDS.values()]
    inner = [f"### {one.__name__}\n\n{plain(one)}\n\n{rows(one)}" for one in inner_structs()]
    values = "## Values inside entries\n\nThese stand in the fields above.\n"
    return "\n".join([INTRO.replace("{example}", example()), listed, *kinds, values, *inner])
