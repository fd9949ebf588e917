"""Lantern Loft's sensors and records: a cold room left open once, a grow room unheard for a night, and who cleaned."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time, timedelta

from trayward.desk.desk import Desk
from trayward.desk.sensing import Heard
from trayward.farm.calendar import moment
from trayward.farm.sensors import NEVER_SILENT, Sensor
from trayward.farm.settings import FarmSettings
from trayward.study.worlds import World

SENSOR_DAYS = 10
"""So many days before today the sensors were put up. [d]"""
ALARM_BACK, GAP_BACK = 6, 8
"""So many days before today the door stood open, and the router was off. [d]"""
EVERY = timedelta(minutes=15)
COLD, WARM = "cold-1", "loft-1"
OPENED, SHUT, ANSWERED = time(13, 0), time(14, 15), time(14, 30)
GAP = (time(1, 0), time(5, 30))
REVIEWER = "Ilse"
"""Who looks at the records; invented."""
CLEANING: dict[str, str | float] = {
    "item": "tables, knives, scales",
    "cleaner": "food-safe soap",
    "sanitiser": "as labelled",
    "contact": 10.0,
}
SATURDAY = 5


class LoftRooms:
    """Sensors that tell every quarter of an hour, and the records of a week."""

    def __init__(self, farm: Desk, settings: FarmSettings, world: World, today: date, *, name: str) -> None:
        self.farm, self.settings, self.world, self.today, self.name = farm, settings, world, today, name
        self.room = ""
        self._told: datetime | None = None
        self._waiting: list[str] = []

    def begin(self, at: datetime) -> None:
        """How records are kept here, and the first of them."""
        self.room = next(iter(self.farm.state(at).shelves.values())).room
        self.farm.set_record_habit("cleaning", area=self.room, every="Sat", at=at, by=self.name)
        self._write("training", {"persons": self.name, "topics": "hands, knives, cold room", "trainer": REVIEWER}, at)
        self._write(
            "water test", {"point": "kitchen tap", "method": "membrane filter", "e. coli": 0.0}, at,
        )  # fmt: skip

    def work(self, day: date, at: datetime) -> None:
        """Clean on Saturdays; on the next day of work somebody else looks at what was written."""
        self._review(at)
        if day.weekday() == SATURDAY:
            self._write("cleaning", CLEANING, at + timedelta(minutes=1), area=self.room)

    def _write(self, kind: str, values: Mapping[str, str | float], at: datetime, area: str = "") -> None:
        said = self.farm.write_record(kind, values, area=area, at=at, by=self.name)
        self._waiting.append(said.kept[0].entry.id)

    def _review(self, at: datetime) -> None:
        if self._waiting:
            self.farm.review(self._waiting, at=at, by=REVIEWER)
            self._waiting = []

    # Sensors ---------------------------------------------------------------------------------------------------------

    def hear(self, at: datetime) -> None:
        """What the sensors told until a moment, from the day on which they were put up."""
        begin = self._moment(SENSOR_DAYS, time(6, 0))
        if at < begin:
            return
        if self._told is None:
            self._put_up(begin if begin >= at - timedelta(hours=1) else at)
            self._told = begin
        heard = []
        while self._told + EVERY <= at:
            self._told += EVERY
            heard += self._readings(self._told)
        self.farm.hear(heard, at=at)

    def afternoon(self, day: date) -> None:
        """The door that stood open: the alarm, its end, and what was done."""
        if day != self.today - timedelta(days=ALARM_BACK):
            return
        for clock in (time(13, 50), SHUT, ANSWERED):
            self.hear(moment(day, clock, self.settings) + timedelta(minutes=1))
        done = "door had not latched; shut it, crop at 5 C inside the boxes, kept"
        said = self.farm.answer_alarm(COLD, done, at=moment(day, ANSWERED, self.settings) + timedelta(minutes=3),
                                      by=self.name)  # fmt: skip
        self._waiting += [kept.entry.id for kept in said.kept[1:]]

    def _moment(self, back: int, clock: time) -> datetime:
        return moment(self.today - timedelta(days=back), clock, self.settings)

    def _put_up(self, at: datetime) -> None:
        every = EVERY / timedelta(minutes=1)
        # An invented sensor tells nothing once the history is over: its silence would be an alarm about nothing.
        cold = Sensor(
            name=COLD, place="cold room", what="cold room temperature", high=5.0, every_min=every,
            silent_min=NEVER_SILENT,
        )  # fmt: skip
        warm = Sensor(
            name=WARM, place=self.room, what="air temperature", low=16.0, high=26.0, every_min=every,
            silent_min=NEVER_SILENT,
        )  # fmt: skip
        for sensor in (cold, warm):
            self.farm.set_sensor(sensor, at=at, by=self.name)

    def _readings(self, at: datetime) -> list[Heard]:
        opened, shut = self._moment(ALARM_BACK, OPENED), self._moment(ALARM_BACK, SHUT)
        # It warms within the first quarter of an hour, and is cold again soon after the door is shut.
        open_for = min((at - opened) / EVERY, 2.0) if opened <= at < shut else 0.0
        cold = Heard(sensor=COLD, value=round(3.4 + 0.3 * self._chance(COLD, at) + 2.4 * open_for, 1), at=at)
        if self._moment(GAP_BACK, GAP[0]) <= at < self._moment(GAP_BACK, GAP[1]):
            return [cold]
        warm = Heard(sensor=WARM, value=round(20.5 + 0.5 * self._chance(WARM, at), 1), at=at)
        return [cold, warm]

    def _chance(self, sensor: str, at: datetime) -> float:
        return self.world.air(sensor, at)[0] - 20.5
