"""People from the terminal: let in with a password that stands in no command, changed, logged out, let go; tokens."""

from __future__ import annotations

import pytest

from tests.cli.conftest import Typed
from trayward.store import SqlBook, open_book
from trayward.store.people import SqlPeople

GOOD = "seven wet trays drip"
TWICE = f"{GOOD}\n{GOOD}\n"


@pytest.fixture
def staffed(shelf: Typed) -> Typed:
    """The shelf with Ada, its owner, and Mira, a hand without a password."""
    shelf("people", "add", "Ada", "--role", "owner", stdin=TWICE)
    shelf("people", "add", "Mira", "--role", "hand", "--no-password")
    return shelf


def people_of(typed: Typed) -> tuple[SqlBook, SqlPeople]:
    book = open_book(typed.book)
    return book, SqlPeople(book)


def test_without_people_it_says_what_that_means(shelf: Typed) -> None:
    assert "the pages answer this machine alone" in shelf("people")
    assert shelf.json("people", "list") == {"people": []}


def test_the_first_is_an_owner_whose_password_is_asked_for_twice(shelf: Typed) -> None:
    result = shelf.run("people", "add", "Ada", "--role", "owner", stdin=TWICE)
    assert result.exit_code == 0
    assert "Ada is in, as owner." in result.stdout
    assert GOOD not in result.output
    assert shelf.json("people", "list")["people"][0] == {
        "name": "Ada",
        "role": "owner",
        "since": "2026-11-25T07:30:00Z",
        "password": True,
        "pin": False,
        "devices": 0,
    }
    assert shelf.json("people", "changes")["changes"][0]["by"] == "Ada"


def test_the_first_cannot_be_a_hand(shelf: Typed) -> None:
    told = shelf.refused("people", "add", "Mira", "--role", "hand", "--no-password", code=2)
    assert "the first person must be an owner" in told


def test_there_is_no_way_to_give_a_password_on_the_command_line(shelf: Typed) -> None:
    assert "No such option" in shelf.refused("people", "add", "Ada", "--role", "owner", "--password", GOOD, code=2)


def test_where_nobody_can_type_a_password_it_says_so(shelf: Typed) -> None:
    assert "nobody typed one" in shelf.refused("people", "add", "Ada", "--role", "owner", code=2)


def test_a_short_password_is_refused_and_not_repeated(shelf: Typed) -> None:
    result = shelf.run("people", "add", "Ada", "--role", "owner", stdin="wet trays\nwet trays\n")
    assert result.exit_code == 2
    assert "it must have 10 to 200 characters" in result.stderr
    assert "wet trays" not in result.output


def test_everybody_is_listed(staffed: Typed) -> None:
    told = staffed("people")
    assert [line.split() for line in told.splitlines()[2:]] == [
        ["Ada", "owner", "yes", "no", "0"],
        ["Mira", "hand", "no", "no", "0"],
    ]


def test_a_role_is_changed(staffed: Typed) -> None:
    assert "Mira is reader now." in staffed("people", "role", "mira", "--role", "reader")
    assert staffed.json("people")["people"][1]["role"] == "reader"


def test_the_last_owner_stays(staffed: Typed) -> None:
    assert "the last owner cannot be removed" in staffed.refused("people", "remove", "Ada", code=2)
    assert "the last owner" in staffed.refused("people", "role", "Ada", "--role", "hand", code=2)


def test_a_name_not_known_is_said_with_those_near(staffed: Typed) -> None:
    assert "Did you mean Mira" in staffed.refused("people", "remove", "Mirra", code=2)


def test_a_new_password_and_lost_phones_log_out(staffed: Typed) -> None:
    book, people = people_of(staffed)
    with book:
        mira, ada = people.persons.named("Mira"), people.persons.named("Ada")
        at = ada.since
        keys = [people.sessions.begin(one.id, "a phone", at=at) for one in (mira, mira, ada)]
        assert "Mira is logged out on 2 devices." in staffed("people", "end-sessions", "Mira")
        assert [people.sessions.seen(key, at) is not None for key in keys] == [False, False, True]
        other = "eleven dry mats hang"
        told = staffed("people", "password", "Ada", stdin=f"{other}\n{other}\n")
        assert "Ada has a new password, and is logged out everywhere." in told
        assert people.sessions.seen(keys[2], at) is None
        assert people.persons.fits_password(ada.id, other)


def test_a_renamed_person_and_one_who_went(staffed: Typed) -> None:
    assert "Mira is called Mira Sol from now on." in staffed("people", "rename", "Mira", "Mira Sol")
    assert "Mira Sol is out, on every device." in staffed("people", "remove", "mira sol")
    assert [one["name"] for one in staffed.json("people")["people"]] == ["Ada"]
    told = staffed("people", "changes")
    assert told.splitlines()[:2] == [
        "Wed 25 Nov 07:30  Ada removed Mira Sol",
        "Wed 25 Nov 07:30  Ada renamed Mira to Mira Sol",
    ]


def test_a_token_is_shown_once_and_ends(staffed: Typed) -> None:
    made = staffed.json("people", "token", "add", "packing scale", "--role", "hand")
    assert made["token"].startswith("trayward_")
    assert staffed.json("people", "token", "list") == {
        "tokens": [{"name": "packing scale", "role": "hand", "made_by": "Ada", "used": None}]
    }
    assert made["token"] not in staffed("people", "token")
    book, people = people_of(staffed)
    with book:
        found = people.tokens.check(made["token"], people.persons.named("Ada").since)
        assert found is not None
        assert found.name == "packing scale"
        assert "The token of packing scale has ended." in staffed("people", "token", "end", "Packing Scale")
        assert people.tokens.check(made["token"], people.persons.named("Ada").since) is None
    assert "token 'packing scale'" in staffed.refused("people", "token", "end", "packing scale", code=2)


def test_people_are_in_no_export(staffed: Typed) -> None:
    target = staffed.folder / "farm.jsonl"
    staffed("book", "export", str(target))
    assert "Mira" not in target.read_text()
    assert "argon2" not in target.read_text()
