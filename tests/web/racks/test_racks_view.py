"""What the racks page is made of, from a place."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from tests.rounds.loft import DAY_ONE, Loft, lantern_loft, sow
from trayward.farm.entries import PlaceSet
from trayward.farm.places import Shelf
from trayward.plan.types import Plan, RackUse
from trayward.rounds.place import Place, place_now
from trayward.web.racks.view import (
    ON_A_PAGE,
    ROWS_ON_A_PAGE,
    Wanted,
    crops_in,
    days_ahead,
    night_of,
    part_of,
    racks_of,
    rows_of,
    spots_of,
    stages_in,
)

TODAY = DAY_ONE.date()


def day_of(moment: datetime) -> date:
    return moment.date()


def place(loft: Loft, days: int = 0) -> Place:
    assert loft.state.settings is not None
    return place_now(loft.state, loft.state.settings, DAY_ONE + timedelta(days=days), {})


@pytest.fixture
def loft() -> Loft:
    made = lantern_loft()
    made.say(DAY_ONE, sow("S", "A1.1a", "A1.1b"), sow("R", "A2.3", crop="radish", stage="light"))
    return made


def test_a_rack_says_how_full_it_is_and_of_which_kind(loft: Loft) -> None:
    (rack,) = racks_of(loft.state, place(loft), day_of)
    assert (rack.rack, rack.room, rack.taken, rack.spots) == ("A", "loft", 3, 3 * 4 + 8)
    assert (rack.dark, rack.lit) == ((2, 12), (1, 8))
    assert rack.stages == (("germinate", 2), ("light", 1))


def test_a_pile_is_shown_with_its_highest_tray_first(loft: Loft) -> None:
    (rack,) = racks_of(loft.state, place(loft), day_of)
    floor = rack.shelves[0].floors[0]
    assert [(cell.spot, cell.tray) for cell in floor.cells] == [
        ("A1.1d", ""), ("A1.1c", ""), ("A1.1b", "S.2"), ("A1.1a", "S.1"),
    ]  # fmt: skip
    assert floor.high == 2


def test_days_in_a_stage_count_from_the_day_it_began(loft: Loft) -> None:
    (rack,) = racks_of(loft.state, place(loft, 3), day_of)
    cell = next(cell for floor in rack.shelves[0].floors for cell in floor.cells if cell.tray == "S.1")
    assert cell.days == 3
    assert cell.ready is not None
    assert TODAY < cell.ready.low <= cell.ready.likely <= cell.ready.high


def test_who_looks_for_a_crop_sees_only_that(loft: Loft) -> None:
    wanted = Wanted(crop="radish")
    (rack,) = racks_of(loft.state, place(loft), day_of, wanted=wanted)
    shown = [cell.crop for shelf in rack.shelves for floor in shelf.floors for cell in floor.cells if cell.shown]
    assert (rack.found, shown) == (1, ["radish"])
    assert [row.tray for row in rows_of(place(loft), day_of, wanted)] == ["R.1"]
    assert rows_of(place(loft), day_of, Wanted(crop="radish", stage="germinate")) == ()


def test_a_list_goes_along_the_shelves(loft: Loft) -> None:
    assert [row.spot for row in rows_of(place(loft), day_of, Wanted())] == ["A1.1a", "A1.1b", "A2.3"]
    assert [row.spot for row in rows_of(place(loft), day_of, Wanted(), frozenset({"A2.3"}))] == ["A2.3"]


def test_only_the_rack_that_is_asked_for_shows_its_shelves(loft: Loft) -> None:
    shelf = Shelf(name="B1", rack="B", room="cellar", kind="dark", spots=4, order=9)
    loft.say(DAY_ONE, PlaceSet(shelf=shelf))
    assert [len(rack.shelves) for rack in racks_of(loft.state, place(loft), day_of, open_rack="B")] == [0, 1]
    assert [len(rack.shelves) for rack in racks_of(loft.state, place(loft), day_of, open_rack=None)] == [0, 0]
    assert [len(rack.shelves) for rack in racks_of(loft.state, place(loft), day_of)] == [2, 1]
    assert spots_of(loft.state, "B") == {"B1.1", "B1.2", "B1.3", "B1.4"}


def test_a_long_rack_comes_in_parts_and_no_spot_is_lost(loft: Loft) -> None:
    for number in range(1, 41):
        name = f"C{number}"
        shelf = Shelf(name=name, rack="C", room="hall", kind="lit", spots=12, order=number + 10)
        loft.say(DAY_ONE, PlaceSet(shelf=shelf))
    seen: list[str] = []
    pages = racks_of(loft.state, place(loft), day_of, open_rack="C")[1].pages
    assert pages > 1
    for page in range(1, pages + 1):
        rack = racks_of(loft.state, place(loft), day_of, open_rack="C", page=page)[1]
        spots = [cell.spot for shelf in rack.shelves for floor in shelf.floors for cell in floor.cells]
        assert len(spots) <= ON_A_PAGE
        seen += spots
    assert len(seen) == len(set(seen)) == 480
    beyond = racks_of(loft.state, place(loft), day_of, open_rack="C", page=99)[1]
    assert beyond.page == pages


def test_a_long_list_comes_in_parts_and_no_row_is_lost(loft: Loft) -> None:
    rows = rows_of(place(loft), day_of, Wanted()) * 100
    first, page, pages = part_of(rows, 1)
    assert (len(first), page, pages) == (ROWS_ON_A_PAGE, 1, 3)
    assert [row for number in (1, 2, 3) for row in part_of(rows, number)[0]] == list(rows)
    assert part_of(rows, 99)[1] == 3
    assert part_of((), 1) == ((), 1, 1)


def test_what_can_be_looked_for_is_what_stands(loft: Loft) -> None:
    assert crops_in(place(loft)) == ("broccoli", "radish")
    assert stages_in(place(loft)) == ("germinate", "light")


def test_the_plans_own_reckoning_of_a_night_is_found_by_its_day() -> None:
    use = RackUse(limit="lit spots", has=(8.0, 8.0), likely=(3.0, 4.0), low=(2.0, 3.0), high=(4.0, 5.0))
    plan = Plan(made_at=DAY_ONE, first=TODAY, last=TODAY + timedelta(days=42), racks=(use,))
    (found,) = night_of(plan, TODAY + timedelta(days=1))
    assert (found.limit, found.has, found.low, found.likely, found.high) == ("lit spots", 8.0, 3.0, 4.0, 5.0)
    assert night_of(plan, TODAY + timedelta(days=2)) == ()
    assert night_of(plan, TODAY - timedelta(days=1)) == ()
    assert night_of(None, TODAY) == ()


def test_days_ahead_lie_ahead() -> None:
    assert [(day - TODAY).days for day in days_ahead(TODAY)] == [1, 3, 7, 14]
