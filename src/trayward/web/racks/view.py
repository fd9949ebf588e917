"""What the racks page shows: racks, shelves, spots and what stands there, from a `Place`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime, timedelta

import msgspec

from trayward.farm.places import Lamp, Shelf, spot_name
from trayward.farm.spots import walking_shelves
from trayward.farm.state import FarmState
from trayward.plan.types import Plan
from trayward.rounds.place import Occupant, Place
from trayward.rounds.scene import spot_order
from trayward.web.paging import pages_for

ALL_AT_ONCE = 120
"""A place of so few spots is shown whole. [spots]"""
ON_A_PAGE = 160
"""Of a larger one, so many spots of a rack on a page. [spots]"""
ROWS_ON_A_PAGE = 120
"""Rows on a page of the list."""


class Ready(msgspec.Struct, frozen=True, kw_only=True):
    """The day a tray is likely ready, and the days between which 8 of 10 are."""

    low: date
    likely: date
    high: date
    since: bool = False
    """Whether it is ready already, since `likely`."""


class Cell(msgspec.Struct, frozen=True, kw_only=True):
    """One spot."""

    spot: str
    level: str = ""
    """Its letter in a pile; empty where trays stand on the shelf itself."""
    kind: str
    tray: str = ""
    crop: str = ""
    stage: str = ""
    days: int = 0
    """Whole days in the stage, the day it began being 0. [d]"""
    ready: Ready | None = None
    trouble: str = ""
    ground: str = ""
    stack: int = 1
    planned: bool = False
    elsewhere: bool = False
    shown: bool = True
    """Whether it is among those asked for."""

    @property
    def free(self) -> bool:
        """Whether nothing stands there."""
        return not self.crop


class Floor(msgspec.Struct, frozen=True, kw_only=True):
    """One floor position: a spot, or a pile of them, the highest first as eyes see it."""

    name: str
    cells: tuple[Cell, ...]
    high: int
    """Trays that stand there. [-]"""


class ShelfShown(msgspec.Struct, frozen=True, kw_only=True):
    """One shelf with its spots."""

    name: str
    kind: str
    stack: int
    lamp: Lamp | None
    floors: tuple[Floor, ...]
    taken: int
    spots: int


class RackShown(msgspec.Struct, frozen=True, kw_only=True):
    """One rack: how full it is, and of its stages how many trays."""

    rack: str
    id: str
    """For addresses within the page."""
    room: str
    taken: int
    spots: int
    found: int
    """Trays of those asked for."""
    suiting: int
    """Free spots that suit the tray that is being moved. [spots]"""
    dark: tuple[int, int]
    lit: tuple[int, int]
    """Spots taken and spots there are, of each kind. [spots]"""
    stages: tuple[tuple[str, int], ...]
    ready: int
    trouble: int
    shelves: tuple[ShelfShown, ...] = ()
    page: int = 1
    pages: int = 1


class Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """Which trays are asked for; empty: all."""

    crop: str = ""
    stage: str = ""

    def takes(self, one: Occupant) -> bool:
        """Whether a tray is among them."""
        return (not self.crop or one.crop == self.crop) and (not self.stage or one.stage == self.stage)

    @property
    def any(self) -> bool:
        """Whether some are left out."""
        return bool(self.crop or self.stage)


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """A tray in the list."""

    tray: str
    spot: str
    crop: str
    stage: str
    days: int
    ready: Ready | None
    trouble: str
    planned: bool
    elsewhere: bool


LocalDay = Callable[[datetime], date]


def racks_of(
    state: FarmState,
    place: Place,
    day_of: LocalDay,
    *,
    wanted: Wanted | None = None,
    open_rack: str | None = "",
    page: int = 1,
    suits: frozenset[str] = frozenset(),
) -> tuple[RackShown, ...]:
    """
    Every rack in walking order.

    Parameters
    ----------
    day_of : callable
        The farm's own day of a moment.
    wanted : Wanted, optional
        Which trays are asked for.
    open_rack : str or None
        The rack whose shelves are shown too; empty: all of them, None: none.
    page : int
        Which part of a long rack's shelves.
    suits : set of str
        Free spots that suit the tray that is being moved.
    """
    wanted = wanted or Wanted()
    racks: dict[tuple[str, str], list[Shelf]] = {}
    for shelf in walking_shelves(state):
        racks.setdefault((shelf.room, shelf.rack), []).append(shelf)
    opened = {key for key in racks if open_rack == "" or key[1] == open_rack}
    return tuple(
        _rack(key, shelves, place, day_of, wanted, page if open_rack else 1, suits, show=key in opened)
        for key, shelves in racks.items()
    )


def _rack(
    key: tuple[str, str],
    shelves: Sequence[Shelf],
    place: Place,
    day_of: LocalDay,
    wanted: Wanted,
    page: int,
    suits: frozenset[str],
    *,
    show: bool,
) -> RackShown:
    there = {shelf.name: [place.taken[spot] for spot in shelf.spot_names() if spot in place.taken] for shelf in shelves}
    trays = [one for some in there.values() for one in some]
    parts = _parts(shelves) if show else [[]]
    number = min(max(1, page), len(parts))

    def share(kind: str) -> tuple[int, int]:
        mine = [shelf for shelf in shelves if shelf.kind == kind]
        return sum(len(there[shelf.name]) for shelf in mine), sum(shelf.spots * shelf.stack for shelf in mine)

    return RackShown(
        rack=key[1],
        id="-".join("".join(letter if letter.isalnum() else "-" for letter in word) for word in key if word),
        room=key[0],
        taken=len(trays),
        spots=sum(shelf.spots * shelf.stack for shelf in shelves),
        found=sum(1 for one in trays if wanted.takes(one)),
        suiting=sum(1 for shelf in shelves for spot in shelf.spot_names() if spot in suits) if suits else 0,
        dark=share("dark"),
        lit=share("lit"),
        stages=tuple(sorted(Counter(one.stage for one in trays).items())),
        ready=sum(1 for one in trays if one.is_ready),
        trouble=sum(1 for one in trays if one.trouble),
        shelves=tuple(_shelf(shelf, place, day_of, wanted) for shelf in parts[number - 1]),
        page=number,
        pages=len(parts),
    )


def _parts(shelves: Sequence[Shelf]) -> list[list[Shelf]]:
    """Shelves in pages of about as many spots as one can look over."""
    parts: list[list[Shelf]] = [[]]
    for shelf in shelves:
        held = sum(each.spots * each.stack for each in parts[-1])
        if parts[-1] and held + shelf.spots * shelf.stack > ON_A_PAGE:
            parts.append([])
        parts[-1].append(shelf)
    return parts


def _shelf(shelf: Shelf, place: Place, day_of: LocalDay, wanted: Wanted) -> ShelfShown:
    floors = [_floor(shelf, position, place, day_of, wanted) for position in range(1, shelf.spots + 1)]
    return ShelfShown(
        name=shelf.name,
        kind=shelf.kind,
        stack=shelf.stack,
        lamp=shelf.lamp,
        floors=tuple(floors),
        taken=sum(floor.high for floor in floors),
        spots=shelf.spots * shelf.stack,
    )


def _floor(shelf: Shelf, position: int, place: Place, day_of: LocalDay, wanted: Wanted) -> Floor:
    spots = [spot_name(shelf.name, position, level, shelf.stack) for level in range(shelf.stack)]
    cells = [_cell(spot, shelf, place, day_of, wanted) for spot in spots]
    return Floor(
        name=f"{shelf.name}.{position}",
        cells=tuple(reversed(cells)),
        high=sum(1 for cell in cells if not cell.free),
    )


def _cell(spot: str, shelf: Shelf, place: Place, day_of: LocalDay, wanted: Wanted) -> Cell:
    level = spot[-1] if shelf.stack > 1 else ""
    one = place.taken.get(spot)
    if one is None:
        return Cell(spot=spot, level=level, kind=shelf.kind, shown=not wanted.any)
    return Cell(
        spot=spot,
        level=level,
        kind=shelf.kind,
        tray=one.tray,
        crop=one.crop,
        stage=one.stage,
        days=(place.day - one.since).days,
        ready=ready_of(one, day_of),
        trouble=one.trouble,
        ground=one.ground,
        stack=one.stack,
        planned=one.planned,
        elsewhere=one.elsewhere,
        shown=wanted.takes(one),
    )


def ready_of(one: Occupant, day_of: LocalDay) -> Ready | None:
    """The days a tray is likely ready, whole ones."""
    if one.is_ready:
        return Ready(low=one.since, likely=one.since, high=one.since, since=True)
    if one.ready is None:
        return None
    return Ready(low=day_of(one.ready.low), likely=day_of(one.ready.likely), high=day_of(one.ready.high))


def rows_of(
    place: Place, day_of: LocalDay, wanted: Wanted, rack_spots: frozenset[str] | None = None
) -> tuple[Row, ...]:
    """Trays as a list, in the order they stand, those without a spot last."""
    standing = sorted(place.taken.values(), key=lambda one: spot_order(one.spot))
    chosen = [one for one in standing if rack_spots is None or one.spot in rack_spots]
    others = (*place.bench, *place.crowded_out) if rack_spots is None else ()
    return tuple(
        Row(
            tray=one.tray,
            spot=one.spot,
            crop=one.crop,
            stage=one.stage,
            days=(place.day - one.since).days,
            ready=ready_of(one, day_of),
            trouble=one.trouble,
            planned=one.planned,
            elsewhere=one.elsewhere,
        )
        for one in (*chosen, *others)
        if wanted.takes(one)
    )


def part_of(rows: Sequence[Row], number: int) -> tuple[Sequence[Row], int, int]:
    """The rows of a page of the list, which page that is, and how many pages there are."""
    pages = pages_for(len(rows), ROWS_ON_A_PAGE)
    page = min(max(1, number), pages)
    return rows[(page - 1) * ROWS_ON_A_PAGE : page * ROWS_ON_A_PAGE], page, pages


def spots_of(state: FarmState, rack: str) -> frozenset[str]:
    """Every spot of a rack."""
    return frozenset(spot for shelf in state.shelves.values() if shelf.rack == rack for spot in shelf.spot_names())


def crops_in(place: Place) -> tuple[str, ...]:
    """Every crop that stands, by name."""
    return tuple(sorted({one.crop for one in _everyone(place)}))


def stages_in(place: Place) -> tuple[str, ...]:
    """Every stage a tray is in, by name."""
    return tuple(sorted({one.stage for one in _everyone(place)}))


def _everyone(place: Place) -> Iterable[Occupant]:
    return (*place.taken.values(), *place.bench, *place.crowded_out)


class RackNight(msgspec.Struct, frozen=True, kw_only=True):
    """What the kept plan says of a kind of spots in one night. [spots]"""

    limit: str
    has: float
    low: float
    likely: float
    high: float


def night_of(plan: Plan | None, day: date) -> tuple[RackNight, ...]:
    """How full the racks are in a night by the kept plan; empty where it says nothing of that night."""
    if plan is None:
        return ()
    at = (day - plan.first).days
    return tuple(
        RackNight(limit=use.limit, has=use.has[at], low=use.low[at], likely=use.likely[at], high=use.high[at])
        for use in plan.racks
        if 0 <= at < min(len(use.has), len(use.low), len(use.likely), len(use.high))
    )


def days_ahead(today: date) -> tuple[date, ...]:
    """Days to look at with one tap."""
    return tuple(today + timedelta(days=ahead) for ahead in (1, 3, 7, 14))
