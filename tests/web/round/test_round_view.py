"""How a round lies on its pages."""

from __future__ import annotations

import doctest
from datetime import UTC, datetime

import msgspec

from trayward.farm.places import Shelf
from trayward.farm.settings import ShownUnits
from trayward.farm.state import FarmState
from trayward.rounds.types import Amount, Round, RoundRow, RowKind
from trayward.web.round import said, view
from trayward.web.round.view import PART_ROWS, PART_SPOTS, Layout, RowShown, feed_once, row_shown, word_id

AT = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)


def farm(racks: int, shelves: int, spots: int = 8) -> FarmState:
    """A farm of empty racks."""
    state = FarmState()
    for rack in range(racks):
        for number in range(shelves):
            name = f"{chr(65 + rack)}{number + 1}"
            order = rack * shelves + number
            state.shelves[name] = Shelf(name=name, rack=name[0], room="", kind="lit", spots=spots, order=order)
    return state


def look(place: str, number: int = 1, kind: RowKind = "look", *, overdue: bool = False) -> RoundRow:
    return RoundRow(
        row=f"{kind}-{place}-{number}", number=number, kind=kind, place=place, crop="radish", do="Look: radish.",
        overdue=overdue,
    )  # fmt: skip


def test_the_examples_in_the_docstrings_hold() -> None:
    for module in (view, said):
        result = doctest.testmod(module)
        assert result.attempted > 0
        assert result.failed == 0


def test_a_small_farm_has_its_round_on_one_page_what_is_overdue_first() -> None:
    rows = [look("B1", overdue=True), look("A1"), look("A2"), look("wash place", kind="wash")]
    layout = Layout(farm(2, 4), rows)
    assert [part.key for part in layout.parts] == [""]
    assert [(title, len(found)) for title, found in layout.groups("")] == [("overdue", 1), ("A", 2), ("wash place", 1)]


def test_a_large_farm_has_parts_that_do_not_move_with_what_is_answered() -> None:
    state = farm(6, 6)
    rows = [look(shelf, number) for shelf in state.shelves for number in range(8)]
    whole, half = Layout(state, rows), Layout(state, rows[::2])
    assert [part.key for part in whole.parts] == [part.key for part in half.parts] == list("ABCDEF")
    assert max(part.rows for part in whole.parts) <= PART_SPOTS
    assert whole.chosen("C") == "C"
    assert whole.chosen("no such part") == "A"


def test_every_row_is_on_exactly_one_page_however_large_a_rack_is() -> None:
    state = farm(2, 60)
    rows = [look(shelf, number, overdue=number == 0) for shelf in state.shelves for number in range(8)]
    rows += [look("packing table", number, "pack") for number in range(150)]
    layout = Layout(state, rows)
    seen = []
    for part in layout.parts:
        for page in range(1, layout.pages(part.key) + 1):
            found = [row for _, group in layout.groups(part.key, page) for row in group]
            assert len(found) <= max(PART_SPOTS, PART_ROWS)
            seen += found
    assert sorted(row.row for row in seen) == sorted(row.row for row in rows)


def test_an_id_holds_no_spaces_whatever_a_shelf_is_called() -> None:
    assert word_id("row", "look-1-Shelf by the door, left") == "row-look-1-Shelf-by-the-door-left"


def test_amounts_are_shown_in_the_readers_units() -> None:
    from trayward.farm.settings import ShownUnits
    from trayward.rounds.types import Amount

    us = ShownUnits(mass="oz", volume="cup", temperature="F", length="in")
    shown = view.amount_shown(Amount(what="if yes, water below", value=240.0, unit="ml", note="if dry"), us)
    assert msgspec.structs.astuple(shown) == ("water below", "1 cup", True, "if dry")


def lit(name: str, *amounts: Amount) -> RowShown:
    row = msgspec.structs.replace(look("E1"), row=name, amounts=amounts)
    return row_shown(row, Round(round="2026-11-25 morning", at=AT, rows=(row,)), FarmState(), ShownUnits())


def test_what_every_tray_of_a_rack_is_fed_stands_once_above_them_with_its_caution() -> None:
    water = Amount(what="water below", value=240, unit="ml", each=True, note="if dry")
    feed = Amount(what="feed pH", value=5.8, unit="pH", each=False, note="5.5 to 6.0, acids burn")
    other = msgspec.structs.replace(feed, note="5.0 to 5.5, acids burn")
    once, rows = feed_once([lit("1", water, feed), lit("2", water, feed), lit("3", water)])
    assert once is not None
    assert (once.much, once.note) == ("5.5 to 6.0", "acids burn")
    assert [[each.what for each in row.amounts] for row in rows] == [["water below"]] * 3
    assert [[each.what for each in row.later] for row in rows] == [["feed pH"], ["feed pH"], []]
    for apart in ([lit("1", water, feed)], [lit("1", feed), lit("2", other)]):
        assert feed_once(apart) == (None, tuple(apart)), "one row, or two kinds of feed, say it themselves"
