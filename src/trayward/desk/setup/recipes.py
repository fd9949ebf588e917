"""What a setup file says of raising crops: a recipe of the library with the farm's own changes, or one of its own.

`[every_recipe]` holds what all recipes of the farm share; each `[[recipe]]` names its crop and medium and says only
what is different. A stage is changed under `[recipe.stage.NAME]`: what is not said there stays as the library has it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import msgspec

from trayward.desk.setup.model import parse_days, parse_hours
from trayward.desk.setup.table import Table
from trayward.errors import InputError
from trayward.farm.recipes import KitNeed, Medium, Recipe, Stage, TraySize, YieldPrior
from trayward.units import parse_length, parse_mass, parse_minutes, parse_share, parse_volume

Library = Callable[[str, Medium], Recipe]
"""The library's recipe of a crop on a medium, with the farm's own figures of that crop."""
USUAL_MEDIUM = "mesh mat"
LAST_STAGE = "ready"
_SAY_OF_RECIPE = (
    "density", "yield", "yield_source", "cut_window", "growth", "cold_room", "cut_height", "feed_ph", "soak",
    "minutes", "kit", "tray", "note", "stage",
)  # fmt: skip


class Recipes(NamedTuple):
    """The recipes of a file, and the crops of those that the library could not begin."""

    found: list[Recipe]
    lost: tuple[str, ...]


def read_recipes(root: Table, library: Library, media: tuple[Medium, ...], pools: tuple[str, ...]) -> Recipes:
    """The `[[recipe]]` tables, each over `[every_recipe]`, over the library."""
    shared = root.table("every_recipe")
    found: list[Recipe] = []
    lost: list[str] = []
    for table in root.tables("recipe"):
        begin = _begin(table, library, media)
        if not begin.stages and table.flag("from_library", True):
            # A problem already; what else stands there can only be judged once the crop is known.
            lost.append(begin.crop)
            found.append(begin)
            continue
        recipe = _changed(table, _changed(shared, begin) if shared is not None else begin)
        _check(table, recipe, pools)
        table.finish()
        found.append(recipe)
    if shared is not None:
        shared.asked |= set(_SAY_OF_RECIPE)
        shared.finish()
    if not found:
        root.missing("recipe", 'Write [[recipe]] and crop = "broccoli": a farm grows something.')
    return Recipes(found, tuple(lost))


def _begin(table: Table, library: Library, media: tuple[Medium, ...]) -> Recipe:
    """The library's recipe for the crop and medium, or an empty one where the file gives every stage itself."""
    crop = table.text("crop", None, remedy="Name the crop.")
    medium = _medium(table, media)
    recipe = Recipe(name=f"{crop} on {medium.name}", crop=crop, medium=medium, stages=(), live_seeds_per_cm2=0.0)
    if table.flag("from_library", True) and crop:
        try:
            recipe = library(crop, medium)
        except InputError as err:
            table.wrong("crop", err.rule, f"{err.remedy} {_ALONE}".strip())
    return msgspec.structs.replace(recipe, name=table.text("name", recipe.name))


_ALONE = "Or give the whole recipe here: from_library = false, with density, [recipe.stage.NAME] and the yield."


def read_media(root: Table, standard: tuple[Medium, ...]) -> tuple[Medium, ...]:
    """The `[[medium]]` tables, which recipes may name, before the library's media of other names."""
    own = [_own_medium(table) for table in root.tables("medium")]
    names = {medium.name for medium in own}
    return (*own, *(medium for medium in standard if medium.name not in names))


def _medium(table: Table, media: tuple[Medium, ...]) -> Medium:
    chosen = table.choice("medium", tuple(medium.name for medium in media), USUAL_MEDIUM)
    return next((medium for medium in media if medium.name == chosen), Medium(name=chosen))


def _own_medium(table: Table) -> Medium:
    medium = Medium(
        name=table.text("name", None, remedy="Give the medium a name."),
        reusable=table.flag("reusable", False),
        aperture_mm=table.amount("aperture", parse_length, "mm", low=0.05) if table.has("aperture") else None,
        square_holes=table.flag("square_holes", True),
        cost=table.number("cost", 0.0),
        top_mm=table.amount("top", parse_length, "mm", low=0.5, high=300.0) if table.has("top") else None,
    )
    table.finish()
    return medium


def _changed(table: Table, recipe: Recipe) -> Recipe:
    """The recipe with everything a table says of it."""
    changes: dict[str, object] = {}
    if table.has("density"):
        changes["live_seeds_per_cm2"] = table.number("density", low=0.01, high=60.0, unit="live seeds per cm2")
    if table.has("soak"):
        changes["soak_h"] = table.amount("soak", parse_hours, "hours", high=72.0)
    if table.has("growth"):
        changes["growth_a_day"] = table.amount("growth", parse_share, "as a share", high=1.0)
    if table.has("cut_window"):
        changes["cut_window_days"] = _whole_days(table, "cut_window", 1)
    if table.has("cold_room"):
        changes["cold_room_days"] = _whole_days(table, "cold_room", 0)
    changes |= _ranges(table) | _minutes(table) | _yield(table)
    if table.has("kit"):
        changes["kit"] = tuple(_need(need) for need in table.tables("kit"))
    if (tray := table.table("tray")) is not None:
        changes["tray"] = _tray(tray, recipe.tray)
    if table.has("note"):
        changes["note"] = table.text("note")
    stages = _stages(table, recipe.stages)
    changes["stages"] = stages
    changes.setdefault("kit", _still_needed(recipe.kit, stages))
    return msgspec.structs.replace(recipe, **changes)


def _whole_days(table: Table, key: str, low: int) -> int:
    days = table.amount(key, parse_days, "days", low=float(low), high=60.0)
    if days != round(days):
        table.wrong(key, "must be whole days", "Leave the fraction out.")
    return round(days)


def _ranges(table: Table) -> dict[str, object]:
    found: dict[str, object] = {}
    for key, name, parse, unit in (
        ("cut_height", "cut_height_mm", parse_length, "mm"),
        ("feed_ph", "feed_ph", float, "pH"),
    ):
        values = table.amounts(key, parse, unit, (2,))
        if values:
            found[name] = values
    return found


def _minutes(table: Table) -> dict[str, object]:
    minutes = table.table("minutes")
    if minutes is None:
        return {}
    found: dict[str, object] = {
        f"minutes_{job}": minutes.amount(job, parse_minutes, "minutes", high=600.0)
        for job in ("sow", "look", "cut", "wash")
        if minutes.has(job)
    }
    minutes.finish()
    return found


def _yield(table: Table) -> dict[str, object]:
    """One likely weight a tray, or low, likely and high."""
    grams = table.amounts("yield", parse_mass, "g", (3, 1), low=1.0)
    source = table.text("yield_source", "this farm")
    if not grams:
        return {}
    low, typical, high = grams if len(grams) == 3 else (None, grams[0], None)
    return {"yield_prior": YieldPrior(low_g=low, typical_g=typical, high_g=high, source=source)}


def _still_needed(kit: tuple[KitNeed, ...], stages: tuple[Stage, ...]) -> tuple[KitNeed, ...]:
    """The library's kit without the stages this farm skips."""
    names = {stage.name for stage in stages}
    left = [
        (need, msgspec.structs.replace(need, stages=tuple(name for name in need.stages if name in names)))
        for need in kit
    ]
    return tuple(kept for need, kept in left if kept.stages or not need.stages)


def _need(table: Table) -> KitNeed:
    need = KitNeed(
        pool=table.text("pool", None, remedy="Name the kit pool."),
        each=table.whole("each", 1, low=1, high=20),
        stages=table.texts("stages"),
    )
    table.finish()
    return need


def _tray(table: Table, usual: TraySize) -> TraySize:
    tray = TraySize(
        name=table.text("name", usual.name),
        length_mm=table.amount("length", parse_length, "mm", usual.length_mm, low=50.0, high=3000.0),
        width_mm=table.amount("width", parse_length, "mm", usual.width_mm, low=50.0, high=3000.0),
        depth_mm=table.amount("depth", parse_length, "mm", usual.depth_mm, low=5.0, high=300.0),
    )
    table.finish()
    return tray


# Stages ---------------------------------------------------------------------------------------------------------------


def _stages(table: Table, usual: tuple[Stage, ...]) -> tuple[Stage, ...]:
    """The usual stages with those of `[recipe.stage.NAME]` changed, added (before `ready`) or skipped."""
    said = table.table("stage")
    if said is None:
        return usual
    stages = list(usual)
    for name in said.values:
        own = said.table(name)
        if own is None:
            continue
        names = [stage.name for stage in stages]
        before = stages[names.index(name)] if name in names else None
        stage = _stage(own, name, before)
        if own.flag("skip", False):
            stages = [kept for kept in stages if kept.name != name]
        elif before is not None:
            stages[names.index(name)] = stage
        else:
            stages.insert(names.index(LAST_STAGE) if LAST_STAGE in names else len(names), stage)
        own.finish()
    return tuple(stages)


def _stage(table: Table, name: str, usual: Stage | None) -> Stage:
    """One stage: `usual` where nothing is said of it."""
    skipped = table.raw("skip") is True
    base = usual or Stage(name=name, days_low=0.0, days_typical=0.0, days_high=0.0, ground="lit")
    if usual is None and not skipped:
        for key in ("days", "ground"):
            if key not in table.values:
                table.missing(key, "A stage the library does not have needs its days and its ground.")
    days = table.amounts("days", parse_days, "days", (3, 1))
    low, typical, high = days * 3 if len(days) == 1 else days or (base.days_low, base.days_typical, base.days_high)
    return msgspec.structs.replace(
        base,
        days_low=low,
        days_typical=typical,
        days_high=high,
        ground=table.choice("ground", ("bench", "dark", "lit"), base.ground),
        cue=table.text("cue", base.cue),
        do=table.text("do", base.do),
        cover=table.choice("cover", ("none", "weight", "blackout"), base.cover),
        weight_g=table.amount("weight", parse_mass, "g", base.weight_g, high=50_000.0),
        stack=table.whole("stack", base.stack, low=1, high=26),
        water=table.choice("water", ("none", "soak", "mist", "below"), base.water),
        water_ml=table.amount("water_ml", parse_volume, "ml", base.water_ml, high=20_000.0),
        minutes=table.amount("minutes", parse_minutes, "minutes", base.minutes, high=600.0),
    )


def _check(table: Table, recipe: Recipe, pools: tuple[str, ...]) -> None:
    """What must hold for a recipe to be workable on this farm."""
    names = [stage.name for stage in recipe.stages]
    if names[-1:] != [LAST_STAGE]:
        table.missing(f"stage.{LAST_STAGE}", "The last stage is called ready: lit, the tray waits to be cut.")
    if recipe.live_seeds_per_cm2 <= 0:
        table.missing("density", "Give it in live seeds per cm2.")
    for need in recipe.kit:
        if need.pool not in pools:
            remedy = f"Known: {', '.join(pools) or 'none'}; or add a [[kit]] of that name."
            table.wrong("kit", "the farm has no such kit pool", remedy, need.pool)
        for stage in need.stages:
            if names and stage not in names:
                table.wrong("kit", "the recipe has no such stage", f"Its stages: {', '.join(names)}.", stage)
