"""Group commit: threads that write at the same moment share one wait for the disk."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from threading import Event, Lock

from trayward.desk.ports import Kept
from trayward.errors import BookError, TraywardError
from trayward.store.pen import Prepared
from trayward.store.trouble import BusyError


class Request:
    """What one thread wants kept, and what became of it."""

    def __init__(self, prepared: Sequence[Prepared], expected_seq: int | None) -> None:
        self.prepared = prepared
        self.expected_seq = expected_seq
        self.kept: list[Kept] = []
        self.error: BaseException | None = None
        self.done = False
        self.wake = Event()


class Writers:
    """
    The threads of this process that want to write.

    The first to come leads: it keeps everything that waits, in one transaction. What came in meanwhile is led by one of
    those who wait. So twenty phones cost about as many waits for the disk as two.

    Parameters
    ----------
    keep_together : callable
        Keeps requests in one transaction: fills `kept`, or `error` for one that is refused; raises `TraywardError` if
        the whole transaction failed.
    """

    def __init__(self, keep_together: Callable[[Sequence[Request]], None]) -> None:
        self._keep_together = keep_together
        self._lock = Lock()
        self._waiting: list[Request] = []
        self._led = False

    def submit(self, request: Request) -> list[Kept]:
        """Wait until the request is kept for good; raises what went wrong with it."""
        with self._lock:
            self._waiting.append(request)
            leads = not self._led
            self._led = True
        if not leads:
            self._wait(request)
        if not request.done:
            self._lead()
        if request.error is not None:
            raise request.error
        return request.kept

    def _wait(self, request: Request) -> None:
        try:
            request.wake.wait()
        except BaseException:
            # Interrupted: nobody will come back for this request, so it must not be given the lead either.
            with self._lock:
                if request in self._waiting:
                    self._waiting.remove(request)
                if request.wake.is_set() and not request.done:
                    self._hand_over()
            raise

    def _lead(self) -> None:
        with self._lock:
            group, self._waiting = self._waiting, []
        try:
            self._keep(group)
        except BaseException as err:
            for request in group:
                request.error = request.error or BookError(f"Interrupted while keeping entries ({err!r}). Try again.")
            raise
        finally:
            with self._lock:
                for request in group:
                    request.done = True
                    request.wake.set()
                self._hand_over()

    def _hand_over(self) -> None:
        """Give the lead to one who waits; the caller holds the lock."""
        self._led = bool(self._waiting)
        if self._waiting:
            self._waiting[0].wake.set()

    def _keep(self, group: Sequence[Request]) -> None:
        try:
            self._keep_together(group)
        except BusyError as err:
            for request in group:
                request.error = err
        except TraywardError as err:
            self._keep_apart(group, err)

    def _keep_apart(self, group: Sequence[Request], err: TraywardError) -> None:
        """One request's trouble with the database must not be everybody's."""
        if len(group) == 1:
            group[0].error = err
            return
        for request in group:
            request.error = None
            self._keep([request])
