"""Words as a sentence joins them: a count with its noun, some names in a row, parts that stay parts."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping


def counted(number: float, one: str, many: str = "") -> str:
    """
    A count with its noun.

    Examples
    --------
    >>> counted(1, "tray"), counted(4, "tray"), counted(2, "box", "boxes")
    ('1 tray', '4 trays', '2 boxes')
    """
    return f"{number:.10g} {one if number == 1 else many or one + 's'}"


def listed(words: Iterable[str], *, most: int = 6) -> str:
    """
    Words joined as a sentence joins them, long lists cut short.

    Examples
    --------
    >>> listed(["A1", "A2", "B1"])
    'A1, A2 and B1'
    >>> listed(["a", "b", "c"], most=2)
    'a, b and 1 more'
    """
    all_words = list(words)
    shown = all_words[:most]
    if len(all_words) > most:
        return f"{', '.join(shown)} and {len(all_words) - most} more"
    return " and ".join([", ".join(shown[:-1]), shown[-1]] if len(shown) > 1 else shown)


class Own(str):
    """A name, or words that somebody gave: they are theirs, and no language has others for them."""

    __slots__ = ()


class Filled(str):
    """
    Words that still know what they were made of, so that another language need not guess where their parts begin.

    To whom it is all one, they are a text like any other.
    """

    shape: str
    """What is said of the values: `rack {value}`."""
    values: Mapping[str, str]
    """What stands in its slots; `Filled` and `Own` among them."""

    def __new__(cls, text: str, shape: str = "{value}", values: Mapping[str, str] | None = None) -> Filled:
        made = super().__new__(cls, text)
        made.shape, made.values = shape, {"value": text} if values is None else values
        return made


def as_text(words: object) -> str:
    """Words that know their parts as a plain text, for what writes JSON. Raises `TypeError` for what is no text."""
    if not isinstance(words, str):
        raise TypeError(f"{type(words).__name__} is neither text nor a number nor a list of them")
    return str.__str__(words)


_SLOT = re.compile(r"\{(\w*)\}")


def filled(shape: str, value: str = "", /, **values: str) -> Filled:
    """
    A shape with its slots filled in: a single `{}`, or slots with names.

    Examples
    --------
    >>> filled("rack {}", "A"), filled("{low} to {high}", low="2", high="4").values["high"]
    ('rack A', '4')
    """
    named = values or {"value": value}
    shape = shape.replace("{}", "{value}")
    return Filled(_SLOT.sub(lambda slot: named[slot[1]], shape), shape, named)


def in_a_row(parts: Iterable[str], between: str = ", ", last: str = "") -> Filled:
    """
    Parts that say something, one after another; each remains a part of its own.

    Examples
    --------
    >>> in_a_row(["dark", "", "4 spots"]), in_a_row(["A1", "A2", "B1"], last=" and ")
    ('dark, 4 spots', 'A1, A2 and B1')
    """
    said = [part for part in parts if part]
    values: dict[str, str] = {}
    for number, part in enumerate(said):
        if number:
            values[f"joint{number}"] = last if last and number == len(said) - 1 else between
        values[f"part{number}"] = part
    return Filled("".join(values.values()), "".join(f"{{{name}}}" for name in values), values)


def in_a_list(words: Iterable[str], *, most: int = 6) -> Filled:
    """As `listed`, and each of the words remains a part of its own."""
    said = list(words)
    if len(said) > most:
        return filled("{words} and {more} more", words=in_a_row(said[:most]), more=str(len(said) - most))
    return in_a_row(said, last=" and ")
