"""What the sums of the water bench are told of a water, a tray and a target; left out, the farm's own counts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import msgspec

from trayward.bench.water_words import read_alkalinity, read_ec
from trayward.errors import InputError
from trayward.farm.settings import FarmWater, ShownUnits
from trayward.units import parse_length, parse_share, parse_temperature
from trayward.web.bench.sums.declared import NUMBER, Given, option, typed_together

if TYPE_CHECKING:
    from trayward.bench.water_depth import TrayInside

ALKALINITY_HELP = 'Of the water, as calcium carbonate unless said. Example: "180 mg/l".'
WATER_OPTIONS = (
    option("--ph", type=NUMBER, metavar="PH", help="pH of the water. Example: 7.8."),
    option("--alkalinity", metavar="AMOUNT", help=ALKALINITY_HELP),
    option("--ec", metavar="EC", help='EC of the water, if known. Example: "0.6 dS/m".'),
    option("--temperature", metavar="TEMPERATURE", help='Of the water as it is mixed. Example: "18 C".'),
    option("--calcium", type=NUMBER, metavar="MG/L", help="Calcium, if known. Example: 80."),
    option("--magnesium", type=NUMBER, metavar="MG/L", help="Magnesium, if known. Example: 12."),
)
TRAY_OPTIONS = (
    option("--length", metavar="LENGTH", help='Of the tray inside. Example: "52 cm".'),
    option("--width", metavar="LENGTH", help='Of the tray inside. Example: "26 cm".'),
    option("--brim", metavar="LENGTH", help='How high its sides are. Example: "30 mm".'),
    option("--mat", metavar="LENGTH", help='How thick the mat is. Example: "8 mm".'),
    option("--mat-off", metavar="LENGTH", help='How far the mat is off the bottom. Example: "6 mm".'),
    option("--mat-solid", metavar="SHARE", help='Of the wet mat that is no water. Example: "10 %".'),
    option("--ribs", metavar="SHARE", help='Of the bottom that ribs take up. Example: "15 %".'),
    option("--ribs-high", metavar="LENGTH", help='How high the ribs are. Example: "4 mm".'),
)


about_water = typed_together(WATER_OPTIONS)
"""Give a sum the figures of a water; it gets them together as `typed`."""
about_tray = typed_together(TRAY_OPTIONS, "inside")
"""Give a sum the figures of a tray inside; it gets them together as `inside`."""


def farm_water(given: Given) -> FarmWater | None:
    """The water the farm's setup states, where there is a farm and it does."""
    return given.settings.water if given.has_farm else None


def water_of(given: Given, typed: dict[str, Any], units: ShownUnits) -> FarmWater:
    """The water as typed, over the farm's own."""
    known = farm_water(given)
    told: dict[str, Any] = {
        "ph": typed["ph"],
        "alkalinity_meq": read_alkalinity(typed["alkalinity"]) if typed["alkalinity"] is not None else None,
        "ec_ds_m": read_ec(typed["ec"]) if typed["ec"] is not None else None,
        "temp_c": _warmth(typed["temperature"], units),
        "calcium_mg": typed["calcium"],
        "magnesium_mg": typed["magnesium"],
    }
    said = {name: value for name, value in told.items() if value is not None}
    if known is not None:
        return msgspec.structs.replace(known, **said)
    for name, flag, example in (("ph", "--ph", "7.8"), ("alkalinity_meq", "--alkalinity", '"180 mg/l"')):
        if name not in said:
            remedy = f"Say it, for instance {flag} {example}; or state [farm.water] in the farm's setup file."
            what = "water pH" if name == "ph" else "alkalinity"
            raise InputError(what, "not said", "it must be known: a test strip or the water company tells it", remedy)
    return FarmWater(**said)


def _warmth(text: str | None, units: ShownUnits) -> float | None:
    return parse_temperature(text, default=units.temperature, name="water temperature") if text is not None else None


def tray_of(given: Given, inside: dict[str, Any], units: ShownUnits) -> TrayInside:
    """The tray as typed; what is left out of length and width is as in the first recipe, or the usual tray."""
    from trayward.bench.water_depth import TrayInside
    from trayward.farm.recipes import TraySize

    first = next(iter(given.state.recipes.values()), None) if given.has_farm else None
    usual = first.tray if first is not None else TraySize()

    def length(name: str, default: float) -> float:
        text = inside[name]
        return parse_length(text, default=units.length, name=name.replace("_", " ")) if text is not None else default

    def share(name: str) -> float:
        return parse_share(inside[name], name=name.replace("_", " ")) if inside[name] is not None else 0.0

    return TrayInside(
        length_mm=length("length", usual.length_mm),
        width_mm=length("width", usual.width_mm),
        depth_mm=length("brim", usual.depth_mm),
        mat_mm=length("mat", 0.0),
        mat_from_mm=length("mat_off", 0.0),
        mat_solid=share("mat_solid"),
        ribs=share("ribs"),
        ribs_mm=length("ribs_high", 0.0),
    )
