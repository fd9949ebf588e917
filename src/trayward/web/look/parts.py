"""Words that know their parts, said in another language: part by part, with nothing guessed about where one ends."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import pairwise
from typing import TYPE_CHECKING

from trayward.words import Filled, Own

if TYPE_CHECKING:
    from trayward.web.look.said import Sayings

_SLOT = re.compile(r"\{(\w+)\}")


def said_by_parts(words: str, sayings: Sayings, say: Callable[[str], str], own: Callable[[str], str] = str) -> str:
    """
    Words in another language, each part by itself; with a capital where they had one.

    Parameters
    ----------
    words : str
        `Filled`, or any text.
    sayings : Sayings
        The language.
    say : callable
        What says a part that is a plain text.
    own : callable
        What is made of a name, or of words that somebody gave.
    """
    made = _said(words, sayings, say, own)
    # What the first part says does not know that it begins a sentence.
    begins = words[:1].isupper() or (isinstance(words, Filled) and words.endswith("."))
    return f"{made[0].upper()}{made[1:]}" if begins and made[:1].islower() else made


def _said(words: str, sayings: Sayings, say: Callable[[str], str], own: Callable[[str], str]) -> str:
    if isinstance(words, Own):
        return own(words)
    if not isinstance(words, Filled):
        return say(words)
    template = sayings.template(words.shape)
    if template is None:
        return say(str(words))
    made = {name: _said(value, sayings, say, own) for name, value in words.values.items()}
    names = list(made)
    for name, after in pairwise(names):
        if name.startswith("joint"):
            made[name] = sayings.joint(words.values[name], made[after])
    return _SLOT.sub(lambda slot: made[slot[1]], template)
