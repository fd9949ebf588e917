"""The sowing jobs of the day, from the plan that was kept: what to weigh out, of which lot, onto which spots."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from trayward.dates import day_words
from trayward.farm.calendar import day_start, is_work_day
from trayward.farm.crops import CropFacts
from trayward.farm.density import bulk_density, seed_for_tray
from trayward.farm.kit_marks import by_pools, marks_words, proposed
from trayward.farm.recipes import Recipe, Stage
from trayward.farm.state import SeedLot
from trayward.farm.transitions.holding import kit_needed
from trayward.farm.use_first import seed_in_line
from trayward.library.crops import facts_for
from trayward.plan.done import sown_first
from trayward.plan.types import PlannedSowing
from trayward.plan.words import evening_words
from trayward.rounds.amounts import cover_weight
from trayward.rounds.kept import ToSow
from trayward.rounds.scene import BENCH, ENOUGH, Scene
from trayward.rounds.types import Amount, RoundRow
from trayward.rounds.words import no_spot_words, sentences, slug
from trayward.science.seeds import volume_of_grams
from trayward.units import ML_PER_TABLESPOON, show_mass
from trayward.words import counted, listed

SOWING_PLACE = "sowing table"
MOST_NAMED = 3
"""So many of those a sowing is for are named in its row. [-]"""
SOAK_OVERNIGHT_H = 6.0
"""A soak this long or longer is begun the evening before; a shorter one on the day. [h]"""


@dataclass(frozen=True)
class _Seed:
    """The seed of a row: grams by lot, and what is missing."""

    lots: tuple[tuple[str, float], ...]
    each_g: float | None
    spoon: float | None
    short: str = ""


def sow_rows(scene: Scene) -> list[RoundRow]:
    """One row for each recipe and planned day that is due and not yet sown in full; none on a day off."""
    if not is_work_day(scene.settings, scene.today):
        return []
    due: dict[tuple[date, str], list[ToSow]] = defaultdict(list)
    for left in scene.kept.to_sow:
        if left.planned.sow_on <= scene.today:
            due[left.planned.sow_on, left.planned.recipe].append(left)
    taken: dict[str, float] = defaultdict(float)
    marks: set[str] = set()
    return [_sow_row(scene, taken, due[key], marks) for key in sorted(due)]


def soak_notes(scene: Scene) -> list[str]:
    """What to put in water tonight for tomorrow, where the recipe soaks and counts no stage for it."""
    tomorrow = scene.today + timedelta(days=1)
    notes = []
    for left in scene.kept.to_sow:
        recipe = scene.state.recipes.get(left.planned.recipe)
        if recipe is None or left.planned.sow_on != tomorrow or recipe.soak_h < SOAK_OVERNIGHT_H or _soaks(recipe):
            continue
        grams = _planned_grams(left)
        amount = f"{show_mass(grams, scene.settings.units.mass)} of " if grams else ""
        notes.append(f"Soak tonight for tomorrow: {amount}{recipe.crop} seed, {recipe.soak_h:g} h in water.")
    return notes


def _sow_row(scene: Scene, taken: dict[str, float], due: Sequence[ToSow], promised: set[str]) -> RoundRow:
    planned = due[0].planned
    recipe = scene.state.recipes.get(planned.recipe)
    whole, evening = sum(left.trays for left in due), sum(left.planned.waiting(left.trays) for left in due)
    trays = sown_first(whole, evening)
    late = planned.sow_on < scene.today
    if recipe is None:
        return _unknown_recipe(planned, trays)
    begin = recipe.stages[0]
    what = f"{recipe.crop} on {recipe.medium.name}, {counted(trays, 'tray')}"
    seed = _seed(scene, taken, recipe, due, trays)
    spots = _spots(scene, begin, trays)
    marks = proposed(scene.state, kit_needed(recipe, begin.name), trays, scene.at, promised)
    promised.update(marks)
    lacks = sentences(
        seed.short,
        _spots_words(begin, trays, spots),
        _spread_words(scene, recipe, trays),
        kit_short_words(scene, kit_needed(recipe, begin.name), trays),
    )
    why = sentences(
        f"planned for {day_words(planned.sow_on)}" if late else "",
        _serves_words(due),
        evening_words(evening, whole),
    )
    return RoundRow(
        row=_row_name(planned),
        number=0,
        kind="sow",
        place=SOWING_PLACE,
        crop=recipe.crop,
        recipe=recipe.name,
        stage=begin.name,
        do=f"Soak: {what}" if begin.ground == BENCH else f"Sow: {what}",
        how=_how(recipe, begin),
        amounts=(*_seed_amounts(seed, trays), *cover_weight(begin), *_kit_amounts(scene, recipe, begin, trays, marks)),
        spots=tuple(spots),
        lots=tuple(lot for lot, _ in seed.lots),
        marks=marks,
        lines=tuple(dict.fromkeys(serve.line for left in due for serve in left.planned.serves)),
        count=trays,
        overdue=late,
        since=day_start(planned.sow_on + timedelta(days=1), scene.settings) if late else None,
        lacks=lacks,
        why=why,
        minutes=round(recipe.minutes_sow * trays, 1),
    )


def _unknown_recipe(planned: PlannedSowing, trays: int) -> RoundRow:
    return RoundRow(
        row=_row_name(planned),
        number=0,
        kind="sow",
        place=SOWING_PLACE,
        crop=planned.crop,
        recipe=planned.recipe,
        do=f"Sow: {planned.crop}, {counted(trays, 'tray')}",
        count=trays,
        why=f"The farm has no recipe {planned.recipe!r} any more: run plan again.",
    )


def _row_name(planned: PlannedSowing) -> str:
    return f"sow-{slug(planned.recipe)}-{planned.sow_on:%m%d}"


def _how(recipe: Recipe, begin: Stage) -> str:
    if begin.ground == BENCH:
        return sentences(begin.do or f"{recipe.soak_h:g} h in clean water")
    soaked = f"seed soaked {recipe.soak_h:g} h before" if recipe.soak_h > 0 else ""
    spread = "weigh the seed for each tray, spread it evenly, water it well"
    return sentences(soaked, begin.do or spread)


def _soaks(recipe: Recipe) -> bool:
    return recipe.stages[0].ground == BENCH


# Seed -----------------------------------------------------------------------------------------------------------------


def _seed(scene: Scene, taken: dict[str, float], recipe: Recipe, due: Sequence[ToSow], trays: int) -> _Seed:
    """Grams for a tray, by the plan or else by the density and the lot; and the lots they come from."""
    known = facts_for(recipe.crop, scene.state.crop_facts)
    lots = _lots(scene, known)
    named = {part.lot for left in due for part in left.planned.lots}
    amount = seed_for_tray(recipe, known, lots[0] if lots else None, scene.at)
    planned = sum(_planned_grams(left) for left in due)
    # Grams were planned for the lots the plan names: of another, the density says how much it takes.
    as_planned = planned > 0 and (not named or not lots or lots[0].lot in named or amount.grams is None)
    each = planned / trays if as_planned else amount.grams
    if each is None:
        return _Seed(lots=(), each_g=None, spoon=None, short=f"to know the grams, say {listed(amount.missing)}")
    parts, short = _take(taken, lots, each * trays)
    shown = show_mass(short, scene.settings.units.mass)
    words = f"seed of {recipe.crop} is short by {shown}" if short > ENOUGH else ""
    return _Seed(lots=parts, each_g=each, spoon=_spoons(scene, recipe.crop, each), short=words)


def _planned_grams(left: ToSow) -> float:
    return left.planned.seed_g / left.planned.trays * left.trays if left.planned.trays else 0.0


def _lots(scene: Scene, known: CropFacts) -> list[SeedLot]:
    """Lots to take from, the one to use first before the others.

    None that is still on order, and none that is treated: whether that may be eaten only its label can say.
    """
    of_crop = [lot for lot in scene.state.seed.values() if lot.crop == known.crop and not lot.treated]
    here = [lot for lot in of_crop if lot.expected_on is None and lot.left_g > 0]
    return seed_in_line(here, known, scene.at, scene.settings)


def _take(
    taken: dict[str, float], lots: Sequence[SeedLot], grams: float
) -> tuple[tuple[tuple[str, float], ...], float]:
    """Grams from each lot in turn beyond what earlier rows have `taken`, and what is missing after the last."""
    parts: list[tuple[str, float]] = []
    for lot in lots:
        part = min(lot.left_g - taken[lot.lot], grams)
        if part > 1e-9:
            parts.append((lot.lot, part))
            taken[lot.lot] += part
            grams -= part
    return tuple(parts), max(grams, 0.0)


def _spoons(scene: Scene, crop: str, grams: float) -> float | None:
    """Level tablespoons that hold so much seed; None where nobody knows how the seed heaps."""
    density = bulk_density(facts_for(crop, scene.state.crop_facts))
    return volume_of_grams(grams, density) / ML_PER_TABLESPOON if density is not None else None


def _seed_amounts(seed: _Seed, trays: int) -> tuple[Amount, ...]:
    if seed.each_g is None:
        return ()
    found = [Amount(what="seed", value=round(seed.each_g, 1), unit="g", note="on the scale")]
    if seed.spoon is not None:
        note = "level tablespoons, if there is no scale"
        found.append(Amount(what="seed by the spoon", value=round(seed.spoon, 1), unit="tbsp", note=note))
    if trays > 1:
        found.append(Amount(what="seed in all", value=round(seed.each_g * trays, 1), unit="g", each=False))
    found += [Amount(what=f"of lot {lot}", value=round(grams, 1), unit="g", each=False) for lot, grams in seed.lots]
    return tuple(found)


# Spots and kit --------------------------------------------------------------------------------------------------------


def _spots(scene: Scene, begin: Stage, trays: int) -> list[str]:
    """Free spots in walking order that no other row was given."""
    if begin.ground == BENCH:
        return []
    return scene.promised.firmly("dark" if begin.ground == "dark" else "lit", begin.stack, trays)


def _spots_words(begin: Stage, trays: int, spots: Sequence[str]) -> str:
    return "" if begin.ground == BENCH else no_spot_words(begin.ground, trays, len(spots))


def _spread_words(scene: Scene, recipe: Recipe, trays: int) -> str:
    """Whether seed that goes to soak now has a spot to be spread on: soaked, it does not wait for one."""
    if not _soaks(recipe) or len(recipe.stages) < 2 or recipe.stages[1].ground == BENCH:
        return ""
    after = recipe.stages[1]
    ground: Literal["dark", "lit"] = "dark" if after.ground == "dark" else "lit"
    if scene.promised.left(ground, after.stack, trays) >= trays:
        return ""
    return f"no {ground} spot is free yet to spread it on: see that there will be one before you soak"


def _kit_amounts(scene: Scene, recipe: Recipe, begin: Stage, trays: int, marks: Sequence[str]) -> tuple[Amount, ...]:
    """Pieces of each pool; of marked ones those that were longest at rest."""
    mine = by_pools(scene.state, marks)
    return tuple(
        Amount(
            what=f"kit: {pool}", value=each * trays, unit="pieces", each=False,
            note=marks_words(mine[pool]) if pool in mine else "",
        )
        for pool, each in kit_needed(recipe, begin.name).items()
    )  # fmt: skip


def kit_short_words(scene: Scene, needed: Mapping[str, int], trays: int) -> str:
    """Pools of which fewer pieces are clean and dry than trays take, so many of each [pieces]."""
    short = []
    for pool, each in needed.items():
        held = scene.state.kit.get(pool)
        ready = max(held.ready(scene.at), 0) if held is not None else 0
        if held is not None and ready < each * trays:
            rule = ", and this farm sows on cleared kit only" if held.pool.clearing.refuse else ""
            short.append(f"{pool}: {ready} clean and dry, {each * trays} needed{rule}")
    return "; ".join(short)


def _serves_words(due: Sequence[ToSow]) -> str:
    """Whom it is for, who gets most first; what else speaks for it the plan tells, not the round."""
    serves = sorted(
        (serve for left in due for serve in left.planned.serves),
        key=lambda serve: (-serve.trays, -serve.grams, serve.due, serve.line),
    )
    who = dict.fromkeys(f"{serve.customer} on {day_words(serve.due)}" for serve in serves)
    return f"for {listed(who, most=MOST_NAMED)}" if who else ""
