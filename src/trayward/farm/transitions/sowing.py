"""Seed becomes trays."""

from __future__ import annotations

from datetime import datetime

from trayward.farm.crops import CropFacts
from trayward.farm.entries import Entry, SowingMade
from trayward.farm.kit_marks import put_under
from trayward.farm.live_seed import live_seed
from trayward.farm.recipes import Recipe, Stage
from trayward.farm.spots import spot_problem
from trayward.farm.state import FarmState, Sowing, StageStep, Tray
from trayward.farm.transitions.holding import hold_kit, kit_missing, kit_needed, take_spot
from trayward.farm.transitions.marks import sown_marks
from trayward.farm.transitions.say import (
    ROUNDING_G,
    Findings,
    from_finding,
    listed,
    more_than_zero,
    odd,
    show,
    twice,
    wrong,
)
from trayward.farm.transitions.seed import lot_unknown, not_here, take_seed

FAR_OFF = 3.0
"""So many times more or less seed than the recipe wants is more likely mistyped than meant: trials of density stay
within it. Common practice, no source. [-]"""


def check_sown(state: FarmState, body: SowingMade, entry: Entry) -> Findings:
    found = _name_problems(state, body, entry)
    recipe = state.recipes.get(body.recipe)
    if recipe is None:
        message = f"recipe {body.recipe} = none: the farm has no recipe of that name."
        return [*found, wrong(entry, "recipe-unknown", message, f"Recipes: {listed(list(state.recipes))}.")]
    if body.recipe in state.dropped_recipes:
        message = f"recipe {body.recipe} = dropped: it is no longer sown."
        found.append(odd(entry, "recipe-dropped", message, "Set the recipe again if it is back."))
    if body.stage and first_stage(recipe, body.stage).name != body.stage:
        message = f"sowing {body.sowing}, stage = {body.stage}: the recipe {recipe.name} has no such stage."
        names = listed([stage.name for stage in recipe.stages])
        found.append(wrong(entry, "stage-unknown", message, f"Stages: {names}."))
    stage = first_stage(recipe, body.stage)
    wanted = {pool: each * len(body.trays) for pool, each in kit_needed(recipe, stage.name).items()}
    found += _seed_problems(state, body, recipe, entry) + _spot_problems(state, body, stage, entry)
    found += sown_marks(state, entry, body.marks, recipe.name, stage.name)
    return found + kit_missing(state, entry, wanted, entry.at, refuse=True)


def apply_sown(state: FarmState, body: SowingMade, entry: Entry) -> None:
    """A sowing of a name or recipe that cannot be is left out whole: its trays could not be told apart from others."""
    recipe = state.recipes.get(body.recipe)
    fresh = [sown for sown in body.trays if state.tray(sown.tray) is None]
    if recipe is None or body.sowing in state.sowings or not fresh:
        return
    density = live_density(state, body, recipe, entry.at)
    for used in body.lots:
        if used.lot in state.seed:
            take_seed(state.seed[used.lot], used.grams if used.grams > 0 else 0.0)
    for sown in fresh:
        if sown.tray not in state.trays:
            _begin_tray(state, body, entry, recipe, sown.tray, sown.spot, density)
    for on in body.marks:
        if (tray := state.trays.get(on.tray)) is not None and tray.sowing == body.sowing:
            put_under(state, tray, on.marks)
    state.sowings[body.sowing] = Sowing(
        sowing=body.sowing,
        recipe=recipe.name,
        crop=recipe.crop,
        sown_at=entry.at,
        trays=tuple(dict.fromkeys(sown.tray for sown in fresh)),
        lots=_grams_by_lot(body),
    )


def first_stage(recipe: Recipe, named: str) -> Stage:
    """The stage a sowing begins in: the one it names, else the recipe's first."""
    return next((stage for stage in recipe.stages if stage.name == named), recipe.stages[0])


def live_density(state: FarmState, body: SowingMade, recipe: Recipe, at: datetime) -> float | None:
    """
    Live seeds on a square centimetre as sown, from each lot's thousand-seed weight and share of live seed. [1/cm2]

    None where a lot is unknown or one of its figures is blank: a blank is not guessed.
    """
    facts = CropFacts(crop=recipe.crop, facts=state.crop_facts.get(recipe.crop, {}))
    live = 0.0
    for used in body.lots:
        lot = state.seed.get(used.lot)
        if lot is None or not lot.tsw_g or lot.live_share is None:
            return None
        share = live_seed(lot, facts, at)
        if share is None:
            return None
        live += used.grams / lot.tsw_g * 1000.0 * share.mean
    return live / len(body.trays) / recipe.tray.area_cm2 if body.lots else None


def _begin_tray(
    state: FarmState, body: SowingMade, entry: Entry, recipe: Recipe, name: str, spot: str | None, density: float | None
) -> None:
    stage = first_stage(recipe, body.stage)
    tray = Tray(
        tray=name,
        sowing=body.sowing,
        recipe=recipe.name,
        crop=recipe.crop,
        sown_at=entry.at,
        seed_g=sum(used.grams for used in body.lots) / len(body.trays),
        lots=tuple(dict.fromkeys(used.lot for used in body.lots)),
        live_seeds_per_cm2=density,
        steps=[StageStep(stage=stage.name, since=entry.at)],
        trial=body.trial,
    )
    state.trays[name] = tray
    take_spot(state, tray, spot)
    hold_kit(state, tray, kit_needed(recipe, stage.name))


def _grams_by_lot(body: SowingMade) -> dict[str, float]:
    grams: dict[str, float] = {}
    for used in body.lots:
        grams[used.lot] = grams.get(used.lot, 0.0) + used.grams
    return grams


def _name_problems(state: FarmState, body: SowingMade, entry: Entry) -> Findings:
    names = [sown.tray for sown in body.trays]
    found = twice(entry, "tray", names)
    if not names:
        found.append(wrong(entry, "nothing-named", f"sowing {body.sowing}, trays = none: it needs one.", "Name them."))
    known = [name for name in names if state.tray(name) is not None]
    if body.sowing in state.sowings:
        message = f"sowing {body.sowing} = recorded already: a name is used once."
        found.append(wrong(entry, "sowing-twice", message, "Strike this one and record it under a name of its own."))
    elif known:
        message = f"trays {listed(known)} = sown already: a name is used once."
        found.append(wrong(entry, "tray-twice", message, "Give these trays names of their own."))
    return found


def _seed_problems(state: FarmState, body: SowingMade, recipe: Recipe, entry: Entry) -> Findings:
    if not body.lots:
        message = f"sowing {body.sowing}, seed lot = none: nobody can trace it to its seed."
        return [odd(entry, "seed-unnamed", message, "Name the lot and the grams.")]
    found: Findings = []
    for name, grams in _grams_by_lot(body).items():
        found += _lot_problems(state, name, grams, recipe, entry)
    return found or _amount_problems(state, body, recipe, entry)


def _amount_problems(state: FarmState, body: SowingMade, recipe: Recipe, entry: Entry) -> Findings:
    """Seed far from what the recipe wants: a slip on the keys, or grams of all trays typed for one."""
    density = live_density(state, body, recipe, entry.at) if body.trays else None
    if density is None or density <= 0 or 1 / FAR_OFF <= density / recipe.live_seeds_per_cm2 <= FAR_OFF:
        return []
    grams = sum(used.grams for used in body.lots) / len(body.trays)
    usual = show(float(f"{grams * recipe.live_seeds_per_cm2 / density:.3g}"))
    message = f"sowing {body.sowing}, seed on each tray = {show(grams)} g: the recipe {recipe.name} wants {usual} g."
    return [odd(entry, "sown-weight", message, "Weigh it again; if it was mistyped, strike the entry and say it anew.")]


def _lot_problems(state: FarmState, name: str, grams: float, recipe: Recipe, entry: Entry) -> Findings:
    lot = state.seed.get(name)
    if lot is None:
        return [lot_unknown(state, entry, name)]
    found = more_than_zero(entry, f"seed of lot {name}", grams, "g")
    if lot.expected_on is not None:
        found.append(not_here(entry, lot))
    elif grams > lot.left_g + ROUNDING_G:
        message = f"seed of lot {name} = {show(grams)} g: the lot holds {show(max(0.0, lot.left_g))} g."
        remedy = "Weigh the lot and record what the scale says, or name another lot."
        found.append(wrong(entry, "seed-short", message, remedy))
    if lot.crop != recipe.crop:
        message = f"seed lot {name} = {lot.crop}: the recipe {recipe.name} grows {recipe.crop}."
        found.append(odd(entry, "lot-crop", message, "Check the lot's name."))
    if lot.treated:
        message = f"seed lot {name} = treated: treated seed is not for eating fresh; the label decides."
        found.append(
            odd(entry, "seed-treated", message, "Read the label, and do not sell or eat the crop unless it says so.")
        )
    return found


def _spot_problems(state: FarmState, body: SowingMade, stage: Stage, entry: Entry) -> Findings:
    found: Findings = []
    placed: dict[str, str | None] = {}
    homeless = [sown.tray for sown in body.trays if sown.spot is None]
    for sown in body.trays:
        if sown.spot is not None:
            problem = spot_problem(state, sown.spot, stage, tray=sown.tray, moved=placed)
            found += [from_finding(entry, problem)] if problem else []
            placed.setdefault(sown.spot, sown.tray)
    if homeless and stage.ground != "bench" and state.shelves:
        message = (
            f"trays {listed(homeless)} = no spot: in the stage {stage.name!r} a tray stands on a {stage.ground} shelf."
        )
        found.append(odd(entry, "no-spot", message, "Record where they were put."))
    return found
