"""What is promised of the people beside every book, whatever database it is on. `test_people.py` runs it for each."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from argon2.profiles import CHEAPEST

from tests.contract.opening import OpeningPeople
from tests.contract.telling import note
from trayward.errors import InputError, NotFoundError
from trayward.store import SqlBook, open_book
from trayward.store.export import book_lines, export_csv
from trayward.store.people import Hasher, LogInError, Person, SqlPeople, WaitError
from trayward.store.schema import LOGIN_TRY, PAIRING, PEOPLE, PERSON, SESSION, TOKEN

AT = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
GOOD = "seven wet trays drip"
OTHER = "eleven dry mats hang"
HERE = "192.0.2.7"
"""An address for documentation (RFC 5737)."""


def later(**span: float) -> datetime:
    return AT + timedelta(**span)


class PeopleContract(OpeningPeople):
    """People, sessions, pairing, tokens."""

    @pytest.fixture
    def ada(self, people: SqlPeople) -> Person:
        return people.persons.add("Ada", "owner", password=GOOD, at=AT, by="grower")

    @pytest.fixture
    def mira(self, people: SqlPeople, ada: Person) -> Person:
        return people.persons.add("Mira", "hand", password=None, at=AT, by="Ada")

    # Who there is ----------------------------------------------------------------------------------------------------

    def test_a_new_book_has_no_people(self, people: SqlPeople) -> None:
        assert not people.persons.anyone()
        assert people.persons.all() == []
        assert people.changes() == []

    def test_the_first_must_be_an_owner(self, people: SqlPeople) -> None:
        with pytest.raises(InputError, match="the first person must be an owner"):
            people.persons.add("Mira", "hand", password=GOOD, at=AT, by="grower")
        assert not people.persons.anyone()

    def test_an_owner_needs_a_password(self, people: SqlPeople, mira: Person) -> None:
        with pytest.raises(InputError, match="an owner needs one"):
            people.persons.add("Noor", "owner", password=None, at=AT, by="Ada")
        with pytest.raises(InputError, match="an owner needs one"):
            people.persons.set_role(mira.id, "owner", at=AT, by="Ada")

    def test_everybody_is_listed_by_name(self, people: SqlPeople, mira: Person) -> None:
        people.persons.add("bo", "reader", password=None, at=AT, by="Ada")
        assert [(one.name, one.role, one.has_password) for one in people.persons.all()] == [
            ("Ada", "owner", True),
            ("bo", "reader", False),
            ("Mira", "hand", False),
        ]
        assert people.persons.named("  MIRA ") == mira

    def test_a_name_nobody_has_is_not_found_and_near_ones_are_offered(self, people: SqlPeople, mira: Person) -> None:
        with pytest.raises(NotFoundError, match="Did you mean Mira"):
            people.persons.named("Mirra")

    @pytest.mark.parametrize("name", ["", "   ", "x" * 41, "Mi\0ra", "Mi\u202era"])
    def test_a_name_that_cannot_stand_in_the_book_is_refused(self, people: SqlPeople, ada: Person, name: str) -> None:
        with pytest.raises(InputError, match="must have 1 to 40 letters"):
            people.persons.add(name, "hand", password=None, at=AT, by="Ada")

    @pytest.mark.parametrize("name", ["ada", "ADA", " Ada ", "\uff21da"])
    def test_a_name_that_reads_like_anothers_is_refused(self, people: SqlPeople, ada: Person, name: str) -> None:
        with pytest.raises(InputError, match="the book would not tell them apart"):
            people.persons.add(name, "hand", password=None, at=AT, by="Ada")

    def test_a_renamed_persons_old_name_stays_theirs(self, people: SqlPeople, mira: Person) -> None:
        people.persons.rename(mira.id, "Mira Sol", at=AT, by="Ada")
        assert people.persons.get(mira.id).name == "Mira Sol"
        with pytest.raises(InputError, match="or had it"):
            people.persons.add("Mira", "hand", password=None, at=AT, by="Ada")
        people.persons.rename(mira.id, "Mira", at=AT, by="Ada")
        assert people.persons.get(mira.id).name == "Mira"

    def test_the_last_owner_cannot_be_removed_or_made_something_else(self, people: SqlPeople, ada: Person) -> None:
        with pytest.raises(InputError, match="the last owner cannot be removed"):
            people.persons.remove(ada.id, at=AT, by="Ada")
        with pytest.raises(InputError, match="the last owner cannot be removed or become something else"):
            people.persons.set_role(ada.id, "hand", at=AT, by="Ada")
        people.persons.add("Noor", "owner", password=OTHER, at=AT, by="Ada")
        people.persons.set_role(ada.id, "hand", at=AT, by="Noor")
        assert people.persons.get(ada.id).role == "hand"

    def test_of_two_owners_who_remove_each_other_at_once_one_stays(self, people: SqlPeople, ada: Person) -> None:
        noor = people.persons.add("Noor", "owner", password=OTHER, at=AT, by="Ada")

        def remove(person: Person) -> str:
            try:
                people.persons.remove(person.id, at=AT, by="somebody")
            except InputError as error:
                return str(error)
            return "gone"

        with ThreadPoolExecutor(2) as pool:
            said = list(pool.map(remove, (ada, noor)))
        assert said.count("gone") == 1
        assert len(people.persons.all()) == 1

    def test_a_removed_person_is_out_everywhere_and_may_come_again(self, people: SqlPeople, mira: Person) -> None:
        key = people.sessions.begin(mira.id, "a phone", at=AT)
        code = people.pairings.make(mira.id, at=AT, by="Ada")
        people.persons.remove(mira.id, at=AT, by="Ada")
        assert people.sessions.seen(key, AT) is None
        assert people.pairings.whose(code, AT) is None
        assert [one.name for one in people.persons.all()] == ["Ada"]
        assert [one.name for one in people.persons.all(removed=True)] == ["Ada", "Mira"]
        again = people.persons.add("Mira", "reader", password=OTHER, at=later(days=1), by="Ada")
        assert (again.id, again.role) == (mira.id, "reader")
        assert people.sessions.seen(key, AT) is None

    # Passwords -------------------------------------------------------------------------------------------------------

    def test_name_and_password_let_in(self, people: SqlPeople, ada: Person) -> None:
        assert people.log_in(" ada ", GOOD, address=HERE, at=AT) == ada

    def test_a_password_typed_on_another_keyboard_is_the_same(self, people: SqlPeople, ada: Person) -> None:
        people.persons.set_password(ada.id, "caf\u00e9 tray drip", at=AT, by="Ada")
        assert people.log_in("Ada", "cafe\u0301 tray drip", address=HERE, at=AT).id == ada.id

    def test_a_wrong_name_and_a_wrong_password_get_the_same_words(self, people: SqlPeople, mira: Person) -> None:
        said = []
        for name, password in (("Ada", OTHER), ("Nobody", GOOD), ("Mira", GOOD), ("", "")):
            with pytest.raises(LogInError) as caught:
                people.log_in(name, password, address=HERE, at=AT)
            said.append(str(caught.value))
        assert len(set(said)) == 1

    def test_a_new_password_logs_out_everywhere_else(self, people: SqlPeople, ada: Person) -> None:
        here, there = (people.sessions.begin(ada.id, device, at=AT) for device in ("here", "there"))
        seen = people.sessions.seen(here, AT)
        assert seen is not None
        people.persons.set_password(ada.id, OTHER, at=AT, by="Ada", but=seen.session)
        assert people.sessions.seen(here, AT) == seen
        assert people.sessions.seen(there, AT) is None
        with pytest.raises(LogInError, match="do not fit"):
            people.log_in("Ada", GOOD, address=HERE, at=AT)
        assert people.log_in("Ada", OTHER, address=HERE, at=AT).id == ada.id

    def test_a_password_hashed_with_older_parameters_is_hashed_anew(self, book: SqlBook, ada: Person) -> None:
        from argon2 import Parameters
        from argon2.low_level import Type

        dearer = Parameters(
            type=Type.ID, version=19, salt_len=16, hash_len=32, time_cost=2, memory_cost=64, parallelism=1
        )
        people = SqlPeople(book, hasher=Hasher(dearer))
        for _ in range(2):
            assert people.log_in("Ada", GOOD, address=HERE, at=AT).id == ada.id
            with book.reading() as connection:
                assert "m=64,t=2,p=1" in str(connection.scalar(PERSON.select().with_only_columns(PERSON.c.password)))

    # Holding back ----------------------------------------------------------------------------------------------------

    def test_after_five_wrong_tries_the_next_waits_twice_as_long_each_time(
        self, people: SqlPeople, ada: Person
    ) -> None:
        """From 15 s on, and never longer than a quarter of an hour: `tries.FIRST_WAIT_S`, `tries.LONGEST_WAIT_S`."""
        moment, waits = AT, []
        for number in range(13):
            with pytest.raises(LogInError):
                people.log_in("Ada", OTHER, address=f"192.0.2.{number}", at=moment)
            if number < 4:
                continue
            with pytest.raises(WaitError) as held:
                people.log_in("Ada", GOOD, address="198.51.100.1", at=moment)
            waits.append(held.value.seconds)
            moment += timedelta(seconds=held.value.seconds)
        assert waits == [15, 30, 60, 120, 240, 480, 900, 900, 900]
        assert people.log_in("Ada", GOOD, address=HERE, at=moment).id == ada.id

    def test_a_right_password_forgets_the_wrong_ones_of_the_name(self, people: SqlPeople, ada: Person) -> None:
        for _ in range(3):
            for _ in range(4):
                with pytest.raises(LogInError):
                    people.log_in("Ada", OTHER, address=HERE, at=AT)
            people.log_in("Ada", GOOD, address=HERE, at=AT)

    def test_a_restart_does_not_forget_the_tries(self, people: SqlPeople, book: SqlBook, ada: Person) -> None:
        for _ in range(5):
            with pytest.raises(LogInError):
                people.log_in("Ada", OTHER, address=HERE, at=AT)
        again = SqlPeople(book, hasher=Hasher(CHEAPEST))
        with pytest.raises(WaitError, match="Wait 15 seconds"):
            again.log_in("Ada", GOOD, address=HERE, at=AT)
        assert again.log_in("Ada", GOOD, address=HERE, at=later(seconds=16)).id == ada.id

    def test_an_unknown_name_is_held_back_like_a_known_one(self, people: SqlPeople, ada: Person) -> None:
        for _ in range(5):
            with pytest.raises(LogInError):
                people.log_in("Nobody", GOOD, address=HERE, at=AT)
        with pytest.raises(WaitError):
            people.log_in("nobody", GOOD, address="198.51.100.1", at=AT)

    def test_one_address_cannot_try_name_after_name(self, people: SqlPeople, ada: Person) -> None:
        for number in range(20):
            with pytest.raises(LogInError):
                people.log_in(f"name {number}", GOOD, address="2001:db8::1", at=AT)
        with pytest.raises(WaitError):
            people.log_in("Ada", GOOD, address="2001:db8::ffff:1", at=AT)
        assert people.log_in("Ada", GOOD, address=HERE, at=AT).id == ada.id

    def test_ones_own_log_in_does_not_wash_an_address(self, people: SqlPeople, ada: Person) -> None:
        for number in range(19):
            with pytest.raises(LogInError):
                people.log_in(f"name {number}", GOOD, address=HERE, at=AT)
        people.log_in("Ada", GOOD, address=HERE, at=AT)
        with pytest.raises(LogInError):
            people.log_in("one more", GOOD, address=HERE, at=AT)
        with pytest.raises(WaitError):
            people.log_in("and one", GOOD, address=HERE, at=AT)

    def test_tries_at_the_same_moment_gain_nothing(self, people: SqlPeople, book: SqlBook, ada: Person) -> None:
        def one(number: int) -> str:
            try:
                people.log_in("Ada", f"{OTHER} {number}", address=HERE, at=AT)
            except (LogInError, WaitError) as error:
                return type(error).__name__
            return "in"

        with ThreadPoolExecutor(6) as pool:
            said = list(pool.map(one, range(12)))
        assert (said.count("LogInError"), said.count("WaitError")) == (5, 7)

    def test_what_was_typed_as_a_name_is_not_kept(self, people: SqlPeople, book: SqlBook, ada: Person) -> None:
        with pytest.raises(LogInError):
            people.log_in(GOOD, "", address=HERE, at=AT)
        with book.reading() as connection:
            held = [str(row) for row in connection.execute(LOGIN_TRY.select())]
        assert len(held) == 2
        assert not any("seven" in row for row in held)

    # Sessions --------------------------------------------------------------------------------------------------------

    def test_a_session_says_who_is_at_it(self, people: SqlPeople, mira: Person) -> None:
        people.persons.set_taste(mira.id, language="es", units="us")
        key = people.sessions.begin(mira.id, "Firefox on Android", at=AT)
        seen = people.sessions.seen(key, later(seconds=30))
        assert seen is not None
        assert (seen.name, seen.role, seen.language, seen.units, seen.locked) == ("Mira", "hand", "es", "us", False)
        assert people.sessions.seen(key[:-1] + "x", AT) is None

    def test_of_a_key_only_its_hash_is_kept(self, people: SqlPeople, book: SqlBook, mira: Person) -> None:
        """256 bits, so 43 characters in base64; and no table holds them."""
        key = people.sessions.begin(mira.id, "a phone", at=AT)
        code = people.pairings.make(mira.id, at=AT, by="Ada")
        _, token = people.tokens.add("scale", "hand", at=AT, by="Ada")
        assert len(key) >= 43
        assert len(code) >= 43
        with book.reading() as connection:
            held = " ".join(str(row) for table in PEOPLE for row in connection.execute(table.select()))
        for secret in (key, code, token, GOOD):
            assert secret not in held
        assert "$argon2id$" in held

    def test_a_role_changed_counts_at_once(self, people: SqlPeople, mira: Person) -> None:
        key = people.sessions.begin(mira.id, "a phone", at=AT)
        people.persons.set_role(mira.id, "reader", at=AT, by="Ada")
        seen = people.sessions.seen(key, AT)
        assert seen is not None
        assert seen.role == "reader"

    def test_a_session_ends_after_idle_days_and_in_any_case_after_most_days(
        self, people: SqlPeople, mira: Person
    ) -> None:
        people.set_setting("idle_days", 7, at=AT, by="Ada")
        people.set_setting("most_days", 20, at=AT, by="Ada")
        key = people.sessions.begin(mira.id, "a phone", at=AT)
        assert people.sessions.seen(key, later(days=8)) is None
        for day in range(0, 20, 5):
            seen = people.sessions.seen(key, later(days=day))
            assert seen is not None
            people.sessions.touch(seen.session, later(days=day))
        assert people.sessions.seen(key, later(days=19.9)) is not None
        assert people.sessions.seen(key, later(days=20)) is None
        assert people.sessions.all(later(days=20)) == []

    def test_use_is_written_down_once_a_minute(self, people: SqlPeople, mira: Person) -> None:
        key = people.sessions.begin(mira.id, "a phone", at=AT)
        due = [seen.due for minute in (0.5, 1.5) if (seen := people.sessions.seen(key, later(minutes=minute)))]
        assert due == [False, True]
        (session,) = people.sessions.all(AT)
        people.sessions.touch(session.id, later(minutes=1.5))
        assert people.sessions.all(later(minutes=2))[0].used == later(minutes=1.5)
        seen = people.sessions.seen(key, later(minutes=2))
        assert seen is not None
        assert not seen.due

    def test_one_session_or_all_of_somebody_can_be_ended(self, people: SqlPeople, ada: Person, mira: Person) -> None:
        keys = [people.sessions.begin(mira.id, f"phone {number}", at=AT) for number in range(3)]
        own = people.sessions.begin(ada.id, "desk", at=AT)
        first = people.sessions.seen(keys[0], AT)
        assert first is not None
        people.sessions.end(first.session, at=AT, by="Ada")
        assert [people.sessions.seen(key, AT) is not None for key in keys] == [False, True, True]
        with pytest.raises(NotFoundError, match="ended already"):
            people.sessions.end(first.session, at=AT, by="Ada")
        second = people.sessions.seen(keys[1], AT)
        assert second is not None
        assert people.sessions.end_all(mira.id, at=AT, by="Mira", but=second.session) == 1
        assert [people.sessions.seen(key, AT) is not None for key in keys] == [False, True, False]
        assert people.sessions.seen(own, AT) is not None
        assert [one.device for one in people.sessions.all(AT, person=mira.id)] == ["phone 1"]

    def test_a_log_in_changes_the_key_of_the_device(self, people: SqlPeople, ada: Person, mira: Person) -> None:
        planted = people.sessions.begin(mira.id, "a phone", at=AT)
        key = people.sessions.begin(ada.id, "a phone", at=AT, key=planted)
        assert people.sessions.seen(planted, AT) is None
        (session,) = people.sessions.all(AT)
        assert session.people == ("Ada", "Mira")
        seen = people.sessions.seen(key, AT)
        assert seen is not None
        assert seen.name == "Ada"

    # A shared phone --------------------------------------------------------------------------------------------------

    @pytest.fixture
    def shared(self, people: SqlPeople, ada: Person, mira: Person) -> str:
        """The key of a phone that Ada and Mira share, each with a PIN; Mira is at it."""
        people.persons.set_pin(ada.id, "7305", at=AT, by="Ada")
        people.persons.set_pin(mira.id, "918273", at=AT, by="Mira")
        first = people.sessions.begin(ada.id, "the phone on the nail", at=AT)
        return people.sessions.begin(mira.id, "the phone on the nail", at=AT, key=first)

    def test_a_shared_phone_left_alone_waits_for_a_pin(self, people: SqlPeople, shared: str, ada: Person) -> None:
        before, after = (people.sessions.seen(shared, later(minutes=minutes)) for minutes in (4.9, 5.1))
        assert before is not None
        assert after is not None
        assert (before.locked, after.locked) == (False, True)
        people.sessions.unlock(after.session, ada.id, "7305", at=later(minutes=6))
        seen = people.sessions.seen(shared, later(minutes=6))
        assert seen is not None
        assert (seen.name, seen.locked) == ("Ada", False)

    def test_ones_own_phone_without_a_pin_is_left_to_its_own_lock(self, people: SqlPeople, mira: Person) -> None:
        key = people.sessions.begin(mira.id, "a phone", at=AT)
        seen = people.sessions.seen(key, later(hours=5))
        assert seen is not None
        assert not seen.locked
        people.persons.set_pin(mira.id, "7305", at=AT, by="Mira")
        seen = people.sessions.seen(key, later(hours=5))
        assert seen is not None
        assert seen.locked

    def test_the_owner_says_after_how_many_minutes(self, people: SqlPeople, shared: str) -> None:
        people.set_setting("lock_minutes", 0, at=AT, by="Ada")
        seen = people.sessions.seen(shared, later(hours=9))
        assert seen is not None
        assert not seen.locked
        people.set_setting("lock_minutes", 1, at=AT, by="Ada")
        seen = people.sessions.seen(shared, later(minutes=1.1))
        assert seen is not None
        assert seen.locked
        with pytest.raises(InputError, match=r"must lie in \[0, 240\] min"):
            people.set_setting("lock_minutes", 241, at=AT, by="Ada")

    def test_it_can_be_locked_by_hand(self, people: SqlPeople, shared: str) -> None:
        (session,) = people.sessions.all(AT)
        people.sessions.lock(session.id)
        seen = people.sessions.seen(shared, AT)
        assert seen is not None
        assert seen.locked

    def test_five_wrong_pins_and_only_the_password_helps(
        self, people: SqlPeople, shared: str, ada: Person, mira: Person
    ) -> None:
        (session,) = people.sessions.all(AT)
        for left in (4, 3, 2, 1):
            with pytest.raises(LogInError, match=f"Try again; {left} more"):
                people.sessions.unlock(session.id, ada.id, "0000", at=AT)
        for _ in range(2):
            with pytest.raises(LogInError, match="Log in with the password"):
                people.sessions.unlock(session.id, ada.id, "0000", at=AT)
        with pytest.raises(LogInError, match="wrong 5 times on this phone"):
            people.sessions.unlock(session.id, ada.id, "7305", at=AT)
        people.sessions.unlock(session.id, mira.id, "918273", at=AT)
        key = people.sessions.begin(ada.id, "the phone", at=AT, key=shared)
        people.sessions.unlock(session.id, mira.id, "918273", at=AT)
        people.sessions.unlock(session.id, ada.id, "7305", at=AT)
        seen = people.sessions.seen(key, AT)
        assert seen is not None
        assert seen.name == "Ada"

    def test_a_right_pin_forgets_the_wrong_ones(self, people: SqlPeople, shared: str, ada: Person) -> None:
        (session,) = people.sessions.all(AT)
        for _ in range(3):
            for _ in range(4):
                with pytest.raises(LogInError):
                    people.sessions.unlock(session.id, ada.id, "0000", at=AT)
            people.sessions.unlock(session.id, ada.id, "7305", at=AT)

    def test_who_is_not_paired_with_the_phone_cannot_unlock_it(self, people: SqlPeople, shared: str) -> None:
        noor = people.persons.add("Noor", "hand", password=None, at=AT, by="Ada")
        people.persons.set_pin(noor.id, "7305", at=AT, by="Noor")
        (session,) = people.sessions.all(AT)
        with pytest.raises(NotFoundError, match="not paired with this device"):
            people.sessions.unlock(session.id, noor.id, "7305", at=AT)

    def test_who_has_no_pin_cannot_unlock_with_any(self, people: SqlPeople, shared: str, mira: Person) -> None:
        people.persons.set_pin(mira.id, None, at=AT, by="Mira")
        (session,) = people.sessions.all(AT)
        for pin in ("", "918273", "0000"):
            with pytest.raises(LogInError):
                people.sessions.unlock(session.id, mira.id, pin, at=AT)

    def test_when_one_leaves_a_shared_phone_the_other_stays_behind_the_lock(
        self, people: SqlPeople, shared: str, ada: Person, mira: Person
    ) -> None:
        people.persons.remove(mira.id, at=AT, by="Ada")
        seen = people.sessions.seen(shared, AT)
        assert seen is not None
        assert (seen.name, seen.locked) == ("Ada", True)
        assert [one.person.name for one in people.sessions.paired(seen.session)] == ["Ada"]
        people.sessions.leave(seen.session, ada.id, at=AT, by="Ada")
        assert people.sessions.seen(shared, AT) is None

    # Pairing and tokens ----------------------------------------------------------------------------------------------

    def test_a_code_pairs_one_phone_once(self, people: SqlPeople, mira: Person) -> None:
        code = people.pairings.make(mira.id, at=AT, by="Ada")
        assert people.pairings.whose(code, AT) == mira
        assert people.pairings.whose(code, AT) == mira
        assert people.pairings.use(code, at=later(minutes=9.9)) == mira
        assert people.pairings.whose(code, AT) is None
        with pytest.raises(InputError, match="it was used already"):
            people.pairings.use(code, at=AT)

    def test_of_two_phones_at_once_one_is_paired(self, people: SqlPeople, mira: Person) -> None:
        code = people.pairings.make(mira.id, at=AT, by="Ada")

        def use(_: int) -> bool:
            try:
                people.pairings.use(code, at=AT)
            except InputError:
                return False
            return True

        with ThreadPoolExecutor(4) as pool:
            assert sorted(pool.map(use, range(4))) == [False, False, False, True]

    def test_a_code_lives_ten_minutes_and_a_new_one_voids_the_old(self, people: SqlPeople, mira: Person) -> None:
        first = people.pairings.make(mira.id, at=AT, by="Ada")
        second = people.pairings.make(mira.id, at=AT, by="Ada")
        assert people.pairings.whose(first, AT) is None
        with pytest.raises(InputError, match="older than 10 minutes"):
            people.pairings.use(second, at=later(minutes=10))

    def test_a_token_is_known_by_its_name_until_it_ends(self, people: SqlPeople, ada: Person) -> None:
        token, key = people.tokens.add("Packing scale", "hand", at=AT, by="Ada")
        assert key.startswith("trayward_")
        found = people.tokens.check(key, later(hours=1))
        assert found is not None
        assert (found.id, found.name, found.role, found.used) == (token.id, "Packing scale", "hand", None)
        assert people.tokens.all()[0].used == later(hours=1)
        assert people.tokens.check(key + "x", AT) is None
        people.tokens.end(token.id, at=AT, by="Ada")
        assert people.tokens.check(key, AT) is None
        with pytest.raises(NotFoundError, match="ended already"):
            people.tokens.end(token.id, at=AT, by="Ada")
        people.tokens.add("Packing scale", "reader", at=AT, by="Ada")

    def test_a_token_cannot_go_by_a_persons_name_nor_a_person_by_a_tokens(self, people: SqlPeople, ada: Person) -> None:
        with pytest.raises(InputError, match="the book would not tell them apart"):
            people.tokens.add("ADA", "hand", at=AT, by="Ada")
        people.tokens.add("Scale", "hand", at=AT, by="Ada")
        with pytest.raises(InputError, match="the book would not tell them apart"):
            people.tokens.add("Scale", "hand", at=AT, by="Ada")
        with pytest.raises(InputError, match="the book would not tell them apart"):
            people.persons.add("scale", "hand", password=None, at=AT, by="Ada")

    # The record, and what leaves the book ----------------------------------------------------------------------------

    def test_every_change_is_written_down_with_who_made_it(self, people: SqlPeople, ada: Person, mira: Person) -> None:
        people.persons.set_role(mira.id, "reader", at=later(hours=1), by="Ada")
        code = people.pairings.make(mira.id, at=later(hours=2), by="Ada")
        people.pairings.use(code, at=later(hours=2))
        people.persons.remove(mira.id, at=later(hours=3), by="Ada")
        told = [(change.by, change.words) for change in people.changes()]
        assert told == [
            ("Ada", "removed Mira"),
            ("Mira", "paired a phone"),
            ("Ada", "made a code that pairs a phone with Mira"),
            ("Ada", "made Mira reader, who was hand"),
            ("Ada", "added Mira as hand"),
            ("grower", "added Ada as owner"),
        ]
        assert people.changes()[0].at == later(hours=3)
        assert len(people.changes(2)) == 2

    def test_no_export_holds_anything_of_people(
        self, people: SqlPeople, book: SqlBook, ada: Person, mira: Person, tmp_path: Path
    ) -> None:
        book.append([note("a")])
        people.sessions.begin(mira.id, "a phone", at=AT)
        export_csv(book, tmp_path / "sheets")
        written = [path.read_bytes() for path in (tmp_path / "sheets").iterdir()]
        for text in (*written, b"".join(book_lines(book))):
            assert b"Mira" not in text
            assert b"argon2" not in text
        assert book.verify() == []

    def test_a_backup_holds_them(self, people: SqlPeople, book: SqlBook, mira: Person, tmp_path: Path) -> None:
        book.append([note("a")])
        key = people.sessions.begin(mira.id, "a phone", at=AT)
        people.pairings.make(mira.id, at=AT, by="Ada")
        people.tokens.add("Scale", "hand", at=AT, by="Ada")
        people.set_setting("lock_minutes", 9, at=AT, by="Ada")
        book.backup(tmp_path / "copy.book")
        with open_book(tmp_path / "copy.book") as copy:
            copied = SqlPeople(copy, hasher=Hasher(CHEAPEST))
            assert copied.persons.all() == people.persons.all()
            assert copied.sessions.seen(key, AT) == people.sessions.seen(key, AT)
            assert copied.log_in("Ada", GOOD, address=HERE, at=AT).name == "Ada"
            assert copied.changes() == people.changes()
            for table in (SESSION, PAIRING, TOKEN):
                with book.reading() as one, copy.reading() as other:
                    assert one.execute(table.select()).all() == other.execute(table.select()).all()
            assert copy.verify() == []

    def test_rebuilding_the_book_leaves_them_alone(self, people: SqlPeople, book: SqlBook, mira: Person) -> None:
        book.append([note("a")])
        book.rebuild()
        assert [one.name for one in people.persons.all()] == ["Ada", "Mira"]
