"""What happens to standing trays: looks, water, feed, stages, measures, and being thrown away."""

from __future__ import annotations

import math

from trayward.farm.entries import Discarded, Entry, Fed, Measured, RoundAnswered, StageChanged, Watered
from trayward.farm.holds import suspects_mould
from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState, StageStep
from trayward.farm.transitions.feed import feed_ec_wanted, stray_feed
from trayward.farm.transitions.holding import done_with, hold_kit, kit_missing, kit_needed, leave_spot
from trayward.farm.transitions.recipes import LAST_STAGE
from trayward.farm.transitions.say import (
    Findings,
    between,
    growing_problems,
    grows,
    listed,
    more_than_zero,
    odd,
    show,
    tray_unknown,
    wrong,
)
from trayward.farm.transitions.trouble import note_word

TALLEST_MM = 1000.0
"""No tray crop stands taller; more is a slip of the finger. [mm]"""
MUCH_WATER = 5.0
"""So many times the usual water of a stage deserve a look: a litre for thirty millilitres is a slip. [-]"""


def check_answered(state: FarmState, body: RoundAnswered, entry: Entry) -> Findings:
    found = growing_problems(state, entry, body.trays, "looked at")
    if body.share_emerged is not None:
        found += between(entry, "share emerged", body.share_emerged, 0, 1)
    if body.height_mm is not None:
        found += between(entry, "height", body.height_mm, 0, TALLEST_MM, "mm")
    return found


def apply_answered(state: FarmState, body: RoundAnswered, entry: Entry) -> None:
    """ "Ready" alone changes no stage: the grower may still be fetching the next shelf. `StageChanged` does."""
    trays = state.trays
    for name in body.trays:
        tray = trays.get(name)
        if tray is None or tray.fate != "growing":
            continue
        tray.last_look = entry.at
        note_word(tray, body.problem, entry)
        if body.round:
            tray.last_round = body.round
        if body.moisture is not None:
            tray.moisture = body.moisture
        step = tray.steps[-1]
        if body.cue == "not yet":
            step.last_not_yet, step.last_silent = entry.at, None
        elif body.cue is None and step.last_not_yet is None and step.stage != LAST_STAGE:
            step.last_silent = entry.at
        if body.share_emerged is not None and 0 <= body.share_emerged <= 1:
            tray.share_emerged = body.share_emerged
        if body.height_mm is not None and 0 <= body.height_mm <= TALLEST_MM:
            tray.height_mm = body.height_mm


def check_watered(state: FarmState, body: Watered, entry: Entry) -> Findings:
    found = growing_problems(state, entry, body.trays, "watered") + more_than_zero(entry, "water", body.ml, "ml")
    return found or _too_much(state, entry, body, "water")


def _too_much(state: FarmState, entry: Entry, body: Watered | Fed, what: str) -> Findings:
    """A watering or a feed that would drown the tray: most likely what several got, or a slip of the finger."""
    for name in body.trays:
        tray = grows(state, name)
        recipe = state.recipes.get(tray.recipe) if tray is not None else None
        usual = _usual_ml(recipe, tray.stage) if tray is not None and recipe is not None else 0.0
        if tray is not None and body.ml > MUCH_WATER * usual > 0:
            message = (
                f"tray {name}, {what} = {show(body.ml)} ml: more than {MUCH_WATER:g} times the {show(usual)} ml that "
                f"{tray.stage} usually takes."
            )
            remedy = (
                "Say what one tray got: strike this entry and record it anew. If it got as much, pour off what stands."
            )
            return [odd(entry, "water-much", message, remedy)]
    return []


def _usual_ml(recipe: Recipe, name: str) -> float:
    """What a tray takes at one watering in a stage; in one without a way of its own, what the next one takes. [ml]"""
    stages = [stage.name for stage in recipe.stages]
    if name not in stages:
        return 0.0
    at = stages.index(name)
    stage = recipe.stages[at]
    # The last look of a dark stage is often the first watering of the next.
    following = recipe.stages[at + 1 : at + 2] if stage.water == "none" else ()
    return max(each.water_ml for each in (stage, *following))


def apply_watered(state: FarmState, body: Watered | Fed, entry: Entry) -> None:
    """What was seen dry has been seen to; how moist it is now nobody has said yet."""
    for name in body.trays:
        tray = state.trays.get(name)
        if tray is not None and tray.fate == "growing":
            tray.last_water = entry.at
            tray.moisture = None


def check_fed(state: FarmState, body: Fed, entry: Entry) -> Findings:
    found = growing_problems(state, entry, body.trays, "fed") + more_than_zero(entry, "feed", body.ml, "ml")
    found += between(entry, "feed", body.ec, 0, 20, "dS/m")
    found += between(entry, "feed, pH", body.ph, 0, 14)
    recipes = dict.fromkeys(tray.recipe for name in body.trays if (tray := grows(state, name)))
    if found:
        return found
    if body.ph is not None:
        for name in recipes:
            wanted, who = state.recipes[name].feed_ph, f"the recipe {name} wants"
            found += stray_feed(state, entry, "ph", body.ph, wanted, subject="feed, pH", who=who)
    ec_wanted = feed_ec_wanted(state)
    if body.ec is not None and not found and ec_wanted is not None:
        found += stray_feed(state, entry, "ec", body.ec, ec_wanted, subject="feed, EC", who="the farm wants")
    return found or _too_much(state, entry, body, "feed")


def check_stage(state: FarmState, body: StageChanged, entry: Entry) -> Findings:
    found = growing_problems(state, entry, body.trays, "brought to another stage")
    wanted: dict[str, int] = {}
    for name in body.trays:
        if (tray := grows(state, name)) is None:
            continue
        recipe = state.recipes[tray.recipe]
        names = [stage.name for stage in recipe.stages]
        if body.stage not in names:
            message = f"tray {name}, stage = {body.stage}: its recipe {recipe.name} has no such stage."
            found.append(wrong(entry, "stage-unknown", message, f"Stages: {listed(names)}."))
        elif names.index(body.stage) <= names.index(tray.stage):
            way = "it is in that stage already" if body.stage == tray.stage else f"it is past that, in {tray.stage!r}"
            message = f"tray {name}, stage = {body.stage}: {way}."
            found.append(odd(entry, "stage-back", message, "Check the tray's name and the stage."))
        for pool, each in kit_needed(recipe, body.stage).items():
            wanted[pool] = wanted.get(pool, 0) + max(0, each - tray.kit.get(pool, 0))
    known = {pool: count for pool, count in wanted.items() if pool in state.kit}
    return found + kit_missing(state, entry, known, entry.at)


def apply_stage(state: FarmState, body: StageChanged, entry: Entry) -> None:
    for name in body.trays:
        tray = grows(state, name)
        if tray is None or tray.stage == body.stage:
            continue
        recipe = state.recipes[tray.recipe]
        if not any(stage.name == body.stage for stage in recipe.stages):
            continue
        tray.steps[-1].until = entry.at
        tray.steps.append(StageStep(stage=body.stage, since=entry.at, spot=tray.spot))
        hold_kit(state, tray, kit_needed(recipe, body.stage))


def check_measured(state: FarmState, body: Measured, entry: Entry) -> Findings:
    """A tray may be weighed after it was cut, too."""
    found = [tray_unknown(entry, name) for name in body.trays if state.tray(name) is None]
    if not math.isfinite(body.value):
        message = f"{body.what} = {body.value} {body.unit}".strip() + ": must be a number."
        found.append(wrong(entry, "amount", message, "Measure it again."))
    if body.what == "height_mm":
        found += between(entry, "height", body.value, 0, TALLEST_MM, "mm")
    if body.what == "share_emerged":
        found += between(entry, "share emerged", body.value, 0, 1)
    return found


def apply_measured(state: FarmState, body: Measured, entry: Entry) -> None:
    for name in body.trays:
        tray = grows(state, name)
        if tray is None:
            continue
        if body.what == "height_mm" and 0 <= body.value <= TALLEST_MM:
            tray.height_mm = body.value
        if body.what == "share_emerged" and 0 <= body.value <= 1:
            tray.share_emerged = body.value


def check_discarded(state: FarmState, body: Discarded, entry: Entry) -> Findings:
    return growing_problems(state, entry, body.trays, "discarded")


def apply_discarded(state: FarmState, body: Discarded, entry: Entry) -> None:
    """Its spot is free and its kit is dirty at once."""
    for name in body.trays:
        tray = grows(state, name)
        if tray is None:
            continue
        tray.fate = "discarded"
        tray.ended_at = entry.at
        tray.reason = body.reason
        if tray.cuts and suspects_mould(body.reason):
            note_word(tray, body.reason, entry)  # what was cut of it before is held, too
        leave_spot(state, tray)
        hold_kit(state, tray, {}, suspect=suspects_mould(body.reason))
        done_with(state, tray)
