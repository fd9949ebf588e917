"""What a store promises of the keys of calendars."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from tests.contract.opening import OpeningPeople
from trayward.store import SqlBook
from trayward.store.people import Person, SqlPeople
from trayward.store.schema import CALENDAR_KEY

AT = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)


class CalendarKeysContract(OpeningPeople):
    """Keys that open the calendar: made, shown once, ended, and gone with their person."""

    @pytest.fixture
    def mira(self, people: SqlPeople) -> Person:
        people.persons.add("Ada", "owner", password="four plain words here", at=AT, by="grower")
        return people.persons.add("Mira", "hand", password=None, at=AT, by="Ada")

    def test_a_key_opens_the_calendar_of_whom_it_is(self, people: SqlPeople, mira: Person) -> None:
        key = people.calendars.make(mira.id, at=AT, by="Mira")
        found = people.calendars.check(key, AT)
        assert found is not None
        assert found.person == mira.id
        assert people.calendars.check(key[:-1] + "x", AT) is None

    def test_of_the_key_only_its_hash_is_kept(self, people: SqlPeople, book: SqlBook, mira: Person) -> None:
        key = people.calendars.make(mira.id, at=AT, by="Mira")
        assert len(key) >= 43  # 256 bits in base64
        with book.reading() as connection:
            assert key not in " ".join(str(row) for row in connection.execute(CALENDAR_KEY.select()))

    def test_a_new_key_ends_the_one_before(self, people: SqlPeople, mira: Person) -> None:
        first = people.calendars.make(mira.id, at=AT, by="Mira")
        second = people.calendars.make(mira.id, at=AT, by="Mira")
        assert people.calendars.check(first, AT) is None
        assert people.calendars.check(second, AT) is not None

    def test_an_ended_key_opens_nothing(self, people: SqlPeople, mira: Person) -> None:
        key = people.calendars.make(mira.id, at=AT, by="Mira")
        assert people.calendars.end(mira.id, at=AT, by="Mira")
        assert people.calendars.check(key, AT) is None
        assert people.calendars.of(mira.id) is None
        assert not people.calendars.end(mira.id, at=AT, by="Mira")

    def test_the_key_of_somebody_let_go_opens_nothing(self, people: SqlPeople, mira: Person) -> None:
        key = people.calendars.make(mira.id, at=AT, by="Mira")
        people.persons.remove(mira.id, at=AT, by="Ada")
        assert people.calendars.check(key, AT) is None
        back = people.persons.add("Mira", "hand", password=None, at=AT, by="Ada")
        assert back.id == mira.id
        assert people.calendars.check(key, AT) is None

    def test_a_key_of_pages_without_people_ends_when_there_are_some(self, people: SqlPeople) -> None:
        key = people.calendars.make("", at=AT, by="grower")
        assert people.calendars.check(key, AT) is not None
        people.persons.add("Ada", "owner", password="four plain words here", at=AT, by="grower")
        assert people.calendars.check(key, AT) is None

    def test_when_a_phone_asked_last_is_kept_to_the_hour(self, people: SqlPeople, mira: Person) -> None:
        key = people.calendars.make(mira.id, at=AT, by="Mira")
        for minutes in (0, 20, 70):
            people.calendars.check(key, AT + timedelta(minutes=minutes))
            kept = people.calendars.of(mira.id)
            assert kept is not None
            assert kept.used == AT + timedelta(minutes=0 if minutes < 60 else 70)
