"""Worlds of the season study, in TOML: a farm, its orders, and what is hidden from whoever runs it.

A world begins with a setup (a ready one, or a setup file beside the world's own), scales its shelves, kit and orders,
and adds customers that order on the spot, grow, begin and end. `[truth]` holds how far its trays lie from what is
printed; `[[power_cut]]`, `[[bad_lot]]` and `[slips]` what befalls it. Every problem in a file is named with its line.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from datetime import date, timedelta
from functools import cached_property
from importlib.resources import files
from pathlib import Path

import msgspec

from trayward.bootstrap import setup_bodies, text_of
from trayward.desk.setup.table import Document
from trayward.errors import NotFoundError, SetupError
from trayward.farm.entries import (
    Body,
    FarmSet,
    KitSet,
    OrderPlaced,
    PlaceSet,
    SeedReceived,
    StandingOrderSet,
)
from trayward.farm.places import Shelf
from trayward.farm.settings import FarmSettings
from trayward.study.chance import Chance
from trayward.study.customers import PlacedOrder, begun_on, changes, scaled, spot_orders
from trayward.study.events import BadLot, Events
from trayward.study.truth import LogNormalTruth, Scene, Truth
from trayward.study.world_reading import read_world
from trayward.study.world_spec import WorldSpec

DAY = timedelta(days=1)
AFTER_WEEKS = 5
"""Orders go on so long after the last day that counts. [weeks]"""
PLENTY = 4.0
"""Bags of seed are so many times as large as the setup's, so that seed is never what is short. [-]"""


class SeedArrival(msgspec.Struct, frozen=True, kw_only=True):
    """A bag of seed: it comes on a day, and the one before it is given away."""

    on: date
    seed: SeedReceived
    before: str = ""
    """The lot it takes the place of; empty: the first."""


class SeasonWorld:
    """
    A world of the study: the same for every policy, and by its seed number for every run.

    Parameters
    ----------
    spec : WorldSpec
        What its file says.
    """

    def __init__(self, spec: WorldSpec) -> None:
        self.spec = spec
        self.name, self.first = spec.name, spec.first
        self.days = 7 * (spec.warm_up_weeks + spec.weeks)
        """Days until counting stops. [d]"""
        self.first_due = spec.first + 7 * spec.warm_up_weeks * DAY
        self.last = spec.first + (self.days - 1) * DAY
        """The last day that counts."""

    def counts(self, day: date) -> bool:
        """Whether what is due that day counts."""
        return self.first_due <= day <= self.last

    @cached_property
    def settings(self) -> FarmSettings:
        """The farm's settings."""
        return next(body.settings for body in self._bodies if isinstance(body, FarmSet))

    def setup_bodies(self) -> tuple[Body, ...]:
        """What the farm's book begins with."""
        return self._bodies

    @cached_property
    def _bodies(self) -> tuple[Body, ...]:
        first = {arrivals[0].seed.lot for arrivals in self.seed.values()}
        found: list[Body] = []
        bodies = setup_bodies(self.spec.setup)
        shelves = scaled_shelves([body.shelf for body in bodies if isinstance(body, PlaceSet)], self.spec.scales.racks)
        for body in bodies:
            if isinstance(body, SeedReceived):
                if body.lot in first:
                    found.append(self.seed[body.crop][0].seed)
            elif isinstance(body, PlaceSet):
                found.append(PlaceSet(shelf=shelves[body.shelf.name]))
            elif not isinstance(body, OrderPlaced):
                found.append(self._scaled(body))
        return tuple(found)

    def _scaled(self, body: Body) -> Body:
        scales = self.spec.scales
        change = msgspec.structs.replace
        if isinstance(body, FarmSet):
            minutes = tuple(minutes * scales.hands for minutes in body.settings.work_minutes)
            spot = bool(self.spec.spot)
            return FarmSet(settings=change(body.settings, work_minutes=minutes, plan_spot_orders=spot))
        if isinstance(body, KitSet):
            return KitSet(pool=change(body.pool, count=_at_least_one(body.pool.count, scales.kit)))
        if isinstance(body, StandingOrderSet):
            return StandingOrderSet(standing=begun_on(scaled(body.standing, scales.orders), self.first_due))
        return body

    # Seed ------------------------------------------------------------------------------------------------------------

    @cached_property
    def seed(self) -> dict[str, tuple[SeedArrival, ...]]:
        """The bags of each crop's seed in the order they come; there is one at a time, whatever is sown."""
        found: dict[str, tuple[SeedArrival, ...]] = {}
        for body in setup_bodies(self.spec.setup):
            if isinstance(body, SeedReceived) and body.crop not in found:
                found[body.crop] = tuple(self._arrivals(body, len(found)))
        return found

    def _arrivals(self, label: SeedReceived, number: int) -> Sequence[SeedArrival]:
        """Bags come every so many weeks, on another day for each crop; a bad one comes on its own day."""
        every = 7 * self.spec.seed_weeks
        days = {self.first + DAY * day for day in range(every - 5 * number % every, self.days + every, every)}
        bad = [lot for lot in self.spec.bad_lots if lot.crop == label.crop]
        days = {day for day in days if not any(lot.first <= day <= lot.last for lot in bad)}
        days |= {lot.first for lot in bad} | {lot.last + DAY for lot in bad}
        made = [SeedArrival(on=self.first, seed=_plenty(label, label.lot))]
        for count, day in enumerate(sorted(day for day in days if day > self.first), start=2):
            made.append(SeedArrival(on=day, seed=_plenty(label, f"{label.lot}-{count}"), before=made[-1].seed.lot))
        return made

    def lot_on(self, crop: str, day: date) -> str:
        """The seed lot that is in use on a day."""
        arrivals = self.seed[crop]
        return arrivals[max(bisect_right([each.on for each in arrivals], day) - 1, 0)].seed.lot

    def _bad_by_lot(self) -> dict[str, BadLot]:
        return {self.lot_on(bad.crop, bad.first): bad for bad in self.spec.bad_lots if bad.crop in self.seed}

    # By the season's number ------------------------------------------------------------------------------------------

    def truth(self, seed: int) -> Truth:
        """What the trays of a season will really do."""
        scene = Scene(
            settings=self.settings,
            first=self.first,
            days=self.days,
            cuts=self.spec.power_cuts,
            bad_lots=self._bad_by_lot(),
        )
        if self.spec.law == "degree-days":
            from trayward.study.truth_other import DegreeDayTruth

            return DegreeDayTruth(self.spec.levels, scene, seed)
        return LogNormalTruth(self.spec.levels, scene, seed)

    def orders(self, seed: int) -> tuple[PlacedOrder, ...]:
        """Everything customers say in a season, by the day they say it; on what the setup says, they keep silent."""
        weeks = self.days // 7 + AFTER_WEEKS
        spot = spot_orders(self.spec.spot, self.first, self.first_due, weeks, Chance(seed))
        standing = [body.standing for body in self._bodies if isinstance(body, StandingOrderSet)]
        said = changes(standing, self.spec.grows, self.spec.ends, self.spec.begins)
        return tuple(sorted([*said, *spot], key=lambda placed: placed.known_on))

    def events(self, seed: int) -> Events:
        """The grower's slips of a season."""
        return Events(self.spec.slips, seed)


def scaled_shelves(shelves: Sequence[Shelf], scale: float) -> dict[str, Shelf]:
    """Shelves with so many times the spots in all, and lamps to match; what a shelf's spots lose in rounding, the next
    one gets."""
    found: dict[str, Shelf] = {}
    owed = {"dark": 0.0, "lit": 0.0}
    for shelf in shelves:
        wanted = shelf.spots * scale + owed[shelf.kind]
        spots = max(0, math.floor(wanted + 0.5))
        owed[shelf.kind] = wanted - spots
        lamp = shelf.lamp
        if lamp is not None and shelf.spots:
            lamp = msgspec.structs.replace(lamp, watts=lamp.watts * spots / shelf.spots)
        found[shelf.name] = msgspec.structs.replace(shelf, spots=spots, lamp=lamp)
    return found


def _at_least_one(count: int, scale: float) -> int:
    return max(1, round(count * scale)) if count else 0


def _plenty(label: SeedReceived, lot: str) -> SeedReceived:
    return msgspec.structs.replace(
        label, lot=lot, grams=label.grams * PLENTY, cost=label.cost * PLENTY, expected_on=None
    )


# Files ----------------------------------------------------------------------------------------------------------------


def world_names() -> tuple[str, ...]:
    """The worlds that come with the package."""
    shipped = files("trayward.study") / "worlds_shipped"
    return tuple(
        sorted(
            each.name.removesuffix(".toml").replace("-", " ")
            for each in shipped.iterdir()
            if each.name.endswith(".toml")
        )
    )


def world_named(name: str) -> SeasonWorld:
    """
    A world by the name of a shipped one (`loft tight`) or the path of a file.

    Raises
    ------
    NotFoundError
        If there is none of that name.
    SetupError
        If a file cannot be used; every problem is listed with its line.
    """
    path = Path(name)
    if path.suffix == ".toml":
        return read_world_text(text_of(path, "world file"), name=path.name, beside=path.parent)
    if name not in world_names():
        raise NotFoundError("world", name, world_names(), "Or give the path of a world file.", whose="study")
    file = f"{name.replace(' ', '-')}.toml"
    text = (files("trayward.study") / "worlds_shipped" / file).read_text(encoding="utf-8")
    return read_world_text(text, name=file)


def read_world_text(text: str, *, name: str, beside: Path | None = None) -> SeasonWorld:
    """A world from the text of its file; `beside`: the folder that paths in it begin from."""
    document = Document(text, name)
    if not document.problems:
        spec = read_world(document.root(), beside)
        if not document.problems:
            return SeasonWorld(spec)
    raise SetupError(document.sentences())
