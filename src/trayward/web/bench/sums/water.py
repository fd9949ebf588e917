"""The sums of the water bench: acid and base, two waters, feed, EC, depth, refill and tanks."""

from __future__ import annotations

from typing import Any

from trayward.bench import typed as people
from trayward.bench.water_words import read_alkalinity, read_ec
from trayward.errors import InputError
from trayward.farm.settings import FarmWater, ShownUnits
from trayward.units import ML_PER_GALLON, parse_length, parse_share, parse_volume
from trayward.web.bench.sums.declared import (
    NUMBER,
    US_OPTION,
    Answer,
    Bench,
    Given,
    answered,
    argument,
    option,
    units_of,
)
from trayward.web.bench.sums.water_given import about_tray, about_water, farm_water, tray_of, water_of

ANSWERS = (
    ("acid", "How much acid brings your water to a pH, what is left, what it adds."),
    ("base", "The same with potassium hydroxide or bicarbonate."),
    ("blend", "Two waters in one tank: alkalinity, pH, EC."),
    ("feed", "Feed concentrate to an EC or a meter's ppm."),
    ("salt", "Fertiliser for a nutrient's ppm, and what comes with it."),
    ("dilute", "Water for a tank that is too strong."),
    ("ec", "A reading at 25 C, and on the scales of meters."),
    ("depth", "How much water reaches, and does not pass, the top of the mat."),
    ("refill", "How much goes back in, by the scale."),
    ("tank", "Depth and litres of a box or a lying barrel."),
)
ACID_EXAMPLE = 'trayward bench water acid "citric 50 %" --ph 7.8 --alkalinity 180 --to 5.8'


water = Bench("water", "pH and acid, two waters, feed, depth and refill.", ANSWERS)


TO_PH = option(
    "--to", "to", type=NUMBER, metavar="PH", help="pH wanted; 5.8, or the recipes', if left out. Example: 5.8."
)
MAKE = option("--make", "make", metavar="VOLUME", help='How much in all; 10 l if left out. Example: "10 l".')
STANDING = option(
    "--standing", is_flag=True, help="The pH is to hold once the water has stood open. Example: --standing."
)
AIR = option("--air", type=NUMBER, metavar="PPM", help="Carbon dioxide of that air. Example: 600.")
USUAL_PH, USUAL_AIR = 5.8, 420.0


def _make_ml(make: str | None, units: ShownUnits) -> float:
    usual = 3 * ML_PER_GALLON if units.volume == "cup" else 10_000.0
    return parse_volume(make, default=units.volume, name="volume") if make is not None else usual


@water.add("acid", example=ACID_EXAMPLE)
@argument("acid", required=False)
@TO_PH
@MAKE
@STANDING
@AIR
@about_water
@US_OPTION
def acid(given: Given, **told: Any) -> Answer:
    """
    How much ACID brings your water to a pH: citric, phosphoric, nitric or sulphuric, with its strength by weight.

    Alkalinity, not pH, decides: test it once a season.
    """
    return _dose(given, told.pop("acid"), "acid", **told)


@water.add("base", example='trayward bench water base "koh 10 %" --ph 4.9 --alkalinity 2 --to 5.8')
@argument("base", required=False)
@TO_PH
@MAKE
@STANDING
@AIR
@about_water
@US_OPTION
def base(given: Given, **told: Any) -> Answer:
    """How much BASE raises your water to a pH: potassium hydroxide or potassium bicarbonate."""
    return _dose(given, told.pop("base"), "base", **told)


def _dose(
    given: Given,
    label: str | None,
    word: str,
    *,
    to: float | None,
    make: str | None,
    standing: bool,
    air: float | None,
    typed: dict[str, Any],
    us: bool | None,
) -> Answer:
    from trayward.bench.water import dose_sheet
    from trayward.science.solution_reagents import EXAMPLE, read_product

    units, known = units_of(given, us), farm_water(given)
    label = label or (known.acid if known is not None else "")
    if not label:
        raise InputError(word, "not said", "it must be named with its strength", EXAMPLE)
    product = read_product(label)
    if product.reagent.acid != (word == "acid"):
        other = "base" if word == "acid" else "acid"
        raise InputError(word, product.label, f"is no {word}", f"Ask: trayward bench water {other}")
    standing_air = air if air is not None else USUAL_AIR
    sheet = dose_sheet(
        water_of(given, typed, units),
        product,
        _usual_ph(given) if to is None else to,
        _make_ml(make, units),
        co2_ppm=standing_air if standing or air is not None else None,
    )
    return answered(sheet, units)


def _usual_ph(given: Given) -> float:
    """The middle of what the farm's recipes want; else what feeds usually have."""
    from trayward.farm.transitions.feed import feed_ph_wanted

    wanted = feed_ph_wanted(given.state) if given.has_farm else None
    return sum(wanted) / 2 if wanted is not None else USUAL_PH


@water.add(
    "blend",
    example="trayward bench water blend --ph 7.8 --alkalinity 180 --to-alkalinity 60",
)
@option("--tap", metavar="SHARE", help='How much of it is tap water. Example: "40 %".')
@option("--to-alkalinity", metavar="AMOUNT", help='Or the alkalinity wanted. Example: "60 mg/l".')
@option("--other-ph", type=NUMBER, default=5.8, help="pH of the other water; 5.8 if left out. Example: 6.")
@option("--other-alkalinity", default="2 mg/l", metavar="AMOUNT", help='Of the other water. Example: "2 mg/l".')
@option("--other-ec", default="0.02", metavar="EC", help='Of the other water. Example: "0.02 dS/m".')
@MAKE
@about_water
@US_OPTION
def blend(
    given: Given,
    tap: str | None,
    to_alkalinity: str | None,
    other_ph: float,
    other_alkalinity: str,
    other_ec: str,
    make: str | None,
    typed: dict[str, Any],
    us: bool | None,
) -> Answer:
    """Two waters in one tank, say tap and reverse osmosis: how much of each, and what comes of it."""
    from trayward.bench.water import blend_sheet

    units = units_of(given, us)
    own = water_of(given, typed, units)
    other = FarmWater(
        ph=other_ph, alkalinity_meq=read_alkalinity(other_alkalinity), ec_ds_m=read_ec(other_ec), temp_c=own.temp_c
    )
    sheet = blend_sheet(
        own,
        other,
        _make_ml(make, units),
        tap_share=parse_share(tap, name="share of tap water") if tap is not None else None,
        target_meq=read_alkalinity(to_alkalinity) if to_alkalinity is not None else None,
    )
    return answered(sheet, units)


WATER_EC = option("--water-ec", metavar="EC", help='EC of the plain water. Example: "0.4 dS/m".')


@water.add("feed", example='trayward bench water feed --to 1.2 --adds 0.35 --water-ec 0.4 --make "10 l"')
@option("--to", metavar="EC", help='EC wanted, or a meter\'s ppm with its scale. Example: "600 ppm 500".')
@option("--adds", metavar="EC", help="What 1 ml (dry: 1 g) in a litre adds. Example: 0.35.")
@option("--dry", is_flag=True, help="It is a powder, weighed in grams. Example: --dry.")
@option("--density", type=NUMBER, metavar="G/ML", help="Of the liquid, to weigh it out. Example: 1.15.")
@WATER_EC
@MAKE
@US_OPTION
def feed(
    given: Given,
    to: str | None,
    adds: str | None,
    dry: bool,
    density: float | None,
    water_ec: str | None,
    make: str | None,
    us: bool | None,
) -> Answer:
    """How much feed concentrate brings your water to an EC."""
    from trayward.bench.water_feed import feed_sheet

    units, known = units_of(given, us), farm_water(given)
    wanted = read_ec(to) if to is not None else _middle(known)
    gain = read_ec(adds) if adds is not None else (known.feed_gain_ds_m if known is not None else 0.0)
    if not wanted:
        raise InputError("EC wanted", "not said", "it must be known", 'For instance --to "1.2 dS/m".')
    if not gain:
        remedy = "Mix 1 ml in 1 l, read the meter, take off what the water reads: for instance --adds 0.35."
        raise InputError("what 1 ml adds", "not said", "it must be known", remedy)
    plain = _plain_ec(water_ec, known)
    named = (known.feed if known is not None and adds is None else "") or "feed"
    sheet = feed_sheet(
        wanted, gain, _make_ml(make, units), water_ds_m=plain, dry=dry, density=density, name=named
    )  # fmt: skip
    return answered(sheet, units)


def _plain_ec(typed: str | None, known: FarmWater | None) -> float:
    """EC of the plain water: as typed, else the farm's, else none. [dS/m]"""
    if typed is not None:
        return read_ec(typed)
    return known.ec_ds_m if known is not None else 0.0


def _middle(known: FarmWater | None) -> float:
    if known is None or known.feed_ec_ds_m is None:
        return 0.0
    return sum(known.feed_ec_ds_m) / 2


@water.add("salt", example='trayward bench water salt --holds "N=15.5 %, Ca=19 %" --to "N=100"')
@option("--holds", required=True, metavar="SHARES", help='What the label says. Example: "N=15.5 %, Ca=19 %".')
@option("--to", required=True, metavar="PPM", help='Which nutrient, and how strong. Example: "N=100".')
@option("--injector", type=NUMBER, metavar="PARTS", help="Stock for an injector of 1 to so many. Example: 100.")
@MAKE
@US_OPTION
def salt(given: Given, holds: str, to: str, injector: float | None, make: str | None, us: bool | None) -> Answer:
    """How much of a fertiliser gives a nutrient at a strength, and what else it brings."""
    from trayward.bench.water_feed import salt_sheet

    units = units_of(given, us)
    parts = people.pairs([part for part in holds.split(",") if part.strip()], '"N=15.5 %, Ca=19 %"')
    shares = {name: parse_share(text, name=f"share of {name}") for name, text in parts.items()}
    ((element, text),) = people.pairs([to], "N=100").items()
    ppm = people.number(text.lower().removesuffix("ppm"), f"{element} wanted", "ppm")
    return answered(salt_sheet(ppm, element, shares, _make_ml(make, units), injector=injector), units)


@water.add("dilute", example='trayward bench water dilute "20 l" --ec 2.4 --to 1.6 --water-ec 0.3')
@argument("volume")
@option("--ec", "at_ec", required=True, metavar="EC", help="EC of the tank now. Example: 2.4.")
@option("--to", required=True, metavar="EC", help="EC wanted. Example: 1.6.")
@WATER_EC
@US_OPTION
def dilute(given: Given, volume: str, at_ec: str, to: str, water_ec: str | None, us: bool | None) -> Answer:
    """How much water brings a tank of VOLUME that is too strong down to an EC."""
    from trayward.bench.water_feed import dilute_sheet

    units, known = units_of(given, us), farm_water(given)
    plain = _plain_ec(water_ec, known)
    sheet = dilute_sheet(
        parse_volume(volume, default=units.volume, name="volume"), read_ec(at_ec), read_ec(to), plain
    )  # fmt: skip
    return answered(sheet, units)


@water.add("ec", example='trayward bench water ec "1.6 dS/m" --temperature "18 C"')
@argument("reading")
@option("--temperature", metavar="TEMPERATURE", help='Of the water; 25 C if left out. Example: "18 C".')
@option("--gain", type=NUMBER, metavar="PERCENT", help="Gain for each degree; 1.91 if left out. Example: 2.")
@US_OPTION
def ec(given: Given, reading: str, temperature: str | None, gain: float | None, us: bool | None) -> Answer:
    """What READING is at 25 C, and on the scales of meters."""
    from trayward.bench.water_feed import ec_sheet

    units = units_of(given, us)
    warmth = people.temperature(temperature, units) if temperature is not None else 25.0
    sheet = ec_sheet(read_ec(reading), temp_c=warmth, per_degree=gain / 100 if gain is not None else None)
    return answered(sheet, units)


@water.add("depth", example='trayward bench water depth --mat "8 mm" --mat-off "4 mm"')
@option("--poured", metavar="VOLUME", help='Water in it: how deep is it? Example: "600 ml".')
@option("--to", metavar="LENGTH", help='A depth; the top of the mat if left out. Example: "10 mm".')
@about_tray
@US_OPTION
def depth(given: Given, poured: str | None, to: str | None, inside: dict[str, Any], us: bool | None) -> Answer:
    """How much water reaches, and does not pass, the top of the mat; or how deep some water stands."""
    from trayward.bench.water_depth import depth_sheet

    units = units_of(given, us)
    sheet = depth_sheet(
        tray_of(given, inside, units),
        ml=parse_volume(poured, default=units.volume, name="water") if poured is not None else None,
        depth_mm=parse_length(to, default=units.length, name="depth") if to is not None else None,
        shown=units,
    )
    return answered(sheet, units)


@water.add("refill", example='trayward bench water refill --now "2310 g" --full "2690 g"')
@option("--now", metavar="WEIGHT", help='Of the tray as it stands. Example: "2310 g".')
@option("--full", metavar="WEIGHT", help='Right after its last watering. Example: "2690 g".')
@option("--empty", metavar="WEIGHT", help='Of the dry tray, mat and seed. Example: "1500 g".')
@option("--tray", metavar="TRAY", help="A tray of the farm: weights as measured of it. Example: 261125A.1.")
@US_OPTION
def refill(
    given: Given, now: str | None, full: str | None, empty: str | None, tray: str | None, us: bool | None
) -> Answer:
    """How much water goes back into a tray, by the scale; in a farm with the weights that were measured of it."""
    from trayward.bench.water_depth import refill_sheet

    units = units_of(given, us)
    weighed = given.farm.tray_weights(tray, given.at) if tray is not None else None
    sheet = refill_sheet(
        _weight(now, weighed.now_g if weighed else None, "weight now", units),
        _weight(full, weighed.full_g if weighed else None, "weight when full", units),
        weight_empty_g=people.mass(empty, units, name="weight of the dry tray") if empty is not None else 0.0,
    )
    return answered(sheet, units)


def _weight(text: str | None, measured: float | None, name: str, units: ShownUnits) -> float:
    """As typed, else as measured. [g]"""
    if text is not None:
        return people.mass(text, units, name=name)
    if measured is None:
        option = "--now" if name == "weight now" else "--full"
        remedy = f'Weigh it: for instance {option} "2690 g", or trayward measure TRAY weight "2690 g" after watering.'
        raise InputError(name, "not said", "it must be known, and none was measured since the last watering", remedy)
    return measured


@water.add("tank", example='trayward bench water tank --length "120 cm" --width "60 cm" --depth "25 mm"')
@option("--length", "long", required=True, metavar="LENGTH", help='Inside. Example: "120 cm".')
@option("--width", metavar="LENGTH", help='Of a box. Example: "60 cm".')
@option("--radius", metavar="LENGTH", help='Of a barrel on its side. Example: "30 cm".')
@option("--depth", "deep", metavar="LENGTH", help='Of the water: how much is it? Example: "25 mm".')
@option("--litres", metavar="VOLUME", help='Water in it: how deep is it? Example: "18 l".')
@option("--stands-in-it", metavar="VOLUME", help='What takes up room in a box. Example: "7.2 l".')
@US_OPTION
def tank(
    given: Given,
    long: str,
    width: str | None,
    radius: str | None,
    deep: str | None,
    litres: str | None,
    stands_in_it: str | None,
    us: bool | None,
) -> Answer:
    """Depth and litres of a box, a flood table or a barrel that lies on its side."""
    from trayward.bench.water_depth import tank_sheet

    units = units_of(given, us)

    def length(text: str | None, name: str) -> float | None:
        return parse_length(text, default=units.length, name=name) if text is not None else None

    def volume(text: str | None, name: str) -> float | None:
        default = "l" if units.volume == "ml" else "gal"
        return parse_volume(text, default=default, name=name) / 1000 if text is not None else None

    sheet = tank_sheet(
        length_mm=length(long, "length") or 0.0,
        width_mm=length(width, "width"),
        radius_mm=length(radius, "radius"),
        depth_mm=length(deep, "depth"),
        litres=volume(litres, "water"),
        displaced_l=volume(stands_in_it, "what stands in it") or 0.0,
    )
    return answered(sheet, units)
