"""What stands in an MQTT message: which sensor, which value, when; and why a message is none."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any, Final

import msgspec

from trayward.errors import InputError
from trayward.farm.sensors import Sensor

OWN: Final = "trayward/"
"""A sensor called `cold-1` tells under `trayward/cold-1`, unless it is set up with a topic of its own."""
_TIMES: Final = ("at", "time", "timestamp", "ts")
MILLISECONDS_FROM: Final = 1e11
"""Seconds since 1970 this large lie in the year 5138: they are milliseconds."""


class Message(msgspec.Struct, frozen=True, kw_only=True):
    """What one message says of one sensor."""

    sensor: str
    value: float
    at: datetime | None
    unit: str = ""


def topics_of(sensors: Iterable[Sensor]) -> tuple[str, ...]:
    """Topics to hear, ours and those the sensors were set up with."""
    own = {sensor.topic for sensor in sensors if sensor.topic and not sensor.ended}
    return (f"{OWN}+", *sorted(own))


def messages_of(topic: str, payload: bytes, sensors: Iterable[Sensor]) -> list[Message]:
    """
    What a message says; of one topic several sensors may read a field each.

    Parameters
    ----------
    topic, payload : str, bytes
        As they came.
    sensors : iterable of Sensor
        The farm's.

    Raises
    ------
    InputError
        If no sensor tells there, or the value cannot be read.

    Examples
    --------
    >>> cold = Sensor(name="cold-1", place="cold room", what="cold room temperature", topic="shed/7", field="d.t")
    >>> told = messages_of("shed/7", b'{"d": {"t": 4.5}, "time": 1795762320}', [cold])[0]
    >>> told.value, told.at.isoformat()
    (4.5, '2026-11-27T06:52:00+00:00')
    """
    hearing = [each for each in sensors if not each.ended and topic == (each.topic or OWN + each.name)]
    if not hearing:
        raise InputError("topic", topic, "no sensor tells there", "Set it up: trayward sensors set NAME --topic TOPIC.")
    told = _json(topic, payload)
    return [_message(each, topic, told) for each in hearing]


def _json(topic: str, payload: bytes) -> Any:
    try:
        return json.loads(payload.decode("utf-8").strip().replace(",", ".") if _is_bare(payload) else payload)
    except (ValueError, UnicodeDecodeError) as error:
        shown = payload[:40].decode("utf-8", "replace")
        raise InputError(topic, shown, "it is neither a number nor JSON", "Look at what the sensor sends.") from error


def _is_bare(payload: bytes) -> bool:
    return not payload.lstrip().startswith((b"{", b"["))


def _message(sensor: Sensor, topic: str, told: Any) -> Message:
    unit, at, value = "", None, told
    if isinstance(told, dict):
        value = _within(told, sensor.field or "value")
        at = next((_moment(topic, told[name]) for name in _TIMES if told.get(name) is not None), None)
        unit = str(told.get("unit", "")) if not sensor.field else ""
    try:
        number = float(value) if not isinstance(value, bool) and value is not None else None
    except (TypeError, ValueError):
        number = None
    if number is None:
        where = f" at {sensor.field or 'value'}" if isinstance(told, dict) else ""
        raise InputError(topic, str(value)[:40], f"there is no number{where}", "Set the field: --field data.temp.")
    return Message(sensor=sensor.name, value=number, at=at, unit=unit)


def _within(told: Any, field: str) -> Any:
    for name in field.split("."):
        told = told.get(name) if isinstance(told, dict) else None
    return told


def _moment(topic: str, told: Any) -> datetime:
    try:
        if isinstance(told, int | float):
            return datetime.fromtimestamp(told / 1000 if told >= MILLISECONDS_FROM else told, UTC)
        at = datetime.fromisoformat(str(told))
        return at if at.tzinfo is not None else at.replace(tzinfo=UTC)
    except (ValueError, OverflowError, OSError) as error:
        raise InputError(
            topic, str(told)[:40], "it is no moment", "Send no time, or ISO 8601 with its offset."
        ) from error
