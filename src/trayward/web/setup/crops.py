"""What is grown: recipes taken up and dropped, and a crop's own figures on this farm."""

from __future__ import annotations

import msgspec
from starlette.responses import Response

from trayward.desk.lookup import facts_of
from trayward.desk.setup.first import crops_offered
from trayward.errors import InputError, NotFoundError
from trayward.farm.entries import RecipeSet
from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState
from trayward.web.ask import Ask
from trayward.web.setup import steps
from trayward.web.setup.begin import CropLine, crop_line


class RecipeLine(msgspec.Struct, frozen=True, kw_only=True):
    """A recipe of the farm."""

    recipe: str
    crop: str
    days: float
    yield_g: float | None
    used: bool
    growing: int
    """Trays of it that stand."""


class FactLine(msgspec.Struct, frozen=True, kw_only=True):
    """A figure of a crop: the farm's own word, else the library's."""

    words: str
    """Its column in words."""
    value: str
    own: bool


def crops(ask: Ask) -> Response:
    """Recipes in use, recipes dropped, and what the library has besides."""
    state = ask.farm.state(ask.at)
    lines = recipes_of(state)
    return ask.show(
        "setup/crops.html",
        used=[line for line in lines if line.used],
        dropped=[line for line in lines if not line.used],
        offered=offered_to(state, ask),
        media=steps.MEDIA,
        medium=_usual_medium(state),
        all_crops=tuple(dict.fromkeys([line.crop for line in lines])),
    )


def recipes_of(state: FarmState) -> tuple[RecipeLine, ...]:
    """Every recipe of the farm, by name."""
    growing: dict[str, int] = {}
    for tray in state.growing():
        growing[tray.recipe] = growing.get(tray.recipe, 0) + 1
    return tuple(
        RecipeLine(
            recipe=name,
            crop=recipe.crop,
            days=sum(stage.days_typical for stage in recipe.stages if stage.name != "ready"),
            yield_g=recipe.yield_prior.typical_g,
            used=name not in state.dropped_recipes,
            growing=growing.get(name, 0),
        )
        for name, recipe in sorted(state.recipes.items())
    )


def offered_to(state: FarmState, ask: Ask) -> tuple[CropLine, ...]:
    """Crops of the library that the farm does not grow."""
    grown = state.crops_in_use()
    units = ask.units
    medium = _usual_medium(state)
    medium = medium if medium in steps.MEDIA else steps.MEDIA[0]
    return tuple(crop_line(each, units) for each in crops_offered(medium) if each.crop not in grown)


def _usual_medium(state: FarmState) -> str:
    first = next(iter(state.recipes.values()), None)
    return first.medium.name if first is not None else steps.MEDIA[0]


def take_up(ask: Ask) -> Response:
    """Grow a crop of the library on a medium, or a recipe that was dropped once more."""
    state = ask.farm.state(ask.at)
    if ask.form.has("recipe"):
        recipe = _known(state, ask.form.text("recipe"))
        body = RecipeSet(recipe=recipe)
    else:
        body = RecipeSet(recipe=standard(state, ask.form.need("crop"), ask.form.choice("medium", steps.MEDIA)))
    if body.recipe.name in state.recipes and body.recipe.name not in state.dropped_recipes:
        raise InputError("crop", body.recipe.name, "is grown already", "Choose another crop or medium.")
    receipt = ask.farm.record(body, **ask.said)
    lacking = [need.pool for need in body.recipe.kit if need.pool not in state.kit]
    say = ask._("%(recipe)s is grown from now on.", recipe=body.recipe.name)
    if lacking:
        say += " " + ask._("It needs kit the farm does not have: %(kit)s.", kit=", ".join(lacking))
    return ask.recorded("/setup/crops", say, receipt)


def standard(state: FarmState, crop: str, medium: str) -> Recipe:
    """The library's recipe with the farm's own figures; on a medium that a recipe of the farm describes, as there."""
    from trayward.library.recipes import standard_recipe

    own = next((recipe.medium for recipe in state.recipes.values() if recipe.medium.name == medium), medium)
    return standard_recipe(crop, own, facts_of(state, crop))


def _known(state: FarmState, name: str) -> Recipe:
    if name not in state.recipes:
        raise NotFoundError("recipe", name, tuple(state.recipes))
    return state.recipes[name]


def drop(ask: Ask) -> Response:
    """Grow a recipe no more; trays that stand go on."""
    recipe = _known(ask.farm.state(ask.at), ask.form.need("recipe"))
    receipt = ask.farm.record(RecipeSet(recipe=recipe, dropped=True), **ask.said)
    say = ask._("%(recipe)s is sown no more.", recipe=recipe.name)
    return ask.recorded("/setup/crops", say, receipt)


# Figures --------------------------------------------------------------------------------------------------------------


def facts(ask: Ask) -> Response:
    """A crop's figures, the farm's own first."""
    from trayward.library.crops import crop_names, fact_columns

    state = ask.farm.state(ask.at)
    crop = ask.path["crop"]
    if crop not in crop_names() and crop not in {recipe.crop for recipe in state.recipes.values()}:
        raise NotFoundError("crop", crop, crop_names())
    lines = facts_lines(state, crop)
    return ask.show(
        "setup/facts.html", crop=crop, own=[line for line in lines if line.own],
        known=[line for line in lines if not line.own],
        columns=[(name, ask.say(column_words(name))) for name in fact_columns()],
    )  # fmt: skip


def facts_lines(state: FarmState, crop: str) -> tuple[FactLine, ...]:
    """What is known of a crop."""
    own = state.crop_facts.get(crop, {})
    known = facts_of(state, crop).facts
    return tuple(
        FactLine(words=column_words(name), value=f"{fact.value:g}" if isinstance(fact.value, float) else
                 str(fact.value), own=name in own)
        for name, fact in known.items() if fact.value is not None
    )  # fmt: skip


ENDS = {"low": "at least", "typ": "likely", "high": "at most"}
NAMED = {
    "tsw_g": "a thousand seeds [g]",
    "seed_equiv_diam_mm": "seed across, as a ball [mm]",
    "square_mesh_pass_mm": "square mesh the seed passes [mm]",
    "passes_1mm_mesh": "passes a 1 mm mesh (yes, no)",
    "bulk_density_g_per_ml": "seed poured [g/ml]",
    "mucilaginous": "turns to gel when wet (yes, no)",
    "soak_h": "soak [h]",
    "sow_g_per_1020": "seed on a 1020 tray [g]",
    "days_germ_under_cover": "days under cover",
    "days_blackout": "days of blackout",
    "days_light": "days in the light",
    "days_sow_to_harvest": "days from sowing to the cut",
    "yield_g_per_1020": "cut from a 1020 tray [g]",
    "harvest_height_mm": "height at the cut [mm]",
    "t_opt_germ_C": "best temperature to germinate [°C]",
    "t_ceiling_germ_C": "too warm to germinate [°C]",
    "t_min_practical_C": "too cool to germinate [°C]",
    "t_base_emerg_C": "coming up stands still below [°C]",
    "tt_emerg_degCday": "warmth until it is up [°C days]",
    "storage_life_days_4_5C": "days it keeps at 4 to 5 °C",
    "germ_pct_fsa_min": "least germination by seed law [%]",
    "seed_width_mm": "seed width [mm]",
    "germ_pct_lab_best": "best germination in a laboratory [%]",
    "t_base_germ_C": "germination stands still below [°C]",
    "seed_thickness_mm": "seed thickness [mm]",
    "tt50_germ_degCday": "warmth until half has sprouted [°C days]",
    "germ_pct_usual": "usual germination [%]",
    "seed_lead_days": "days from ordering seed until it comes",
}


def column_words(name: str) -> str:
    """
    A column of the crop table in words.

    Examples
    --------
    >>> column_words("tsw_g_typ"), column_words("germ_pct_usual")
    ('a thousand seeds [g], likely', 'usual germination [%]')
    """
    stem, _, end = name.rpartition("_")
    if stem in NAMED and end in ENDS:
        return f"{NAMED[stem]}, {ENDS[end]}"
    return NAMED.get(name, name.replace("_", " "))


def set_fact(ask: Ask) -> Response:
    """What a figure is on this farm; it goes before the library's."""
    from trayward.library.crops import fact_columns

    form, crop = ask.form, ask.path["crop"]
    column = form.choice("column", fact_columns())
    words = form.need("value", "A figure, or a word such as yes.")
    try:
        value: float | str = float(words.replace(",", "."))
    except ValueError:
        value = words
    receipt = ask.farm.set_crop_fact(crop, column, value, form.text("note"), **ask.said)
    say = ask._("Kept. Recipes that are in use stay as they are.")
    return ask.recorded(f"/setup/crop/{crop}", say, receipt)
