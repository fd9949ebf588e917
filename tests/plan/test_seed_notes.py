"""What the plan says of seed that it cannot count on as the book stands."""

from __future__ import annotations

from datetime import timedelta

import msgspec

from tests.plan.farms import NOW, day, farm, lot, recipe
from trayward.farm.calendar import local_day
from trayward.farm.state import SeedLot
from trayward.plan.days import Days
from trayward.plan.seed import SeedStock, seed_stock

COMES = day(3)


def stock(*lots: SeedLot, crop: str = "radish") -> SeedStock:
    """The seed of a crop, of these lots."""
    state = farm(lots=lots, recipes=(recipe(crop),))
    assert state.settings is not None
    days = Days(state.settings, local_day(NOW, state.settings), 21)
    return seed_stock(state, crop, list(state.recipes.values()), days, NOW)


def test_seed_on_order_is_there_from_the_day_it_comes() -> None:
    found = stock(lot(name="R-1", grams=20.0), lot(name="R-2", grams=500.0, expected=COMES))
    assert found.notes == ()
    assert [when for when, _ in found.arrivals()] == [0, 3]


def test_seed_of_which_too_little_is_known_is_called_by_its_name() -> None:
    """Of basil no source says how much of an ordinary lot sprouts."""
    bare = SeedLot(lot="B-2", crop="basil", received_at=NOW, received_g=500.0, left_g=0.0, expected_on=COMES)
    (note,) = stock(lot("basil", name="B-1"), bare, crop="basil").notes
    assert note.startswith("Seed lot B-2 of basil cannot be weighed out: say the ")
    assert "SeedLot(" not in note


def test_seed_that_was_to_come_before_today_says_its_day_and_the_way_out() -> None:
    late = msgspec.structs.replace(lot(name="R-2", expected=COMES), expected_on=day(0) - timedelta(days=1))
    (note,) = stock(late).notes
    assert note.startswith("Seed lot R-2 of radish was to come ")
    assert note.endswith("it is counted from tomorrow. Receive it, or say when it comes.")
    assert late.expected_on is not None
    assert late.expected_on.isoformat() not in note
