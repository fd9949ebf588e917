"""What is said of sensors and alarms, and what to do about one; the same words on every face."""

from __future__ import annotations

from datetime import date, datetime
from itertools import takewhile
from typing import Final
from zoneinfo import ZoneInfo

from trayward.errors import Finding
from trayward.farm.calendar import local_day, zone
from trayward.farm.sensors import MEASURES, AlarmHeld, What
from trayward.farm.settings import ShownUnits
from trayward.farm.state import FarmState
from trayward.hygiene.words import figure_words
from trayward.sensors.alarms import open_alarms

MAINS: Final = (
    "Sensors and their power supplies stand near water: use low voltage with a residual-current device before it, keep "
    "plugs above and away from trays, and leave mains wiring to licensed practice and local codes."
)
"""The usual caution; common practice, no source."""
DEFER: Final = "How warm for how long is too much is for local codes and licensed practice to say."

_COLD_HIGH: Final = (
    "Shut the door and see that the cold room runs. Measure the crop's core, move it somewhere cold and hold its lots; "
    "then decide and write down what you did. " + DEFER
)
_DO: Final[dict[tuple[str, str], str]] = {
    ("cold room temperature", "high"): _COLD_HIGH,
    ("cold room temperature", "low"): "Turn the cold room warmer. Look for frozen leaves and hold lots that froze.",
    ("air temperature", "high"): "Air the room, dim or switch off lamps, and look at the trays under domes first.",
    ("air temperature", "low"): "Shut doors and see that the heating runs. Expect trays later than planned.",
    ("humidity", "high"): "Move the air, dry the room, and leave room between trays: wet leaves bring mould.",
    ("humidity", "low"): "Look at the trays twice as often and water sooner.",
    ("co2", "high"): "Leave the room if you feel dizzy, air it first, and look for the cause from outside.",
    ("co2", "low"): "Let in fresh air.",
    ("ppfd", "high"): "Raise or dim the lamps.",
    ("ppfd", "low"): "See that the lamps and their timer run.",
    ("lux", "high"): "Shade the place.",
    ("lux", "low"): "See that the lamps and their timer run.",
    ("water temperature", "high"): "Cool or change the water before you water with it.",
    ("water temperature", "low"): "Let the water warm up before you water with it.",
    ("ph", "high"): "Measure again with a clean probe, then correct the tank by its label.",
    ("ph", "low"): "Measure again with a clean probe, then correct the tank by its label.",
    ("ec", "high"): "Measure again with a clean probe, then thin the tank with water.",
    ("ec", "low"): "Measure again with a clean probe, then feed the tank.",
}  # fmt: skip
"""Common practice, no source."""
_SILENT: Final = "See that the sensor has power, battery and network. Until it tells again, read the place by hand."


def do_words(what: What, trouble: str) -> str:
    """What to do about an alarm."""
    return _SILENT if trouble == "silent" else _DO[what, trouble]


def value_words(what: What, value: float, units: ShownUnits) -> str:
    """
    A value of a measure, in the units somebody reads.

    Examples
    --------
    >>> value_words("cold room temperature", 5.0, ShownUnits(temperature="F")), value_words("ph", 6.249, ShownUnits())
    ('41 F', '6.25')
    """
    measure = MEASURES[what]
    if measure.unit == "C":
        return figure_words(value, "C", units)
    figures = 2 if measure.highest <= 100 and what != "humidity" else 0
    return f"{value:.{figures}f} {measure.unit}".rstrip()


def alarm_words(alarm: AlarmHeld, units: ShownUnits, at_home: ZoneInfo) -> str:
    """
    An alarm in one sentence.

    Examples
    --------
    >>> from datetime import UTC
    >>> begun = datetime(2026, 11, 27, 3, 12, tzinfo=UTC)
    >>> held = AlarmHeld(alarm="a", sensor="cold-1", place="cold room", what="cold room temperature", trouble="high",
    ...                  since=begun, raised=begun, value=9.3, limit=5.0)
    >>> alarm_words(held, ShownUnits(), ZoneInfo("UTC"))
    'Cold room temperature at cold room (cold-1) = 9.3 C: above 5 C since Fri 27 Nov, 03:12.'
    """
    title, since = MEASURES[alarm.what].title, moment_words(alarm.since, at_home)
    where = f"{title} at {alarm.place} ({alarm.sensor})"
    if alarm.trouble == "silent" or alarm.value is None or alarm.limit is None:
        told = f"{where} = silent: no good reading since {since}."
    else:
        shown, limit = value_words(alarm.what, alarm.value, units), value_words(alarm.what, alarm.limit, units)
        above, below = (
            f"{where} = {shown}: above {limit} since {since}.",
            f"{where} = {shown}: below {limit} since {since}.",
        )
        told = above if alarm.trouble == "high" else below
    return told if alarm.until is None else f"{told} Over since {moment_words(alarm.until, at_home)}."


ANSWER_IT: Final = "Then say under Sensors what was done: until somebody does it stands on the round."


def alarm_title(alarm: AlarmHeld) -> str:
    """
    An alarm in a few words, for the first line of a mail.

    Examples
    --------
    >>> from datetime import UTC
    >>> begun = datetime(2026, 11, 27, 3, 12, tzinfo=UTC)
    >>> alarm_title(AlarmHeld(alarm="a", sensor="cold-1", place="cold room", what="cold room temperature",
    ...                       trouble="high", since=begun, raised=begun))
    'Alarm: cold room (cold-1)'
    """
    return f"Alarm: {alarm.place} ({alarm.sensor})" if alarm.until is None else f"Over: {alarm.place} ({alarm.sensor})"


def moment_words(at: datetime, at_home: ZoneInfo) -> str:
    """A moment on the farm's wall clock."""
    local = at.astimezone(at_home)
    return f"{local:%a} {local.day} {local:%b}, {local:%H:%M}"


def alarm_findings(state: FarmState, units: ShownUnits | None = None) -> list[Finding]:
    """What the round says first of all: alarms that go on or wait for an answer, with what to do."""
    if not state.alarms or state.settings is None:
        return []
    shown, at_home = units or state.settings.units, zone(state.settings)
    return [
        Finding(
            code=f"alarm-{each.trouble}", severity="odd", message=alarm_words(each, shown, at_home),
            remedy=do_words(each.what, each.trouble) if each.until is None else "Say what was done about it.",
        )
        for each in open_alarms(state.alarms.values())
    ]  # fmt: skip


def lots_held(state: FarmState, alarm: AlarmHeld, now: datetime) -> tuple[str, ...]:
    """
    Lots that lay in the cold room while it was beyond its limit, as the book files them: those still there are to be
    held, those that went out since are to be thought about.

    What left on the day the alarm began is among them: a delivery says its day alone, and naming one too many does less
    harm than missing one. What was cut or packed after the alarm was over is not.
    """
    if alarm.what != "cold room temperature" or state.settings is None:
        return ()
    until, first = alarm.until or now, local_day(alarm.since, state.settings)
    gone = _gone_since(state, first, alarm.since)
    harvests = (
        f"harvest:{lot.harvest}"
        for lot in state.harvests.values()
        if lot.cut_at < until and (lot.left_g > 0 or lot.harvest in gone)
    )
    packs = (
        f"pack:{lot.pack}"
        for lot in state.packs.values()
        if lot.packed_at < until and (lot.left > 0 or lot.pack in gone)
    )
    return (*harvests, *packs)


def _gone_since(state: FarmState, first: date, since: datetime) -> set[str]:
    """Harvest lots and packs of which something left the cold room, or went into packs, from then on."""
    found: set[str] = set()
    for delivery in takewhile(lambda each: each.day >= first, reversed(state.deliveries)):
        for line in delivery.lines:
            found.update(line.loose, line.packs)
    for thrown in takewhile(lambda each: each.day >= first, reversed(state.thrown)):
        found.update(thrown.loose, thrown.packs)
    for pack in takewhile(lambda each: each.packed_at >= since, reversed(state.packs.values())):
        found.update(pack.parts)
    return found
