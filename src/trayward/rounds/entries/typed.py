"""What somebody typed into an entry in their own words: it is never translated or counted anew."""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from trayward.farm.entries import Body, PlanKept, RecipeSet, RecordWritten
from trayward.library.recipes import is_our_note

TYPED = frozenset(("note", "text", "reason", "problem", "corrective", "feed", "soap", "agent"))
"""Fields that hold what a person wrote."""


def typed_in(body: Body) -> tuple[str, ...]:
    """
    The words of an entry that its teller typed, each once, the longest first.

    Examples
    --------
    >>> from trayward.farm.entries import Note, RoundAnswered
    >>> typed_in(Note(text="for the counter")), typed_in(RoundAnswered(trays=("A.1",), problem="moho", note="esquina"))
    (('for the counter',), ('esquina', 'moho'))
    """
    if isinstance(body, PlanKept):
        return ()
    found = {words for words in _typed("", msgspec.to_builtins(body)) if words}
    if isinstance(body, RecipeSet):
        found = {words for words in found if not is_our_note(words)}
    if isinstance(body, RecordWritten):
        said = {value.value.strip() for value in body.record.values if isinstance(value.value, str)}
        found |= (said | {body.record.area.strip()}) - {""}
    return tuple(sorted(found, key=lambda words: (-len(words), words)))


def _typed(name: str, value: object) -> Iterator[str]:
    if isinstance(value, dict):
        for key, held in value.items():
            yield from _typed(str(key), held)
    elif isinstance(value, list | tuple):
        for held in value:
            yield from _typed(name, held)
    elif isinstance(value, str) and name in TYPED:
        yield value.strip()
