"""Several crops side by side, by as many threads as may work just now."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from types import TracebackType
from typing import TypeVar

One = TypeVar("One")
Made = TypeVar("Made")


class Hands:
    """
    Threads that wait for work, to be left when it is done.

    Parameters
    ----------
    count : callable
        How many may work just now.
    most : int
        No more than these at any time.
    """

    def __init__(self, count: Callable[[], int], most: int = 2) -> None:
        self._count, self._most = count, most

    def __enter__(self) -> Hands:
        self._pool = ThreadPoolExecutor(self._most)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._pool.shutdown()

    def count(self) -> int:
        """How many work just now, from one to all."""
        return max(1, min(self._most, self._count()))

    def each(self, work: Callable[[One], Made], items: Iterable[One]) -> list[Made]:
        """What the work gives for each, in their order."""
        return [work(item) for item in items] if self.count() == 1 else list(self._pool.map(work, items))
