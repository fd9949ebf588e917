"""Readings, notes, kept plans and strikes."""

from __future__ import annotations

import re

import msgspec

from trayward.farm.entries import Entry, Note, Photo, PlanKept, ReadingTaken, Struck
from trayward.farm.promised import note_plan
from trayward.farm.state import FarmState, Reading
from trayward.farm.transitions.feed import feed_reading
from trayward.farm.transitions.say import Findings, between, odd, show, wrong

_SHA256 = re.compile(r"[0-9a-f]{64}")

RANGES = {
    "temperature": (-60.0, 80.0, "C"),
    "humidity": (0.0, 100.0, "%"),
    "ph": (0.0, 14.0, ""),
    "ec": (0.0, 100.0, "dS/m"),
    "ppfd": (0.0, 3000.0, "umol/m2/s"),
}
"""What an instrument in a grow room, or held into its water, can show at all."""
WARM_C = 45.0
"""Above this a room is no place for seedlings, but a usual room in Fahrenheit. [C]"""


def check_reading(state: FarmState, body: ReadingTaken, entry: Entry) -> Findings:
    low, high, unit = RANGES[body.what]
    found = between(entry, body.what, body.value, low, high, unit)
    if not found and body.what == "temperature" and body.value > WARM_C:
        message = f"temperature = {show(body.value)} C: too hot for seedlings."
        found.append(odd(entry, "reading-hot", message, "If this is Fahrenheit, strike it and say it with its unit."))
    return found or feed_reading(state, body, entry)


def apply_reading(state: FarmState, body: ReadingTaken, entry: Entry) -> None:
    state.readings.append(Reading(entry.at, body.what, body.value, body.where))


def check_plan(state: FarmState, body: PlanKept, entry: Entry) -> Findings:
    try:
        msgspec.json.decode(body.plan, type=dict)
    except (msgspec.DecodeError, UnicodeDecodeError):
        return [
            wrong(
                entry, "plan", "plan = unreadable: it must be JSON as `trayward plan --json` gives it.", "Plan again."
            )
        ]
    return []


def apply_plan(state: FarmState, body: PlanKept, entry: Entry) -> None:
    state.last_plan = bytes(body.plan).decode()
    note_plan(state, bytes(body.plan))


def check_photo(state: FarmState, body: Photo, entry: Entry) -> Findings:
    """Whether the picture is there only the store knows; its name must be one."""
    if _SHA256.fullmatch(body.sha256):
        return []
    message = f"photo = {body.sha256[:20]!r}: it is named by a SHA-256 in hex, 64 letters and figures."
    return [wrong(entry, "photo-name", message, "Take the photo again.")]


def check_nothing(state: FarmState, body: Note | Struck, entry: Entry) -> Findings:
    """A note says what it says; whether a strike hits anything only the whole book knows."""
    return []


def apply_nothing(state: FarmState, body: Note | Photo | Struck, entry: Entry) -> None:
    """Notes and photos are read in the book; struck entries are left out by the fold."""
