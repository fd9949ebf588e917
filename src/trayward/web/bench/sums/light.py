"""The sums of the light bench: map, height, even, daily, hours, energy, lux, distance, photon."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trayward.bench import typed as people
from trayward.errors import InputError
from trayward.units import parse_length, show_length
from trayward.web.bench.sums.declared import (
    NUMBER,
    US_OPTION,
    Answer,
    Bench,
    Choice,
    Given,
    answered,
    argument,
    drawn,
    option,
    units_of,
)
from trayward.web.bench.sums.light_words import HOURS, LAMPS, SHELF, TRAYS, about_a_shelf, layout_of

if TYPE_CHECKING:
    from trayward.bench.light_layout import Layout
    from trayward.farm.settings import ShownUnits
    from trayward.pictures.page import Picture
    from trayward.pictures.types import LightFigures
    from trayward.science.light_map import LightMap

ANSWERS = (
    ("map", "How bright it is on each spot of a shelf under its lamps."),
    ("height", "How high and how far apart to hang lamps."),
    ("even", "How even light is, from readings of a meter."),
    ("daily", "The light of a day, from light and hours."),
    ("hours", "How many hours bring the light of a day you want."),
    ("energy", "What lamps use and cost: a day, a tray, 100 g."),
    ("lux", "What a lux meter shows, in photons, and back."),
    ("distance", "The light of one small lamp, nearer or farther."),
    ("photon", "Energy of light of one colour; the best a lamp can do."),
)
LIGHTS = "sun, blue sky, white LED, cool white fluorescent, high pressure sodium, metal halide, incandescent"
KINDS = ("white LED", "sun", "blue sky", "cool white fluorescent", "high pressure sodium", "metal halide",
         "incandescent")  # fmt: skip
SOURCE = option(
    "--source", type=Choice(KINDS, case_sensitive=False), default="white LED", metavar="LIGHT",
    help=f"What shines: {LIGHTS}. Example: sun.",
)  # fmt: skip
DIGITS = 1
"""Decimals of a map in JSON. [-]"""


light = Bench("light", "Lamps over a shelf: map, daily light, hours, energy, lux.", ANSWERS)


@light.add("map", example='trayward bench light map --lamps "3 x 20 W" --trays 4 --picture map.svg')
@about_a_shelf
@option("--height", metavar="LENGTH", help="Lamps above the leaves; 250 mm if left out. Example: 200 mm.")
@option("--measured", type=NUMBER, metavar="PPFD", help="What a quantum meter showed there. Example: 140.")
@drawn
@US_OPTION
def map_(
    given: Given,
    typed: dict[str, Any],
    height: str | None,
    measured: float | None,
    us: bool | None,
) -> Answer:
    """How bright it is on each spot of a shelf, how even, and how much of the light reaches the leaves."""
    from trayward.bench.light import map_sheet
    from trayward.science.light import require_ppfd

    units = units_of(given, us)
    more = {"height_mm": parse_length(height, default=units.length, name="lamp height")} if height is not None else {}
    layout = layout_of(given, units, typed, **more)
    if measured is not None:
        require_ppfd(measured)
    elif layout.shelf:
        measured = _last_reading(given, layout.shelf)
    sheet, found = map_sheet(layout, measured=measured)
    figures, title = _figures(layout, found)
    return answered(
        sheet,
        units,
        {"map": _map_json(found)},
        figures=figures,
        draw=lambda wide: _picture(figures, title, units, wide),
    )


def _last_reading(given: Given, shelf: str) -> float | None:
    from trayward.bench.light_farm import light_measured

    return light_measured(given.state, shelf)


def _map_json(found: LightMap) -> dict[str, Any]:
    return {
        "x_mm": [round(float(x), DIGITS) for x in found.x_mm],
        "y_mm": [round(float(y), DIGITS) for y in found.y_mm],
        "ppfd": [[round(float(value), DIGITS) for value in row] for row in found.ppfd],
        "lamps": found.lamps,
    }


def _figures(layout: Layout, found: LightMap) -> tuple[LightFigures, str]:
    """What a picture of the map shows, and what it says in a sentence."""
    from trayward.pictures.types import LightFigures

    even = found.evenness
    figures = LightFigures(
        length_mm=layout.length_mm,
        width_mm=layout.width_mm,
        ppfd=tuple(tuple(float(value) for value in row) for row in found.ppfd),
        lamps=tuple((*lamp.ends[0], *lamp.ends[1], lamp.width_mm) for lamp in found.lamps),
        trays=layout.places,
        walls=tuple(
            side for side in ("left", "right", "front", "back") if layout.walls and side not in layout.open_sides
        ),
        height_mm=layout.height_mm,
        share_on_shelf=found.share_on_shelf,
    )
    name = f"Light on shelf {layout.shelf}" if layout.shelf else "Light on the leaves"
    least = f"{100 * even.min_mean:.0f} % of that in the darkest spot"
    title = f"{name}: {even.mean:.0f} µmol/m²/s on the mean, {least}."
    return figures, title


def _picture(figures: LightFigures, title: str, units: ShownUnits, wide: Any) -> Picture:
    from trayward.pictures.light_map import light_map_picture

    return light_map_picture(figures, title, unit=units.length, wide=wide)


@light.add("height", example='trayward bench light height --lamps "3 x 20 W" --trays 4 --evenness 70%')
@about_a_shelf
@option("--evenness", metavar="SHARE", help="Darkest spot over mean asked for. Example: 70 %.")
@option("--ppfd", type=NUMBER, metavar="PPFD", help="Mean light asked for. Example: 150.")
@option("--lowest", metavar="LENGTH", help="Lamps above the leaves; 100 mm if left out. Example: 150 mm.")
@option("--highest", metavar="LENGTH", help="There is room for; 400 mm if left out. Example: 350 mm.")
@US_OPTION
def height(
    given: Given,
    typed: dict[str, Any],
    evenness: str | None,
    ppfd: float | None,
    lowest: str | None,
    highest: str | None,
    us: bool | None,
) -> Answer:
    """How high and how far apart to hang lamps: brightest that is as even as you ask, or evenest that is as bright."""
    from trayward.bench.light_height import height_sheet

    units = units_of(given, us)
    layout = layout_of(given, units, typed)
    if evenness is None and ppfd is None:
        rule = "higher lamps are evener, lower ones brighter: say what you need"
        raise InputError("evenness", "none", rule, "Give --evenness 70%, or --ppfd 150, or both.")
    ends = [
        parse_length(text, default=units.length, name=name) if text is not None else usual
        for name, text, usual in (("lowest height", lowest, 100.0), ("highest height", highest, 400.0))
    ]
    sheet, found = height_sheet(
        layout,
        (ends[0], ends[1]),
        evenness=people.share(evenness, "evenness"),
        ppfd=ppfd,
        show=lambda mm: show_length(mm, units.length),
    )
    heights = [tried._asdict() for tried in found.by_height]
    return answered(sheet, units, {"by_height": heights, "reached": found.reached, "short_of": found.short_of})


@light.add("even", example="trayward bench light even 180 200 210 190 150 220 205 195 170")
@argument("readings", nargs=-1, type=NUMBER, required=True)
@US_OPTION
def even(given: Given, readings: tuple[float, ...], us: bool | None) -> Answer:
    """How even light is, from READINGS of a quantum or lux meter on a grid of spots."""
    from trayward.bench.light import readings_sheet

    return answered(readings_sheet(readings), units_of(given, us))


@light.add("daily", example="trayward bench light daily 140 --hours 16")
@argument("ppfd", type=NUMBER, required=False)
@option("--lux", type=NUMBER, metavar="LUX", help="Reading of a lux meter instead. Example: 9400.")
@SOURCE
@HOURS
@US_OPTION
def daily(
    given: Given, ppfd: float | None, lux: float | None, source: str, hours: float | None, us: bool | None
) -> Answer:
    """The light of a day, from PPFD (umol/m2/s) on the leaves and hours."""
    from trayward.bench.light_layout import HOURS as USUAL
    from trayward.bench.light_sums import daily_sheet

    at = _light_meant(ppfd, lux, source)
    sheet = daily_sheet(at, USUAL if hours is None else hours, lux=lux, light=source if lux is not None else "")
    return answered(sheet, units_of(given, us))


def _light_meant(ppfd: float | None, lux: float | None, source: str) -> float:
    """The light as typed, or what a lux meter showed of it. [umol/m2/s]"""
    from trayward.science.light_readings import ppfd_of_lux

    if ppfd is not None and lux is None:
        return ppfd
    if lux is not None and ppfd is None:
        return float(ppfd_of_lux(lux, source))
    rule = "say either PPFD or lux"
    raise InputError("light", "both" if lux is not None else "none", rule, "For instance 140, or --lux 9400.")


@light.add("hours", example="trayward bench light hours 8 --ppfd 140")
@argument("dli", type=NUMBER)
@option("--ppfd", type=NUMBER, metavar="PPFD", help="Light on the leaves. Example: 140.")
@option("--lux", type=NUMBER, metavar="LUX", help="Reading of a lux meter instead. Example: 9400.")
@SOURCE
@US_OPTION
def hours(given: Given, dli: float, ppfd: float | None, lux: float | None, source: str, us: bool | None) -> Answer:
    """How many hours a day bring a DLI, the light of a day in mol/m2."""
    from trayward.bench.light_sums import hours_sheet

    return answered(hours_sheet(dli, _light_meant(ppfd, lux, source)), units_of(given, us))


@light.add("energy", example='trayward bench light energy --lamps "3 x 20 W" --crop broccoli --price 0.30')
@SHELF
@TRAYS
@LAMPS
@HOURS
@option("--crop", metavar="CROP", help="Its days in the light and its weight. Example: broccoli.")
@option("--days", type=NUMBER, metavar="DAYS", help="A tray stands in the light. Example: 5.")
@option("--weight", metavar="WEIGHT", help="What a tray weighs when cut. Example: 200 g.")
@option("--price", type=NUMBER, metavar="MONEY", help="A kilowatt hour. Example: 0.30.")
@option("--currency", metavar="CODE", help="Three letters. Example: EUR.")
@US_OPTION
def energy(given: Given, us: bool | None, **typed: Any) -> Answer:
    """What lamps use and cost: a day, a month, a tray, 100 g."""
    from trayward.bench.light_energy import energy_sheet
    from trayward.web.bench.sums.light_use import use_of

    units = units_of(given, us)
    return answered(energy_sheet(use_of(given, units, typed)), units)


@light.add("lux", example="trayward bench light lux 10800 --source sun")
@argument("reading", type=NUMBER, required=False)
@option("--ppfd", type=NUMBER, metavar="PPFD", help="The other way round. Example: 200.")
@SOURCE
@US_OPTION
def lux(given: Given, reading: float | None, ppfd: float | None, source: str, us: bool | None) -> Answer:
    """What the READING of a lux meter is in photons (PPFD), or back."""
    from trayward.bench.light_sums import lux_sheet

    return answered(lux_sheet(source, lux=reading, ppfd=ppfd), units_of(given, us))


@light.add("distance", example='trayward bench light distance 600 --from "300 mm" --to "600 mm"')
@argument("ppfd", type=NUMBER)
@option("--from", "start", required=True, metavar="LENGTH", help="Where it was measured. Example: 300 mm.")
@option("--to", "end", required=True, metavar="LENGTH", help="Where it is wanted. Example: 600 mm.")
@option("--size", metavar="LENGTH", help="Longest side of the lamp. Example: 100 mm.")
@US_OPTION
def distance(given: Given, ppfd: float, start: str, end: str, size: str | None, us: bool | None) -> Answer:
    """The light of one small lamp of so much PPFD at another distance."""
    from trayward.bench.light_sums import distance_sheet

    units = units_of(given, us)
    first, other = (parse_length(text, default=units.length, name="distance") for text in (start, end))
    long = parse_length(size, default=units.length, name="size") if size is not None else None
    return answered(distance_sheet(ppfd, first, other, long), units)


@light.add("photon", example="trayward bench light photon 660")
@argument("nm", type=NUMBER)
@option("--efficacy", type=NUMBER, metavar="UMOL/J", help="Of a lamp of that colour. Example: 3.2.")
@US_OPTION
def photon(given: Given, nm: float, efficacy: float | None, us: bool | None) -> Answer:
    """Energy of light of so many NM (nanometres), and the best a lamp of that colour can do."""
    from trayward.bench.light_sums import photon_sheet

    return answered(photon_sheet(nm, efficacy), units_of(given, us))
