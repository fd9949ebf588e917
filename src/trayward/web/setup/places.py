"""Shelves and kit, changed one at a time; each change is one entry."""

from __future__ import annotations

import re
from datetime import datetime

import msgspec
from starlette.responses import Response

from trayward.errors import InputError, NotFoundError
from trayward.farm.entries import PlaceSet
from trayward.farm.kit import Pool
from trayward.farm.places import Lamp, Shelf, shelf_of
from trayward.farm.state import FarmState
from trayward.web.ask import Ask
from trayward.web.setup import steps
from trayward.web.typed import Typed

MOST_AT_ONCE = 50
"""Shelves added by one form."""


BLANK = Shelf(name="", rack="", room="", kind="lit", spots=4)
"""What a new shelf's form begins with."""


class ShelfLine(msgspec.Struct, frozen=True, kw_only=True):
    """A shelf and how many trays stand on it."""

    shelf: Shelf
    standing: int


class RackLine(msgspec.Struct, frozen=True, kw_only=True):
    """A rack with its shelves in walking order."""

    rack: str
    room: str
    shelves: tuple[ShelfLine, ...]


class PoolLine(msgspec.Struct, frozen=True, kw_only=True):
    """A pool and where its things are."""

    pool: Pool
    ready: int
    in_use: int
    dirty: int


def places(ask: Ask) -> Response:
    """Every rack with its shelves."""
    return ask.show("setup/places.html", racks=racks_of(ask.farm.state(ask.at)), blank=BLANK)


def racks_of(state: FarmState) -> tuple[RackLine, ...]:
    """Racks in walking order; shelves that are taken down are left out."""
    standing: dict[str, int] = {}
    for spot in state.spots:
        standing[shelf_of(spot)] = standing.get(shelf_of(spot), 0) + 1
    racks: dict[tuple[str, str], list[ShelfLine]] = {}
    for shelf in sorted(state.shelves.values(), key=lambda shelf: shelf.order):
        if shelf.spots:
            line = ShelfLine(shelf=shelf, standing=standing.get(shelf.name, 0))
            racks.setdefault((shelf.room, shelf.rack), []).append(line)
    return tuple(RackLine(rack=rack, room=room, shelves=tuple(held)) for (room, rack), held in racks.items())


def shelf(ask: Ask) -> Response:
    """One shelf, to be changed."""
    return ask.show("setup/shelf.html", shelf=_known(ask.farm.state(ask.at), ask.path["name"]))


def _known(state: FarmState, name: str) -> Shelf:
    if name not in state.shelves:
        raise NotFoundError("shelf", name, tuple(state.shelves))
    return state.shelves[name]


def set_shelf(ask: Ask) -> Response:
    """One shelf as it is from now on; no spots: it is taken down."""
    shelf = _known(ask.farm.state(ask.at), ask.form.need("shelf"))
    changed = _shelf_typed(ask.form, shelf, lowest=0)
    receipt = ask.farm.set_shelf(changed, **ask.said)
    say = ask._("Shelf %(name)s is kept.", name=shelf.name)
    if not changed.spots:
        say = ask._("Shelf %(name)s is taken down.", name=shelf.name)
    return ask.recorded("/setup/places", say, receipt)


def add_shelves(ask: Ask) -> Response:
    """Shelves of a kind, on a rack there is or a new one, numbered on."""
    form, state = ask.form, ask.farm.state(ask.at)
    shelves = new_shelves(form, state)
    receipt = ask.farm.record(*(PlaceSet(shelf=shelf) for shelf in shelves), **ask.said)
    say = ask.ngettext("%(num)s shelf added.", "%(num)s shelves added.", len(shelves))
    return ask.recorded("/setup/places", say, receipt)


def new_shelves(form: Typed, state: FarmState) -> tuple[Shelf, ...]:
    """The shelves that a form asks for, with names that are free and behind all others in the walk."""
    rack = form.need("rack", "For instance B.")
    if not re.fullmatch(r"[\w -]{1,20}", rack):
        raise InputError("rack", rack, "may hold letters, digits, blanks and dashes", "For instance B.")
    count = form.whole("count", 1, MOST_AT_ONCE) if form.has("count") else 1
    rooms = [shelf.room for shelf in state.shelves.values() if shelf.rack == rack]
    blank = Shelf(name="", rack=rack, room=form.text("room") or (rooms[0] if rooms else ""), kind="lit", spots=1)
    pattern = _shelf_typed(form, blank, lowest=1)
    names = (name for number in range(1, 10_000) if (name := f"{rack}{number}") not in state.shelves)
    last = max((shelf.order for shelf in state.shelves.values()), default=0)
    return tuple(
        msgspec.structs.replace(pattern, name=name, order=last + number)
        for number, name in zip(range(1, count + 1), names, strict=False)
    )


def _shelf_typed(form: Typed, shelf: Shelf, *, lowest: int) -> Shelf:
    dark = form.choice("kind", ("dark", "lit")) == "dark"
    stack = form.whole("stack", 1, 26) if form.has("stack") and dark else 1
    return msgspec.structs.replace(
        shelf,
        kind="dark" if dark else "lit",
        spots=form.whole("spots", lowest, 200),
        stack=stack,
        lamp=None if dark else _lamp_typed(form),
    )


def _lamp_typed(form: Typed) -> Lamp | None:
    if not any(form.has(name) for name in ("lamps", "watts", "umol_s")):
        return None
    return steps.read_lamp(Typed([*form.words, ("lamp", "yes")]))


# Kit ------------------------------------------------------------------------------------------------------------------


def kit(ask: Ask) -> Response:
    """Every pool: how many, where they are."""
    return ask.show("setup/kit.html", pools=pools_of(ask.farm.state(ask.at), ask.at))


def pools_of(state: FarmState, at: datetime) -> tuple[PoolLine, ...]:
    """The pools as they are at a moment."""
    return tuple(
        PoolLine(pool=held.pool, ready=held.ready(at), in_use=held.in_use, dirty=held.dirty)
        for held in state.kit.values()
    )


def set_kit(ask: Ask) -> Response:
    """A pool as it is from now on, or a new one."""
    form = ask.form
    name = form.need("pool", "For instance mesh tray.")
    known = ask.farm.state(ask.at).kit.get(name)
    base = known.pool if known is not None else Pool(name=name, count=0)
    pool = msgspec.structs.replace(
        base,
        count=form.whole("count", 0, 100_000),
        dry_hours=form.number("dry", 0.0, 336.0) if form.has("dry") else base.dry_hours,
        minutes_wash=form.number("wash", 0.0, 60.0) if form.has("wash") else base.minutes_wash,
        sanitise=form.ticked("sanitise"),
        wear=form.number("wear", 0.0, 1e4) if form.has("wear") else base.wear,
    )
    receipt = ask.farm.set_kit(pool, **ask.said)
    return ask.recorded("/setup/kit", ask._("Kept."), receipt)


def count_kit(ask: Ask) -> Response:
    """So many were counted; the rest is lost, or some are found again."""
    form = ask.form
    receipt = ask.farm.count_kit(form.need("pool"), form.whole("counted", 0, 100_000), form.text("reason"), **ask.said)
    return ask.recorded("/setup/kit", ask._("Counted."), receipt)
