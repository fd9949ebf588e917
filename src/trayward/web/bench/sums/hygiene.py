"""The sums of the hygiene bench: dilute, strength, contact, chlorine, solution, mix, hot-water."""

from __future__ import annotations

from trayward.bench import typed as people
from trayward.farm.settings import ShownUnits
from trayward.units import ML_PER_GALLON, parse_minutes, parse_temperature, parse_volume
from trayward.web.bench.sums import hygiene_words
from trayward.web.bench.sums.declared import (
    NUMBER,
    US_OPTION,
    Answer,
    Bench,
    Choice,
    Given,
    answered,
    argument,
    option,
    units_of,
)

ANSWERS = (
    ("dilute", "How much of a product makes a bucket of a strength."),
    ("strength", "What strength you made of it."),
    ("solution", "Whether a mixed solution is still good."),
    ("contact", "Strength times time."),
    ("chlorine", "How much of the chlorine acts quickly at a pH."),
    ("mix", "What must never be mixed."),
    ("hot-water", "Degrees and minutes for seed, and whether a bath kept to them."),
)
USES = Choice(("surface", "wash", "crop", "tools"))


hygiene = Bench(
    "hygiene", "Sanitiser to a strength, contact time, what must never be mixed, hot water for seed.", ANSWERS
)


LABEL = option("--label", "label", required=True, metavar="STRENGTH", help='Strength on its label. Example: "8.25 %".')
DENSITY = option(
    "--density", type=NUMBER, metavar="G/ML", help="Of the product, where its label says it. Example: 1.1."
)
USE = option("--use", "use", type=USES, default="surface", help="What it touches. Example: surface.")
MADE_PH = option("--ph", type=NUMBER, metavar="PH", help="pH of the solution as mixed. Example: 7.5.")
WATER = option("--water", metavar="TEMPERATURE", help='Temperature of the water. Example: "20 C".')


def _warmth(text: str | None, units: ShownUnits) -> float | None:
    return parse_temperature(text, default=units.temperature, name="water") if text is not None else None


@hygiene.add("dilute", example='trayward bench hygiene dilute bleach --label "8.25 %" --to "200 ppm"')
@argument("sanitiser")
@LABEL
@option("--to", "to", required=True, metavar="STRENGTH", help='Strength the label asks for. Example: "200 ppm".')
@option("--make", "make", metavar="VOLUME", help='How much in all; 4 l if left out. Example: "1 gal".')
@USE
@MADE_PH
@WATER
@DENSITY
@US_OPTION
def dilute(
    given: Given,
    sanitiser: str,
    label: str,
    to: str,
    make: str | None,
    use: str,
    ph: float | None,
    water: str | None,
    density: float | None,
    us: bool | None,
) -> Answer:
    """How much SANITISER to measure for a volume of a strength: bleach, "calcium hypochlorite", "peroxyacetic acid",
    "hydrogen peroxide", quat, alcohol."""
    from trayward.bench.hygiene import dilute_sheet
    from trayward.science.sanitiser import agent_named

    units, agent = units_of(given, us), agent_named(sanitiser)
    usual = ML_PER_GALLON if units.volume == "cup" else 4000.0
    sheet = dilute_sheet(
        agent,
        hygiene_words.label(label, density),
        hygiene_words.strength(to, agent),
        parse_volume(make, default=units.volume, name="volume") if make is not None else usual,
        use=use,  # type: ignore[arg-type]
        ph=ph,
        water_c=_warmth(water, units),
    )
    return answered(sheet, units)


@hygiene.add("strength", example="trayward bench hygiene strength bleach --label 5% --poured 15ml --into 4l")
@argument("sanitiser")
@LABEL
@option("--poured", required=True, metavar="AMOUNT", help='Product; of a powder its weight. Example: "1 tbsp".')
@option("--into", required=True, metavar="VOLUME", help='Water it went into. Example: "1 gal".')
@USE
@DENSITY
@US_OPTION
def strength(
    given: Given,
    sanitiser: str,
    label: str,
    poured: str,
    into: str,
    use: str,
    density: float | None,
    us: bool | None,
) -> Answer:
    """What strength came of a SANITISER poured into water."""
    from trayward.bench.hygiene import made_sheet
    from trayward.science.sanitiser import agent_named

    units, agent = units_of(given, us), agent_named(sanitiser)
    amount = people.mass(poured, units) if agent.form == "powder" else people.volume(poured, units)
    water = parse_volume(into, default=units.volume, name="water")
    sheet = made_sheet(agent, hygiene_words.label(label, density), amount, water, use=use)  # type: ignore[arg-type]
    return answered(sheet, units)


@hygiene.add("solution", example="trayward bench hygiene solution bleach --made 7:30 --least 100")
@argument("sanitiser")
@option("--made", metavar="TIME", help='Time of day it was made. Example: "7:30".')
@option("--age", metavar="TIME", help='Or how old it is. Example: "1h45".')
@option("--least", required=True, metavar="PPM", help='Weakest that will do, by the label. Example: "100 ppm".')
@option("--most", metavar="PPM", help='Strongest that will do, by the label. Example: "200 ppm".')
@option(
    "--strip", "strips", multiple=True, metavar="WHEN=PPM", help='A strip read; say it for each. Example: "9:00=150".'
)
@option("--change-after", metavar="TIME", help='Made new after so long; 2 h if left out. Example: "4 h".')
@US_OPTION
def solution(
    given: Given,
    sanitiser: str,
    made: str | None,
    age: str | None,
    least: str,
    most: str | None,
    strips: tuple[str, ...],
    change_after: str | None,
    us: bool | None,
) -> Answer:
    """Whether a mixed SANITISER is still good, by its age and the strips read since it was made."""
    import math

    from trayward.bench.hygiene_use import solution_sheet
    from trayward.science.sanitiser import agent_named
    from trayward.science.solution_life import CHANGE_AFTER

    agent = agent_named(sanitiser)
    made_at = hygiene_words.clock(made, "made") if made is not None else None
    sheet = solution_sheet(
        agent,
        hygiene_words.strips(strips, made_at),
        _age(given, made_at, age),
        hygiene_words.strength(least, agent),
        hygiene_words.strength(most, agent) if most is not None else math.inf,
        change_after_min=parse_minutes(change_after, name="time") if change_after is not None else CHANGE_AFTER,
    )
    return answered(sheet, units_of(given, us))


def _age(given: Given, made: float | None, age: str | None) -> float:
    """Its age: as typed, else since it was made, on the farm's clock or this machine's. [min]"""
    from trayward.errors import InputError

    if (made is None) == (age is None):
        raise InputError("age", "unclear", "say --made or --age, one of the two", 'For instance --made "7:30".')
    if made is None:
        return parse_minutes(age or "", name="age")
    here = given.at.astimezone(given.zone) if given.has_farm else given.now.astimezone()
    return hygiene_words.age_at(60.0 * here.hour + here.minute, made)


@hygiene.add("contact", example='trayward bench hygiene contact --ppm 1.5 --ph 7.5 --water "15 C"')
@option("--ppm", type=NUMBER, required=True, metavar="PPM", help="Strength left at the end. Example: 1.5.")
@option("--time", "minutes", metavar="TIME", help='Contact time. Example: "2 min".')
@option("--ct", type=NUMBER, metavar="MG_MIN_L", help="Strength x time wanted. Example: 92.")
@MADE_PH
@WATER
@option("--baffling", type=NUMBER, default=1.0, metavar="SHARE", help="How evenly a tank flows. Example: 0.5.")
@US_OPTION
def contact(
    given: Given,
    ppm: float,
    minutes: str | None,
    ct: float | None,
    ph: float | None,
    water: str | None,
    baffling: float,
    us: bool | None,
) -> Answer:
    """Strength times time; with pH and temperature, the table for clear drinking water."""
    from trayward.bench.hygiene_use import contact_sheet
    from trayward.errors import InputError

    if minutes is None and ct is None and (ph is None or water is None):
        rule = "say --time, or --ct, or --ph and --water"
        raise InputError("contact", "nothing to work out", rule, 'For instance --ppm 200 --time "2 min".')
    units = units_of(given, us)
    sheet = contact_sheet(
        ppm,
        minutes=parse_minutes(minutes, name="contact time") if minutes is not None else None,
        ct=ct,
        ph=ph,
        water_c=_warmth(water, units),
        baffling=baffling,
    )
    return answered(sheet, units)


@hygiene.add("chlorine", example='trayward bench hygiene chlorine 7.5 --water "20 C" --ppm 200')
@argument("ph", type=NUMBER)
@WATER
@option("--ppm", type=NUMBER, metavar="PPM", help="Free chlorine. Example: 200.")
@US_OPTION
def chlorine(given: Given, ph: float, water: str | None, ppm: float | None, us: bool | None) -> Answer:
    """How much of the chlorine acts quickly at this PH."""
    from trayward.bench.hygiene_use import chlorine_sheet

    units = units_of(given, us)
    warmth = _warmth(water, units)
    return answered(chlorine_sheet(ph, 20.0 if warmth is None else warmth, ppm), units)


@hygiene.add("mix", example="trayward bench hygiene mix bleach vinegar")
@argument("first", required=False)
@argument("second", required=False)
@US_OPTION
def mix(given: Given, first: str | None, second: str | None, us: bool | None) -> Answer:
    """What must never be mixed: all of it, what goes with FIRST, or what comes of FIRST and SECOND."""
    from trayward.bench.hygiene_use import mix_sheet

    return answered(mix_sheet(first, second), units_of(given, us))


@hygiene.add("hot-water", example='trayward bench hygiene hot-water radish --bath "0=50.1 5=50.2 10=49.9 15=50"')
@argument("crop", required=False)
@option("--bath", metavar="READINGS", help='MINUTE=DEGREES, or a file of them. Example: "0=50.1 5=50.3".')
@option("--band", type=NUMBER, metavar="DEGREES", help="How far it may be off, in C; 0.5 if left out. Example: 0.3.")
@US_OPTION
def hot_water(given: Given, crop: str | None, bath: str | None, band: float | None, us: bool | None) -> Answer:
    """Degrees and minutes for the seed of a CROP; with --bath, whether the bath kept to them."""
    from trayward.bench.hot_water import hot_water_sheet, table_sheet
    from trayward.science.hot_water import BAND_C

    units = units_of(given, us)
    if crop is None:
        return answered(table_sheet(), units)
    minutes, temps = (
        hygiene_words.bath(given.text_in(bath) or bath, units.temperature) if bath is not None else ([], [])
    )
    return answered(hot_water_sheet(crop, minutes, temps, BAND_C if band is None else band), units)
