"""Setup as it stands, in sentences, and the way to each part of it."""

from __future__ import annotations

from collections import Counter

import msgspec
from starlette.responses import RedirectResponse, Response

from trayward.farm.state import FarmState
from trayward.web.ask import Ask


class Standing(msgspec.Struct, frozen=True, kw_only=True):
    """What the farm is like, in figures."""

    shelves: int
    dark: int
    """Spots for trays in the dark, stacks counted."""
    lit: int
    kit: tuple[tuple[str, int], ...]
    crops: tuple[str, ...]
    own_facts: int
    lots: int
    customers: int


def overview(ask: Ask) -> Response:
    """Every part of the setup with what it says; before there is a farm, the way to one."""
    if not ask.has_farm:
        return RedirectResponse("/setup/begin", status_code=303)
    state = ask.farm.state(ask.at)
    return ask.show("setup/overview.html", farm=ask.settings, standing=standing_of(state))


def standing_of(state: FarmState) -> Standing:
    """The farm in figures."""
    spots: Counter[str] = Counter()
    for shelf in state.shelves.values():
        spots[shelf.kind] += shelf.spots * shelf.stack
    grown = [recipe.crop for recipe in state.recipes_in_use()]
    return Standing(
        shelves=sum(1 for shelf in state.shelves.values() if shelf.spots),
        dark=spots["dark"],
        lit=spots["lit"],
        kit=tuple((name, held.pool.count) for name, held in state.kit.items()),
        crops=tuple(dict.fromkeys(grown)),
        own_facts=sum(len(facts) for facts in state.crop_facts.values()),
        lots=sum(1 for lot in state.seed.values() if lot.left_g > 0),
        customers=len(state.customers),
    )
