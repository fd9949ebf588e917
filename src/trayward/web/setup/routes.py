"""Setup: the first run, and later changes of the farm itself; each change is an entry of the book."""

from __future__ import annotations

from trayward.web.routing import UPLOAD_LIMIT, act, page
from trayward.web.setup import begin, changes, crops, file, places
from trayward.web.setup.overview import overview

ROUTES = (
    page("/setup", overview, may="run", farmless=True),
    page("/setup/begin", begin.begin, may="run", farmless=True),
    act("/setup/begin", begin.begun, may="run", farmless=True),
    page("/setup/first", begin.first, may="answer"),
    act("/setup/first", begin.sown, may="answer"),
    act("/setup/first/seed", begin.first_seed, may="run"),
    page("/setup/farm", changes.farm, may="run"),
    act("/setup/farm", changes.set_farm, may="run"),
    page("/setup/day", changes.day, may="run"),
    act("/setup/day", changes.set_day, may="run"),
    act("/setup/off", changes.set_off, may="run"),
    page("/setup/money", changes.money, may="run"),
    act("/setup/money", changes.set_money, may="run"),
    page("/setup/water", changes.water, may="run"),
    act("/setup/water", changes.set_water, may="run"),
    act("/setup/water/forget", changes.forget_water, may="run"),
    page("/setup/places", places.places, may="run"),
    page("/setup/shelf/{name}", places.shelf, may="run"),
    act("/setup/shelf", places.set_shelf, may="run"),
    act("/setup/shelves", places.add_shelves, may="run"),
    page("/setup/kit", places.kit, may="run"),
    act("/setup/kit", places.set_kit, may="run"),
    act("/setup/kit/count", places.count_kit, may="run"),
    page("/setup/crops", crops.crops, may="run"),
    act("/setup/crops", crops.take_up, may="run"),
    act("/setup/crops/drop", crops.drop, may="run"),
    page("/setup/crop/{crop}", crops.facts, may="run"),
    act("/setup/crop/{crop}", crops.set_fact, may="run"),
    page("/setup/file", file.file, may="run", farmless=True),
    act("/setup/file", file.look, may="run", farmless=True, limit=UPLOAD_LIMIT),
    page("/setup/farm.toml", file.farm_toml, may="run"),
)
