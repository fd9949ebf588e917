"""Sums of lamps over a shelf: the map of its light, and where to hang them. Loads numpy: import it late."""

from __future__ import annotations

from trayward.bench.light_layout import EYES, MAINS, Layout, better_than_built
from trayward.bench.types import Amount, Grid, Kind, Sheet
from trayward.errors import Finding
from trayward.science.light import dli
from trayward.science.light_map import LightMap, light_map
from trayward.science.light_power import kwh_a_day, kwh_per_mol
from trayward.science.light_readings import uniformity

PPFD, DAY = "umol/m2/s", "mol/m2/d"
ACROSS, ALONG = 3, 7
"""Spots of the small table, from back to front and from left to right. [-]"""
UNEVEN = 0.6
"""Where the darkest spot has less than this share of the mean, trays grow unlike: our choice. [-]"""
FIGURES = 3
"""[-]"""
NEAR = 0.25
"""A reading farther than this from the map's mean deserves a look: lamps age, meters differ, our choice. [-]"""
HOLDS = (
    "Straight light is exact for bars and points; panels are eight bars side by side.",
    "Left out: lamps that shade one another, leaves above or below the measured height, light of the room.",
    "A lamp loses light with age and dust, and its sheet may flatter: a quantum meter on the leaves has the last word.",
)
HOLDS_WALLS = "Walls are taken as matt, and clean; the shelf above as black. Film that mirrors sends light elsewhere."
SOURCES = ("howell_catalog", "daylight_algorithms", "practice")


def length(name: str, mm: float, note: str = "") -> Amount:
    """A length of a sheet. [mm]"""
    return Amount(name=name, value=mm, unit="mm", kind="length", note=note)


def share(name: str, value: float, note: str = "") -> Amount:
    """A share of a sheet. [-]"""
    return Amount(name=name, value=value, unit="-", kind="share", note=note)


def percent(value: float) -> str:
    """
    A share in words.

    Examples
    --------
    >>> percent(0.441)
    '44 %'
    """
    return f"{100 * value:.0f} %"


def about(name: str, value: float, unit: str = "", *, kind: Kind = "plain", note: str = "") -> Amount:
    """A value with as many figures as a map of lamps is worth."""
    return Amount(name=name, value=float(f"{value:.{FIGURES}g}"), unit=unit, kind=kind, note=note)


def about_share(name: str, value: float) -> Amount:
    """A share, in whole per cent: nobody knows a lamp nearer. [-]"""
    return share(name, round(value, 2))


def map_sheet(layout: Layout, *, measured: float | None = None) -> tuple[Sheet, LightMap]:
    """
    Light over a shelf, spot by spot.

    Parameters
    ----------
    layout : Layout
        The shelf and its lamps.
    measured : float or None
        What a quantum meter showed there. [umol/m2/s]

    Returns
    -------
    Sheet, LightMap

    Raises
    ------
    InputError
        If the lamps cannot hang so.
    """
    found = light_map(layout.hung(), layout.ground, layout.box())
    even = found.evenness
    sheet = Sheet(
        bench="light",
        task="map",
        title=f"Light on the leaves: {even.mean:.0f} {PPFD} on the mean, {even.least:.0f} in the darkest spot.",
        given=(*given_of(layout), length("lamps above the leaves", layout.height_mm), *_spacing(layout)),
        found=(*_light(found, layout), *_energy(found, layout), *_measured(even.mean, measured)),
        grids=(spots(found),),
        steps=_steps(found),
        holds=HOLDS + ((HOLDS_WALLS,) if layout.walls else ()),
        findings=(*better_than_built(layout.efficacy), *_far_off(even.mean, measured)),
        cautions=(MAINS, EYES),
        sources=SOURCES + (("kusuma2020",) if better_than_built(layout.efficacy) else ()),
    )
    return sheet, found


def given_of(layout: Layout) -> tuple[Amount, ...]:
    """The shelf and the lamps, but for where they hang."""
    name = f"shelf {layout.shelf}" if layout.shelf else "shelf"
    lie = "across the shelf" if layout.across else "along the shelf"
    kind = "point" if not layout.lamp_length_mm else f"bars {lie}" if not layout.lamp_width_mm else f"panels {lie}"
    found = [
        length(f"{name}, length", layout.length_mm),
        length(f"{name}, width", layout.width_mm),
        Amount(name="trays on it", value=layout.trays),
        Amount(name="lamps", value=layout.count, note=kind),
        Amount(name="photons of a lamp", value=layout.umol_s, unit="umol/s", note=layout.photons_from),
        length("shining length", layout.lamp_length_mm),
        *([length("shining width", layout.lamp_width_mm)] if layout.lamp_width_mm else []),
        Amount(name="beam", value=layout.beam),
    ]
    if layout.walls:
        open_ = f"open: {', '.join(layout.open_sides)}" if layout.open_sides else "all four sides"
        found.append(share("walls throw back", layout.walls, open_))
        box = layout.box()
        assert box is not None
        found.append(length("leaves to the shelf above", box.height_mm))
    return (*found, Amount(name="light a day", value=60 * layout.hours, unit="min", kind="minutes"))


def _spacing(layout: Layout) -> tuple[Amount, ...]:
    return (length("middle to middle of lamps", layout.spacing_mm),) if layout.count > 1 else ()


def _light(found: LightMap, layout: Layout) -> tuple[Amount, ...]:
    even = found.evenness
    return (
        about("light on the leaves, mean", even.mean, PPFD),
        about("darkest spot", even.least, PPFD),
        about("brightest spot", even.most, PPFD),
        about("daily light, mean", dli(even.mean, layout.hours), DAY),
        about("daily light, darkest spot", dli(even.least, layout.hours), DAY),
        about_share("evenness: least of mean", even.min_mean),
        about_share("evenness: least of most", even.min_max),
        about_share("evenness after Christiansen", even.christiansen),
        about_share("photons that reach the leaves", found.share_on_shelf),
        about("photons given", found.emitted, "umol/s"),
        about("photons on the shelf", found.on_shelf, "umol/s"),
        about("photons lost", found.lost, "umol/s", note=_lost_to(layout)),
    )


def _lost_to(layout: Layout) -> str:
    if layout.walls:
        return "kept by walls and the shelf above" + (", out of open sides" if layout.open_sides else "")
    return "past the edges" + (", up" if layout.all_round else "")


def _energy(found: LightMap, layout: Layout) -> tuple[Amount, ...]:
    if not layout.watts:
        return ()
    watts = layout.count * layout.watts
    efficacy = found.emitted / watts
    return (
        Amount(name="power", value=watts, unit="W"),
        Amount(name="energy a day", value=kwh_a_day(watts, layout.hours), unit="kWh"),
        about("energy for a mol on the leaves", kwh_per_mol(efficacy, found.share_on_shelf), "kWh"),
    )


def _measured(mean: float, measured: float | None) -> tuple[Amount, ...]:
    if measured is None:
        return ()
    return (Amount(name="measured", value=measured, unit=PPFD, note=f"{percent(measured / mean)} of the map's mean"),)


def _far_off(mean: float, measured: float | None) -> tuple[Finding, ...]:
    if measured is None or abs(measured / mean - 1) <= NEAR:
        return ()
    message = f"light measured = {measured:.0f} {PPFD}: {percent(measured / mean)} of what the lamps should give there."
    remedy = "Check height, efficacy and dust, and that the meter lay flat at the leaves; measure at nine spots."
    return (Finding(code="light-far-off", severity="odd", message=message, remedy=remedy),)


def spots(found: LightMap) -> Grid:
    """Light at 3 by 7 spots, as one stands before the shelf and looks down: the middles of equal parts."""
    import numpy as np

    ground = found.shelf
    x, y = (
        (np.arange(parts) + 0.5) * side / parts
        for parts, side in ((ALONG, ground.length_mm), (ACROSS, ground.width_mm))
    )
    along = np.array([np.interp(x, found.x_mm, row) for row in found.ppfd])
    light = np.array([np.interp(y, found.y_mm, column) for column in along.T]).T
    lines = [
        (name, *(f"{value:.0f}" for value in row)) for name, row in zip(("Front", "Middle", "Back"), light, strict=True)
    ]
    heads = ("", "Left", *[""] * (ALONG // 2 - 1), "Middle", *[""] * (ALONG // 2 - 1), "Right")
    return Grid(title=f"The shelf from above [{PPFD}]", columns=heads, rows=tuple(reversed(lines)))


def _steps(found: LightMap) -> tuple[str, ...]:
    even = found.evenness
    steps = ["Measure the light at nine spots at the height of the leaves, and compare."]
    if even.min_mean < UNEVEN:
        steps += [
            "Swap trays of the middle and the ends at each look: the brightest spot has "
            f"{even.most / even.least:.1f} times the light of the darkest.",
            "Line open sides with matt white (try --walls 85%), or look for a better height (bench light height).",
        ]
    return tuple(steps)


def readings_sheet(values: tuple[float, ...]) -> Sheet:
    """
    How even light is, from readings of a meter.

    Parameters
    ----------
    values : tuple of float
        Readings at spots that stand for equal areas. [umol/m2/s, or lux]

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If there are fewer than two, or one is no light.
    """
    even = uniformity(values)
    return Sheet(
        bench="light",
        task="even",
        title=f"The darkest spot has {percent(even.min_mean)} of the mean light.",
        given=(Amount(name="readings", value=len(values)),),
        found=(
            share("evenness: least of mean", even.min_mean),
            share("evenness: least of most", even.min_max),
            share("evenness after Christiansen", even.christiansen),
            share("spread: standard deviation of mean", even.cv),
            Amount(name="mean", value=even.mean, note="in the unit of the readings"),
            Amount(name="least", value=even.least),
            Amount(name="most", value=even.most),
        ),
        holds=("Readings stand for equal areas: measure on a grid, 3 by 3 or finer, at the height of the leaves.",),
        sources=("christiansen1942",),
    )
