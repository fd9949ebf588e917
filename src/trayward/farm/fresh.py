"""What of a long record is new: lists of the state that only grow, read on from where they were read to before.

A state in memory goes on in place while entries come in order, and a list that is still the same object holds all it
held. Whatever reaches back in time (a late entry, a strike) makes another state; nearly always it begins with the very
same things, as only the newest were folded again, and then what was read of them stands, too.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice
from typing import Generic, TypeVar

T = TypeVar("T")


class Fresh(Generic[T]):
    """
    Reads a list, or the values of a dict, of the state from where it was read to before.

    Only for what is added at the end, one after the other, and in what is read of it never changed or taken out while
    the state goes on. Ask the state for the thing itself where more of it is shown than that.
    """

    def __init__(self) -> None:
        self._held: object = None
        self._seen: list[T] = []
        self._under: object = None

    def of(self, held: list[T] | dict[str, T], *, under: object = None) -> tuple[bool, Iterable[T]]:
        """
        Whether it has to be read from its start, as another book is; and what was not read yet, in order.

        `under`: what else the reading goes by, as settings: where that is another than before, it begins anew.
        """
        if under != self._under:
            self._held, self._seen, self._under = None, [], under
        anew = not (held is self._held and len(held) >= len(self._seen)) and not begins_with(held, self._seen)
        self._held = held
        if anew:
            self._seen = []
        fresh = newest(held, len(held) - len(self._seen))
        self._seen += fresh
        return anew, fresh


def begins_with(held: list[T] | dict[str, T], seen: list[T]) -> bool:
    """Whether a list, or the values of a dict, begin with what was seen before; False where nothing was."""
    if not seen or len(held) < len(seen):
        return False
    # What is the very same object is not looked into, so a hundred thousand of them take a millisecond or two.
    return list(islice(held if isinstance(held, list) else held.values(), len(seen))) == seen


def newest(held: list[T] | dict[str, T], count: int) -> list[T]:
    """The last so many, in order; of a dict without going through all the others."""
    if isinstance(held, list):
        return held[len(held) - count :]
    return list(islice(reversed(held.values()), count))[::-1]
