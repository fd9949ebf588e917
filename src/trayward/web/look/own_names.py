"""Names that a farm's people gave stay as they are in every language."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from math import inf
from typing import TYPE_CHECKING

from trayward.farm.state import FarmState
from trayward.web.look.parts import said_by_parts
from trayward.words import Filled

if TYPE_CHECKING:
    from trayward.web.look.said import Sayings

MOST_NAMES = 2000
STANDS_FOR_A_NAME = 0xE000
"""Letters of Unicode's private use, from here on, stand for names while a sentence is translated."""
STANDS_FOR_WORDS = 0xF000
"""From here on they stand for what somebody typed."""
_STANDING = re.compile("[\ue000-\uefff]")
_WORDS_STANDING = re.compile("[\uf000-\uf8ff]")


class Names:
    """
    Names that a farm's people gave, taken out of a sentence before it is translated, and put back after.

    Only those that could be taken for words of ours: of several words, or with a capital in front; of crops all.

    Examples
    --------
    >>> names = Names(["Salt and Copper", "radish"])
    >>> names.kept("for Salt and Copper and 2 more", lambda words: words.replace("and", "y"))
    'for Salt and Copper y 2 more'
    """

    def __init__(self, names: Iterable[str], crops: Iterable[str] = ()) -> None:
        wordy = {name for name in names if len(name) > 2 and (" " in name or name[:1].isupper())} | set(crops)
        longest = sorted(wordy, key=len, reverse=True)[:MOST_NAMES]
        found = "|".join(map(re.escape, longest))
        self._pattern = re.compile(rf"(?<!\w)(?:{found})(?!\w)") if longest else None
        self.made: dict[tuple[str, str], str] = {}
        """By locale and sentence, what was made of it; let go with these names when the book moves."""

    def kept(self, text: str, said: Callable[[str], str], unknown_in: Callable[[str], float] = lambda _: inf) -> str:
        """
        A sentence as `said` says it, with these names as they were.

        `unknown_in`: how much of a text is not known. A sentence of ours may speak of a crop in an example; it is then
        said whole.
        """
        if self._pattern is None or self._pattern.search(text) is None:
            return said(text)
        taken: list[str] = []

        def stands(found: re.Match[str]) -> str:
            taken.append(found[0])
            return chr(STANDS_FOR_A_NAME + len(taken) - 1)

        without = self._pattern.sub(stands, text)
        if unknown_in(text) < 1 <= unknown_in(without):
            return said(text)
        made = said(without)
        return _STANDING.sub(lambda found: taken[ord(found[0]) - STANDS_FOR_A_NAME], made)

    def sayer(self, sayings: Sayings | None, locale: str) -> Callable[[str], str]:
        """What says sentences in a locale's language with these names as they were, and remembers what it said."""
        if sayings is None:
            return str

        def say(sentence: str) -> str:
            if isinstance(sentence, Filled):
                return said_by_parts(sentence, sayings, say)
            key = locale, sentence
            if key not in self.made:
                self.made[key] = self.kept(sentence, sayings.said, sayings.unknown_in)
            return self.made[key]

        return say


class Typed:
    """
    Words that somebody typed, taken out of a sentence before it is said in another way, and put back after.

    Examples
    --------
    >>> typed = Typed(["a tray of mine"])
    >>> typed.back(typed.out("note: a tray of mine").replace("note", "nota"))
    'nota: a tray of mine'
    """

    def __init__(self, typed: Iterable[str]) -> None:
        self._typed = tuple(typed)
        self._taken: list[str] = []

    def out(self, text: str) -> str:
        """A text in which letters of their own stand for what was typed."""
        for words in self._typed:
            text = re.sub(rf"(?<!\w){re.escape(words)}(?!\w)", lambda found: self.own(found[0]), text)
        return text

    def own(self, words: str) -> str:
        """A letter that stands for words."""
        if words not in self._taken:
            self._taken.append(words)
        return chr(STANDS_FOR_WORDS + self._taken.index(words))

    def back(self, text: str) -> str:
        """A text with the words as they were."""
        return _WORDS_STANDING.sub(lambda found: self._taken[ord(found[0]) - STANDS_FOR_WORDS], text)


def as_typed(
    text: str, typed: Iterable[str], sayings: Sayings | None, say: Callable[[str], str], measured: Callable[[str], str]
) -> str:
    """A sentence in another language and in other units, with the words in it that somebody typed as they were."""
    kept = Typed(typed)
    if sayings is None:
        return kept.back(measured(kept.out(text)))
    said = said_by_parts(text, sayings, lambda part: say(kept.out(part)), kept.own)
    return kept.back(measured(said))


def names_of(state: FarmState) -> Names:
    """The names that stand in a farm's sentences."""
    grown = (recipe.crop for recipe in state.recipes.values())
    return Names(_names_given(state), crops={*grown, *(lot.crop for lot in state.seed.values())} - {""})


def _names_given(state: FarmState) -> Iterator[str]:
    yield from state.customers
    yield from state.products
    yield from state.recipes
    yield from state.standing
    yield from state.trials
    yield from state.orders
    yield from (order.note for order in state.orders.values())
    yield from (lot.supplier for lot in state.seed.values())
    yield from (lot.variety for lot in state.seed.values())
