"""What is wrong with JSON that was sent, told of the type that its field has: value, unit, rule and way out."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, NamedTuple

import msgspec
from msgspec import inspect

from trayward.errors import InputError, near_names

LONGEST = 60
"""So many letters of a wrong value are told back."""
UNITS: Mapping[str, str] = {"g": "g", "grams": "g", "ml": "ml", "mm": "mm", "c": "°C", "min": "min", "ppm": "ppm"}
"""Last word of a field -> its unit."""
_STEP = re.compile(r"\.(\w+)|\[(\d+)\]|(\[\.\.\.\])")


def misshapen(error: msgspec.ValidationError, sent: Any, takes: type[msgspec.Struct], what: str) -> InputError:
    """The house's error of what msgspec could not read.

    Parameters
    ----------
    error : msgspec.ValidationError
        Says where it is: `Expected ... - at `$.lines[0].quantity``.
    sent : object
        What was sent, as plain values.
    takes : type of Struct
        What should have been.
    what : str
        What all of it is called: `body`, `query`.
    """
    said, _, path = str(error).partition(" - at ")
    place = _place(path.strip("`"), sent, inspect.type_info(takes), what)
    field = re.search(r"(?:field|missing required field) `([^`]+)`", said)
    if field and "unknown" in said:
        return _unknown(place, field[1])
    if field:
        return _missing(place, field[1])
    unit = _unit(place.name)
    rule, remedy = form(place.kind, unit)
    if not _counts(place.value):
        return InputError(place.name, _shown(place.value), rule, remedy)
    return InputError(
        place.name, _shown(place.value), rule, "Check the figure." if _number(place.kind) else remedy, unit
    )


class Place(NamedTuple):
    """Where it is wrong."""

    name: str
    value: Any
    kind: inspect.Type

    def inner(self, field: str) -> str:
        """The name of a field in it."""
        return field if self.name in ("body", "query") else f"{self.name}.{field}"


def _place(path: str, sent: Any, kind: inspect.Type, what: str) -> Place:
    """Follow a path such as `$.lines[0].quantity` through what was sent and what should have been."""
    value, kind = sent, _bare(kind)
    for field, number, any_key in _STEP.findall(path.removeprefix("key in ")):
        if any_key:  # which of them msgspec does not say
            kind = _bare(kind.value_type) if isinstance(kind, inspect.DictType) else kind
            wrong = [each for each in value.values() if not _fits(each, kind)] if isinstance(value, dict) else []
            value = wrong[0] if wrong else value
        elif field:
            value, kind = value.get(field), _field(kind, field)
        else:
            value, kind = value[int(number)], _item(kind)
    name = path.removeprefix("key in ").removeprefix("$").lstrip(".").replace("[...]", "")
    return Place(name or what, value, kind)


def _bare(kind: inspect.Type) -> inspect.Type:
    """A type without what is noted about it, and without the null that stands for what is left out."""
    while isinstance(kind, inspect.Metadata):
        kind = kind.type
    if isinstance(kind, inspect.UnionType):
        some = [each for each in map(_bare, kind.types) if not isinstance(each, inspect.NoneType)]
        return some[0] if len(some) == 1 else inspect.UnionType(tuple(some))
    return kind


def _field(kind: inspect.Type, name: str) -> inspect.Type:
    fields = kind.fields if isinstance(kind, inspect.StructType) else ()
    return _bare(next((each.type for each in fields if each.encode_name == name), inspect.AnyType()))


def _item(kind: inspect.Type) -> inspect.Type:
    return _bare(kind.item_type) if isinstance(kind, inspect.VarTupleType | inspect.ListType) else inspect.AnyType()


def _unit(name: str) -> str:
    first, _, last = name.rpartition(".")[2].rpartition("_")
    return UNITS.get(last) or UNITS.get(first.partition("_")[0], "")


def _number(kind: inspect.Type) -> bool:
    return isinstance(kind, inspect.IntType | inspect.FloatType)


def _counts(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _shown(value: Any) -> str:
    if value is None:
        return "null"
    said = msgspec.json.encode(value).decode()
    return said if len(said) <= LONGEST else f"{said[:LONGEST]}..."


def _unknown(place: Place, field: str) -> InputError:
    known = tuple(each.encode_name for each in place.kind.fields) if isinstance(place.kind, inspect.StructType) else ()
    near = near_names(field, known)
    remedy = f"Did you mean {' or '.join(near)}?" if near else f"Fields: {', '.join(known)}."
    value = place.value.get(field) if isinstance(place.value, dict) else None
    return InputError(place.inner(field), _shown(value), "there is no such field", remedy if known else "Leave it out.")


def _missing(place: Place, field: str) -> InputError:
    rule, remedy = form(_field(place.kind, field), _unit(field))
    return InputError(place.inner(field), "nothing", rule, remedy)


# A type in words ------------------------------------------------------------------------------------------------------

PLAIN: Mapping[type[inspect.Type], tuple[str, str]] = {
    inspect.BoolType: ("must be true or false", "Send it without quotes."),
    inspect.DateType: ("must be a day", "Send it as 2026-11-25."),
    inspect.DateTimeType: ("must be a moment with its offset", "Send it as 2026-11-25T07:00:00+00:00."),
    inspect.TimeType: ("must be a time of day", "Send it as 07:30."),
    inspect.UUIDType: ("must be a UUID", "Make a new one for each thing you say."),
    inspect.DecimalType: ("must be an exact amount", "Send it as text with a point."),
    inspect.StructType: ("must be an object of JSON", "See /api for its fields."),
    inspect.DictType: ("must be an object of JSON", "Send each name with its value."),
}


def form(kind: inspect.Type, unit: str = "") -> tuple[str, str]:
    """
    What a value of a type must be, and how to send it.

    Examples
    --------
    >>> form(inspect.IntType(ge=1, le=8))
    ('must be a whole number from 1 to 8', 'Send it without quotes.')
    >>> form(inspect.FloatType(gt=0), "g")
    ('must be a number more than 0 g', 'Send it without quotes, in g.')
    """
    if isinstance(kind, inspect.IntType | inspect.FloatType):
        number = "a whole number" if isinstance(kind, inspect.IntType) else "a number"
        return f"must be {number}{_bounds(kind, unit)}", f"Send it without quotes{f', in {unit}' if unit else ''}."
    if isinstance(kind, inspect.StrType):
        return f"must be text{_letters(kind)}", "Send it in quotes, without control characters."
    if isinstance(kind, inspect.LiteralType):
        return f"must be one of {', '.join(map(str, kind.values))}", "Choose one of them."
    if isinstance(kind, inspect.VarTupleType | inspect.ListType):
        return f"must be a list{_length(kind)}", "Send it in square brackets."
    if isinstance(kind, inspect.UnionType):
        forms = [form(each, unit) for each in kind.types]
        rest = "".join(f" or {rule.removeprefix('must be ')}" for rule, _ in forms[1:])
        return forms[0][0] + rest, forms[0][1]
    return PLAIN.get(type(kind), ("must be of another kind", "See /api."))


def _bounds(kind: inspect.IntType | inspect.FloatType, unit: str) -> str:
    with_unit = f" {unit}" if unit else ""
    if kind.gt is not None:
        up_to = f" and up to {kind.le:.12g}" if kind.le is not None else ""
        return f" more than {kind.gt:g}{up_to}{with_unit}"
    if kind.ge is not None and kind.le is not None:
        return f" from {kind.ge:.12g} to {kind.le:.12g}{with_unit}"
    return f" of at least {kind.ge:.12g}{with_unit}" if kind.ge is not None else ""


def _letters(kind: inspect.StrType) -> str:
    if kind.min_length and kind.max_length:
        return f" of {kind.min_length} to {kind.max_length} letters"
    return f" of up to {kind.max_length} letters" if kind.max_length else ""


def _length(kind: inspect.VarTupleType | inspect.ListType) -> str:
    if kind.min_length and kind.max_length:
        return f" of {kind.min_length} to {kind.max_length}"
    if kind.min_length:
        return f" of at least {kind.min_length}"
    return f" of up to {kind.max_length}" if kind.max_length else ""


def _fits(value: Any, kind: inspect.Type) -> bool:
    """Whether one of many values is of the kind of number or text that they should be."""
    if isinstance(kind, inspect.IntType | inspect.FloatType):
        return _counts(value) and (kind.ge is None or value >= kind.ge) and (kind.le is None or value <= kind.le)
    return isinstance(value, str) if isinstance(kind, inspect.StrType) else True
