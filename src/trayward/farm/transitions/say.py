"""Findings in the house form: thing = value unit: rule. Way out."""

from __future__ import annotations

import math
from datetime import date, datetime

from msgspec.structs import replace

from trayward.errors import Finding, InputError
from trayward.farm.calendar import local_day
from trayward.farm.entries import Entry
from trayward.farm.state import FarmState, Tray

Findings = list[Finding]

ROUNDING_G = 1e-6
"""Grams this close are the same: sums of weights carry rounding. [g]"""


def wrong(entry: Entry, code: str, message: str, remedy: str = "") -> Finding:
    """What cannot have happened as recorded."""
    return Finding(code=code, severity="wrong", message=message, remedy=remedy, entries=(entry.id,))


def odd(entry: Entry, code: str, message: str, remedy: str = "") -> Finding:
    """What can be, but deserves a look."""
    return Finding(code=code, severity="odd", message=message, remedy=remedy, entries=(entry.id,))


def from_error(entry: Entry, code: str, about: str, err: InputError) -> Finding:
    """An input error about part of an entry, as a finding about the whole of it."""
    value = f"{err.value} {err.unit}".strip()
    return wrong(entry, code, f"{about}, {err.name} = {value}: {err.rule}.", err.remedy)


def from_finding(entry: Entry, finding: Finding) -> Finding:
    """A finding that was made without an entry, as one about this entry."""
    return replace(finding, entries=(entry.id,))


def show(value: float) -> str:
    """A number as people write it: no more digits than a scale shows."""
    return f"{round(value, 2):.10g}"


def more_than_zero(entry: Entry, thing: str, value: float | None, unit: str) -> Findings:
    """Nothing if `value` is left out or above zero."""
    if value is None or (value > 0 and math.isfinite(value)):
        return []
    return [wrong(entry, "amount", f"{thing} = {show(value)} {unit}: must be more than 0 {unit}.", "Measure it again.")]


def between(entry: Entry, thing: str, value: float | None, low: float, high: float, unit: str = "") -> Findings:
    """Nothing if `value` is left out or lies from `low` to `high`."""
    if value is None or low <= value <= high:
        return []
    least, most = f"{low:.10g}", f"{high:.10g}"
    rule = f"must lie in [{least}, {most}] {unit}".strip()
    return [wrong(entry, "amount", f"{thing} = {show(value)} {unit}".strip() + f": {rule}.", "Check what was typed.")]


def farm_day(state: FarmState, at: datetime) -> date:
    """The day by the farm's wall."""
    return local_day(at, state.settings) if state.settings else at.date()


def day_of(state: FarmState, at: datetime) -> str:
    """The day as the farm's wall shows it."""
    return farm_day(state, at).isoformat()


def listed(names: tuple[str, ...] | list[str]) -> str:
    """Names in a row; the first few of many."""
    return ", ".join(names[:8]) + (", ..." if len(names) > 8 else "") or "none"


def tray_unknown(entry: Entry, name: str) -> Finding:
    """Somebody names a tray that was never sown."""
    message = f"tray {name} = none: the farm has no tray of that name."
    return wrong(
        entry, "tray-unknown", message, "Check the name on the tray; record its sowing first if it is missing."
    )


def fate_words(state: FarmState, tray: Tray) -> str:
    """What became of a tray, and when."""
    fate = "stripped" if tray.stripped and tray.fate == "cut" else tray.fate
    return f"{fate} {day_of(state, tray.ended_at)}" if tray.ended_at else fate


def not_growing(state: FarmState, entry: Entry, tray: Tray, deed: str) -> Finding:
    """Somebody did to a tray what only a growing one can have done to it."""
    message = f"tray {tray.tray} = {fate_words(state, tray)}: only a growing tray can be {deed}."
    remedy = f"Check the tray's name, or strike the entry by which it was {tray.fate}."
    return wrong(entry, "tray-ended", message, remedy)


def growing_problems(state: FarmState, entry: Entry, names: tuple[str, ...], deed: str) -> Findings:
    """What is wrong about doing something to these trays that only growing ones can have done to them."""
    found: Findings = []
    for name in names:
        tray = state.trays.get(name)
        if tray is not None and tray.fate == "growing":
            continue
        tray = state.tray(name)
        found.append(tray_unknown(entry, name) if tray is None else not_growing(state, entry, tray, deed))
    return (
        found if names else [wrong(entry, "nothing-named", "trays = none: at least one must be named.", "Name them.")]
    )


def twice(entry: Entry, thing: str, names: list[str]) -> Findings:
    """The same name more than once in one entry."""
    doubled = sorted({name for name in names if names.count(name) > 1})
    return [
        wrong(entry, "named-twice", f"{thing} {name} = twice: it can be named once.", "Drop one.") for name in doubled
    ]


def grows(state: FarmState, name: str) -> Tray | None:
    """The tray of that name if it is growing."""
    tray = state.trays.get(name)
    return tray if tray is not None and tray.fate == "growing" else None
