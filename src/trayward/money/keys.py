"""By what an account is told: which rows an amount belongs to, and in which shares."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import UTC, date, datetime
from functools import cached_property

from trayward.farm.bills import LineGone
from trayward.farm.calendar import local_day
from trayward.farm.places import shelf_of
from trayward.farm.state import FarmState, Tray
from trayward.money.grown import Stay, stays_of
from trayward.money.sold import Flow, Weights
from trayward.money.terms import Terms
from trayward.money.types import LOST_TRAYS, NAMELESS, UNKNOWN, By


class Keys:
    """The rows of an account that is told by one thing."""

    def __init__(self, state: FarmState, terms: Terms, flow: Flow, by: By, at: datetime) -> None:
        self.state, self.terms, self.flow, self.by, self.at = state, terms, flow, by, at
        self.by_time = by in ("day", "week", "month")
        self.by_people = by in ("customer", "order")
        self.since = datetime.min.replace(tzinfo=UTC)
        """No tray that is asked for was sown before."""
        self.stays: dict[str, tuple[Stay, ...]] = {}
        """Where trays stood, of those whose cost is known."""
        self._shelves: dict[str, Weights] = {}
        self._went: dict[str, Weights] = {}

    def time(self, day: date) -> str:
        """The row of a day."""
        return day.isoformat() if self.by == "day" else f"{day:%Y-%m}" if self.by == "month" else week_of(day)

    def of_tray(self, tray: Tray, day: date, went: Weights) -> Mapping[str, float]:
        """Rows of what a tray cost on a day, when its crop went there."""
        if self.by_time:
            return {self.time(day): 1.0}
        return self._people(went) if self.by_people else self._grown(tray, day)

    def of_line(self, day: date, customer: str, line: LineGone) -> Mapping[str, float]:
        """Rows of what a delivered line brought."""
        if self.by_time:
            return {self.time(day): 1.0}
        if self.by == "customer":
            return {customer: 1.0}
        if self.by == "order":
            return {order_of(line.line): 1.0}
        if line.trays:
            return self._over(dict.fromkeys(line.trays, 1.0), day)
        return self._over(self.flow.trays_of(self.flow.lots_of(line.loose, line.packs)), day)

    def of_lots(self, day: date, lots: Mapping[str, float], went: Weights) -> Mapping[str, float]:
        """Rows of what something made from harvest lots cost on a day, when it went there."""
        if self.by_time:
            return {self.time(day): 1.0}
        return self._people(went) if self.by_people else self._over(self.flow.trays_of(lots), day)

    def went(self, tray: Tray) -> Weights:
        """Where the crop of a tray that has left went, by order line or a row for nobody."""
        if tray.tray not in self._went:
            self._went[tray.tray] = self._went_now(tray)
        return self._went[tray.tray]

    # Inside ----------------------------------------------------------------------------------------------------------

    def _went_now(self, tray: Tray) -> Weights:
        if tray.fate == "delivered":
            return {self._live.get(tray.tray, UNKNOWN): 1.0}
        found: Weights = defaultdict(float)
        for lot in self._lots_of.get(tray.tray, ()):
            held = self.state.harvests[lot]
            whole = self.flow.lot_went(held)
            total = sum(whole.values())
            for where, grams in whole.items():
                found[where] += held.by_tray[tray.tray] * grams / total if total else 0.0
        if sum(found.values()) > 0:
            return dict(found)
        return {LOST_TRAYS if tray.fate == "discarded" else UNKNOWN: 1.0}

    @cached_property
    def _live(self) -> dict[str, str]:
        """Live tray -> the order line it went out for."""
        found: dict[str, str] = {}
        for delivery in self.flow.deliveries(date.max):
            for line in delivery.lines:
                found |= dict.fromkeys(line.trays, line.line)
        return found

    @cached_property
    def _lots_of(self) -> dict[str, list[str]]:
        """Tray -> the harvest lots it was cut into."""
        found: dict[str, list[str]] = defaultdict(list)
        # Lots stand in the order they were cut: those of before the first tray that counts are none of theirs.
        for lot in reversed(self.state.harvests.values()):
            if lot.cut_at < self.since:
                break
            for tray in lot.by_tray:
                found[tray].append(lot.harvest)
        return found

    def _grown(self, tray: Tray, day: date) -> Mapping[str, float]:
        if self.by == "crop":
            return {tray.crop: 1.0}
        if self.by == "recipe":
            return {tray.recipe: 1.0}
        if self.by == "tray":
            return {tray.tray: 1.0}
        shelves = self._shelves_of(tray)
        if self.by == "shelf":
            return shelves
        return {f"{shelf} {week_of(day)}" if shelf != UNKNOWN else shelf: days for shelf, days in shelves.items()}

    def _shelves_of(self, tray: Tray) -> Weights:
        """A tray's shelves by the part of floor positions and days it took up there. [d]"""
        if tray.tray not in self._shelves:
            recipe = self.state.recipes.get(tray.recipe)
            until = local_day(tray.ended_at or self.at, self.terms.settings)
            found: Weights = defaultdict(float)
            stays = self.stays.get(tray.tray)
            if stays is None:
                stays = stays_of(tray, recipe, until, self.terms.settings) if recipe is not None else ()
            for stay in stays:
                shelf = self.state.shelves.get(stay.shelf)
                found[stay.shelf] += stay.days / max(min(stay.stack, shelf.stack if shelf is not None else 1), 1)
            spots = [shelf_of(step.spot) for step in tray.steps if step.spot is not None]
            none = {spots[-1] if spots else UNKNOWN: 1.0}
            self._shelves[tray.tray] = dict(found) if sum(found.values()) > 0 else none
        return self._shelves[tray.tray]

    def _people(self, went: Weights) -> Weights:
        found: Weights = defaultdict(float)
        for where, weight in went.items():
            found[self._person(where)] += weight
        return found

    def _person(self, where: str) -> str:
        if where in NAMELESS:
            return where
        return order_of(where) if self.by == "order" else self.flow.customers.get(where, UNKNOWN)

    def _over(self, trays: Weights, day: date) -> Weights:
        """Rows of trays with how much of each counts."""
        found: Weights = defaultdict(float)
        for name, weight in trays.items():
            tray = self.state.tray(name)
            keys = self._grown(tray, day) if tray is not None else {UNKNOWN: 1.0}
            whole = sum(keys.values())
            for key, part in keys.items():
                found[key] += weight * part / whole
        return found


def order_of(line: str) -> str:
    """The order a line belongs to; a standing one with its day."""
    return line.rpartition("/")[0] or line


def week_of(day: date) -> str:
    """
    The ISO 8601 week of a day.

    Examples
    --------
    >>> week_of(date(2026, 11, 27)), week_of(date(2027, 1, 1))
    ('2026-W48', '2026-W53')
    """
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"
