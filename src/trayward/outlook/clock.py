"""The clock plants go by: calendar time turned into standard days, by the temperatures the farm wrote down.

One standard day is what a stage gets done in a day at the temperature its length was given for. Where nobody measured,
or nobody knows how warmth moves the crop, a standard day is a day.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime, timedelta
from operator import attrgetter
from typing import TYPE_CHECKING, Any

from trayward.errors import Finding, InputError
from trayward.farm.places import shelf_of
from trayward.farm.state import FarmState, Reading

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from trayward.outlook.warmth import Warmth

    Floats = NDArray[np.float64]

DAY = timedelta(days=1)
DAY_S = 86400.0
COLDEST_C, WARMEST_C = -5.0, 50.0
"""No grow room that still holds living trays is outside these: a loose probe, or Fahrenheit. Our bounds. [°C]"""
LONG_BEFORE = timedelta(days=30)
"""A reading this long before the first sowing was taken by a clock set wrong, or says nothing of any tray. Ours. [d]"""
TEMPERATURE = "temperature"


class Climate:
    """
    How warm each room has been, as far as it was known at one moment.

    Parameters
    ----------
    state : FarmState
        The farm; its readings of temperature count for the room that their place (room, rack, shelf or spot) is in.
        A place that is none of these is taken for water, and left out; no place means the room of a farm that has one.
    at : datetime, optional
        Now. Readings said to be taken later come from a clock set wrong. None: nobody says what time it is.

    Notes
    -----
    Readings are points in time. Between two no more than 36 h apart the temperature runs straight; through a longer
    gap, and after the last, the mean pace of the seven days before holds; before the first of a room, pace 1. So what
    was worked out for a time in the past stays as it is when later readings come in, but for a gap still open.
    """

    def __init__(self, state: FarmState, at: datetime | None = None) -> None:
        self.state, self.at = state, at
        self.findings: list[Finding] = []
        self._shelf_rooms = {shelf.name: shelf.room for shelf in state.shelves.values()}
        rooms = set(self._shelf_rooms.values())
        self._only_room = rooms.pop() if len(rooms) == 1 else ""
        self._readings = self._sorted_out()
        self._warmth: dict[tuple[str, float, float], Warmth | None] = {}
        self._earlier: Climate | None = None

    def known_by(self, at: datetime) -> Climate:
        """The climate as it was known at an earlier moment; the same where this is no later than that already."""
        if not self._readings or (self.at is not None and self.at <= at):
            return self
        if self._earlier is None or self._earlier.at != at:
            self._earlier = Climate(self.state, at)
        return self._earlier

    def logged(self, room: str) -> bool:
        """Whether a room has any reading that counts."""
        return room in self._readings

    @property
    def logs_nothing(self) -> bool:
        """Whether no room has any: then every standard day is a day."""
        return not self._readings

    def room_of(self, spot: str | None) -> str:
        """The room a spot is in; the farm's only room where nobody knows the spot, empty where there are several."""
        return self._shelf_rooms.get(shelf_of(spot), self._only_room) if spot else self._only_room

    def standard_days(
        self, room: str, base_c: float | None, at_c: float | None, start: datetime, end: datetime
    ) -> float:
        """
        Standard days that pass in a room between two moments.

        Parameters
        ----------
        room : str
            The room; one without readings runs on calendar time.
        base_c, at_c : float or None
            Base temperature of the stage and the temperature its length holds at [°C]; None: calendar time.
        start, end : datetime
            The span. A future end is assumed at the mean pace of the last seven days.

        Returns
        -------
        float
            Standard days [d]; negative where `end` comes before `start`.

        Examples
        --------
        >>> Climate(FarmState()).standard_days("loft", 3.0, 21.0, datetime(2026, 3, 1), datetime(2026, 3, 3))
        2.0
        """
        warmth = self.warmth_of(room, base_c, at_c)
        if warmth is None:
            return (end - start) / DAY
        return warmth.standard(end.timestamp()) - warmth.standard(start.timestamp())

    def standard_days_many(
        self, room: str, base_c: float | None, at_c: float | None, start_s: Floats, end_s: Floats
    ) -> Floats:
        """Standard days of many spans (n,), given as seconds since 1970 (n,). [d]"""
        import numpy as np

        start_s, end_s = np.asarray(start_s, dtype=float), np.asarray(end_s, dtype=float)
        warmth = self.warmth_of(room, base_c, at_c)
        if warmth is None:
            return (end_s - start_s) / DAY_S
        return warmth.standard_many(end_s) - warmth.standard_many(start_s)

    def calendar_days(
        self, room: str, base_c: float | None, at_c: float | None, start: datetime, standard: Floats
    ) -> Floats:
        """
        Calendar days from a moment on until so many standard days have passed.

        Parameters
        ----------
        room, base_c, at_c
            As for `standard_days`.
        start : datetime
            From when on.
        standard : array
            Standard days (n,), from 0. [d]

        Returns
        -------
        array
            Calendar days (n,) [d]; infinite where the room is too cold for that ever to pass.
        """
        warmth = self.warmth_of(room, base_c, at_c)
        if warmth is None:
            return standard if hasattr(standard, "shape") else _array(standard)
        import numpy as np

        begin = start.timestamp()
        moments = warmth.moments(warmth.standard(begin) + np.asarray(standard, dtype=float))
        return np.maximum((moments - begin) / DAY_S, 0.0)

    def mean_pace(self, room: str, base_c: float | None, at_c: float | None, start: datetime, end: datetime) -> float:
        """Standard days a calendar day between two moments; of an empty span, and where nothing is known, 1. [-]"""
        if end <= start:
            return 1.0
        return self.standard_days(room, base_c, at_c, start, end) / ((end - start) / DAY)

    def warmth_of(self, room: str, base_c: float | None, at_c: float | None) -> Warmth | None:
        """The table of a room for a stage's temperatures, built once; None: its stages run on calendar time."""
        if base_c is None or at_c is None or room not in self._readings:
            return None
        key = (room, base_c, at_c)
        if key not in self._warmth:
            self._warmth[key] = self._built(*key)
        return self._warmth[key]

    # Building --------------------------------------------------------------------------------------------------------

    def _built(self, room: str, base_c: float, at_c: float) -> Warmth | None:
        from trayward.outlook.warmth import warmth_of

        try:
            return warmth_of(*self._readings[room], base_c, at_c)
        except InputError as error:
            found = Finding(
                code="stage-warmth",
                severity="odd",
                message=f"stage lengths at {at_c:g} °C above {base_c:g} °C = not usable: {error}",
                remedy="Correct the temperatures in the recipe; until then its stages run on calendar time.",
            )
            self.findings.append(found)
            return None

    def _sorted_out(self) -> dict[str, tuple[list[float], list[float]]]:
        """By room, the times [s since 1970] and temperatures [°C] that count; the others become findings."""
        taken = [reading for reading in self.state.readings if reading.what == TEMPERATURE]
        if not taken:
            return {}
        taken.sort(key=attrgetter("at"))
        first = min((sowing.sown_at for sowing in self.state.sowings.values()), default=None)
        oldest = first - LONG_BEFORE if first is not None else None
        rooms: dict[str, tuple[list[float], list[float]]] = {}
        faults = _Faults()
        places = {where: self._place(where) for where in {reading.where for reading in taken}}
        for reading in taken:
            room = places[reading.where]
            fault = self._fault(reading, room, oldest)
            if fault:
                faults.note(fault, reading)
            elif room is not None:
                times, values = rooms.setdefault(room, ([], []))
                times.append(reading.at.timestamp())
                values.append(reading.value)
        self.findings += faults.findings()
        return rooms

    def _fault(self, reading: Reading, room: str | None, oldest: datetime | None) -> str:
        if room is None and reading.where:
            return ""  # a tank: water has its own temperature
        if room is None:
            return "reading-nowhere"
        if not COLDEST_C <= reading.value <= WARMEST_C:
            return "reading-absurd"
        ahead = self.at is not None and reading.at > self.at
        return "reading-clock" if ahead or (oldest is not None and reading.at < oldest) else ""

    def _place(self, where: str) -> str | None:
        """The room a reading was taken in; None where it is none."""
        if not where.strip():
            return self._only_room or None
        word = where.strip().casefold()
        named = _named_rooms(self.state)
        return named.get(word) or named.get(shelf_of(word))


def _named_rooms(state: FarmState) -> dict[str, str]:
    """The room of every name of a shelf, rack or room, however it is written."""
    shelves = state.shelves.values()
    names = [(shelf.name, shelf.room) for shelf in shelves] + [(shelf.rack, shelf.room) for shelf in shelves]
    return {name.casefold(): room for name, room in [*names, *((shelf.room, shelf.room) for shelf in shelves)] if name}


class _Faults:
    """Readings that were left out, by what is wrong with them and where they were taken."""

    def __init__(self) -> None:
        self._found: dict[tuple[str, str], list[Reading]] = defaultdict(list)

    def note(self, code: str, reading: Reading) -> None:
        self._found[code, reading.where].append(reading)

    def findings(self) -> list[Finding]:
        return [_finding(code, readings) for (code, _), readings in self._found.items()]


_FAULTS = {
    "reading-absurd": (
        f"no room with living trays is outside {COLDEST_C:g} to {WARMEST_C:g} °C",
        "Look at the probe; if this is Fahrenheit, strike it and say it with its unit.",
    ),
    "reading-clock": (
        "it was taken by a clock set wrong",
        "Set the sensor's clock; strike the reading and say it with its time.",
    ),
    "reading-nowhere": ("in which of the rooms, nobody said", "Say where: a room, a rack or a shelf."),
}


def _finding(code: str, readings: list[Reading]) -> Finding:
    """The first of some readings that share a fault, and how many more there are."""
    first, (rule, remedy) = readings[0], _FAULTS[code]
    more = f" (and {len(readings) - 1} more like it)" if len(readings) > 1 else ""
    where = f" at {first.where}" if first.where else ""
    told = f"temperature{where}, {first.at:%Y-%m-%d %H:%M %Z} = {first.value:g} °C"
    return Finding(
        code=code,
        severity="odd",
        message=f"{told}{more}: {rule}, so the outlook leaves it out.",
        remedy=remedy,
    )


def _array(values: Any) -> Floats:
    import numpy as np

    return np.asarray(values, dtype=float)
