"""What of a long record is new: lists of the state that only grow, read on from where they were read to before.

A state in memory goes on in place while entries come in order; whatever reaches back in time (a late entry, a strike)
makes another one. So a list that is still the same object holds all it held, and what was read of it stands.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice
from typing import Generic, TypeVar

T = TypeVar("T")


class Fresh(Generic[T]):
    """
    Reads a list, or the values of a dict, of the state from where it was read to before.

    Only for what is added at the end, one after the other, and never changed or taken out while the state goes on.
    """

    def __init__(self) -> None:
        self._held: object = None
        self._read = 0

    def of(self, held: list[T] | dict[str, T]) -> tuple[bool, Iterable[T]]:
        """Whether it has to be read from its start, as another book is; and what was not read yet, in order."""
        anew = held is not self._held or len(held) < self._read
        begin = 0 if anew else self._read
        self._held, self._read = held, len(held)
        if isinstance(held, list):
            return anew, held[begin:]
        # The newest are at the end of a dict, and most of it was read before.
        return anew, reversed(list(islice(reversed(held.values()), len(held) - begin)))
