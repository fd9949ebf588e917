"""Sensors and readings for the tests: of our invented farm, Lantern Loft."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any

from trayward.farm.sensors import AlarmHeld, Sensor
from trayward.sensors.types import Reading

NIGHT = datetime(2026, 11, 27, 2, 0, tzinfo=UTC)


def cold_room(**more: Any) -> Sensor:
    """The cold room's sensor: at most 5 C, an alarm after 30 minutes, a reading every 5."""
    told = {"name": "cold-1", "place": "cold room", "what": "cold room temperature", "high": 5.0, **more}
    return Sensor(**told)


def readings(values: Iterable[float | None], *, every: float = 5.0, since: datetime = NIGHT) -> list[Reading]:
    """One every so many minutes; None: none came."""
    told = enumerate(values)
    return [Reading(since + timedelta(minutes=every * place), value) for place, value in told if value is not None]


def held(trouble: str = "high", **more: Any) -> AlarmHeld:
    """An alarm of the cold room that goes on."""
    told = {
        "alarm": "cold-1.high.20261127T0200", "sensor": "cold-1", "place": "cold room",
        "what": "cold room temperature", "trouble": trouble, "since": NIGHT, "raised": NIGHT + timedelta(minutes=30),
        "value": 9.0, "limit": 5.0, **more,
    }  # fmt: skip
    return AlarmHeld(**told)
