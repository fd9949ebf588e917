"""A farm that reads ounces, cups and inches is told the recipe's measures in those."""

from __future__ import annotations

import re
from datetime import datetime

import msgspec

from tests.cli.conftest import MORNING, Typed
from trayward import Farm
from trayward.farm.entries import FarmSet
from trayward.farm.settings import US

METRIC_WORDS = re.compile(r"\d ?(?:kg|ml|mm|g|l)\b(?! a thousand)")


def test_how_a_row_is_done_is_told_in_the_farms_units(shelf: Typed) -> None:
    at = datetime.fromisoformat(MORNING)
    with Farm.open(str(shelf.book)) as farm:
        settings = msgspec.structs.replace(farm.settings(at), units=US)
        farm.record(FarmSet(settings=settings), at=at, by="Ada")
        farm.sow("broccoli", 1, at=at, by="Ada")
    shelf.now = "2026-11-28T07:30:00+00:00"
    told = " ".join((shelf("round"), shelf("round", "show", "1")))
    assert "1/4 cup of water below" in " ".join(told.split())
    assert METRIC_WORDS.findall(told) == []
    assert "Seed: 0.705 oz on a nominal 1020 tray" in shelf("recipe", "show", "broccoli on mesh mat")
