"""Commands for racks and shelves: the map, the list, and setting one."""

from __future__ import annotations

import string
from collections.abc import Mapping
from typing import Any

import click
import msgspec

from trayward.cli.given import Given, group
from trayward.cli.numbers import NUMBER, WHOLE, whole
from trayward.cli.show import Column, Columns, answer, stage_letter, table, wrapped, written
from trayward.errors import InputError
from trayward.farm.places import Lamp, Shelf, spot_name
from trayward.farm.spots import walking_shelves

LEGEND = (
    "S soak, G germinate, B blackout, L light, R ready, ! trouble, - free. Letters together: one stack, floor first."
)


@group("place", example="trayward place")
def place(given: Given) -> None:
    """A map of the racks: what stands on each spot, in walking order."""
    shelves = walking_shelves(given.state)
    rows = [
        (shelf.name, shelf.kind, f"{_taken(given, shelf)} of {_room_for(shelf)}", _map(given, shelf))
        for shelf in shelves
    ]
    told = {"places": [_place_json(given, shelf) for shelf in shelves]}

    def human() -> None:
        table([Column("Shelf", whole=True), "Kind", Column("Taken", right=True), "Spots from 1"], rows)
        wrapped(LEGEND)

    answer(given, told, human)


def _taken(given: Given, shelf: Shelf) -> int:
    return sum(spot in given.state.spots for spot in shelf.spot_names())


def _room_for(shelf: Shelf) -> int:
    return shelf.spots * shelf.stack


def _map(given: Given, shelf: Shelf) -> str:
    return " ".join(
        "".join(_mark(given, spot_name(shelf.name, position, level, shelf.stack)) for level in range(shelf.stack))
        for position in range(1, shelf.spots + 1)
    )


def _mark(given: Given, spot: str) -> str:
    name = given.state.spots.get(spot)
    if name is None:
        return "-"
    tray = given.state.trays[name]
    return "!" if tray.problem else stage_letter(tray.stage)


def _place_json(given: Given, shelf: Shelf) -> dict[str, object]:
    spots = {spot: given.state.spots.get(spot) for spot in shelf.spot_names()}
    return {"shelf": msgspec.to_builtins(shelf), "spots": spots}


@place.add("list", example="trayward place list")
def list_(given: Given) -> None:
    """Every shelf: room, rack, kind, spots, how high it stacks, and its lamp."""
    shelves = walking_shelves(given.state)
    columns: Columns = [
        "Shelf",
        "Rack",
        "Room",
        "Kind",
        Column("Spots", right=True),
        Column("High", right=True),
        "Lamp",
    ]
    rows = [
        (shelf.name, shelf.rack, shelf.room, shelf.kind, str(shelf.spots), str(shelf.stack), _lamp(shelf.lamp))
        for shelf in shelves
    ]
    answer(given, {"shelves": shelves}, lambda: table(columns, rows))


def _lamp(lamp: Lamp | None) -> str:
    return f"{lamp.count} x {lamp.watts:g} W, {lamp.hours:g} h a day" if lamp is not None else ""


@place.add("set", example="trayward place set B3 --kind lit --spots 4 --rack B --room loft", records=True)
@click.argument("name", metavar="SHELF")
@click.option("--kind", type=click.Choice(["dark", "lit"]), help="Dark or lit. Example: lit.")
@click.option("--spots", type=whole(0), metavar="COUNT", help="Floor positions; 0 closes it. Example: 4.")
@click.option("--stack", type=whole(1, 26), metavar="HIGH", help="Trays on each other. Example: 3.")
@click.option("--rack", metavar="NAME", help="Its rack. Example: B.")
@click.option("--room", metavar="NAME", help="Its room. Example: loft.")
@click.option("--order", type=WHOLE, metavar="PLACE", help="Place in the walk, low first. Example: 6.")
@click.option("--lamps", type=whole(1, 100), metavar="COUNT", help="Lamps over it. Example: 3.")
@click.option("--watts", type=NUMBER, metavar="WATTS", help="Power of one lamp. Example: 40.")
@click.option("--photons", type=NUMBER, metavar="UMOL/S", help="Light of one lamp, by its sheet. Example: 88.")
@click.option("--hours", type=NUMBER, metavar="HOURS", help="Hours of light a day. Example: 16.")
def set_(
    given: Given,
    name: str,
    kind: str | None,
    spots: int | None,
    stack: int | None,
    rack: str | None,
    room: str | None,
    order: int | None,
    lamps: int | None,
    watts: float | None,
    photons: float | None,
    hours: float | None,
) -> None:
    """A SHELF is as you say from now on; what you leave out stays as it was."""
    before = given.state.shelves.get(name) or _new_shelf(given, name, kind, spots)
    lamp = _lamp_said(before.lamp, {"count": lamps, "watts": watts, "umol_s": photons, "hours": hours})
    said = {"kind": kind, "spots": spots, "stack": stack, "rack": rack, "room": room, "order": order, "lamp": lamp}
    after = msgspec.structs.replace(before, **{key: value for key, value in said.items() if value is not None})
    receipt = given.farm.set_shelf(after, **given.said)
    high = f", {after.stack} high" if after.stack > 1 else ""
    line = f"Shelf {name}: {after.kind}, {after.spots} spots{high}." if after.spots else f"Shelf {name} is closed."
    written(given, receipt, line)


def _lamp_said(known: Lamp | None, said: Mapping[str, float | None]) -> Lamp | None:
    """The lamp with what was said of it; another lamp's light is not taken over with other watts."""
    told: dict[str, Any] = {key: value for key, value in said.items() if value is not None}
    if not told:
        return None
    for key, most, unit in (("watts", 5000.0, "W"), ("umol_s", 20000.0, "umol/s"), ("hours", 24.0, "h")):
        value = told.get(key, 0.0)
        if not 0 <= value <= most:
            name = {"umol_s": "photons"}.get(key, key)
            raise InputError(name, f"{value:g}", f"must lie in [0, {most:g}] {unit}", "Read the lamp's sheet.", unit)
    if "watts" in told and "umol_s" not in told:
        told["umol_s"] = None
    return msgspec.structs.replace(known or Lamp(), **told)


def _new_shelf(given: Given, name: str, kind: str | None, spots: int | None) -> Shelf:
    if kind is None or spots is None:
        raise InputError("shelf", name, "a new one needs its kind and spots", "Say --kind lit --spots 4.")
    if "." in name:
        raise InputError("shelf", name, "its name may hold no dot, which marks a spot", "For instance B3.")
    orders = [shelf.order for shelf in given.state.shelves.values()]
    return Shelf(
        name=name,
        rack=name.rstrip(string.digits) or name,
        room="",
        kind="dark" if kind == "dark" else "lit",
        spots=spots,
        order=max(orders, default=0) + 1,
    )
