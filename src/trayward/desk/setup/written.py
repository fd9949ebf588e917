"""A farm as it stands, written as a setup file: what `read_setup` reads back to the same farm."""

from __future__ import annotations

from collections.abc import Iterable

from trayward.desk.setup.model import WORK_DAYS
from trayward.desk.setup.orders import OF_SETUP
from trayward.desk.setup.toml_text import Value, block, hours_text, key_text, one_line, or_none, share_text
from trayward.desk.setup.written_stores import habit_blocks, sensor_blocks, supply_blocks
from trayward.errors import InputError
from trayward.farm.kit import Clearing, Pool
from trayward.farm.orders import LineAsked, Order, Product, StandingOrder
from trayward.farm.places import Lamp, Shelf
from trayward.farm.recipes import KitNeed, Medium, Recipe, Stage
from trayward.farm.settings import FarmPaper, FarmSettings, FarmWater
from trayward.farm.state import FarmState, SeedLot
from trayward.science.solution_constants import CACO3_MG_PER_MEQ


def setup_text(state: FarmState) -> str:
    """
    The farm's setup as TOML.

    What is no part of a setup is left out: trays, rounds, deliveries, ended standing orders, seed that is used up, and
    single orders that did not come from a setup file; supplies and sensors that are no longer used. Seed and supplies
    are written with what is left of them. Applied to the farm it
    was written of, it changes nothing (but that lines of orders are named by their product).
    """
    settings = state.settings
    assert settings is not None
    shelves = sorted((shelf for shelf in state.shelves.values() if shelf.spots), key=lambda shelf: shelf.order)
    recipes = state.recipes_in_use()
    blocks = [
        *_farm(settings),
        *_racks(shelves),
        *(_kit(held.pool) for held in state.kit.values()),
        *(_facts(crop, state) for crop in state.crop_facts),
        *_media(recipes),
        *(text for recipe in recipes for text in _recipe(recipe, state)),
        *(_product(product) for product in state.products.values()),
        *_customers(state),
        *(_lot(lot) for lot in state.seed.values() if lot.left_g > 0),
        *(text for standing in state.standing.values() if not standing.ended for text in _standing(standing)),
        *(_order(order) for order in state.orders.values() if _is_of_setup(order, state)),
        *supply_blocks(state),
        *sensor_blocks(state),
        *habit_blocks(state),
    ]
    head = f"# {one_line(settings.name)}, as it stands. Change anything, then apply the file again.\n"
    return head + "\n" + "\n\n".join(text for text in blocks if text) + "\n"


def _is_of_setup(order: Order, state: FarmState) -> bool:
    return order.source == OF_SETUP and order.order not in state.cancelled_orders


# The farm -------------------------------------------------------------------------------------------------------------


def _farm(farm: FarmSettings) -> Iterable[str]:
    yield block("[farm]", {
        "name": farm.name,
        "timezone": farm.timezone,
        "sells": farm.sells,
        "caution": share_text(farm.caution),
        "spot_orders": "as they usually come" if farm.plan_spot_orders else "once placed",
        "days_off": list(farm.days_off) or None,
        "rules": farm.rules or None,
    })  # fmt: skip
    yield block("[farm.rounds]", {walk.name: walk.at for walk in farm.rounds})
    minutes = zip(WORK_DAYS, farm.work_minutes, strict=True)
    yield block("[farm.work]", {day: f"{each!r} min" if each else "off" for day, each in minutes})
    money = farm.money
    yield block("[farm.money]", {
        "currency": money.currency, "wage_h": money.wage_h, "energy_kwh": money.energy_kwh,
        "packaging": money.packaging, "disposal_kg": money.disposal_kg, "shortfall": money.shortfall,
        "worth_home_100g": money.worth_home_100g, "calm": farm.calm,
    })  # fmt: skip
    if money.overheads:
        yield block("[farm.money.overheads]", {each.name: each.month for each in money.overheads})
    units = farm.units
    yield block("[farm.units]", {
        "mass": units.mass, "volume": units.volume, "temperature": units.temperature, "length": units.length,
    })  # fmt: skip
    if farm.water is not None:
        yield _water(farm.water)
    if farm.paper != FarmPaper():
        yield from _paper(farm.paper)
    if farm.alarm_mail.to:
        yield block("[farm.alarms]", {"mail": list(farm.alarm_mail.to), "language": farm.alarm_mail.language})


def _paper(paper: FarmPaper) -> Iterable[str]:
    yield block("[farm.paper]", {
        "size": paper.size or None, "address": list(paper.address) or None, "storage": paper.storage,
        "words": paper.words or None, "web": paper.web or None, "gs1_prefix": paper.gs1_prefix or None,
    })  # fmt: skip
    if paper.gs1_items:
        yield block("[farm.paper.gs1_items]", {each.product: each.item for each in paper.gs1_items})


def _water(water: FarmWater) -> str:
    span = water.feed_ec_ds_m
    return block("[farm.water]", {
        "ph": water.ph,
        "alkalinity": water.alkalinity_meq * CACO3_MG_PER_MEQ,
        "ec": water.ec_ds_m,
        "temperature": water.temp_c,
        "calcium": water.calcium_mg,
        "magnesium": water.magnesium_mg,
        "acid": water.acid or None,
        "feed": water.feed or None,
        "feed_adds": water.feed_gain_ds_m or None,
        "feed_ec": list(span) if span is not None else None,
    })  # fmt: skip


# Places and kit -------------------------------------------------------------------------------------------------------


def _racks(shelves: Iterable[Shelf]) -> Iterable[str]:
    racks: dict[tuple[str, str], list[Shelf]] = {}
    for shelf in shelves:
        racks.setdefault((shelf.rack, shelf.room), []).append(shelf)
    for (name, room), held in racks.items():
        yield block("[[rack]]", {"name": name, "room": room or None})
        yield from (_shelf(shelf) for shelf in held)


def _shelf(shelf: Shelf) -> str:
    return block("[[rack.shelf]]", {
        "name": shelf.name,
        "kind": shelf.kind,
        "spots": shelf.spots,
        "stack": or_none(shelf.stack, 1),
        "lamp": _lamp(shelf.lamp) if shelf.lamp is not None else None,
    })  # fmt: skip


def _lamp(lamp: Lamp) -> dict[str, Value]:
    photons: dict[str, Value] = {"umol_s": lamp.umol_s} if lamp.umol_s is not None else {}
    return {"count": lamp.count, "watts": lamp.watts, **photons, "hours": hours_text(lamp.hours)}


def _kit(pool: Pool) -> str:
    return block("[[kit]]", {
        "name": pool.name, "count": pool.count, "dry": hours_text(pool.dry_hours),
        "wash": f"{pool.minutes_wash!r} min" if pool.minutes_wash else None,
        "sanitise": or_none(pool.sanitise, False), "wear": pool.wear or None,
        "lasts": pool.lasts_uses or None, **_clearing(pool.clearing),
    })  # fmt: skip


def _clearing(rule: Clearing) -> dict[str, Value | None]:
    """Limits that were set, steps and choices that are not as usual."""
    return {
        "steps": list(rule.steps) or None, "rinse": _degrees(rule.rinse_c), "ppm_least": rule.ppm_least,
        "ppm_most": rule.ppm_most, "contact": None if rule.contact_min is None else f"{rule.contact_min!r} min",
        "agent_water_least": _degrees(rule.water_least_c), "agent_water_most": _degrees(rule.water_most_c),
        "after_mould": or_none(rule.after_mould, False), "refuse": or_none(rule.refuse, False),
    }  # fmt: skip


def _degrees(value: float | None) -> str | None:
    return None if value is None else f"{value!r} C"


# Crops and recipes ----------------------------------------------------------------------------------------------------


def _facts(crop: str, state: FarmState) -> str:
    return block(f"[crop.{key_text(crop)}]", {name: fact.value for name, fact in state.crop_facts[crop].items()})


def _media(recipes: Iterable[Recipe]) -> Iterable[str]:
    from trayward.library.recipes import standard_media

    media = dict.fromkeys(recipe.medium for recipe in recipes)
    for medium in media:
        if medium not in standard_media():
            yield _medium(medium)


def _medium(medium: Medium) -> str:
    return block("[[medium]]", {
        "name": medium.name,
        "reusable": medium.reusable,
        "aperture": f"{medium.aperture_mm!r} mm" if medium.aperture_mm is not None else None,
        "square_holes": or_none(medium.square_holes, True),
        "cost": medium.cost or None,
        "top": f"{medium.top_mm!r} mm" if medium.top_mm is not None else None,
    })  # fmt: skip


def _recipe(recipe: Recipe, state: FarmState) -> Iterable[str]:
    """Everything a recipe says, so that it is the same whatever a later library would begin it with."""
    usual = _library_recipe(recipe, state)
    grams = recipe.yield_prior
    span = (grams.low_g, grams.typical_g, grams.high_g)
    likely: Value | None = [each for each in span if each is not None] if None not in span else grams.typical_g
    yield block("[[recipe]]", {
        "name": recipe.name,
        "crop": recipe.crop,
        "medium": recipe.medium.name,
        "from_library": or_none(usual is not None, True),
        "density": recipe.live_seeds_per_cm2,
        "soak": hours_text(recipe.soak_h),
        "yield": likely,
        "yield_source": grams.source if likely is not None else None,
        "cut_window": f"{recipe.cut_window_days} d",
        "cold_room": f"{recipe.cold_room_days} d",
        "growth": share_text(recipe.growth_a_day),
        "cut_height": list(recipe.cut_height_mm),
        "feed_ph": list(recipe.feed_ph),
        "minutes": {job: getattr(recipe, f"minutes_{job}") for job in ("sow", "look", "cut", "wash")},
        "tray": {
            "name": recipe.tray.name, "length": recipe.tray.length_mm, "width": recipe.tray.width_mm,
            "depth": recipe.tray.depth_mm,
        },
        "note": recipe.note,
    })  # fmt: skip
    yield from (_need(need) for need in recipe.kit)
    yield from (_stage(stage) for stage in recipe.stages)
    names = {stage.name for stage in recipe.stages}
    for stage in usual.stages if usual is not None else ():
        if stage.name not in names:
            yield block(f"[recipe.stage.{key_text(stage.name)}]", {"skip": True})


def _library_recipe(recipe: Recipe, state: FarmState) -> Recipe | None:
    """What the library would begin it with; None for a crop that it cannot begin."""
    from trayward.library.crops import crop_names, facts_for
    from trayward.library.recipes import standard_recipe

    if recipe.crop not in crop_names() and recipe.crop not in state.crop_facts:
        return None
    try:
        return standard_recipe(recipe.crop, recipe.medium, facts_for(recipe.crop, state.crop_facts))
    except InputError:
        return None


def _need(need: KitNeed) -> str:
    return block("[[recipe.kit]]", {
        "pool": need.pool, "each": or_none(need.each, 1), "stages": list(need.stages) or None,
    })  # fmt: skip


def _stage(stage: Stage) -> str:
    return block(f"[recipe.stage.{key_text(stage.name)}]", {
        "days": [stage.days_low, stage.days_typical, stage.days_high],
        "ground": stage.ground,
        "cue": stage.cue,
        "do": stage.do,
        "cover": stage.cover,
        "weight": f"{stage.weight_g!r} g",
        "stack": stage.stack,
        "water": stage.water,
        "water_ml": stage.water_ml,
        "minutes": stage.minutes,
    })  # fmt: skip


# Selling and seed -----------------------------------------------------------------------------------------------------


def _product(product: Product) -> str:
    one = len(product.parts) == 1 and product.parts[0].share == 1.0
    return block("[[product]]", {
        "name": product.name,
        "crop": product.parts[0].crop if one else None,
        "parts": None if one else {part.crop: part.share for part in product.parts},
        "live": or_none(product.live, False),
        "pack": f"{product.pack_g!r} g" if product.pack_g is not None else None,
        "price": f"{product.price!r} per {product.price_per}",
    })  # fmt: skip


def _customers(state: FarmState) -> Iterable[str]:
    for customer in state.customers.values():
        yield block("[[customer]]", {
            "name": customer.name, "home": or_none(customer.home, False), "weight": customer.weight,
            "spot_orders": or_none(customer.spot_orders, True), "note": customer.note or None,
        })  # fmt: skip


def _lot(lot: SeedLot) -> str:
    return block("[[seed]]", {
        "lot": lot.lot,
        "crop": lot.crop,
        "amount": f"{lot.left_g!r} g",
        "variety": lot.variety or None,
        "supplier": lot.supplier or None,
        "supplier_lot": lot.supplier_lot or None,
        "germination": share_text(lot.germination) if lot.germination is not None else None,
        "tsw": f"{lot.tsw_g!r} g" if lot.tsw_g is not None else None,
        "cost": lot.cost or None,
        "expected": lot.expected_on,
    })  # fmt: skip


def _line(line: LineAsked) -> str:
    unit = {"g": "g", "pack": "packs", "tray": "trays"}.get(line.unit, line.unit)
    price = ""
    if line.price is not None:
        price = f" at {100 * line.price!r} per 100 g" if line.unit == "g" else f" at {line.price!r}"
    return f"{line.quantity!r} {unit} {line.product}{price}"


def _standing(standing: StandingOrder) -> Iterable[str]:
    yield block("[[standing]]", {
        "name": standing.standing,
        "customer": standing.customer,
        "start": standing.start,
        "rule": standing.rule,
        "lines": [_line(line) for line in standing.lines],
        "except": list(standing.except_on) or None,
        "also": list(standing.also_on) or None,
    })  # fmt: skip
    for pause in standing.pauses:
        yield block("[[standing.pause]]", {"first": pause.first, "last": pause.last})


def _order(order: Order) -> str:
    return block("[[order]]", {
        "name": order.order, "customer": order.customer, "due": order.due,
        "lines": [_line(line) for line in order.lines], "note": order.note or None,
    })  # fmt: skip
