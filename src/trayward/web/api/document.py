"""The OpenAPI document, made from the operations and their types; it cannot say what the code does not do.

OpenAPI 3.1 takes JSON Schema 2020-12 as it is (OpenAPI Specification 3.1, "Schema Object", from memory), which is what
msgspec makes of its structs.
"""

from __future__ import annotations

import ast
import inspect
from collections.abc import Iterator, Sequence
from functools import lru_cache
from importlib.metadata import version
from textwrap import dedent
from typing import Any

import msgspec

from trayward.rounds.restack import Restack
from trayward.web.api.operation import BASE, JSON, LONGEST_NAME, Operation

REF = "#/components/schemas/{name}"

ABOUT = """\
The same actions as the pages, for programs. Amounts are grams, millilitres, millimetres, degrees Celsius, dS/m; moments
carry their offset; shares lie between 0 and 1.

Send a token as `Authorization: Bearer ...` (made under People, or with `trayward people token add`). Where a farm has
no people, programs on the same machine need none. What is sent is `application/json`.

Everything said may carry an `id` (a UUID made by who sends it): sent again with the same `id` it changes nothing and
gets the same receipt, so a program that heard no answer just sends it again.

Answers carry an `ETag`; sent back as `If-None-Match` it gets 304 as long as nothing moved. Lists come in pages: send
their `next` back as `after` (of entries: their `older` as `before`).

What goes wrong has one shape. Its `kind`, `thing`, `value`, `unit`, `rule` and `remedy` are the same everywhere, for a
program to go by; its `sentence`, and that of each of its `doubts`, is for a person, in English or, where
`Accept-Language` asks for it (`es`), in Spanish. The answer says which in `Content-Language`.
"""


class DoubtTold(msgspec.Struct, frozen=True, kw_only=True):
    """Something that looks mistyped, with what was expected."""

    subject: str
    """What it is about."""
    what: str
    """Which figure of it."""
    value: float | str
    unit: str
    expected_low: float | str | None
    expected_high: float | str | None
    perhaps: float | str | None
    """What may have been meant."""
    said: str
    rule: str
    perhaps_said: str
    sentence: str


class ErrorTold(msgspec.Struct, frozen=True, kw_only=True):
    """What went wrong."""

    kind: str
    """input, not found, refused, doubt, conflict, setup, plan, book, shut, fault."""
    thing: str
    """What was wrong: a field, a tray, an entry."""
    value: str
    unit: str
    rule: str
    remedy: str
    sentence: str
    """All of it in words, in the language `Accept-Language` asks for."""
    doubts: tuple[DoubtTold, ...]
    """Of the kind `doubt`: what looks mistyped. Sent again with `sure` it is kept as it is."""
    restack: Restack | None = None
    """Where room is missing and stacking would make some: the fewest moves for it, to be said as a move."""


class Error(msgspec.Struct, frozen=True, kw_only=True):
    """The one shape of everything that goes wrong."""

    error: ErrorTold


WRONG = {
    "400": "It cannot be read: no JSON.",
    "401": "Nobody is known by that token, or none was sent.",
    "403": "The token's role may not do this; or it was sent by another site.",
    "404": "There is nothing of that name.",
    "409": "There is no farm yet; the `id` is another entry's; or others write without a pause: try again.",
    "413": "It is too large.",
    "415": "It is not `application/json`.",
    "422": "It was understood, and cannot be: the error says what, and the way out. Of the kind `doubt`: it looks "
    "mistyped; send it again with `sure`.",
    "429": "Too much at once: wait a minute, then go on.",
    "503": "The book cannot be reached: try again.",
}


def document(operations: Sequence[Operation]) -> dict[str, Any]:
    """The whole document, as plain values."""
    return _document(tuple(operations))


@lru_cache(maxsize=4)
def _document(operations: tuple[Operation, ...]) -> dict[str, Any]:
    kinds = list(dict.fromkeys([Error, *(each.gives for each in operations), *(each.takes for each in operations)]))
    schemas, components = msgspec.json.schema_components(kinds, ref_template=REF)
    _add_words(kinds, components)
    known = dict(zip(kinds, schemas, strict=True))
    paths: dict[str, dict[str, Any]] = {}
    for each in operations:
        paths.setdefault(_path(each), {})[each.method.lower()] = _described(each, known, components)
    return {
        "openapi": "3.1.0",
        "info": {"title": "Trayward", "version": version("trayward"), "description": ABOUT},
        "servers": [{"url": "/"}],
        "security": [{"token": []}],
        "paths": paths,
        "components": {
            "schemas": components,
            "securitySchemes": {"token": {"type": "http", "scheme": "bearer"}},
        },
    }


# Words of the fields ------------------------------------------------------------------------------------------------


def _add_words(kinds: Sequence[Any], components: dict[str, Any]) -> None:
    """What the code says of a field, below it, is what the document says of it."""
    named: dict[str, list[type]] = {}
    for each in dict.fromkeys(_structs(msgspec.inspect.multi_type_info(kinds), set())):
        named.setdefault(each.__name__, []).append(each)
    for name, schema in components.items():
        alike = named.get(name.rpartition(".")[2].partition("_")[0], [])
        cls = next((one for one in alike if len(alike) == 1 or f"{one.__module__}.{one.__qualname__}" == name), None)
        for field, words in field_words(cls).items() if cls is not None else ():
            if field in schema.get("properties", {}):
                schema["properties"][field]["description"] = words


def _structs(info: Any, seen: set[int]) -> Iterator[type]:
    """Every struct that some types are made of."""
    if id(info) in seen:
        return
    seen.add(id(info))
    if isinstance(info, list | tuple):
        for each in info:
            yield from _structs(each, seen)
    elif isinstance(info, msgspec.inspect.Type | msgspec.inspect.Field):
        if isinstance(info, msgspec.inspect.StructType):
            yield getattr(info.cls, "__origin__", info.cls)
        for field in info.__struct_fields__:
            yield from _structs(getattr(info, field), seen)


@lru_cache(maxsize=512)
def field_words(cls: type) -> dict[str, str]:
    """
    What stands below each field of a struct, those it inherits among them.

    Examples
    --------
    >>> from trayward.web.api.telling import Telling
    >>> field_words(Telling)["at"]
    'When it happened; now, where it is left out.'
    """
    found: dict[str, str] = {}
    for one in reversed(cls.__mro__):
        if not issubclass(one, msgspec.Struct) or one is msgspec.Struct:
            continue
        body = ast.parse(dedent(inspect.getsource(one))).body[0]
        assert isinstance(body, ast.ClassDef)
        for field, words in zip(body.body, body.body[1:], strict=False):
            if isinstance(field, ast.AnnAssign) and isinstance(words, ast.Expr) and isinstance(field.target, ast.Name):
                said = ast.literal_eval(words.value)
                found[field.target.id] = " ".join(str(said).split())
    return found


# Operations -----------------------------------------------------------------------------------------------------------


def _path(operation: Operation) -> str:
    return BASE + operation.path.replace(":path}", "}")


def _described(operation: Operation, known: dict[Any, Any], components: dict[str, Any]) -> dict[str, Any]:
    told: dict[str, Any] = {
        "operationId": operation.name,
        "tags": [operation.tag],
        "summary": operation.summary,
        "description": f"Takes the right to {RIGHTS[operation.may]}.",
        "x-right": operation.may,
        "responses": _responses(operation, known),
    }
    parameters = [_part(name) for name in operation.parts]
    if operation.method == "GET":
        parameters += _asked(known[operation.takes], components)
    else:
        told["requestBody"] = {"required": True, "content": {JSON: {"schema": known[operation.takes]}}}
    return told | ({"parameters": parameters} if parameters else {})


RIGHTS = {
    "look": "look (reader, hand, owner)",
    "answer": "answer (hand, owner)",
    "run": "run the farm (owner)",
    "sense": "hand in readings (sensor, hand, owner)",
}


def _part(name: str) -> dict[str, Any]:
    schema = {"type": "string", "minLength": 1, "maxLength": LONGEST_NAME}
    return {"name": name, "in": "path", "required": True, "schema": schema}


def _asked(ref: dict[str, Any], components: dict[str, Any]) -> list[dict[str, Any]]:
    """What stands behind the `?`: each field of the struct."""
    struct = components[ref["$ref"].rpartition("/")[2]]
    must = struct.get("required", [])
    found = []
    for name, schema in struct["properties"].items():
        said = {key: value for key, value in schema.items() if key != "description"}
        words = {"description": schema["description"]} if "description" in schema else {}
        found.append({"name": name, "in": "query", "required": name in must, "schema": _no_null(said)} | words)
    return found


def _no_null(schema: dict[str, Any]) -> dict[str, Any]:
    """A field of an address is there or it is not; nothing in it is null."""
    choices = [each for each in schema.get("anyOf", []) if each != {"type": "null"}]
    if len(choices) == 1 and len(schema.get("anyOf", [])) == 2:
        return dict(choices[0])
    return {key: value for key, value in schema.items() if not (key == "default" and value is None)}


def _responses(operation: Operation, known: dict[Any, Any]) -> dict[str, Any]:
    headers = {
        "ETag": {"description": "Send it back as `If-None-Match`.", "schema": {"type": "string"}},
        "Trayward-Version": {"description": "Moves whenever the book does.", "schema": {"type": "string"}},
    }
    good: dict[str, Any] = {
        "description": "As asked." if operation.method == "GET" else "Kept." if operation.status == 200 else "Begun.",
        "content": {JSON: {"schema": known[operation.gives]}},
    }
    if operation.method == "GET":
        good["headers"] = headers
    wrong = {
        status: {"description": words, "content": {JSON: {"schema": known[Error]}}}
        for status, words in WRONG.items()
        if (operation.method == "POST" or status not in ("400", "413", "415"))
        and (operation.may == "sense" or status != "429")
    }
    unmoved = {"304": {"description": "Nothing has moved."}} if operation.method == "GET" else {}
    return {str(operation.status): good} | unmoved | wrong
