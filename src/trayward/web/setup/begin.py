"""The first run: one question a screen, a summary, the farm begun, the first tray sown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any, Literal
from urllib.parse import urlencode

import msgspec
from starlette.responses import RedirectResponse, Response

from trayward.desk.lookup import facts_of, lots_for
from trayward.desk.setup.first import CropOffered, FirstFarm, FirstSeed, crops_offered, first_setup
from trayward.farm.density import seed_for_tray
from trayward.farm.recipes import Recipe
from trayward.farm.settings import METRIC, US, ShownUnits
from trayward.farm.spots import free_spots
from trayward.farm.state import FarmState, SeedLot
from trayward.rounds.words import likely_weight
from trayward.units import show_mass
from trayward.web.ask import Ask
from trayward.web.faults import fault_of
from trayward.web.setup import steps
from trayward.web.setup.zones import ZONES
from trayward.web.typed import Typed


class CropLine(msgspec.Struct, frozen=True, kw_only=True):
    """A crop as the list of crops shows it, amounts already in words."""

    crop: str
    days: int
    grams: str
    """Likely from a tray; empty where nothing is published."""
    seed: str
    pace: str
    soak_h: float
    gels: bool


class FirstSowing(msgspec.Struct, frozen=True, kw_only=True):
    """One recipe as it would be sown now."""

    recipe: str
    crop: str
    lot: str
    """The lot it is sown from; empty where there is no seed here."""
    grams: float | None
    """Seed on a tray; None where it cannot be worked out. [g]"""
    soak_h: float
    steps: tuple[str, ...]
    room: int
    """Trays there is seed and a free spot for."""


def begin(ask: Ask) -> Response:
    """One screen of the way to a first farm; all that was said before stands in the address."""
    if ask.has_farm:
        return RedirectResponse("/setup", status_code=303)
    typed = steps.in_own_units(ask.query)
    screen = steps.screen_for(typed)
    if screen.error is not None and ask.fault is None:
        ask.fault = fault_of(screen.error)
    step = screen.step
    guess = steps.guess_for(ask.locale, ask.now.date())
    units = US if typed.text("units") == "us" else METRIC
    more = _summary(ask, typed) if step.name == "check" else {}
    words = steps.words_shown(step, typed, guess)
    return ask.show(
        "setup/begin.html",
        step=step.name,
        typed=lambda name: (words.get(name) or ("",))[0],
        zones=[(zone, zone.replace("_", " ")) for zone in ZONES],
        pool_words=lambda field: pool_words(ask, field.removeprefix("kit_").replace("_", " ")),
        number=steps.NAMES.index(step.name) + 1,
        steps=len(steps.NAMES),
        kind=typed.text("kind"),
        words=words,
        carried=steps.words_carried(step, typed),
        then=typed.text("then") if step.name != "check" else "",
        crops=_crop_lines(typed, units) if step.name in ("crops", "seed") else (),
        chosen=typed.all("crop"),
        media=steps.MEDIA,
        shown=units,
        **more,
    )


def _summary(ask: Ask, typed: Typed) -> dict[str, Any]:
    farm = steps.first_farm(typed)
    off = [ask.tongue.weekday(date(2026, 1, 5 + day)) for day in farm.days_off]

    def seed_words(seed: FirstSeed) -> str:
        amount = ask._("%(amount)s of %(crop)s", amount=show_mass(seed.grams, farm.units.mass), crop=seed.crop)
        return amount + (ask._(", comes %(day)s", day=ask.tongue.day(seed.comes)) if seed.comes else "")

    return {
        "farm": farm,
        "links": _links(typed),
        "seed_words": seed_words,
        "off_words": ask._("off on %(days)s.", days=", ".join(off)) if off else ask._("no weekday off."),
    }


def pool_words(ask: Ask, pool: str) -> str:
    """What a pool is called on a label."""
    words = {
        "mesh tray": ask._("Mesh trays"),
        "mesh mat": ask._("Mesh mats"),
        "solid tray": ask._("Solid trays"),
        "cover": ask._("Covers"),
    }
    return words.get(pool, pool)


def _crop_lines(typed: Typed, units: ShownUnits) -> tuple[CropLine, ...]:
    return tuple(crop_line(offered, units) for offered in crops_offered(typed.text("medium", steps.MEDIA[0])))


def crop_line(offered: CropOffered, units: ShownUnits) -> CropLine:
    """A crop of the library in words, amounts in the units given."""
    return CropLine(
        crop=offered.crop,
        days=round(offered.days),
        grams=likely_weight(offered.yield_g, units.mass) if offered.yield_g is not None else "",
        seed=show_mass(offered.seed_g, units.mass, figures=2) if offered.seed_g is not None else "",
        pace=offered.pace,
        soak_h=offered.soak_h,
        gels=offered.gels,
    )


def _links(typed: Typed) -> dict[str, str]:
    """From the summary back to each step, all that was said in the address."""
    kept = [(name, word) for name, word in typed if name not in steps.ABOUT or name == "was"]
    return {
        step: "/setup/begin?" + urlencode([*kept, ("step", step), ("then", "check")])
        for step in steps.NAMES
        if step != "check"
    }


def begun(ask: Ask) -> Response:
    """Begin the farm, and go on to the first sowing."""
    farm: FirstFarm = steps.first_farm(steps.in_own_units(ask.form))
    ask.begin(first_setup(farm))
    return ask.go("/setup/first", ask._("%(name)s is set up.", name=farm.name))


# The first sowing -----------------------------------------------------------------------------------------------------


def first(ask: Ask) -> Response:
    """The first sowing: which crop, how many trays, the seed to weigh."""
    state = ask.farm.state(ask.at)
    sowings = sowings_of(state, ask.at)
    chosen = next(
        (each for each in sowings if each.recipe == ask.query.text("recipe")), sowings[0] if sowings else None
    )
    return ask.show("setup/first.html", sowings=sowings, chosen=chosen, standing=len(state.growing()))


def sowings_of(state: FarmState, at: datetime) -> tuple[FirstSowing, ...]:
    """Every recipe in use as it would be sown now, those with seed here first."""
    active = state.recipes_in_use()
    # A farm of many racks has forty recipes of ten crops that begin in two or three kinds of place.
    lots = {crop: lots_for(state, crop, at) for crop in {recipe.crop for recipe in active}}
    places = {where for recipe in active if (where := _begins(recipe)) is not None}
    room = {(ground, stack): len(free_spots(state, ground, stack)) for ground, stack in places}
    found = [_sowing_of(state, recipe, lots[recipe.crop], room, at) for recipe in active]
    return tuple(sorted(found, key=lambda sowing: not sowing.room))


def _begins(recipe: Recipe) -> tuple[Literal["dark", "lit"], int] | None:
    """The kind of place a recipe's first stage stands in, and how high; None for the bench, which is never full."""
    first_stage = recipe.stages[0]
    return None if first_stage.ground == "bench" else (first_stage.ground, first_stage.stack)


def _sowing_of(
    state: FarmState,
    recipe: Recipe,
    lots: Sequence[SeedLot],
    room: Mapping[tuple[Literal["dark", "lit"], int], int],
    at: datetime,
) -> FirstSowing:
    grams = seed_for_tray(recipe, facts_of(state, recipe.crop), lots[0], at).grams if lots else None
    first_stage, begins = recipe.stages[0], _begins(recipe)
    by_seed = int(sum(lot.left_g for lot in lots) / grams + 1e-9) if grams else 0
    return FirstSowing(
        recipe=recipe.name,
        crop=recipe.crop,
        lot=lots[0].lot if lots else "",
        grams=grams,
        soak_h=recipe.soak_h,
        steps=tuple(stage.do for stage in recipe.stages[: 2 if first_stage.ground == "bench" else 1] if stage.do),
        room=by_seed if begins is None else min(by_seed, room[begins]),
    )


def sown(ask: Ask) -> Response:
    """Sown: the trays are on the rack."""
    recipe = ask.form.need("recipe", "Choose what was sown.")
    grams = ask.form.mass("grams") if ask.form.has("grams") else None
    receipt = ask.farm.sow(recipe, ask.form.whole("trays", 1, 1000), grams_per_tray=grams, **ask.said)
    state = ask.farm.state(ask.at)
    spots = [tray.spot for name in receipt.names[1:] if (tray := state.tray(name)) is not None and tray.spot]
    say = ask.ngettext("%(num)s tray sown.", "%(num)s trays sown.", len(receipt.names) - 1)
    where = ask._(" It stands on %(spots)s.", spots=", ".join(spots[:8])) if spots else ""
    return ask.recorded("/racks" if ask.has("/racks") else "/", say + where, receipt)


def first_seed(ask: Ask) -> Response:
    """Seed that came before the first sowing."""
    crop, grams = ask.form.need("crop"), ask.form.mass("seed_grams")
    taken = ask.farm.state(ask.at).seed
    lot = next(name for number in range(1, len(taken) + 2) if (name := f"{crop} {number}") not in taken)
    germination = steps.read_live(ask.form, "germination") if ask.form.has("germination") else None
    receipt = ask.farm.receive_seed(lot, crop, grams, germination=germination, **ask.said)
    where = "/setup/first?" + urlencode({"recipe": ask.form.text("recipe")})
    return ask.go(where, ask._("Seed kept as lot %(lot)s.", lot=lot), findings=receipt.findings)
