"""One at a time, in the order in which they came: nobody who waits is passed by."""

from __future__ import annotations

from collections import deque
from threading import Lock


class _Waiting:
    """Somebody who waits; the lock opens when it is their turn, or when there is no turn for them any more."""

    def __init__(self) -> None:
        self.lock = Lock()
        self.lock.acquire()
        self.turn = False


class Turns:
    """
    A lock that is handed on to whoever has waited longest.

    Python's own lock goes to whichever thread is quickest, and under load that is often the one that has just let go of
    it: an answer from a phone could wait for minutes.
    """

    def __init__(self) -> None:
        self._guard = Lock()
        self._waiting: deque[_Waiting] = deque()
        self._taken = False
        self._shut = False

    def take(self) -> bool:
        """Wait for one's turn; False where there are no turns any more."""
        with self._guard:
            if self._shut:
                return False
            if not self._taken:
                self._taken = True
                return True
            mine = _Waiting()
            self._waiting.append(mine)
        mine.lock.acquire()
        return mine.turn

    def give_back(self) -> None:
        """Let the next one have it."""
        with self._guard:
            if self._waiting:
                following = self._waiting.popleft()
                following.turn = True
                following.lock.release()
            else:
                self._taken = False

    def shut(self) -> None:
        """No more turns: whoever waits, or comes, goes away without. Who has it keeps it until it is given back."""
        with self._guard:
            self._shut = True
            waiting, self._waiting = self._waiting, deque()
        for each in waiting:
            each.lock.release()

    def take_last(self, seconds: float) -> bool:
        """Shut, and wait until it was given back; False where that takes longer. [s]"""
        self.shut()
        with self._guard:
            if not self._taken:
                self._taken = True
                return True
            mine = _Waiting()
            self._waiting.append(mine)
        if mine.lock.acquire(timeout=seconds):
            return True
        with self._guard:
            if mine in self._waiting:
                self._waiting.remove(mine)
            return mine.turn

    def open(self) -> None:
        """Let there be turns again."""
        with self._guard:
            self._shut = False
