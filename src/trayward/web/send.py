"""Answers kept on a device until there is signal: when they happened, by a clock that may be wrong, and once each.

A device sends what it kept with these headers beside the form's own fields:

=================  ============================================================================================
`Trayward-Id`      A UUID made on the device: the id of the entry. The same one twice changes nothing.
`Trayward-Said`    When it happened, by the device's clock (ISO 8601 with offset).
`Trayward-Now`     The device's clock as this is sent: the difference to ours says how wrong it goes.
`Trayward-Off`     By how much the device's clock is behind ours, as it measured itself a moment ago [ms]; optional.
                   It knows better: the time that a request takes on a weak signal is not in it.
`Trayward-Who`     Who said it, where the device knows: whether that is taken, whoever keeps the people decides.
=================  ============================================================================================

Something that landed is told as `{"landed": true, "say", "findings", "undo", "where"}`: `undo` are the entries that
`/undo` takes back. A device takes nothing else for landed, as a Wi-Fi's log-in page answers 200 too. 401, 408, 409,
425, 429 and 5xx are tried again; any other 4xx was not accepted, and nothing of it is in the book.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import msgspec

from trayward.errors import InputError

if TYPE_CHECKING:
    from trayward.desk.core import Said

ID, SAID, NOW, OFF = "trayward-id", "trayward-said", "trayward-now", "trayward-off"

CLOCKS_AGREE = timedelta(seconds=5)
"""Clocks this near count as the same: the way through the network takes part of it."""

LONGEST_WAY = timedelta(minutes=2)
"""A request may be so long on its way; what the device measured is believed as long as that explains the rest."""


class Send(msgspec.Struct, frozen=True, kw_only=True):
    """What a device kept and now sends."""

    id: str
    happened: datetime
    """When, by our clock; never later than now."""
    recorded: datetime

    def said(self, by: str) -> Said:
        """How it is said to the farm: sure, as nobody is there to be asked."""
        return {"at": self.happened, "by": by, "recorded": self.recorded, "ids": [self.id], "sure": True}


def is_send(headers: Mapping[str, str]) -> bool:
    """Whether a request is one that a device kept."""
    return ID in headers


def read_send(headers: Mapping[str, str], now: datetime) -> Send:
    """
    What the headers of a kept request say.

    Raises
    ------
    InputError
        If the id is no UUID or a moment is none: sending the same again would not mend it.
    """
    said = _moment(SAID, headers.get(SAID, ""))
    device_now = _moment(NOW, headers[NOW]) if headers.get(NOW) else now
    happened = said + _wrong_by(now - device_now, headers.get(OFF, ""))
    return Send(id=_id(headers[ID]), happened=min(happened, now), recorded=now)


def _wrong_by(seen: timedelta, measured: str) -> timedelta:
    """By how much a device's clock is behind ours: as it measured, or as this request shows where that cannot be."""
    try:
        off = timedelta(milliseconds=float(measured))
    except (ValueError, OverflowError):
        off = None
    if off is not None and -CLOCKS_AGREE <= seen - off <= LONGEST_WAY:
        return off
    return timedelta(0) if abs(seen) <= CLOCKS_AGREE else seen


def _id(text: str) -> str:
    try:
        return str(uuid.UUID(text))
    except ValueError as error:
        raise InputError("id", text[:60], "must be a UUID", "Say it anew.") from error


def _moment(name: str, text: str) -> datetime:
    try:
        found = datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError(name, text[:60], "must be a moment in ISO 8601", "Say it anew.") from error
    if found.utcoffset() is None:
        raise InputError(name, text[:60], "must carry its offset from UTC", "Say it anew.")
    return found.astimezone(UTC)
