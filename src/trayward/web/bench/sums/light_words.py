"""Shelves and lamps as people say them: `A1`, `1220 x 460 mm`, `3 x 20 W`, `120`, `back,front`."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from trayward.bench import typed as people
from trayward.errors import InputError, NotFoundError
from trayward.units import parse_length
from trayward.web.bench.sums.declared import NUMBER, Given, option, typed_together, whole

if TYPE_CHECKING:
    from trayward.bench.light_layout import Layout, Side
    from trayward.farm.places import Shelf
    from trayward.farm.recipes import TraySize
    from trayward.farm.settings import ShownUnits


SHELF = option("--shelf", metavar="SHELF", help='A lit shelf of the farm, or a size. Example: A1, or "1220 x 460 mm".')
TRAYS = option("--trays", type=whole(1, 200), metavar="COUNT", help="Trays on the shelf. Example: 4.")
LAMPS = option("--lamps", metavar="WORDS", help='Over the shelf. Example: "3 x 20 W", or "2 x 92 umol/s".')
HOURS = option("--hours", type=NUMBER, metavar="HOURS", help="Of light a day; 16 if left out. Example: 14.")
OPTIONS = (
    SHELF,
    TRAYS,
    LAMPS,
    option("--efficacy", type=NUMBER, metavar="UMOL/J", help="Photons a joule; 2.2 if left out. Example: 2.5."),
    option("--length", metavar="LENGTH", help="Shining length of a lamp; 0: a point. Example: 900 mm."),
    option("--width", metavar="LENGTH", help="Shining width, of panels. Example: 300 mm."),
    option("--spacing", metavar="LENGTH", help="Middle to middle of the lamps. Example: 170 mm."),
    option("--across", is_flag=True, help="Lamps lie along the shelf's short side. Example: --across."),
    option(
        "--beam", metavar="DEGREES", help='Beam angle; 120 if left out. Example: 90, or "all round" for a bare bulb.'
    ),
    option("--walls", metavar="SHARE", help="Light that matt sides throw back. Example: 85 %."),
    option("--open", "open_", metavar="SIDES", help="Sides without a wall, with --walls. Example: front,right."),
    option("--gap", metavar="LENGTH", help="Leaves to the shelf above, with --walls. Example: 400 mm."),
    HOURS,
)
about_a_shelf = typed_together(OPTIONS)
"""Give a sum the figures of a shelf and its lamps; it gets them together as `typed`."""

_SIZE = re.compile(r"\s*(.*?\d[^x×*]*?)\s*[x×*]\s*(\d.*?)\s*", re.IGNORECASE)
_LAMPS = re.compile(r"\s*(?:(\d+)\s*[x×*]\s*)?([\d.,]+)\s*(w|watts?|(?:u|µ|μ)mol(?:/s)?)?\s*", re.IGNORECASE)
_UNIT = re.compile(r"[^\d.,\s/]+\.?$")


def layout_of(given: Given, units: ShownUnits, typed: dict[str, Any], **more: Any) -> Layout:
    """What is typed, before what the farm knows of the shelf, before what is usual."""
    from trayward.bench.light_farm import shelf_layout
    from trayward.bench.light_layout import make_layout

    said = {**_said(typed, units), **more}
    _require_walls(typed)
    if typed["shelf"] is None or size_of(typed["shelf"], units) is not None:
        return make_layout(tray=tray_of(given), **said)
    shelf, tray = shelf_named(given, typed["shelf"])
    return shelf_layout(shelf, tray, **said)


def _require_walls(typed: dict[str, Any]) -> None:
    for name, said in (("open_", "open"), ("gap", "gap")):
        if typed[name] is not None and typed["walls"] is None:
            raise InputError(said, typed[name], "there are no walls", "Say what they throw back: --walls 85%.")


def tray_of(given: Given) -> TraySize | None:
    """The tray that is usual on the farm, where there is one."""
    if not given.has_farm:
        return None
    from trayward.bench.light_farm import usual_tray

    return usual_tray(given.state.recipes.values())


def shelf_named(given: Given, name: str) -> tuple[Shelf, TraySize]:
    """A shelf of the farm and the tray that is usual there."""
    from trayward.farm.recipes import TraySize

    if not given.has_farm:
        rule = "there is no farm here to look it up in"
        raise InputError("shelf", name, rule, 'Give its size, for instance --shelf "1220 x 460 mm", or --trays 4.')
    shelves = given.state.shelves
    if name not in shelves:
        raise NotFoundError("shelf", name, tuple(each.name for each in shelves.values() if each.kind == "lit"))
    return shelves[name], tray_of(given) or TraySize()


def _said(typed: dict[str, Any], units: ShownUnits) -> dict[str, Any]:
    """What was typed, by its name in a layout."""
    found: dict[str, Any] = {
        "trays": typed["trays"],
        "size_mm": size_of(typed["shelf"] or "", units),
        "efficacy": typed["efficacy"],
        "lamp_length_mm": _length(typed["length"], units, "lamp length"),
        "lamp_width_mm": _length(typed["width"], units, "lamp width"),
        "spacing_mm": _length(typed["spacing"], units, "spacing"),
        "across": typed["across"] or None,
        "walls": people.share(typed["walls"], "walls"),
        "open_sides": sides(typed["open_"]),
        "gap_mm": _length(typed["gap"], units, "gap"),
        "hours": typed["hours"],
        **lamps(typed["lamps"]),
        **beam(typed["beam"]),
    }
    return {name: value for name, value in found.items() if value is not None}


def _length(text: str | None, units: ShownUnits, name: str) -> float | None:
    return parse_length(text, default=units.length, name=name) if text is not None else None


def size_of(text: str, units: ShownUnits) -> tuple[float, float] | None:
    """Length and width of a shelf: `1220 x 460 mm`, `4 ft x 18 in`; None for what is a name. [mm]"""
    found = _SIZE.fullmatch(text)
    if found is None:
        return None
    unit = _UNIT.search(found[2])
    default = unit[0].rstrip(".").lower() if unit and not _UNIT.search(found[1]) else units.length
    first = parse_length(found[1], default=default, name="shelf length")
    return first, parse_length(found[2], default=units.length, name="shelf width")


def lamps(text: str | None) -> dict[str, Any]:
    """Lamps by their number and what one takes or gives: `3 x 20 W`, `2 x 92 umol/s`; a bare number is watts."""
    if text is None:
        return {}
    found = _LAMPS.fullmatch(text)
    if found is None:
        raise InputError("lamps", text, "must say how many of what", 'For instance "3 x 20 W" or "2 x 92 umol/s".')
    amount = people.number(found[2], "lamps", "W")
    photons = "mol" in (found[3] or "").lower()
    return {"count": int(found[1] or 1), **({"umol_s": amount} if photons else {"watts": amount})}


def beam(text: str | None) -> dict[str, Any]:
    """A beam by its angle, or `all round`."""
    if text is None:
        return {}
    if text.strip().lower().replace("-", " ") == "all round":
        return {"beam_power": 0.0, "all_round": True, "beam": "all round"}
    from trayward.science.lamps import beam_of_angle

    degrees = people.number(re.sub(r"\s*(°|deg(rees?)?)\s*$", "", text), "beam", "degrees")
    return {"beam_power": beam_of_angle(degrees).power, "beam": f"{degrees:g} degrees"}


def sides(text: str | None) -> tuple[Side, ...] | None:
    """Sides of a shelf, with commas between them."""
    from trayward.bench.light_layout import SIDES

    named = people.names(text)
    if named is None:
        return None
    unknown = [name for name in named if name not in SIDES]
    if unknown:
        raise InputError("open", unknown[0], "it is no side of a shelf", f"Sides: {', '.join(SIDES)}.")
    return tuple(side for side in SIDES if side in named)
