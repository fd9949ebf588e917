"""Commands of a tray's life, from sowing to the last stage."""

from __future__ import annotations

from collections.abc import Sequence

import click

from trayward.cli import people
from trayward.cli.given import Given, command
from trayward.cli.numbers import WHOLE
from trayward.cli.show import written
from trayward.desk.lookup import facts_of, recipe_named, trays_named
from trayward.errors import InputError
from trayward.farm.entries import SowingMade
from trayward.farm.kit_marks import marks_words, read_marks
from trayward.rounds.amount_words import amount_value
from trayward.rounds.types import Amount
from trayward.units import show_mass, show_volume
from trayward.words import counted, listed

SPOTS_HELP = "Where each tray goes, with commas. Example: A1.1,A1.2."


@command("sow", example='trayward sow broccoli --trays 3 --grams "2 tbsp"', records=True, doubts=True)
@click.argument("recipe")
@click.option("--trays", type=WHOLE, default=1, show_default=True, help="How many trays. Example: 3.")
@click.option("--grams", metavar="WEIGHT", help='Seed on each tray; worked out if left out. Example: "20 g", "2 tbsp".')
@click.option(
    "--lot", "lots", multiple=True, metavar="LOT", help="Seed lot, or LOT=GRAMS in all. Example: B1 or B1=40g."
)
@click.option("--spots", metavar="SPOTS", help=SPOTS_HELP)
@click.option("--stage", default="", metavar="STAGE", help="Stage they begin in. Example: germinate.")
@click.option("--name", default="", metavar="NAME", help="Name of the sowing; made up if left out. Example: 261125B.")
@click.option("--trial", default="", metavar="WORDS", help='What is tried out. Example: "denser".')
@click.option("--marks", metavar="MARKS", help="Marked mats; the longest rested if left out. Example: M3,M7.")
def sow(
    given: Given,
    recipe: str,
    trays: int,
    grams: str | None,
    lots: Sequence[str],
    spots: str | None,
    stage: str,
    name: str,
    trial: str,
    marks: str | None,
) -> None:
    """Sow trays of RECIPE (its name, or its crop). Seed, lots and spots are worked out where you do not say them."""
    each = _seed_grams(given, recipe, grams)
    receipt = given.farm.sow(
        recipe,
        trays,
        grams_per_tray=each,
        lots=_weighed(given, lots),
        lot=_one_lot(lots),
        spots=people.names(spots),
        stage=stage,
        sowing=name,
        trial=trial,
        marks=read_marks(marks) if marks is not None else None,
        **given.said,
    )
    body = receipt.kept[0].entry.body
    assert isinstance(body, SowingMade)
    written(given, receipt, _sown(given, body))


def _seed_grams(given: Given, recipe: str, grams: str | None) -> float | None:
    if grams is None:
        return None
    facts = facts_of(given.state, recipe_named(given.state, recipe).crop)
    return people.mass(grams, given.units, density=facts.number("bulk_density_g_per_ml"), name="grams")


def _weighed(given: Given, lots: Sequence[str]) -> dict[str, float] | None:
    weighed = [lot for lot in lots if "=" in lot]
    if weighed and len(weighed) < len(lots):
        raise InputError(
            "lots", ", ".join(lots), "all or none must say their grams", "Write --lot B1=40g --lot B2=20g."
        )
    return people.grams_of(weighed, given.units, "B1=40g") if weighed else None


def _one_lot(lots: Sequence[str]) -> str | None:
    if not lots or "=" in lots[0]:
        return None
    if len(lots) > 1:
        raise InputError(
            "lots", ", ".join(lots), "several lots must say their grams", "Write --lot B1=40g --lot B2=20g."
        )
    return lots[0]


def _sown(given: Given, body: SowingMade) -> str:
    grams = sum(used.grams for used in body.lots)
    lots = listed([used.lot for used in body.lots])
    spots = [tray.spot for tray in body.trays if tray.spot]
    where = f", on {listed(spots)}" if spots else ", on the bench"
    seed = f"{show_mass(grams / len(body.trays), given.units.mass)} of seed each from {lots}"
    marks = marks_words(mark for on in body.marks for mark in on.marks)
    kit = f" Kit: {marks}; other ones? trayward kit use {body.trays[0].tray} MARK" if marks else ""
    return f"Sown {body.sowing}: {counted(len(body.trays), 'tray')} of {body.recipe}, {seed}{where}.{kit}"


SEEN = ("moist", "dry", "ready", "not-yet")
"""Answers of a round; outside of one they are options."""


@command("look", example="trayward look 261125A --not-yet --moist", records=True, doubts=True)
@click.argument("trays", nargs=-1, required=True)
@click.option("--moist", "moisture", flag_value="moist", help="The medium is moist. Example: --moist.")
@click.option("--dry", "moisture", flag_value="dry", help="The medium is dry. Example: --dry.")
@click.option("--ready", "cue", flag_value="ready", help="Ready for the next stage, which begins. Example: --ready.")
@click.option("--not-yet", "cue", flag_value="not yet", help="Not ready for the next stage. Example: --not-yet.")
@click.option("--height", metavar="LENGTH", help='How tall. Example: "2 in".')
@click.option("--emerged", metavar="SHARE", help='How much has come up. Example: "80 %".')
@click.option("--problem", default="", metavar="WORD", help="Trouble seen. Example: mould.")
@click.option("--water", metavar="VOLUME", help='Water given to each tray. Example: "30 ml".')
@click.option("--spots", metavar="SPOTS", help=SPOTS_HELP)
@click.option("--note", default="", metavar="WORDS", help='What else you saw. Example: "front corner thin".')
def look(
    given: Given,
    trays: Sequence[str],
    moisture: str | None,
    cue: str | None,
    height: str | None,
    emerged: str | None,
    problem: str,
    water: str | None,
    spots: str | None,
    note: str,
) -> None:
    """What you saw of TRAYS, outside a round: trays, a sowing, a spot or a shelf by name."""
    seen = next((word for word in trays if word.lower() in SEEN), None)
    if seen is not None and seen not in given.state.sowings:
        raise InputError("tray", seen, "it is what you saw, not a tray", f"Say it as --{seen.lower()}.")
    receipt = given.farm.answer(
        trays,
        moisture=moisture,  # type: ignore[arg-type]
        cue=cue,  # type: ignore[arg-type]
        height_mm=people.maybe(people.length, height, given.units),
        share_emerged=people.share(emerged, "emerged"),
        problem=problem,
        note=note,
        water_ml=people.maybe(people.volume, water, given.units),
        spots=people.names(spots),
        **given.said,
    )
    written(given, receipt, f"Looked at {listed(trays)}.")


@command("water", example='trayward water 261125A "1/4 cup" --below', records=True, doubts=True)
@click.argument("trays", nargs=-1, required=True)
@click.argument("volume")
@click.option("--mist", "way", flag_value="mist", help="Misted from above. Example: --mist.")
@click.option("--below", "way", flag_value="below", help="Poured below. Example: --below.")
@click.option("--soak", "way", flag_value="soak", help="Soaked. Example: --soak.")
def water(given: Given, trays: Sequence[str], volume: str, way: str | None) -> None:
    """Water given: VOLUME to each of TRAYS, the way their stage is watered unless you say it."""
    ml = people.volume(volume, given.units)
    given_way = way or _usual_way(given, trays)
    receipt = given.farm.water(trays, ml, given_way, **given.said)  # type: ignore[arg-type]
    shown = show_volume(ml, given.units.volume)
    ways = {
        "mist": f"misted with {shown} each",
        "below": f"given {shown} each below",
        "soak": f"soaked in {shown} each",
    }
    written(given, receipt, f"Watered {listed(trays)}: {ways[given_way]}.")


def _usual_way(given: Given, trays: Sequence[str]) -> str:
    ways = {
        stage.water
        for tray in trays_named(given.state, trays)
        for stage in given.state.recipe_of(tray).stages
        if stage.name == tray.stage and stage.water != "none"
    }
    if len(ways) != 1:
        rule = "these trays are not all watered one way in their stage"
        raise InputError("way", "not said", rule, "Say --mist, --below or --soak.")
    return ways.pop()


@command("feed", example='trayward feed 261125A "450 ml" --ph 5.8 --ec 1.2', records=True, doubts=True)
@click.argument("trays", nargs=-1, required=True)
@click.argument("volume")
@click.option("--ph", metavar="PH", help="pH of the feed as poured. Example: 5.8.")
@click.option("--ec", metavar="EC", help="EC of the feed as poured, in dS/m. Example: 1.2.")
@click.option("--feed", "mixture", default="", metavar="NAME", help='Which feed. Example: "leaf mix".')
def feed(given: Given, trays: Sequence[str], volume: str, ph: str | None, ec: str | None, mixture: str) -> None:
    """Feed given: VOLUME to each of TRAYS, from below. Feeds and acids: follow the label."""
    ml = people.volume(volume, given.units)
    receipt = given.farm.feed(
        trays,
        ml,
        ph=people.number(ph, "pH") if ph is not None else None,
        ec=people.number(ec, "EC", "dS/m") if ec is not None else None,
        feed=mixture,
        **given.said,
    )
    written(given, receipt, f"Fed {listed(trays)}: {show_volume(ml, given.units.volume)} each.")


@command("move", example="trayward move 261125A.1=B2.3 261125A.2=B2.4", records=True, doubts=True)
@click.argument("moves", nargs=-1, required=True, metavar="TRAY=SPOT...")
def move(given: Given, moves: Sequence[str]) -> None:
    """Trays to other spots, all at once, so that two may swap."""
    to = people.pairs(moves, "261125A.1=B2.3")
    receipt = given.farm.move(to, **given.said)
    written(given, receipt, f"Moved {listed([f'{tray} to {spot}' for tray, spot in to.items()])}.")


@command("turn", example="trayward turn 261125A", records=True, doubts=True)
@click.argument("trays", nargs=-1, required=True)
@click.option("--spots", metavar="SPOTS", help=SPOTS_HELP)
def turn(given: Given, trays: Sequence[str], spots: str | None) -> None:
    """TRAYS are ready and begin their next stage: the cover turned to blackout, then off and into light, and so on."""
    receipt = given.farm.answer(trays, cue="ready", spots=people.names(spots), **given.said)
    written(given, receipt, _now_in(given, trays))


@command("stage", example="trayward stage 261125A.1 light --spots B1.2", records=True, doubts=True)
@click.argument("trays", nargs=-1, required=True)
@click.argument("stage")
@click.option("--spots", metavar="SPOTS", help=SPOTS_HELP)
def stage(given: Given, trays: Sequence[str], stage: str, spots: str | None) -> None:
    """TRAYS begin the STAGE you name, in whatever order."""
    receipt = given.farm.begin(trays, stage, spots=people.names(spots), **given.said)
    written(given, receipt, _now_in(given, trays))


def _now_in(given: Given, names: Sequence[str]) -> str:
    trays = trays_named(given.state, names)
    stages = sorted({tray.stage for tray in trays})
    spots = [tray.spot for tray in trays if tray.spot]
    where = f", on {listed(spots)}" if spots else ""
    return f"{listed(names)}: now {' and '.join(stages)}{where}."


@command("measure", example='trayward measure 261125A.1 height "2 in"', records=True, doubts=True)
@click.argument("trays", nargs=-1, required=True)
@click.argument("what")
@click.argument("value")
def measure(given: Given, trays: Sequence[str], what: str, value: str) -> None:
    """A measure of each of TRAYS: WHAT (height, weight, canopy, emerged, temperature, or your own word) and VALUE."""
    if what in people.MEASURES:
        name, unit, read = people.MEASURES[what]
        amount = read(value, given.units)
    else:
        text, _, unit = value.strip().partition(" ")
        name, amount = what, people.number(text, what)
    receipt = given.farm.measure(trays, name, amount, unit, **given.said)
    written(given, receipt, f"Measured {listed(trays)}: {what} {_shown(given, amount, unit)}.")


def _shown(given: Given, amount: float, unit: str) -> str:
    """A measure in the farm's unit; one of the grower's own as it was said."""
    return amount_value(Amount(what="", value=amount, unit=unit), given.units) if unit else f"{amount:g}"


@command("discard", example="trayward discard 261125A.2 --reason mould", records=True, doubts=True)
@click.argument("trays", nargs=-1, required=True)
@click.option("--reason", default="", metavar="WORDS", help="Why, in a word or two. Example: mould.")
def discard(given: Given, trays: Sequence[str], reason: str) -> None:
    """Throw TRAYS away. Their spots are free; their kit is dirty once they are stripped."""
    receipt = given.farm.discard(trays, reason, **given.said)
    written(given, receipt, f"Discarded {listed(trays)}: {reason}.")
