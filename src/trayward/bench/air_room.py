"""A room's water: what its trays give off, what leaks carry, and the fan or dehumidifier that keeps it dry."""

from __future__ import annotations

import msgspec

from trayward.bench.air import humid, near_dew, warmth
from trayward.bench.types import Amount, Grid, Sheet
from trayward.errors import Finding, InputError
from trayward.science.air import pressure_at, require_all
from trayward.science.air_room import (
    LEAF_AREA,
    RATED_C,
    RATED_PCT,
    WORKS_C,
    WORKS_PCT,
    Trays,
    carried_by_air,
    dehumidifier_share,
    fan_flow,
    settled_humidity,
)
from trayward.units import ML_PER_CUP

USUAL_TRAY_CM2 = 1290.0
"""A nominal 1020 tray. [cm2]"""
USUAL_PPFD, USUAL_HOURS = 150.0, 16.0
"""Light on a shelf and its hours where nobody says: our choice, a little above the lower school's 100 to 140. [-]"""
USUAL_LEAKS = 0.5
"""Air changes an hour of an ordinary closed room: our choice, common practice names 0.3 to 1. [1/h]"""
SPARE = 1.25
"""A dehumidifier is bought this much larger, for wet floors, washing and days with more trays: our choice. [-]"""


class RoomAir(msgspec.Struct, frozen=True, kw_only=True):
    """A grow room, the air it is to hold, and the air around it."""

    volume_m3: float
    temp_c: float
    humidity_pct: float
    outside_c: float
    outside_pct: float
    leaks_per_h: float = USUAL_LEAKS
    """Air changes an hour through leaks and doors. [1/h]"""
    fan_m3_h: float = 0.0
    """Air changed by a fan that runs. [m3/h]"""
    altitude_m: float = 0.0

    @property
    def inside(self) -> tuple[float, float]:
        """Air to hold. [°C], [%]"""
        return self.temp_c, self.humidity_pct

    @property
    def outside(self) -> tuple[float, float]:
        """Air that comes in. [°C], [%]"""
        return self.outside_c, self.outside_pct

    @property
    def changed_m3_h(self) -> float:
        """Air changed by leaks and the fan. [m3/h]"""
        return self.volume_m3 * self.leaks_per_h + self.fan_m3_h


class RoomTrays(msgspec.Struct, frozen=True, kw_only=True):
    """The lit trays of a room."""

    count: int
    tray_cm2: float = USUAL_TRAY_CM2
    ppfd: float = USUAL_PPFD
    hours: float = USUAL_HOURS
    leaf_area: float = LEAF_AREA
    per_tray_ml: float | None = None
    """Water a tray takes up in a day, as measured; None: worked out. [ml/d]"""


class Plate(msgspec.Struct, frozen=True, kw_only=True):
    """What a dehumidifier's plate says: litres a day, and the air that holds for."""

    litres: float | None = None
    temp_c: float = RATED_C
    humidity_pct: float = RATED_PCT


class _Flow(msgspec.Struct, frozen=True):
    """Water into the air of a room. [g/h]"""

    lit: float
    dark: float
    carried: float
    """By leaks and fan, out. [g/h]"""

    def mean(self, hours: float) -> float:
        return (hours * self.lit + (24 - hours) * self.dark) / 24


def room_sheet(room: RoomAir, trays: RoomTrays, plate: Plate | None = None) -> Sheet:
    """
    What keeps a room of trays at a humidity.

    Parameters
    ----------
    room : RoomAir
        The room and the air it is to hold.
    trays : RoomTrays
        Its lit trays; those under covers give next to nothing to the room.
    plate : Plate, optional
        A dehumidifier's rating.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a value is out of range.
    """
    _require(room, trays)
    plate = plate or Plate()
    flow, pressure = _flow(room, trays), float(pressure_at(room.altitude_m))
    left, peak = flow.mean(trays.hours) - flow.carried, max(flow.lit, flow.dark) - flow.carried
    findings = [*near_dew(*room.inside)]
    found = [
        *_removal(left, peak, room, plate, findings),
        *_fan(max(left, 0.0) + flow.carried, room, pressure, findings),
        Amount(
            name="a tray gives off a day", value=24 * flow.mean(trays.hours) / trays.count, unit="ml", kind="volume"
        ),
        _carried(flow.carried),
        _settled(room, trays, flow, pressure),
    ]
    return Sheet(
        bench="air",
        task="room",
        title=f"What keeps a room of {trays.count} lit trays at {room.humidity_pct:g} %.",
        given=_given(room, trays, plate),
        found=tuple(found),
        grids=(_hours(flow, trays),),
        steps=_steps(left),
        holds=_holds(trays),
        findings=tuple(findings),
        cautions=(
            "Mains near water: protected outlets, drip loops, nothing on a wet floor. Local code and a licensed "
            "electrician decide.",
        ),
        sources=("graamans2017", "winkler2011", "ashrae2017"),
    )


def _require(room: RoomAir, trays: RoomTrays) -> None:
    if trays.count < 1:
        raise InputError("trays", trays.count, "there must be one or more", "Count the trays that stand in the light.")
    require_all("room", room.volume_m3, 0.1, 1e6, "m3", "Length times width times height.")
    require_all("leaks", room.leaks_per_h, 0, 60, "air changes an hour", "0.5 is an ordinary closed room.")
    require_all("tray area", trays.tray_cm2, 10, 1e5, "cm2", "Inside length times inside width.")
    if trays.per_tray_ml is not None:
        require_all("water a tray", trays.per_tray_ml, 0, 5000, "ml", "What it loses in weight in a day.")


def _flow(room: RoomAir, trays: RoomTrays) -> _Flow:
    """Water given off in an hour of light and in a dark hour, and what moving air carries out."""
    stand = _stand(trays)
    lit, dark = stand.in_light(*room.inside), stand.in_dark(*room.inside)
    if trays.per_tray_ml is not None:
        day = trays.hours * lit + (24 - trays.hours) * dark
        lit, dark = (each * trays.count * trays.per_tray_ml / day for each in (lit, dark))
    pressure = float(pressure_at(room.altitude_m))
    return _Flow(lit, dark, float(carried_by_air(room.changed_m3_h, room.inside, room.outside, pressure)))


def _stand(trays: RoomTrays) -> Trays:
    return Trays(trays.count * trays.tray_cm2 / 1e4, trays.ppfd, trays.hours, leaf_area=trays.leaf_area)


def _removal(left: float, peak: float, room: RoomAir, plate: Plate, findings: list[Finding]) -> list[Amount]:
    """Litres a day to take out, and the rating that takes it out of this air in the hours of most water."""
    litres = 24 * max(left, 0.0) / 1000
    found = [Amount(name="water to take out a day", value=1000 * litres, unit="ml", kind="volume", note=_none(left))]
    if left <= 0:
        return found
    share = _share(room, plate, findings)
    if share is None:
        return found
    need = 24 * max(peak, 0.0) / 1000 * SPARE / share
    found.append(
        Amount(
            name="dehumidifier, by its plate",
            value=1000 * need,
            unit="ml",
            kind="volume",
            note=f"a day, {1000 * need / (2 * ML_PER_CUP):.0f} US pints; takes out {100 * share:.0f} % of it here",
        )
    )
    if plate.litres is not None:
        found += _plate(plate.litres, share, peak, findings)
    return found


def _none(left: float) -> str:
    return "leaks and fan carry it all off" if left <= 0 else ""


def _share(room: RoomAir, plate: Plate, findings: list[Finding]) -> float | None:
    """What a dehumidifier does here of what its plate says; None, with a finding, where nobody can say."""
    low_c, high_c = WORKS_C
    low, high = WORKS_PCT
    if low_c <= room.temp_c <= high_c and low <= room.humidity_pct <= high:
        return float(dehumidifier_share(*room.inside, plate.temp_c, plate.humidity_pct))
    message = "room: colder, hotter or drier than the air that dehumidifiers were tried in."
    remedy = f"Look at the maker's own curve; this one holds from {low_c:g} to {high_c:g} °C above {low:g} %."
    findings.append(Finding(code="dehumidifier-cold", severity="odd", message=message, remedy=remedy))
    return None


def _plate(litres: float, share: float, peak: float, findings: list[Finding]) -> list[Amount]:
    takes = float(require_all("plate", litres, 0.1, 5000, "l")) * share
    enough = takes >= 24 * peak / 1000
    if not enough:
        need = 24 * peak / 1000
        message = (
            f"dehumidifier = {litres:g} l by its plate: takes {takes:.1f} l a day here, and {need:.1f} are needed."
        )
        findings.append(Finding(code="dehumidifier-small", severity="odd", message=message, remedy=SMALL))
    return [
        Amount(
            name="yours takes out a day",
            value=1000 * takes,
            unit="ml",
            kind="volume",
            note="" if enough else "too little",
        )
    ]


SMALL = "Add a second one or a fan, hold a higher humidity, or light fewer trays."


def _fan(grams_h: float, room: RoomAir, pressure: float, findings: list[Finding]) -> list[Amount]:
    """All the air that must be changed, leaks included, where a fan alone is to do it."""
    try:
        flow = fan_flow(max(grams_h, 0.0), room.inside, room.outside, pressure)
    except InputError:
        message = f"outside = {room.outside_pct:g} %: such air holds as much water as the room is to hold."
        remedy = "A fan cannot dry the room on such a day: a dehumidifier can."
        findings.append(Finding(code="outside-wet", severity="odd", message=message, remedy=remedy))
        return [Amount(name="by a fan alone", value="not on such a day")]
    return [
        Amount(name="by a fan alone", value=flow, unit="m3/h", note=f"{flow / room.volume_m3:.1f} air changes an hour"),
    ]


def _carried(grams_h: float) -> Amount:
    day = 24 * abs(grams_h)
    name = "leaks and fan carry off a day" if grams_h >= 0 else "leaks and fan bring in a day"
    return Amount(name=name, value=day, unit="ml", kind="volume")


def _settled(room: RoomAir, trays: RoomTrays, flow: _Flow, pressure: float) -> Amount:
    """What the room comes to with neither a dehumidifier nor a larger fan."""
    given_off = flow.mean(trays.hours) if trays.per_tray_ml is not None else _stand(trays)
    settled = settled_humidity(room.temp_c, room.outside, max(room.changed_m3_h, 1e-6), given_off, pressure)
    return humid("humidity if nothing is done", settled, "walls run with water" if settled > 99 else "")


def _given(room: RoomAir, trays: RoomTrays, plate: Plate) -> tuple[Amount, ...]:
    found = [
        warmth("air to hold", room.temp_c),
        humid("humidity to hold", room.humidity_pct),
        Amount(name="room", value=room.volume_m3, unit="m3"),
        Amount(name="lit trays", value=trays.count),
        Amount(name="a tray's area", value=trays.tray_cm2, unit="cm2"),
    ]
    if trays.per_tray_ml is not None:
        found.append(
            Amount(name="water a tray a day", value=trays.per_tray_ml, unit="ml", kind="volume", note="measured")
        )
    else:
        found += [
            Amount(name="light", value=trays.ppfd, unit="umol/m2/s"),
            Amount(name="leaf over the tray", value=trays.leaf_area, unit="-", note="in tray areas"),
        ]
    found += [
        Amount(name="hours of light", value=60 * trays.hours, unit="min", kind="minutes"),
        warmth("outside", room.outside_c),
        humid("humidity outside", room.outside_pct),
        Amount(name="leaks", value=room.leaks_per_h, unit="air changes an hour"),
        Amount(name="fan that runs", value=room.fan_m3_h, unit="m3/h"),
        warmth("plate holds at", plate.temp_c, f"{plate.humidity_pct:g} %"),
    ]
    if plate.litres is not None:
        found.append(
            Amount(name="your dehumidifier", value=1000 * plate.litres, unit="ml", kind="volume", note="a day")
        )
    return tuple(found)


def _hours(flow: _Flow, trays: RoomTrays) -> Grid:
    rows = [
        (
            "light",
            f"{trays.hours:g}",
            f"{flow.lit:.0f}",
            f"{flow.carried:.0f}",
            f"{max(flow.lit - flow.carried, 0):.0f}",
        ),
        (
            "dark",
            f"{24 - trays.hours:g}",
            f"{flow.dark:.0f}",
            f"{flow.carried:.0f}",
            f"{max(flow.dark - flow.carried, 0):.0f}",
        ),
    ]
    return Grid(
        title="Water by the hour [g/h]",
        columns=("Hours of", "A day", "Trays give off", "Air carries off", "Left to take out"),
        rows=tuple(row for row in rows if row[1] != "0"),
    )


def _steps(left: float) -> tuple[str, ...]:
    if left <= 0:
        return ()
    return (
        "Weigh a tray now and in a day: what it lost is what it gives off. Say it with --per-tray.",
        "Set the dehumidifier where air moves past it, and lead its hose to a drain.",
        "Move the air over the trays day and night: dry air in a corner helps no leaf.",
    )


def _holds(trays: RoomTrays) -> tuple[str, ...]:
    found = [
        "Trays under covers, wet floors and washing are not counted.",
        f"The rating is for the hours of most water, and {100 * (SPARE - 1):.0f} % more.",
        "A dehumidifier gives its power and the water's heat to the room: reckon with more cooling.",
    ]
    if trays.per_tray_ml is None:
        found.insert(0, "The law of what leaves give off was fitted to lettuce; microgreens were not measured.")
    return tuple(found)
