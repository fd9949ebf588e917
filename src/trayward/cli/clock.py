"""The only place that reads a clock. Everything below is told when it is."""

from __future__ import annotations

import os
from datetime import UTC, datetime

from trayward.errors import InputError

NOW_VARIABLE = "TRAYWARD_NOW"
"""Environment variable that stops the clock at a moment, for tests and demonstrations."""


def now() -> datetime:
    """The present moment, or the one that `TRAYWARD_NOW` says, with its offset."""
    fixed = os.environ.get(NOW_VARIABLE, "").strip()
    return _fixed(fixed) if fixed else datetime.now(UTC)


def _fixed(text: str) -> datetime:
    remedy = "Write it as 2026-11-25T07:00:00+01:00, or leave it unset."
    try:
        at = datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError(NOW_VARIABLE, text, "it is not a date and time", remedy) from error
    if at.utcoffset() is None:
        raise InputError(NOW_VARIABLE, text, "it must carry its offset from UTC", remedy)
    return at
