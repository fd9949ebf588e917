"""Words of entries about trays, from sowing to stripping."""

from __future__ import annotations

from trayward.farm.entries import (
    Cut,
    Discarded,
    Fed,
    Measured,
    Moved,
    RoundAnswered,
    SowingMade,
    StageChanged,
    Stripped,
    TroubleCleared,
    TroubleSeen,
    Watered,
)
from trayward.farm.kit_marks import marks_words
from trayward.farm.settings import ShownUnits
from trayward.rounds.entries.names import names, new_life
from trayward.rounds.sayings import fed_words, joined, tray_words
from trayward.units import show_length, show_mass, show_volume
from trayward.words import counted, listed


def sowing_made(body: SowingMade, units: ShownUnits) -> str:
    seed = listed(f"{show_mass(used.grams, units.mass)} of lot {used.lot}" for used in body.lots)
    spots = [tray.spot for tray in body.trays if tray.spot]
    return joined(
        f"{body.sowing} sown: {counted(len(body.trays), 'tray')} of {body.recipe}",
        seed,
        f"on {names(spots)}" if spots else "on the bench",
        f"begun in {body.stage}" if body.stage else "",
        f"for the trial {body.trial}" if body.trial else "",
        f"on kit {marks_words(mark for on in body.marks for mark in on.marks)}" if body.marks else "",
    )


def round_answered(body: RoundAnswered, units: ShownUnits) -> str:
    said = joined(
        body.moisture or "",
        body.cue or "",
        f"{body.share_emerged:.0%} up" if body.share_emerged is not None else "",
        f"{show_length(body.height_mm, units.length)} tall" if body.height_mm is not None else "",
        f"trouble seen: {body.problem}" if body.problem else "",
        body.note,
    )
    return f"{names(body.trays)} looked at" + (f": {said}" if said else "")


def watered(body: Watered, units: ShownUnits) -> str:
    told, much = names(body.trays), _of_each(show_volume(body.ml, units.volume), body)
    # Each way is a sentence of its own, so that another language finds it whatever trays are named.
    match body.way:
        case "mist":
            return f"{told} misted, {much}"
        case "below":
            return f"{told} watered below, {much}"
        case "soak":
            return f"{told} soaked, {much}"


def fed(body: Fed, units: ShownUnits) -> str:
    told, much = names(body.trays), _of_each(fed_words(body, units.volume), body)
    return f"{told} fed below, {much}"


def discarded(body: Discarded, units: ShownUnits) -> str:
    del units
    return f"{names(body.trays)} thrown away: {body.reason}"


def _of_each(much: str, body: Watered | Fed) -> str:
    return f"{much} each" if len(body.trays) > 1 else much


def measured(body: Measured, units: ShownUnits) -> str:
    return f"{names(body.trays)} {tray_words(body, new_life('', units))}"


def trouble(body: TroubleSeen | TroubleCleared, units: ShownUnits) -> str:
    return f"{names(body.trays)}: {tray_words(body, new_life('', units))}"


def moved(body: Moved, units: ShownUnits) -> str:
    del units
    moves = (f"{move.tray} to {move.spot}" if move.spot else f"{move.tray} off" for move in body.moves)
    return f"moved: {names(moves)}"


def stage_changed(body: StageChanged, units: ShownUnits) -> str:
    del units
    return f"{names(body.trays)} now {body.stage}"


def cut(body: Cut, units: ShownUnits) -> str:
    total = show_mass(sum(cut.grams for cut in body.trays), units.mass)
    alone = len(body.trays) == 1
    each = names(cut.tray if alone else f"{cut.tray} {show_mass(cut.grams, units.mass)}" for cut in body.trays)
    return joined(
        f"{body.harvest} cut: {total} of {body.crop} from {each}",
        f"at {show_length(body.height_mm, units.length)}" if body.height_mm is not None else "",
        "left to grow again" if body.regrow else "",
    )


def stripped(body: Stripped, units: ShownUnits) -> str:
    del units
    return f"{names(body.trays)} stripped"
