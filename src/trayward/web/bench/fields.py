"""The fields of a sum as a page shows them, and what was typed into them read back for the sum."""

from __future__ import annotations

import re
import shlex
from collections.abc import Mapping, Sequence
from typing import Any, Literal

import msgspec

from trayward.errors import InputError
from trayward.farm.state import FarmState
from trayward.web.bench.sums.declared import Choice, Field, Number, Pasted, Sum, TextFile
from trayward.web.bench.words import help_of, label_of, main_fields, page_words
from trayward.web.typed import Typed

Kind = Literal["text", "number", "select", "tick", "file", "lines"]
BARE_LISTS = ("counts", "readings", "samples")
"""Lists of figures, which blanks part; others are parted by ; or lines."""


class FieldShown(msgspec.Struct, frozen=True, kw_only=True):
    """A field on the page."""

    name: str
    label: str
    kind: Kind
    value: str = ""
    hint: str = ""
    example: str = ""
    options: tuple[tuple[str, str], ...] = ()
    """Values and words of a select; of a text field what it offers."""
    required: bool = False
    main: bool = False
    """Asked first; the rest folds away."""
    farm: str = ""
    """What the farm says where nothing is typed."""
    wrong: str = ""
    """What was wrong with it."""


# Shown ----------------------------------------------------------------------------------------------------------------


def fields_shown(
    bench: str,
    each: Sum,
    typed: Typed,
    offers: Mapping[str, Sequence[tuple[str, str]]],
    farm: Mapping[str, str],
    wrong: tuple[str, str] = ("", ""),
) -> tuple[FieldShown, ...]:
    """
    The fields of a sum, the ones asked first before the others.

    Parameters
    ----------
    offers : mapping of str to pairs
        Words to choose from by field: crops, lots, shelves.
    farm : mapping of str to str
        What the farm says where nothing is typed, by field.
    wrong : (str, str)
        The field that could not be read, and why.
    """
    first = main_fields(bench, each)
    examples = example_of(each)
    shown = [
        _shown(bench, each, field, typed, offers.get(field.name, ()), farm.get(field.name, ""), examples, first, wrong)
        for field in each.fields
        if not field.is_picture
    ]
    order = {name: number for number, name in enumerate(first)}
    return tuple(sorted(shown, key=lambda field: order.get(field.name, len(order))))


def _shown(
    bench: str,
    each: Sum,
    field: Field,
    typed: Typed,
    offered: Sequence[tuple[str, str]],
    farm: str,
    examples: Mapping[str, str],
    first: Sequence[str],
    wrong: tuple[str, str],
) -> FieldShown:
    told, example = help_of(field)
    kind, options = _kind(field, offered)
    value = typed.text(field.name)
    if kind == "select" and not value and field.default is not None:
        value = str(field.default)
    label = label_of(bench, field)
    return FieldShown(
        name=field.name,
        label=label,
        kind=kind,
        value=value,
        # A help that only says the label once more is no help.
        hint="" if told.rstrip(".").casefold() == label.casefold() else page_words(told, bench, each),
        example=example or examples.get(field.name, ""),
        options=options,
        required=field.required,
        main=field.name in first,
        farm=farm,
        wrong=wrong[1] if wrong[0] == field.name else "",
    )


def _kind(field: Field, offered: Sequence[tuple[str, str]]) -> tuple[Kind, tuple[tuple[str, str], ...]]:
    if field.is_flag:
        return "tick", ()
    if field.switches:
        on, off = field.switches
        return "select", (("", "as it is usual"), (on, _switch_words(on)), (off, _switch_words(off)))
    match field.type:
        case Choice(words=words):
            return "select", tuple((word, word) for word in words)
        case TextFile():
            return "file", ()
        case Number() if not field.multiple:
            return "number", tuple(offered)
    closed = field.name in ("crop", "lot", "sanitiser") and bool(offered)
    return ("select" if closed else "text"), (*((("", "–"),) if closed else ()), *offered)


def _switch_words(word: str) -> str:
    return {"us": "ounces, cups, inches, °F", "metric": "grams, millilitres, mm, °C"}.get(word, word.replace("-", " "))


def example_of(each: Sum) -> dict[str, str]:
    """
    The example of a sum as it would be typed into its fields.

    Examples
    --------
    >>> from trayward.web.bench.sums.declared import bench_named
    >>> example_of(bench_named("seed").sums["grams"])
    {'crop': 'broccoli', 'density': '4.4', 'sprouted': '43 of 50'}
    """
    words = shlex.split(each.example)[4:]
    flags = {flag: field for field in each.fields for flag in field.flags}
    bare = [field for field in each.fields if not field.flags]
    found: dict[str, list[str]] = {}
    while words:
        word = words.pop(0)
        field = flags.get(word)
        if field is not None:
            found.setdefault(field.name, []).append("1" if field.is_flag else words.pop(0))
        elif bare:
            found.setdefault(bare[0].name, []).append(word)
            if not bare[0].multiple:
                bare.pop(0)
    parting = {field.name: " " if field.name in BARE_LISTS else "; " for field in each.fields}
    pictures = {field.name for field in each.fields if field.is_picture}
    return {name: parting[name].join(values) for name, values in found.items() if name not in pictures}


# Read -----------------------------------------------------------------------------------------------------------------


def lacking(each: Sum, typed: Typed) -> tuple[str, ...]:
    """Names of fields that are needed and still empty."""
    return tuple(
        field.name for field in each.fields if field.required and not typed.has(field.name) and not _sent(field, typed)
    )


def _sent(field: Field, typed: Typed) -> bool:
    upload = typed.file(field.name)
    return upload is not None and bool(upload.content)


def values_of(each: Sum, typed: Typed) -> dict[str, Any]:
    """
    What was typed, as the sum wants it.

    Raises
    ------
    InputError
        If a number is none, or a choice is not offered; the field's name is the error's.
    """
    return {field.name: _value(field, typed) for field in each.fields if not field.is_picture}


def _value(field: Field, typed: Typed) -> Any:
    text = typed.text(field.name)
    if field.is_flag:
        return typed.ticked(field.name)
    if field.switches:
        return {field.switches[0]: True, field.switches[1]: False}.get(text)
    if isinstance(field.type, TextFile):
        return _file(field, typed)
    if field.multiple:
        return tuple(_one(field, part) for part in parts_of(field, text))
    if not text:
        return field.default
    return _one(field, text)


def parts_of(field: Field, text: str) -> list[str]:
    """A list as it is typed: figures with blanks between them, all else with ; or on lines of their own."""
    if field.name == "samples":
        return [part.strip() for part in re.findall(r"\d[\d.,/]*(?:\s*[A-Za-z]+)?", text)]
    if field.name in BARE_LISTS:
        return re.sub(r"[;\n]|,(?=\s)", " ", text).split()
    return [part.strip() for part in re.split(r"[;\n]", text) if part.strip()]


def _one(field: Field, text: str) -> Any:
    match field.type:
        case Number():
            return _number(field, field.type, text)
        case Choice(words=words):
            found = next((word for word in words if word.casefold() == text.casefold()), None)
            if found is None:
                raise InputError(field.name, text, "is not one of those offered", f"Choose {', '.join(words)}.")
            return found
    return text


def _number(field: Field, kind: Number, text: str) -> float | int:
    plain = text.strip().replace(",", ".")
    remedy = f"For instance {help_of(field)[1] or '4'}."
    try:
        value: float | int = int(plain) if kind.whole else float(plain)
    except ValueError as error:
        rule = "must be a whole number" if kind.whole else "must be a number"
        raise InputError(field.name, text, rule, remedy) from error
    low, high = kind.low, kind.high
    if (low is not None and value < low) or (high is not None and value > high):
        rule = f"must lie in [{low:g}, {high:g}]" if low is not None and high is not None else f"must be {low} or more"
        raise InputError(field.name, text, rule, remedy)
    return value


def _file(field: Field, typed: Typed) -> Pasted | None:
    upload = typed.file(field.name)
    if upload is not None and upload.content:
        try:
            return Pasted(upload.content.decode("utf-8-sig"))
        except UnicodeDecodeError:
            return Pasted(upload.content.decode("latin-1"))
    text = typed.text(field.name)
    return Pasted(text) if text else None


def field_meant(bench: str, each: Sum, name: str) -> str:
    """The field that an error is about; empty where it cannot be told."""
    plain = name.strip().lower().replace("-", " ").replace("_", " ")
    for field in each.fields:
        flag = field.flags[0].removeprefix("--").replace("-", " ") if field.flags else ""
        if plain in (field.name.strip("_").replace("_", " "), flag, label_of(bench, field).lower()):
            return field.name
    words = set(plain.split())
    near = [field.name for field in each.fields if field.name.strip("_").replace("_", " ") in words]
    return near[0] if len(near) == 1 else ""


# What the farm says ---------------------------------------------------------------------------------------------------


def offers_of(bench: str, state: FarmState | None) -> dict[str, tuple[tuple[str, str], ...]]:
    """Words to choose from: the farm's own first."""
    from trayward.library.crops import crop_names

    own = tuple(dict.fromkeys(recipe.crop for recipe in state.recipes.values())) if state is not None else ()
    crops = (*own, *(crop for crop in crop_names() if crop not in own))
    found: dict[str, tuple[tuple[str, str], ...]] = {"crop": tuple((crop, crop) for crop in crops)}
    if bench == "hygiene":
        from trayward.science.hot_water import NOT_FOR, TREATMENTS
        from trayward.science.sanitiser import AGENTS

        found["crop"] = tuple((crop, crop) for crop in sorted({*TREATMENTS, *NOT_FOR}))
        found["sanitiser"] = tuple((name, name) for name in AGENTS)
    if state is not None:
        found["lot"] = tuple((lot.lot, f"{lot.lot}, {lot.crop}") for lot in state.seed.values() if lot.left_g > 0)
        lit = [shelf for shelf in state.shelves.values() if shelf.kind == "lit" and shelf.spots]
        if bench == "light":
            found["shelf"] = tuple((shelf.name, shelf.name) for shelf in lit)
        places = dict.fromkeys(reading.where for reading in state.readings if reading.where)
        found["where"] = tuple((place, place) for place in places)
    return found
