"""What lamps use, as typed, or as the farm or the library says."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trayward.bench import typed as people
from trayward.errors import InputError
from trayward.web.bench.sums.declared import Given
from trayward.web.bench.sums.light_words import lamps, shelf_named, size_of

if TYPE_CHECKING:
    from trayward.bench.light_energy import LampUse
    from trayward.farm.settings import ShownUnits


def use_of(given: Given, units: ShownUnits, typed: dict[str, Any]) -> LampUse:
    """What is typed, before what the farm knows, before what the library knows."""
    from trayward.bench.light_energy import LampUse
    from trayward.bench.light_layout import HOURS as USUAL
    from trayward.bench.light_layout import LAMPS as COUNT
    from trayward.bench.light_layout import TRAYS as SIDE_BY_SIDE
    from trayward.bench.light_layout import WATTS

    own = _own_shelf(given, units, typed)
    said = lamps(typed["lamps"])
    if "umol_s" in said:
        rule = "energy is counted from watts"
        raise InputError("lamps", typed["lamps"], rule, 'Give their power, for instance "3 x 20 W".')
    watts = said["count"] * said["watts"] if said else own.get("watts", COUNT * WATTS)
    crop = _crop(given, typed["crop"]) if typed["crop"] else {}
    weight = people.mass(typed["weight"], units) if typed["weight"] is not None else None
    days = typed["days"]
    return LampUse(
        watts=watts,
        hours=next(value for value in (typed["hours"], own.get("hours"), USUAL) if value is not None),
        trays=typed["trays"] or own.get("trays") or SIDE_BY_SIDE,
        days=days if days is not None else crop.get("days"),
        days_from="" if days is not None else crop.get("days_from", ""),
        grams=weight if weight is not None else crop.get("grams"),
        grams_from="" if weight is not None else crop.get("grams_from", ""),
        shelf=own.get("shelf", ""),
        sources=("practice",) if not said and not own else (),
        **_money(given, typed),
    )


def _own_shelf(given: Given, units: ShownUnits, typed: dict[str, Any]) -> dict[str, Any]:
    """Lamps and trays of a shelf of the farm."""
    if typed["shelf"] is None:
        return {}
    if size_of(typed["shelf"], units) is not None:
        from trayward.bench.light_layout import trays_on

        return {"trays": trays_on(*size_of(typed["shelf"], units) or (0, 0))}
    from trayward.bench.light_farm import lamp_of

    shelf, _ = shelf_named(given, typed["shelf"])
    if typed["lamps"] is not None and shelf.lamp is None:
        return {"trays": shelf.spots, "shelf": shelf.name}
    lamp = lamp_of(shelf)
    if not lamp.watts and typed["lamps"] is None:
        raise InputError("lamp", shelf.name, "its power is not known", 'Give it: --lamps "2 x 36 W".')
    return {"watts": lamp.count * lamp.watts, "hours": lamp.hours, "trays": shelf.spots, "shelf": shelf.name}


def _money(given: Given, typed: dict[str, Any]) -> dict[str, Any]:
    own = given.settings.money if given.has_farm else None
    price = typed["price"]
    if price is None and own is not None and own.energy_kwh > 0:
        price = own.energy_kwh
    return {"price": price, "currency": typed["currency"] or (own.currency if own is not None else "")}


def _crop(given: Given, crop: str) -> dict[str, Any]:
    """Days in the light and weight of a tray: of the farm's recipe where there is one, else of the library's."""
    from trayward.library.crops import facts_for, library_facts
    from trayward.library.recipes import standard_recipe

    own = given.state if given.has_farm else None
    recipe = next((one for one in own.recipes.values() if crop in (one.name, one.crop)), None) if own else None
    if recipe is None:
        facts = facts_for(crop, own.crop_facts) if own and crop in own.crop_facts else library_facts(crop)
        recipe = standard_recipe(crop, facts=facts)
    days = sum(stage.days_typical for stage in recipe.growing_stages if stage.ground == "lit")
    grams = recipe.yield_prior.typical_g
    found: dict[str, Any] = {"days": days, "days_from": f"recipe {recipe.name}"} if days > 0 else {}
    return found | ({"grams": grams, "grams_from": "published, before your own trays"} if grams else {})
