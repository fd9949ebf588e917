"""The list of operations as its page shows it, read out of the document."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec

from trayward.web.api.operation import BASE, Operation


class FieldShown(msgspec.Struct, frozen=True, kw_only=True):
    """A field that is sent or told."""

    name: str
    kind: str
    """As in `text`, `number`, `list of text`."""
    must: bool
    words: str


class OperationShown(msgspec.Struct, frozen=True, kw_only=True):
    """One operation."""

    id: str
    method: str
    path: str
    summary: str
    right: str
    sends: tuple[FieldShown, ...]
    gives: str
    """Name of what is told."""
    tells: tuple[FieldShown, ...]


class TagShown(msgspec.Struct, frozen=True, kw_only=True):
    """Operations about the same thing."""

    tag: str
    operations: tuple[OperationShown, ...]


def tag_shown(tag: str, operations: Sequence[Operation], document: dict[str, Any]) -> TagShown:
    """The operations of a tag."""
    return TagShown(tag=tag, operations=tuple(_operation(each, document) for each in operations))


def _operation(operation: Operation, document: dict[str, Any]) -> OperationShown:
    path = BASE + operation.path.replace(":path}", "}")
    told = document["paths"][path][operation.method.lower()]
    answer = told["responses"][str(operation.status)]["content"]["application/json"]["schema"]
    return OperationShown(
        id=told["operationId"].replace("_", "-"), method=operation.method, path=path, summary=told["summary"],
        right=operation.may, sends=_sends(told, document), gives=_kind(answer), tells=_fields(answer, document),
    )  # fmt: skip


def _sends(told: dict[str, Any], document: dict[str, Any]) -> tuple[FieldShown, ...]:
    found = tuple(
        FieldShown(
            name=each["name"], kind=_kind(each["schema"]), must=each["required"], words=each.get("description", "")
        )
        for each in told.get("parameters", ())
    )
    if "requestBody" not in told:
        return found
    return (*found, *_fields(told["requestBody"]["content"]["application/json"]["schema"], document))


def _fields(schema: dict[str, Any], document: dict[str, Any]) -> tuple[FieldShown, ...]:
    """The fields of a struct; none where names are the farm's own, as the figures of a sum."""
    if "$ref" not in schema:
        return ()
    struct = document["components"]["schemas"][schema["$ref"].rpartition("/")[2]]
    must = struct.get("required", [])
    return tuple(
        FieldShown(name=name, kind=_kind(each), must=name in must, words=each.get("description", ""))
        for name, each in struct.get("properties", {}).items()
    )


WORDS = {
    "string": "text", "number": "number", "integer": "whole number", "boolean": "true or false", "null": "nothing",
    "object": "fields",
}  # fmt: skip
FORMATS = {"date-time": "moment", "date": "day", "uuid": "UUID", "time": "time of day"}


def _kind(schema: dict[str, Any]) -> str:
    """A type in words.

    Examples
    --------
    >>> _kind({"anyOf": [{"type": "number"}, {"type": "null"}]}), _kind({"type": "array", "items": {"type": "string"}})
    ('number', 'list of text')
    """
    if "$ref" in schema:
        return str(schema["$ref"]).rpartition("/")[2]
    if "anyOf" in schema:
        kinds = [_kind(each) for each in schema["anyOf"]]
        return " or ".join(kind for kind in kinds if kind != "nothing")
    if "enum" in schema:
        return ", ".join(str(each) for each in schema["enum"] if each is not None)
    if schema.get("type") == "array":
        return f"list of {_kind(schema.get('items', {}))}"
    if schema.get("type") == "object" and isinstance(schema.get("additionalProperties"), dict):
        return f"{_kind(schema['additionalProperties'])} by name"
    return FORMATS.get(schema.get("format", ""), WORDS.get(schema.get("type", ""), "anything"))
