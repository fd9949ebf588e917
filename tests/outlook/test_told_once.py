"""Trays of a sowing that grow alike are worked out once, and each is told exactly what it would be told alone."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import msgspec

from trayward import Farm
from trayward.farm.places import Lamp
from trayward.outlook.ahead import look_ahead

START = datetime(2026, 11, 25, 7, tzinfo=UTC)


def test_trays_told_together_are_told_as_each_alone() -> None:
    with Farm.create(":memory:", "loft", at=START) as farm:
        shelves = [shelf for shelf in farm.state(START).shelves.values() if shelf.kind == "lit"][:3]
        for number, shelf in enumerate(shelves):
            # Lamps of three strengths, so that light is known and differs.
            farm.set_shelf(msgspec.structs.replace(shelf, lamp=Lamp(umol_s=40.0 * (1 + number))), at=START)
        recipe = next(iter(farm.state(START).recipes.values()))
        crop = recipe.crop
        farm.receive_seed("S1", crop, 5000, germination=0.9, tsw_g=3.0, at=START, sure=True)
        spots = [spot for shelf in shelves for spot in shelf.spot_names()[:2]]
        stage = next(each.name for each in recipe.stages if each.ground == "lit")
        farm.sow(recipe.name, len(spots), lot="S1", grams_per_tray=15, spots=spots, stage=stage, at=START, sure=True)
        at = START + timedelta(days=1)
        state = farm.state(at)
        together = look_ahead(state, at)
        told = [together.standing(tray) for tray in state.growing()]
        alone = [look_ahead(state, at).standing(tray) for tray in state.growing()]
        assert told == alone
        assert len(together._standing) == len(shelves)
