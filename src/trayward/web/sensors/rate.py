"""How much a program may send: a device gone wild must not keep the farm from its people."""

from __future__ import annotations

from collections import deque
from datetime import datetime, timedelta
from threading import Lock

from trayward.web.faults import ShutError

MOST_A_MINUTE = 240
"""Requests of one token within a minute: four a second, far more than a farm's sensors need. Our choice."""
MINUTE = timedelta(minutes=1)


class Rate:
    """Counts requests by who sends them; in memory, so a restart forgets."""

    def __init__(self, most: int = MOST_A_MINUTE) -> None:
        self._most = most
        self._lock = Lock()
        self._seen: dict[str, deque[datetime]] = {}

    def count(self, who: str, now: datetime) -> None:
        """Count one. Raises `ShutError` (429) where there were too many within a minute."""
        with self._lock:
            seen = self._seen.setdefault(who, deque())
            while seen and now - seen[0] > MINUTE:
                seen.popleft()
            if len(seen) >= self._most:
                rule = f"Too much at once: {self._most} requests within a minute."
                raise ShutError(rule, "Wait a minute, and send several readings in one request.", status=429)
            seen.append(now)
