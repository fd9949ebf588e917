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
from trayward.rounds.entries.names import MOST, names, new_life
from trayward.rounds.sayings import fed_words, joined, tray_words
from trayward.units import show_length, show_mass, show_volume
from trayward.words import Filled, Own, counted, filled, in_a_list, in_a_row


def sowing_made(body: SowingMade, units: ShownUnits) -> str:
    lots = ((show_mass(used.grams, units.mass), Own(used.lot)) for used in body.lots)
    seed = in_a_list(filled("{grams} of lot {lot}", grams=grams, lot=lot) for grams, lot in lots)
    trays, recipe = counted(len(body.trays), "tray"), Own(body.recipe)
    spots = [tray.spot for tray in body.trays if tray.spot]
    return joined(
        filled("{sowing} sown: {trays} of {recipe}", sowing=Own(body.sowing), trays=trays, recipe=recipe),
        seed,
        filled("on {spots}", spots=names(spots)) if spots else "on the bench",
        filled("begun in {stage}", stage=body.stage) if body.stage else "",
        filled("for the trial {trial}", trial=Own(body.trial)) if body.trial else "",
        filled("on kit {}", marks_words(mark for on in body.marks for mark in on.marks)) if body.marks else "",
    )


SEVERAL_READY = Filled("ready", "ready{several}", {"several": ""})
"""In some languages several trays are ready in another word than one."""


def round_answered(body: RoundAnswered, units: ShownUnits) -> str:
    said = joined(
        body.moisture or "",
        SEVERAL_READY if body.cue == "ready" and len(body.trays) > 1 else body.cue or "",
        f"{body.share_emerged:.0%} up" if body.share_emerged is not None else "",
        f"{show_length(body.height_mm, units.length)} tall" if body.height_mm is not None else "",
        filled("trouble seen: {problem}", problem=Own(body.problem)) if body.problem else "",
        Own(body.note),
    )
    return in_a_row((filled("{trays} looked at", trays=names(body.trays)), said), ": ")


def watered(body: Watered, units: ShownUnits) -> str:
    told, much = names(body.trays), _of_each(show_volume(body.ml, units.volume), body)
    # Each way is a sentence of its own, so that another language finds it whatever trays are named.
    match body.way:
        case "mist":
            return filled("{trays} misted, {much}", trays=told, much=much)
        case "below":
            return filled("{trays} watered below, {much}", trays=told, much=much)
        case "soak":
            return filled("{trays} soaked, {much}", trays=told, much=much)


def fed(body: Fed, units: ShownUnits) -> str:
    told, much = names(body.trays), _of_each(fed_words(body, units.volume), body)
    return filled("{trays} fed below, {much}", trays=told, much=much)


def discarded(body: Discarded, units: ShownUnits) -> str:
    del units
    return filled("{trays} thrown away: {reason}", trays=names(body.trays), reason=body.reason)


def _of_each(much: str, body: Watered | Fed) -> str:
    return filled("{much} each", much=much) if len(body.trays) > 1 else much


def measured(body: Measured, units: ShownUnits) -> str:
    return in_a_row((names(body.trays), tray_words(body, new_life("", units))), " ")


def trouble(body: TroubleSeen | TroubleCleared, units: ShownUnits) -> str:
    return in_a_row((names(body.trays), tray_words(body, new_life("", units))), ": ")


def moved(body: Moved, units: ShownUnits) -> str:
    del units
    moves = (
        filled("{tray} to {spot}", tray=Own(move.tray), spot=Own(move.spot)) if move.spot
        else filled("{tray} off", tray=Own(move.tray))
        for move in body.moves
    )  # fmt: skip
    return filled("moved: {moves}", moves=in_a_list(moves, most=MOST))


def stage_changed(body: StageChanged, units: ShownUnits) -> str:
    del units
    return filled("{trays} now {stage}", trays=names(body.trays), stage=body.stage)


def cut(body: Cut, units: ShownUnits) -> str:
    total = show_mass(sum(cut.grams for cut in body.trays), units.mass)
    alone = len(body.trays) == 1
    each = names(cut.tray if alone else f"{cut.tray} {show_mass(cut.grams, units.mass)}" for cut in body.trays)
    lot, crop = Own(body.harvest), Own(body.crop)
    return joined(
        filled("{harvest} cut: {total} of {crop} from {trays}", harvest=lot, total=total, crop=crop, trays=each),
        filled("at {height}", height=show_length(body.height_mm, units.length)) if body.height_mm is not None else "",
        "left to grow again" if body.regrow else "",
    )


def stripped(body: Stripped, units: ShownUnits) -> str:
    del units
    return filled("{trays} stripped", trays=names(body.trays))
