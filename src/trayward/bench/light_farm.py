"""The lit shelves of a farm: their lamps as a layout, and the light that was read there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Any

from trayward.bench.light_layout import Layout, make_layout
from trayward.errors import InputError
from trayward.farm.places import Lamp, Shelf
from trayward.farm.recipes import Recipe, TraySize
from trayward.farm.state import FarmState


def usual_tray(recipes: Iterable[Recipe]) -> TraySize:
    """The tray most recipes use; 1020 where there are none."""
    counted = Counter(recipe.tray for recipe in recipes)
    return counted.most_common(1)[0][0] if counted else TraySize()


def lamp_of(shelf: Shelf) -> Lamp:
    """
    The lamp of a lit shelf.

    Raises
    ------
    InputError
        If the shelf is dark, or nothing is known of its lamp.
    """
    if shelf.kind != "lit":
        raise InputError("shelf", shelf.name, "it is a dark one", "Name a lit shelf: trayward place list.")
    if shelf.lamp is None or not (shelf.lamp.watts or shelf.lamp.umol_s):
        remedy = f"Say it: trayward place set {shelf.name} --watts 40, or give --lamps here."
        raise InputError("lamp", shelf.name, "nothing is known of this shelf's lamp", remedy)
    if shelf.spots < 1:
        raise InputError("shelf", shelf.name, "it is closed: it has no spots", "Name a shelf that is in use.")
    return shelf.lamp


def shelf_layout(shelf: Shelf, tray: TraySize, **said: Any) -> Layout:
    """
    A farm's shelf as a layout: its spots side by side, its own lamps, hung as usual.

    Parameters
    ----------
    shelf : Shelf
        A lit one.
    tray : TraySize
        The trays that stand on it.
    **said
        What is said otherwise, as for `make_layout`.

    Returns
    -------
    Layout

    Raises
    ------
    InputError
        If the shelf is dark or closed, or nothing is known of its lamp.
    """
    if "count" in said:
        own: dict[str, Any] = {}
        if shelf.kind != "lit":
            lamp_of(shelf)
    else:
        lamp = lamp_of(shelf)
        photons = None if "efficacy" in said else lamp.umol_s
        own = {"count": lamp.count, "watts": lamp.watts or None, "umol_s": photons, "hours": lamp.hours}
    return make_layout(**{"trays": shelf.spots, "tray": tray, "shelf": shelf.name, **own, **said})


def light_measured(state: FarmState, shelf: str) -> float | None:
    """The last reading of light on a shelf or one of its spots; None where nobody took one. [umol/m2/s]"""
    read = [
        reading for reading in state.readings
        if reading.what == "ppfd" and reading.where.partition(".")[0] == shelf and reading.value > 0
    ]  # fmt: skip
    return max(read, key=lambda reading: reading.at).value if read else None
