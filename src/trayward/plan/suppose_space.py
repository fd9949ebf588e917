"""Suppositions of room and hands: shelves, kit, days off, more or fewer minutes of work."""

from __future__ import annotations

from collections import Counter
from datetime import date, datetime, timedelta

from msgspec.structs import replace

from trayward.dates import LONG_WEEKDAYS, day_words
from trayward.errors import InputError
from trayward.farm.calendar import is_work_day, local_day
from trayward.farm.places import Lamp, Shelf, ShelfKind
from trayward.farm.state import FarmState
from trayward.plan.limits import SPOTS
from trayward.plan.supposed import SupposedState, Supposition, Swing, held
from trayward.plan.words import FEW
from trayward.words import listed

DAY = timedelta(days=1)
FAR = 8 * 7 + 60
"""Beyond so many days no plan looks: its longest span, and the days in which it washes up after it. [d]"""


def dated(what: str, first: date | None, last: date | None) -> str:
    """
    What is different, and when, as much of it as is said.

    Examples
    --------
    >>> dated("1 more cover", date(2026, 12, 8), date(2026, 12, 11))
    '1 more cover, from Tue 8 Dec to Fri 11 Dec'
    """
    if first is None:
        return f"{what}, until {day_words(last)}" if last else what
    if last is None:
        return f"{what}, from {day_words(first)}"
    return (
        f"{what}, on {day_words(first)}" if first == last else f"{what}, from {day_words(first)} to {day_words(last)}"
    )


# Shelves --------------------------------------------------------------------------------------------------------------


def usual_shelf(state: FarmState, kind: ShelfKind) -> Shelf | None:
    """A shelf like most of that kind; None where there is none."""
    shelves = [shelf for shelf in state.shelves.values() if shelf.kind == kind and shelf.spots]
    if not shelves:
        return None
    alike = Counter((shelf.spots, shelf.stack, shelf.lamp) for shelf in shelves)
    usual = alike.most_common(1)[0][0]
    return next(shelf for shelf in shelves if (shelf.spots, shelf.stack, shelf.lamp) == usual)


class MoreShelves(Supposition, frozen=True, kw_only=True):
    """More shelves of a kind, each of so many floor positions; lit ones have lamps like those there are."""

    count: int
    kind: ShelfKind
    spots: int
    stack: int = 1
    first: date | None = None
    last: date | None = None

    def words(self) -> str:
        number, spots = self.count, "1 spot" if self.spots == 1 else f"{self.spots:d} spots"
        if self.kind == "lit":
            what = f"1 more lit shelf of {spots}" if number == 1 else f"{number:d} more lit shelves of {spots}"
        else:
            what = f"1 more dark shelf of {spots}" if number == 1 else f"{number:d} more dark shelves of {spots}"
        if self.stack > 1:
            what = f"{what}, {self.stack:d} high"
        return dated(what, self.first, self.last)

    def note(self) -> str:
        return "What shelves and lamps cost to buy is not counted; the power of lamps is."

    def apply(self, state: SupposedState, at: datetime) -> None:  # noqa: ARG002
        for number in range(1, self.count + 1):
            name = f"more {self.kind} {len(state.shelves)}-{number}"
            state.shelves[name] = Shelf(
                name=name,
                rack="more",
                room="",
                kind=self.kind,
                spots=self.spots,
                stack=self.stack,
                lamp=self._lamp(state),
            )
        state.swings += _absent(SPOTS[self.kind], self.count * self.spots, self.first, self.last)

    def _lamp(self, state: SupposedState) -> Lamp | None:
        """Light like that of the usual shelf; it draws as much a spot as the shelves there are do in the mean.

        The plan counts power by the mean of all lit spots: so a shelf nobody uses costs nothing.
        """
        usual = usual_shelf(state, self.kind)
        if usual is None or usual.lamp is None:
            return None
        if not usual.lamp.count * usual.lamp.hours:
            return usual.lamp
        lit = [shelf for shelf in state.shelves.values() if shelf.kind == self.kind and shelf.spots]
        draws = sum(one.lamp.count * one.lamp.watts * one.lamp.hours for one in lit if one.lamp is not None)
        each = draws / sum(shelf.spots for shelf in lit)
        return replace(usual.lamp, watts=each * self.spots / (usual.lamp.count * usual.lamp.hours))


def _absent(limit: str, amount: float, first: date | None, last: date | None) -> list[Swing]:
    """What is there in general is not there before its first day and after its last."""
    found = []
    if first is not None:
        found.append(Swing(limit=limit, amount=-amount, last=first - DAY))
    if last is not None:
        found.append(Swing(limit=limit, amount=-amount, first=last + DAY))
    return found


class ShelfGone(Supposition, frozen=True, kw_only=True):
    """A shelf out of use. What stands on it now has to go elsewhere; the plan counts the room, not the move."""

    shelf: str
    first: date | None = None
    last: date | None = None

    def words(self) -> str:
        return dated(f"shelf {self.shelf} out of use", self.first, self.last)

    def apply(self, state: SupposedState, at: datetime) -> None:  # noqa: ARG002
        shelf = held(state.shelves, self.shelf, "shelf")
        if self.first is None and self.last is None:
            del state.shelves[self.shelf]
            return
        state.swings.append(Swing(limit=SPOTS[shelf.kind], amount=-shelf.spots, first=self.first, last=self.last))


# Kit ------------------------------------------------------------------------------------------------------------------


class MoreKit(Supposition, frozen=True, kw_only=True):
    """More of a kit pool, or fewer where `count` is below zero."""

    pool: str
    count: int
    first: date | None = None
    last: date | None = None

    def words(self) -> str:
        number = abs(self.count)
        pool = self.pool if number == 1 else f"{self.pool}s"
        return dated(f"{number:d} {pool} more" if self.count > 0 else f"{number:d} {pool} fewer", self.first, self.last)

    def note(self) -> str:
        return "What kit costs to buy is not counted; its wear is." if self.count > 0 else ""

    def apply(self, state: SupposedState, at: datetime) -> None:  # noqa: ARG002
        kept = held(state.kit, self.pool, "kit")
        if kept.pool.count + self.count < 0:
            remedy = f"Say {kept.pool.count} or fewer."
            raise InputError(f"{self.pool} less", -self.count, f"there are only {kept.pool.count}", remedy)
        if self.first is None and self.last is None:
            kept.pool = replace(kept.pool, count=kept.pool.count + self.count)
            return
        state.swings.append(Swing(limit=self.pool, amount=self.count, first=self.first, last=self.last))


# Days and hands -------------------------------------------------------------------------------------------------------


class DaysOff(Supposition, frozen=True, kw_only=True):
    """Days on which nobody sows, cuts, washes or delivers: single ones from one to another, or a weekday for good."""

    first: date | None = None
    last: date | None = None
    weekdays: tuple[int, ...] = ()

    def words(self) -> str:
        if self.weekdays:
            weekdays = listed((LONG_WEEKDAYS[day] for day in self.weekdays), most=FEW)
            return dated(f"every {weekdays} off", self.first, self.last)
        if self.first is None:
            return f"closed until {day_words(self.last)}" if self.last else "closed"
        first = day_words(self.first)
        if self.last is None:
            return f"closed from {first}"
        return f"closed on {first}" if self.first == self.last else f"closed from {first} to {day_words(self.last)}"

    def apply(self, state: SupposedState, at: datetime) -> None:
        settings = state.set_up
        today = local_day(at, settings)
        first = max(self.first or today, today)
        last = min(self.last or today + FAR * DAY, today + FAR * DAY)
        days = (first + number * DAY for number in range((last - first).days + 1))
        off = {day for day in days if not self.weekdays or day.weekday() in self.weekdays}
        state.settings = replace(settings, days_off=tuple(sorted({*settings.days_off, *off})))


class MoreHands(Supposition, frozen=True, kw_only=True):
    """More minutes of work on each day said, or fewer where `minutes` is below zero. [min]

    No day named: on every day that is worked. A day that is named and was off is worked for just that long.
    """

    minutes: float
    weekdays: tuple[int, ...] = ()
    first: date | None = None
    last: date | None = None

    def words(self) -> str:
        more, time = self.minutes > 0, _time_words(abs(self.minutes))
        if self.first is not None and self.first == self.last:
            day = day_words(self.first)
            return f"{time} more on {day}" if more else f"{time} less on {day}"
        weekdays = listed((LONG_WEEKDAYS[day] for day in self.weekdays), most=FEW)
        if self.weekdays:
            each = f"{time} more every {weekdays}" if more else f"{time} less every {weekdays}"
        else:
            each = f"{time} more every working day" if more else f"{time} less every working day"
        return dated(each, self.first, self.last)

    def apply(self, state: SupposedState, at: datetime) -> None:
        if self.first is None and self.last is None:
            self._for_good(state)
            return
        if self.minutes > 0:
            for day in self._named(local_day(at, state.set_up)):
                _open(state, day, self.minutes, local_day(at, state.set_up))
        state.swings.append(
            Swing(limit="hands", amount=self.minutes, first=self.first, last=self.last, weekdays=self.weekdays)
        )

    def _for_good(self, state: SupposedState) -> None:
        settings = state.set_up
        minutes = tuple(
            max(0.0, usual + self.minutes) if number in self.weekdays or (not self.weekdays and usual > 0) else usual
            for number, usual in enumerate(settings.work_minutes)
        )
        state.settings = replace(settings, work_minutes=minutes)

    def _named(self, today: date) -> list[date]:
        """The days said so plainly that they are worked even where they were off; a span of days names none."""
        if not self.weekdays and self.first != self.last:
            return []
        first, last = max(self.first or today, today), self.last or today + FAR * DAY
        days = (first + number * DAY for number in range((min(last, today + FAR * DAY) - first).days + 1))
        return [day for day in days if not self.weekdays or day.weekday() in self.weekdays]


def _open(state: SupposedState, day: date, minutes: float, today: date) -> None:
    """Make a working day of a day off, with no minutes of work in it yet."""
    settings = state.set_up
    if is_work_day(settings, day):
        return
    off = set(settings.days_off) - {day}
    week = list(settings.work_minutes)
    if not week[day.weekday()]:
        week[day.weekday()] = minutes
        alike = (today + number * DAY for number in range(FAR + 1))
        off |= {other for other in alike if other.weekday() == day.weekday() and other != day}
    state.settings = replace(settings, days_off=tuple(sorted(off)), work_minutes=tuple(week))
    state.swings.append(Swing(limit="hands", amount=-week[day.weekday()], first=day, last=day))


def _time_words(minutes: float) -> str:
    """`2 h`, `1 h 30 min`, `45 min`."""
    hours, left = divmod(round(minutes), 60)
    return " ".join([f"{hours} h"] * bool(hours) + [f"{left} min"] * bool(left or not hours))
