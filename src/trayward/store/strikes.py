"""Which entries are struck, when strikes can be struck in their turn."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple


class Strike(NamedTuple):
    """An entry that strikes another."""

    seq: int
    id: str
    target: str


def struck_ids(strikes: Iterable[Strike]) -> frozenset[str]:
    """
    Ids of the entries that are struck by a strike which is not struck itself.

    Worked from the strikes nobody strikes inwards, so it does not matter in which order they reached the book. Strikes
    that strike each other in a ring, which only a broken device can say, are settled for the one kept last.

    Examples
    --------
    >>> sorted(struck_ids([Strike(2, "b", "a"), Strike(3, "c", "b")]))
    ['b']
    """
    waiting = {strike.id: strike for strike in sorted(strikes)}
    open_strikers = Counter(strike.target for strike in waiting.values())
    free = [identity for identity in waiting if not open_strikers[identity]]
    struck: set[str] = set()
    while waiting:
        strike = waiting.pop(free.pop() if free else next(reversed(waiting)))
        if strike.id not in struck:
            struck.add(strike.target)
        open_strikers[strike.target] -= 1
        if not open_strikers[strike.target] and strike.target in waiting:
            free.append(strike.target)
    return frozenset(struck)
