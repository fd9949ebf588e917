"""What a program hands to a call, looked at before anything is done with it.

A type checker tells a programmer of a `str` where a list of trays is wanted; a notebook does not. Without this look
"261125A.1" would be taken for nine trays called "2", "6", "1", ..., and a weight of "95 g" end deep inside.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from functools import wraps
from itertools import chain
from numbers import Integral, Real
from pathlib import Path
from types import NoneType, UnionType
from typing import Any, Literal, NamedTuple, TypeVar, Union, get_args, get_origin, get_type_hints

from trayward.errors import InputError

LONGEST = 60
"""So many letters of a wrong value are shown."""


class Wrong(NamedTuple):
    """What does not fit, and how it would."""

    value: object
    rule: str
    remedy: str


Look = Callable[[object], Wrong | None]
"""Looks at a value: None if it fits."""
Class = TypeVar("Class", bound=type)
Call = Callable[..., Any]


def looks_at_what_it_is_given(cls: Class) -> Class:
    """Let every public call of a class look at its arguments first; mark the class with it.

    Raises
    ------
    InputError
        By a call that is given a value of another kind than its signature says.
    TypeError
        By a call that is given no `at`, or a name that it does not know, as Python itself would.
    """
    for name in dir(cls):
        found = inspect.getattr_static(cls, name)
        call = found.__func__ if isinstance(found, classmethod) else found
        if name.startswith("_") or not inspect.isfunction(call) or hasattr(call, "looks"):
            continue
        looking = _looking(call)
        setattr(cls, name, classmethod(looking) if isinstance(found, classmethod) else looking)
    return cls


def _looking(call: Call) -> Call:
    """The same call, with a look at its arguments before it. What it takes is read when it is called first."""
    known: list[Taken] = []

    @wraps(call)
    def looked_at(room: object, /, *args: object, **kwargs: object) -> object:
        if not known:
            known.append(_taken_by(call))
        known[0].require(args, kwargs)
        return call(room, *args, **kwargs)

    looked_at.looks = True  # type: ignore[attr-defined]
    return looked_at


class Taken(NamedTuple):
    """What a call takes."""

    call: str
    placed: tuple[tuple[str, Look], ...]
    """What may be given by its place, in order."""
    more: tuple[str, Look] | None
    """What any number of may follow by place."""
    named: Mapping[str, Look]
    said: Mapping[str, Look]
    """What it takes as every call that records does (`Said`); empty if it records nothing."""

    def require(self, args: tuple[object, ...], kwargs: Mapping[str, object]) -> None:
        """Raise where what is given does not fit. How many there are Python counts itself."""
        if self.said:
            self._require_said(kwargs)
        following = [self.more] * (len(args) - len(self.placed)) if self.more else []
        for (name, look), value in zip(chain(self.placed, following), args, strict=False):
            _require(name, look, value)
        for name, value in kwargs.items():
            if (by_name := self.named.get(name)) is not None:
                _require(name, by_name, value)

    def _require_said(self, kwargs: Mapping[str, object]) -> None:
        if "at" not in kwargs:
            raise TypeError(
                f"{self.call}() missing 1 required keyword-only argument: 'at'. "
                "Say when it happened: a datetime with its offset."
            )
        for name in kwargs:
            if name not in self.named:
                raise TypeError(
                    f"{self.call}() got an unexpected keyword argument {name!r}. It takes {_list(self.named)}."
                )


def _require(name: str, look: Look, value: object) -> None:
    wrong = look(value)
    if wrong is not None:
        raise InputError(name, _shown(wrong.value), wrong.rule, wrong.remedy)


def _shown(value: object) -> str:
    said = value.isoformat() if isinstance(value, date) else repr(value)
    return said if len(said) <= LONGEST else f"{said[:LONGEST]}..."


def _list(names: Iterable[str]) -> str:
    return ", ".join(names)


def _taken_by(call: Call) -> Taken:
    placed, more, said = [], None, {}
    named: dict[str, Look] = {}
    plain = inspect.unwrap(call)
    for parameter in list(inspect.signature(plain).parameters.values())[1:]:
        hint = _hint(parameter.annotation, plain)
        if parameter.kind is parameter.VAR_KEYWORD:
            said = {name: _look(each) for name, each in _said_hints(hint).items()}
        elif parameter.kind is parameter.VAR_POSITIONAL:
            more = (parameter.name, _look(hint))
        else:
            look = _defaulting(_look(hint), parameter.default)
            named[parameter.name] = look
            if parameter.kind is not parameter.KEYWORD_ONLY:
                placed.append((parameter.name, look))
    return Taken(call.__name__, tuple(placed), more, {**named, **said}, said)


def _hint(annotation: object, call: Call) -> object:
    """What an annotation stands for; `Any` where its module imports the name for the type checker alone."""
    if not isinstance(annotation, str):
        return annotation
    try:
        return eval(annotation, call.__globals__)
    except NameError:
        return Any


def _said_hints(hint: object) -> dict[str, object]:
    """The names of a `TypedDict` that a call takes by `**said: Unpack[...]`; none where it takes anything."""
    fields = get_args(hint)
    return get_type_hints(fields[0]) if fields else {}


def _defaulting(look: Look, default: object) -> Look:
    """A default is never wrong."""
    return look if default is inspect.Parameter.empty else lambda value: None if value is default else look(value)


# What fits ------------------------------------------------------------------------------------------------------------


def _look(hint: object) -> Look:
    """What looks at values of a type. Types that are not told apart here fit anything."""
    origin = get_origin(hint)
    if origin in (Union, UnionType):
        return _one_of([_look(each) for each in get_args(hint)])
    if origin is Literal:
        return _choice(get_args(hint))
    if origin is Mapping:
        return _each_of(*map(_look, get_args(hint)))
    if origin in (Sequence, Collection, Iterable):
        return _several(origin, _look(get_args(hint)[0]))
    if isinstance(hint, type) and hint is not Any:
        return _plain(hint)
    return _anything


def _anything(_: object) -> Wrong | None:
    return None


PLAIN: Mapping[type, tuple[str, str]] = {
    str: ("must be text", "Give a str."),
    int: ("must be a whole number", "Give an int."),
    float: ("must be a number", "Give it in the unit the call names; trayward.units reads words such as '20 g'."),
    bool: ("must be yes or no", "Give True or False."),
    bytes: ("must be bytes", "Read the file with read_bytes()."),
    datetime: ("must be a moment", "Give a datetime with its offset: datetime(2026, 11, 25, 7, 0, tzinfo=UTC)."),
    date: ("must be a day", "Give a date: date(2026, 11, 25); the day of a moment is its .date()."),
    Decimal: ("must be an exact amount", "Give a Decimal made of text: Decimal('3.40')."),
    Path: ("must be a path", "Give a pathlib.Path."),
    NoneType: ("must be None", ""),
}
"""Type -> the rule for its values, and the way out."""


def _plain(kind: type) -> Look:
    rule, remedy = PLAIN.get(kind, (f"must be a {kind.__name__}", f"It is made by {kind.__module__}.{kind.__name__}."))
    fits = FITS.get(kind)
    if fits is None:
        return lambda value: None if isinstance(value, kind) else Wrong(value, rule, remedy)
    return lambda value: None if fits(value) else Wrong(value, rule, remedy)


FITS: Mapping[type, Callable[[object], bool]] = {
    # The numbers of numpy are numbers; True is one only by a habit of Python's.
    int: lambda value: isinstance(value, Integral) and not isinstance(value, bool),
    float: lambda value: isinstance(value, Real) and not isinstance(value, bool),
    # A moment is no day: whose day it is, the farm's time zone says.
    date: lambda value: isinstance(value, date) and not isinstance(value, datetime),
}


def _choice(choices: Sequence[object]) -> Look:
    rule = f"must be one of {_list(map(str, choices))}"

    def look(value: object) -> Wrong | None:
        return None if value in choices else Wrong(value, rule, "Choose one of them.")

    return look


def _one_of(looks: Sequence[Look]) -> Look:
    """Fits one of several; else it is told by all that would."""

    def look(value: object) -> Wrong | None:
        wrongs = []
        for each in looks:
            wrong = each(value)
            if wrong is None:
                return None
            wrongs.append(wrong)
        return _most_telling(value, wrongs)

    return look


def _most_telling(value: object, wrongs: Sequence[Wrong]) -> Wrong:
    """What is said of a value that fits none of several kinds. None needs no telling: it is what is left out."""
    inside = [wrong for wrong in wrongs if wrong.value is not value]
    if inside:  # the right kind of list or mapping, with something wrong in it
        return inside[0]
    told = [wrong for wrong in wrongs if wrong.rule != PLAIN[NoneType][0]]
    rules = " or ".join([told[0].rule, *(wrong.rule.removeprefix("must be ") for wrong in told[1:])])
    return Wrong(value, rules, told[0].remedy)


def _several(kind: Any, look: Look) -> Look:
    """A list or its like. A single text is none, although Python would take its letters for one."""
    rule = "must be several, in a list"

    def looked(value: object) -> Wrong | None:
        if isinstance(value, str | bytes):
            return Wrong(value, rule, f"Put it in one: [{_shown(value)}].")
        if not isinstance(value, kind):
            return Wrong(value, rule, "Give a list.")
        # What can be gone through only once is left for the call.
        inside: Iterable[object] = value if isinstance(value, Collection) else ()
        return next((wrong for wrong in map(look, inside) if wrong is not None), None)

    return looked


def _each_of(look_key: Look, look_value: Look) -> Look:
    """A mapping from one kind to another."""

    def looked(value: object) -> Wrong | None:
        if not isinstance(value, Mapping):
            return Wrong(value, "must say something of each, in a dict", "Write {name: value, ...}.")
        wrongs = chain(map(look_key, value), map(look_value, value.values()))
        return next((wrong for wrong in wrongs if wrong is not None), None)

    return looked
