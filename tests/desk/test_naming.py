"""Short names: a day and a letter, none given twice."""

from __future__ import annotations

from datetime import UTC, date, datetime

from hypothesis import given
from hypothesis import strategies as st

from trayward.desk.naming import Taken, letters, names_made, new_entry_id, next_name, tray_names
from trayward.farm.entries import Cut, Entry, Note, SowingMade, TrayCut, TraySown
from trayward.store import open_book

AT = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)


def test_letters_go_on_after_z() -> None:
    assert [letters(number) for number in (0, 25, 26, 27, 51, 52, 701, 702)] == [
        "A",
        "Z",
        "AA",
        "AB",
        "AZ",
        "BA",
        "ZZ",
        "AAA",
    ]


@given(st.integers(0, 20_000), st.integers(0, 20_000))
def test_no_two_numbers_have_the_same_letters(one: int, two: int) -> None:
    assert (letters(one) == letters(two)) == (one == two)


def test_the_next_name_is_the_first_free_one_of_the_day() -> None:
    day = date(2026, 11, 5)
    assert next_name(day, set()) == "261105A"
    assert next_name(day, {"261105A", "261105C"}) == "261105B"
    assert next_name(day, {f"H261105{letters(number)}" for number in range(26)}, "H") == "H261105AA"


def test_trays_are_numbered_from_1() -> None:
    assert tray_names("261125A", 3) == ("261125A.1", "261125A.2", "261125A.3")


def test_entry_ids_are_what_the_book_takes_and_unlike_each_other() -> None:
    made = {new_entry_id() for _ in range(200)}
    assert len(made) == 200
    assert all(8 <= len(name) <= 64 and name.isalnum() for name in made)


def test_a_name_is_taken_if_it_is_held_or_the_book_mentions_it() -> None:
    body = Cut(harvest="H261125A", crop="radish", trays=(TrayCut(tray="261125A.1", grams=120.0),))
    with open_book(":memory:", create=True) as book:
        book.append([Entry(id="entry-0001", at=AT, recorded=AT, by="Ada", body=body)])
        taken = Taken(book, "harvest", {"H261125B"})
        assert [name in taken for name in ("H261125A", "H261125B", "H261125C")] == [True, True, False]
        assert "H261125A" not in Taken(book, "pack"), "another kind of name"


def test_the_names_a_call_made_are_read_back_from_what_it_said() -> None:
    sowing = SowingMade(sowing="261125A", recipe="radish", trays=(TraySown(tray="261125A.1"),), lots=())
    assert names_made([sowing, Note(text="late")]) == ("261125A", "261125A.1")
