"""What every book promises, whatever database it is on. `test_books.py` runs it for each."""

from __future__ import annotations

import hashlib
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import Any

import msgspec
import pytest

from tests.contract.opening import Opening
from tests.contract.telling import AWKWARD, START, entry, every_kind, ids, note, say, strike, tamper
from trayward.desk.ports import Book, Checkpoint, Found, Head, Place, Wanted
from trayward.errors import BookError, ConflictError, InputError
from trayward.farm.codec import encode_entry
from trayward.farm.entries import Note, SeedWeighed, Watered
from trayward.store import SqlBook, open_book
from trayward.store.export import book_lines, export_csv, export_lines
from trayward.store.importing import import_book


def after(minutes: float) -> datetime:
    return START + timedelta(minutes=minutes)


class KeepingContract(Opening):
    """Appending."""

    def test_a_new_book_is_empty(self, book: Book) -> None:
        assert book.head() == Head()
        assert list(book.entries()) == []
        assert list(book.timeline()) == []
        assert book.checkpoint() is None
        assert book.verify() == []

    def test_entries_are_numbered_and_chained_by_the_published_rule(self, book: Book) -> None:
        kept = book.append([note("a"), note("b", 5)])
        hashed = ""
        for number, one in enumerate(kept, start=1):
            canonical = encode_entry(one.entry).decode()
            hashed = hashlib.sha256(f"{hashed}\n{number}\n{canonical}".encode()).hexdigest()
            assert (one.seq, one.hash) == (number, hashed)
        assert book.head() == Head(seq=2, hash=hashed, horizon=after(5))
        assert list(book.entries()) == kept

    def test_a_book_opened_again_is_the_same(self, book: SqlBook, url: str) -> None:
        kept = book.append([note("a"), note("b", 5)])
        book.close()
        with open_book(url) as again:
            assert list(again.entries()) == kept

    def test_what_comes_back_is_the_entry_in_normal_form(self, book: Book) -> None:
        east = timezone(timedelta(hours=5, minutes=30))
        said = entry("a", SeedWeighed(lot="L1", grams=20))
        (kept,) = book.append([msgspec.structs.replace(said, at=said.at.astimezone(east))])
        assert kept.entry.at == START
        assert kept.entry.at.tzinfo is UTC
        assert isinstance(kept.entry.body.grams, float)
        assert book.get("device-a") == kept

    def test_nothing_to_keep_is_nothing(self, book: Book) -> None:
        assert book.append([]) == []
        assert book.head() == Head()

    def test_all_or_none_are_kept(self, book: Book) -> None:
        book.append([note("a")])
        with pytest.raises(BookError, match="device-a: the id is taken by another entry"):
            book.append([note("b"), note("a", text="something else"), note("c")])
        assert ids(book.entries()) == ["a"]

    def test_sending_the_same_again_changes_nothing(self, book: Book) -> None:
        first = book.append([note("a"), note("b")])
        assert book.append([note("b"), note("a")], expected_seq=0) == first[::-1]
        assert book.head().seq == 2

    def test_a_call_of_old_and_new_entries_keeps_the_new(self, book: Book) -> None:
        book.append([note("a"), note("b")])
        kept = book.append([note("b"), note("c"), note("a")])
        assert [one.seq for one in kept] == [2, 3, 1]

    def test_an_entry_twice_in_one_call_is_kept_once(self, book: Book) -> None:
        kept = book.append([note("a"), note("b"), note("a")])
        assert [one.seq for one in kept] == [1, 2, 1]

    def test_an_id_for_two_things_in_one_call_is_refused(self, book: Book) -> None:
        with pytest.raises(BookError, match="give the new one its own id"):
            book.append([note("a"), note("a", text="something else")])
        assert book.head() == Head()

    def test_expected_seq_must_be_the_end_of_the_book(self, book: Book) -> None:
        book.append([note("a")], expected_seq=0)
        with pytest.raises(ConflictError, match="ends at entry 1, not 0"):
            book.append([note("b")], expected_seq=0)
        with pytest.raises(ConflictError, match="ends at entry 1, not 2"):
            book.append([note("b")], expected_seq=2)
        assert book.append([note("b")], expected_seq=1)[0].seq == 2

    @pytest.mark.parametrize("identity", ["short", "x" * 65, "with space", "quote'quote", "umlaut-ü-umlaut"])
    def test_an_id_no_device_makes_is_refused(self, book: Book, identity: str) -> None:
        said = msgspec.structs.replace(note("a"), id=identity)
        with pytest.raises(InputError, match="8 to 64 letters, digits"):
            book.append([said])

    def test_a_name_no_database_can_look_up_is_refused(self, book: Book) -> None:
        with pytest.raises(InputError, match="NUL"):
            book.append([note("a", 0, "tray:\0")])

    @pytest.mark.parametrize("text", AWKWARD)
    def test_texts_come_back_as_they_were_said(self, book: Book, text: str) -> None:
        book.append([note("a", text=text)])
        assert [one.entry.body for one in book.entries()] == [Note(text=text)]

    def test_every_kind_of_entry_can_be_kept(self, book: SqlBook) -> None:
        said = every_kind(Random(4))
        book.append(said)
        assert [one.entry for one in book.entries()] == said
        assert book.verify() == []

    def test_a_closed_book_says_so(self, book: SqlBook) -> None:
        book.close()
        with pytest.raises(BookError, match="it has been closed"):
            book.append([note("a")])
        with pytest.raises(BookError, match="it has been closed"):
            book.head()

    def test_a_book_with_entries_is_not_begun_again(self, book: SqlBook, url: str) -> None:
        with open_book(url, create=True):
            """Begun but empty: nothing is lost by taking it."""
        book.append([note("a")])
        with pytest.raises(BookError, match="there is a book already, with 1 entries"):
            open_book(url, create=True)


class TogetherContract(Opening):
    """Several who write at once."""

    def test_twenty_threads_of_one_process(self, book: SqlBook) -> None:
        def phone(number: int) -> None:
            for step in range(10):
                book.append([note(f"{number:02d}-{step:02d}", step)])

        with ThreadPoolExecutor(20) as pool:
            list(pool.map(phone, range(20)))
        assert sorted(ids(book.entries())) == [f"{number:02d}-{step:02d}" for number in range(20) for step in range(10)]
        assert book.verify() == []

    def test_a_refused_entry_does_not_stop_the_others(self, book: SqlBook) -> None:
        book.append([note("taken")])

        def phone(number: int) -> str:
            said = note("taken", text="other") if number % 2 else note(f"phone-{number}")
            try:
                book.append([said])
            except BookError as err:
                return str(err)
            return ""

        with ThreadPoolExecutor(12) as pool:
            answers = list(pool.map(phone, range(12)))
        assert [bool(answer) for answer in answers] == [False, True] * 6
        assert book.head().seq == 7

    def test_only_one_of_two_who_expect_the_same_end_is_kept(self, book: SqlBook) -> None:
        barrier = threading.Barrier(8)

        def phone(number: int) -> bool:
            barrier.wait()
            try:
                book.append([note(f"phone-{number}")], expected_seq=0)
            except ConflictError:
                return False
            return True

        with ThreadPoolExecutor(8) as pool:
            assert sum(pool.map(phone, range(8))) == 1
        assert book.head().seq == 1

    def test_two_books_on_one_database_wait_for_each_other(self, book: SqlBook, url: str) -> None:
        with open_book(url) as other:

            def run(which: SqlBook, name: str) -> None:
                for step in range(40):
                    which.append([note(f"{name}-{step:02d}", step)])

            with ThreadPoolExecutor(2) as pool:
                list(pool.map(run, (book, other), ("one", "two")))
            assert other.head() == book.head()
        assert sorted(ids(book.entries())) == sorted(
            f"{name}-{step:02d}" for name in ("one", "two") for step in range(40)
        )
        assert book.verify() == []


class ReadingContract(Opening):
    """Reading."""

    @pytest.fixture
    def small_pages(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """Reading in pieces is only seen to work where there are several pieces."""
        monkeypatch.setattr("trayward.store.book.PAGE", 3)
        monkeypatch.setattr("trayward.store.projections.PAGE", 3)

    def test_entries_by_number(self, book: Book, small_pages: None) -> None:
        book.append([note(f"n{number}") for number in range(1, 11)])
        assert ids(book.entries()) == [f"n{number}" for number in range(1, 11)]
        assert ids(book.entries(after=8)) == ["n9", "n10"]
        assert ids(book.entries(after=2, until_seq=4)) == ["n3", "n4"]
        assert ids(book.entries(until_seq=99, after=10)) == []

    def test_late_entries_land_on_their_own_time(self, book: Book, small_pages: None) -> None:
        book.append([note("c", 30), note("a", 10), note("d", 40), note("b1", 20)])
        book.append([note("b2", 20), note("0", 0), note("b3", 20)])
        assert ids(book.timeline()) == ["0", "a", "b1", "b2", "b3", "c", "d"]
        assert ids(book.timeline(until=after(20))) == ["0", "a", "b1", "b2", "b3"]
        assert ids(book.timeline(until=after(19.99))) == ["0", "a"]
        assert ids(book.timeline(later_than=after(10))) == ["b1", "b2", "b3", "c", "d"]
        assert ids(book.timeline(later_than=after(9.99), until=after(30))) == ["a", "b1", "b2", "b3", "c"]
        assert ids(book.timeline(later_than=after(40))) == []

    def test_times_before_1970_and_parts_of_a_second_sort_too(self, book: Book) -> None:
        book.append([note("c", 1e-6 / 60), note("b", 0), note("a", -60 * 24 * 365 * 80), note("d", 2e-6 / 60)])
        assert ids(book.timeline()) == ["a", "b", "c", "d"]
        assert book.head().horizon == START + timedelta(microseconds=2)

    def test_reading_sees_the_book_as_it_was_at_the_call(self, book: Book, small_pages: None) -> None:
        book.append([note(f"n{number}", number) for number in range(7)])
        by_time, by_number = book.timeline(), book.entries()
        first = next(by_time)
        book.append([note("late", 3.5), note("last", 99)])
        assert [first.id, *(one.id for one in by_time)] == [f"device-n{number}" for number in range(7)]
        assert ids(by_number) == [f"n{number}" for number in range(7)]

    def test_what_is_known_about_a_subject(self, book: Book) -> None:
        book.append([note("b", 9, "tray:1"), note("a", 3, "tray:1", "tray:2", "tray:1"), note("c", 1, "tray:12")])
        book.append([entry("d", Watered(trays=("2", "1"), ml=30), 5)])
        assert ids(book.about("tray:1")) == ["a", "d", "b"]
        assert ids(book.about("tray:2")) == ["a", "d"]
        assert book.about("tray:") == []
        assert ids(book.about("tray:12", "tray:2", "tray:1")) == ["c", "a", "d", "b"]
        assert ids(book.about(*(f"tray:{number}" for number in range(3000, 0, -1)))) == ["c", "a", "d", "b"]
        assert book.about() == []

    def test_an_entry_by_its_id(self, book: Book) -> None:
        kept = book.append([note("a"), note("b")])
        assert book.get("device-b") == kept[1]
        assert book.get("DEVICE-B") is None

    def test_struck_entries(self, book: Book) -> None:
        book.append([note("a"), note("b"), strike("s1", "a"), strike("s2", "nothing-yet")])
        assert book.struck() == {"device-a", "device-nothing-yet"}
        book.append([strike("s3", "s1", -5)])
        assert book.struck() == {"device-s1", "device-nothing-yet"}
        book.append([strike("s4", "s3")])
        assert book.struck() == {"device-a", "device-s3", "device-nothing-yet"}

    def test_a_strike_that_reached_the_book_before_its_target_counts(self, book: Book) -> None:
        book.append([strike("s2", "s1"), strike("s1", "a"), note("a")])
        assert book.struck() == {"device-s1"}

    def test_strikes_said_by_another_process_are_seen(self, book: SqlBook, url: str) -> None:
        book.append([note("a"), strike("s", "a")])
        assert book.struck() == {"device-a"}
        with open_book(url) as other:
            other.append([strike("t", "s")])
        assert book.struck() == {"device-s"}


class SearchContract(Opening):
    """Finding entries."""

    @pytest.fixture
    def small_chunks(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """Looking in goes is only seen to work where there are several."""
        monkeypatch.setattr("trayward.store.search.CHUNK", 3)
        monkeypatch.setattr("trayward.store.search.MOST_LOOKED", 2)

    @pytest.fixture
    def filled(self, book: Book) -> Book:
        book.append(
            [
                note("fan", 1, "shelf:A2", text="Fan of A2 was OFF"),
                entry("wet", Watered(trays=("1", "2"), ml=30.0, way="mist"), 2),
                entry("dry", Watered(trays=("2",), ml=40.0, way="below"), 3, by="Ida"),
                note("late", 5, "tray:2", text="100 % up, Gemüse_GRÜN"),
                note("first", 0, text="looks well"),
                strike("gone", "fan", 6),
            ]
        )
        return book

    def found(self, book: Book, **wanted: Any) -> list[str]:
        return ids(book.search(Wanted(**wanted)).kept)

    def test_the_newest_come_first_by_when_they_happened(self, filled: Book) -> None:
        assert self.found(filled) == ["gone", "late", "dry", "wet", "fan", "first"]

    def test_entries_are_found_by_kind_person_subject_and_day(self, filled: Book) -> None:
        assert self.found(filled, kinds=("watered", "note")) == ["late", "dry", "wet", "fan", "first"]
        assert self.found(filled, by="Ida") == ["dry"]
        assert self.found(filled, by="Mo", kinds=("watered",)) == ["wet"]
        assert self.found(filled, by="nobody") == []
        assert self.found(filled, about=("tray:2",)) == ["late", "dry", "wet"]
        assert self.found(filled, about=("tray:1", "tray:2", "shelf:A2")) == ["late", "dry", "wet", "fan"]
        assert self.found(filled, about=("tray:2",), kinds=("watered",), by="Mo") == ["wet"]
        assert self.found(filled, since=after(2), until=after(5)) == ["dry", "wet"]

    def test_entries_are_found_by_the_words_in_them(self, filled: Book) -> None:
        assert self.found(filled, words=("fan",)) == ["fan"]
        assert self.found(filled, words=("off", "FAN")) == ["fan"]
        assert self.found(filled, words=("off", "well")) == []
        assert self.found(filled, words=("gemüse_grün",)) == ["late"]
        assert self.found(filled, words=("100 %",)) == ["late"], "a per cent sign is itself, not any letters"
        assert self.found(filled, words=("1%",)) == []
        assert self.found(filled, words=("typed twice",)) == ["gone"]
        assert self.found(filled, words=("up",), about=("tray:2",)) == ["late"]
        assert self.found(filled, words=("up",), about=("tray:1",)) == []
        assert self.found(filled, words=("l",), kinds=("note",), by="Mo", until=after(1)) == ["first"]

    @pytest.mark.parametrize("wanted", [Wanted(), Wanted(kinds=("note",)), Wanted(by="Mo"), Wanted(about=("tray:1",))])
    def test_going_on_gives_each_entry_once(self, book: Book, wanted: Wanted) -> None:
        book.append([note(f"n{number}", number % 4, "tray:1") for number in range(23)])
        seen, before = [], None
        for _ in range(9):
            found = book.search(wanted, before=before, limit=3)
            seen += list(found.kept)
            before = found.older
            if before is None:
                break
        assert sorted(ids(seen)) == sorted(f"n{number}" for number in range(23))
        assert [(one.entry.at, one.seq) for one in seen] == sorted(
            ((one.entry.at, one.seq) for one in seen), reverse=True
        )

    def test_a_long_search_for_words_says_how_far_it_came_and_goes_on(self, book: Book, small_chunks: None) -> None:
        book.append(
            [note(f"n{number:02d}", number, text="mould" if number in (1, 2) else "well") for number in range(20)]
        )
        found = book.search(Wanted(words=("mould",)))
        assert (found.kept, found.full) == ((), False)
        assert found.older is not None
        assert found.older.at == after(14), "twice three were looked at, of minutes 0 to 19"
        seen = []
        while found.older is not None:
            found = book.search(Wanted(words=("mould",)), before=found.older)
            seen += list(found.kept)
        assert ids(seen) == ["n02", "n01"]
        assert found.full

    def test_enough_words_found_end_the_search(self, book: Book, small_chunks: None) -> None:
        book.append([note(f"n{number}", number, text="mould") for number in range(9)])
        found = book.search(Wanted(words=("mould",)), limit=4)
        assert ids(found.kept) == ["n8", "n7", "n6", "n5"]
        assert (found.full, found.older) == (True, Place(at=after(5), seq=6))

    def test_names_and_people_that_the_book_knows(self, filled: Book) -> None:
        assert filled.known(("tray:2", "lot:2", "shelf:A2")) == ("tray:2", "shelf:A2")
        assert filled.known(()) == ()
        assert filled.people() == ("Ida", "Mo")

    def test_an_empty_book_has_nothing_to_find(self, book: Book) -> None:
        assert book.search(Wanted()) == Found()
        assert book.search(Wanted(words=("fan",))) == Found()
        assert book.people() == ()

    def test_every_kind_of_entry_is_found_again_by_its_kind(self, book: SqlBook) -> None:
        said = every_kind(Random(11), times=2)
        book.append(said)
        for kind in {one.kind for one in said}:
            assert sorted(self.found(book, kinds=(kind,))) == sorted(ids(one for one in said if one.kind == kind))


class CheckpointContract(Opening):
    """Folded states kept for speed."""

    def mark(self, book: Book, state: bytes = b"state") -> Checkpoint:
        head = book.head()
        assert head.horizon is not None
        checkpoint = Checkpoint(seq=head.seq, horizon=head.horizon, state=state)
        book.save_checkpoint(checkpoint)
        return checkpoint

    def test_the_newest_that_is_not_after_the_moment(self, book: Book) -> None:
        book.append([note("a", 10)])
        early = self.mark(book, b"early \x00\xff")
        book.append([note("b", 20)])
        late = self.mark(book, b"late")
        assert book.checkpoint() == late
        assert book.checkpoint(until=after(20)) == late
        assert book.checkpoint(until=after(19)) == early
        assert book.checkpoint(until=after(9)) is None

    def test_saving_for_the_same_end_again_replaces(self, book: Book) -> None:
        book.append([note("a", 10)])
        one = self.mark(book, b"one")
        assert book.checkpoint() == one
        two = self.mark(book, b"two")
        assert book.checkpoint() == two

    def test_a_late_entry_makes_it_untrue(self, book: Book) -> None:
        book.append([note("a", 10)])
        early = self.mark(book)
        book.append([note("b", 20)])
        late = self.mark(book)
        book.append([note("same-moment", 20)])
        assert book.checkpoint() == late
        book.append([note("late", 15)])
        assert book.checkpoint() == early
        book.append([note("very-late", 5)])
        assert book.checkpoint() is None

    def test_a_strike_of_something_in_it_makes_it_untrue(self, book: Book) -> None:
        book.append([note("a", 10)])
        early = self.mark(book)
        book.append([note("b", 20)])
        self.mark(book)
        book.append([note("c", 30), strike("s1", "c", 31), strike("s2", "d", 32), note("d", 33)])
        assert book.checkpoint().seq == 2
        book.append([strike("s3", "b", 40)])
        assert book.checkpoint() == early

    def test_one_that_is_out_of_date_when_it_comes_is_not_kept(self, book: Book) -> None:
        book.append([note("a", 10), note("b", 20)])
        head = book.head()
        slow = Checkpoint(seq=head.seq, horizon=after(20), state=b"slow")
        book.append([note("late", 15)])
        book.save_checkpoint(slow)
        assert book.checkpoint() is None
        self.mark(book)
        slow = Checkpoint(seq=3, horizon=after(20), state=b"slow")
        book.append([strike("s", "a", 50)])
        book.save_checkpoint(slow)
        assert book.checkpoint() is None
        book.save_checkpoint(Checkpoint(seq=77, horizon=after(99), state=b"of another book"))
        assert book.checkpoint() is None

    def test_a_few_are_kept_and_they_reach_far_back(self, book: SqlBook) -> None:
        for day in range(40):
            book.append([note(f"day-{day}", day * 1440)])
            self.mark(book)
        with book.reading() as connection:
            kept = sorted(connection.exec_driver_sql("SELECT seq FROM checkpoint").scalars())
        assert len(kept) == 8
        assert kept[0] == 1
        assert kept[-3:] == [38, 39, 40]
        gaps = [later - earlier for earlier, later in pairwise(kept)]
        assert gaps == sorted(gaps, reverse=True)

    @pytest.mark.parametrize("seed", range(3))
    def test_folding_on_from_a_checkpoint_gives_the_fold_of_everything(self, book: Book, seed: int) -> None:
        """Entries late and early, struck and struck again, in any order; the state here is the list of what counts."""
        random = Random(seed)
        names: list[str] = []
        for step in range(40):
            batch = []
            for part in range(random.randint(1, 3)):
                name = f"{step}-{part}"
                minutes = step * 10 - (random.randint(0, 400) if random.random() < 0.2 else 0)
                struck = names and random.random() < 0.15
                batch.append(strike(name, random.choice(names), minutes) if struck else note(name, minutes))
                names.append(name)
            book.append(batch)
            until = after(random.randint(0, 500)) if random.random() < 0.3 else None
            assert self.folded(book, until, from_checkpoint=True) == self.folded(book, until, from_checkpoint=False)
            if random.random() < 0.4:
                self.mark(book, msgspec.json.encode(self.folded(book, None, from_checkpoint=False)))
        assert book.verify() == []

    def folded(self, book: Book, until: datetime | None, *, from_checkpoint: bool) -> list[str]:
        checkpoint = book.checkpoint(until=until) if from_checkpoint else None
        start: list[str] = msgspec.json.decode(checkpoint.state) if checkpoint else []
        fresh = book.timeline_after(checkpoint, until=until) if checkpoint else book.timeline(until=until)
        struck = book.struck()
        return start + [one.id for one in fresh if one.id not in struck]


class WorkedOutContract(Opening):
    """Figures kept for speed."""

    def test_what_was_worked_out_is_found_again(self, book: Book) -> None:
        assert book.worked_out("spreads") is None
        book.keep_worked_out("spreads", b"figures \x00\xff")
        book.keep_worked_out("other", b"")
        assert book.worked_out("spreads") == b"figures \x00\xff"
        assert book.worked_out("other") == b""
        assert book.worked_out("Spreads") is None

    def test_what_is_kept_under_a_name_takes_the_place_of_what_was_there(self, book: Book) -> None:
        book.keep_worked_out("spreads", b"of Monday")
        book.keep_worked_out("other", b"stays")
        book.keep_worked_out("spreads", b"of Tuesday")
        assert book.worked_out("spreads") == b"of Tuesday"
        assert book.worked_out("other") == b"stays"

    def test_figures_of_some_megabytes_come_back_whole(self, book: Book) -> None:
        large = Random(5).randbytes(3_000_000)
        book.keep_worked_out("spreads", large)
        assert book.worked_out("spreads") == large

    def test_entries_kept_since_leave_it(self, book: Book) -> None:
        book.append([note("a", 10)])
        book.keep_worked_out("spreads", b"figures")
        book.append([note("late", 5), strike("s", "a")])
        assert book.worked_out("spreads") == b"figures"

    def test_another_book_on_the_same_database_finds_it(self, book: SqlBook, url: str) -> None:
        book.keep_worked_out("spreads", b"figures")
        with open_book(url) as other:
            assert other.worked_out("spreads") == b"figures"
            other.keep_worked_out("spreads", b"newer figures")
        assert book.worked_out("spreads") == b"newer figures"

    def test_another_process_finds_it(self, book: SqlBook, url: str) -> None:
        book.keep_worked_out("spreads", b"figures")
        program = (
            "import sys; from trayward.store import open_book; book = open_book(sys.argv[1]); "
            "print(book.worked_out('spreads')); book.keep_worked_out('spreads', b'of the other'); book.close()"
        )
        ran = subprocess.run([sys.executable, "-c", program, url], capture_output=True, text=True, check=True)
        assert ran.stdout.strip() == "b'figures'"
        assert book.worked_out("spreads") == b"of the other"

    def test_rebuilding_throws_it_away(self, book: SqlBook) -> None:
        book.append([note("a")])
        book.keep_worked_out("spreads", b"figures")
        book.keep_worked_out("other", b"figures")
        book.rebuild()
        assert book.worked_out("spreads") is None
        assert book.worked_out("other") is None

    def test_it_is_no_part_of_the_record(self, book: SqlBook, tmp_path: Path) -> None:
        book.append(every_kind(Random(6)))

        def record() -> tuple[object, ...]:
            return list(book.rows()), book.projection_bytes(), list(book_lines(book)), book.head(), book.verify()

        before = record()
        book.keep_worked_out("spreads", b"figures")
        assert book.worked_out("spreads") == b"figures"
        assert record() == before
        export_lines(book, tmp_path / "out.jsonl")
        with open_book(tmp_path / "other.book", create=True) as other:
            import_book(other, tmp_path / "out.jsonl")
            assert other.worked_out("spreads") is None
            assert list(other.rows()) == list(book.rows())

    def test_a_backup_with_it_is_whole(self, book: SqlBook, tmp_path: Path) -> None:
        book.append([note("a")])
        book.keep_worked_out("spreads", b"figures")
        book.backup(tmp_path / "copy.book")
        with open_book(tmp_path / "copy.book") as copy:
            assert copy.verify() == []
            assert list(copy.rows()) == list(book.rows())
            assert copy.worked_out("spreads") in (b"figures", None)

    def test_where_others_are_writing_it_is_not_waited_for(self, book: SqlBook, url: str) -> None:
        """They may write for 30 s before anybody gives up; who only reads is to have the figures and go on."""
        book.keep_worked_out("spreads", b"of before")
        with open_book(url) as other, other.writing():
            before = time.monotonic()
            book.keep_worked_out("spreads", b"figures")
            waited = time.monotonic() - before
            assert book.worked_out("spreads") == b"of before"
        assert waited < 2
        book.keep_worked_out("spreads", b"figures")
        assert book.worked_out("spreads") == b"figures"

    def test_entries_are_waited_for_as_long_as_ever_afterwards(self, book: SqlBook, url: str) -> None:
        """The short wait must not stay on the connection, which the next writer may be given."""
        asked = "SHOW lock_timeout" if url.startswith("postgresql:") else "PRAGMA busy_timeout"

        def wait() -> object:
            with book.reading() as connection:
                return connection.exec_driver_sql(asked).scalar()

        usual = wait()
        with open_book(url) as other, other.writing():
            book.keep_worked_out("spreads", b"not kept")
        assert wait() == usual
        book.keep_worked_out("spreads", b"kept")
        assert wait() == usual
        assert usual in ("30s", 30_000)

    def test_many_who_keep_at_once_disturb_neither_each_other_nor_the_entries(self, book: SqlBook) -> None:
        def phone(number: int) -> None:
            for step in range(5):
                book.append([note(f"{number}-{step}", step)])
                book.keep_worked_out("spreads", b"figures of %d" % number)

        with ThreadPoolExecutor(8) as pool:
            list(pool.map(phone, range(8)))
        assert book.head().seq == 40
        assert book.verify() == []
        assert book.worked_out("spreads") in {b"figures of %d" % number for number in range(8)}

    def test_a_closed_book_keeps_no_figures_and_says_so(self, book: SqlBook) -> None:
        book.close()
        with pytest.raises(BookError, match="it has been closed"):
            book.worked_out("spreads")
        with pytest.raises(BookError, match="it has been closed"):
            book.keep_worked_out("spreads", b"figures")


class CareContract(Opening):
    """Verifying, rebuilding, guarding."""

    @pytest.fixture
    def told(self, book: SqlBook) -> SqlBook:
        book.append([note(f"n{number}", number, f"tray:{number}", "shelf:A") for number in range(1, 8)])
        book.append([strike("s", "n3", 9)])
        return book

    @pytest.mark.parametrize(
        ("statement", "code", "said"),
        [
            (
                "UPDATE entry SET canonical = replace(canonical, 'looks well', 'looks ill') WHERE seq = 4",
                "book-hash",
                "Entry 4: its hash does not fit its text",
            ),
            ("UPDATE entry SET hash = 'f00' WHERE seq = 4", "book-hash", "Entry 4: its hash"),
            ("DELETE FROM entry WHERE seq = 4", "book-missing", "Entry 4 is missing"),
            ("DELETE FROM entry WHERE seq > 5", "book-missing", "Entries 6 to 8 are missing"),
            ("DELETE FROM entry WHERE seq < 3", "book-missing", "Entries 1 to 2 are missing"),
            ("UPDATE entry SET at = at + 60000000 WHERE seq = 4", "book-column", "Entry 4: column at = "),
            ("UPDATE entry SET id = 'somebody-else' WHERE seq = 4", "book-column", "but its text says device-n4"),
            ("UPDATE entry SET kind = 'watered' WHERE seq = 4", "book-column", "Entry 4: column kind = watered"),
            ("UPDATE entry SET version = 7 WHERE seq = 4", "book-column", "Entry 4: column version = 7"),
            ("UPDATE entry SET canonical = '{' WHERE seq = 4", "book-text", "Entry 4: its text cannot be read"),
            ("UPDATE book_head SET hash = 'f00'", "book-end", "Entry 8: it is not the one the book says it ends with"),
            ("UPDATE book_head SET seq = 3", "book-end", "says it ends at entry 3, but it goes on to entry 8"),
            ("DELETE FROM book_head", "book-end", "does not say where it ends"),
        ],
    )
    def test_verify_finds_what_was_done(self, told: SqlBook, url: str, statement: str, code: str, said: str) -> None:
        assert told.verify() == []
        tamper(url, statement)
        found = told.verify()
        assert any(finding.code == code and said in finding.message for finding in found), found
        assert all(finding.severity == "wrong" for finding in found if finding.code != "book-look-up")
        assert all(finding.remedy for finding in found)

    def test_verify_finds_two_entries_that_changed_places(self, told: SqlBook, url: str) -> None:
        tamper(
            url,
            "UPDATE entry SET seq = 100 WHERE seq = 4",
            "UPDATE entry SET seq = 4 WHERE seq = 5",
            "UPDATE entry SET seq = 5 WHERE seq = 100",
        )
        messages = " ".join(finding.message for finding in told.verify() if finding.code == "book-hash")
        assert "Entry 4:" in messages
        assert "Entry 5:" in messages

    def test_verify_finds_an_entry_put_in(self, told: SqlBook, url: str) -> None:
        columns = "at, recorded, by_whom, kind, version, canonical, hash"
        tamper(
            url, f"INSERT INTO entry (seq, id, {columns}) SELECT 9, 'put-in-later', {columns} FROM entry WHERE seq = 1"
        )
        codes = {finding.code for finding in told.verify()}
        assert {"book-hash", "book-column", "book-end"} <= codes

    def test_verify_names_only_the_entry_that_was_changed(self, told: SqlBook, url: str) -> None:
        tamper(url, "UPDATE entry SET canonical = replace(canonical, 'well', 'ill') WHERE seq = 4")
        (finding,) = told.verify()
        assert finding.entries == ("device-n4",)
        assert "backup" in finding.remedy

    def test_verify_stops_after_enough(self, book: SqlBook, url: str) -> None:
        book.append([note(f"n{number}", number) for number in range(300)])
        tamper(url, "UPDATE entry SET hash = 'f00'")
        found = book.verify()
        assert len(found) == 201
        assert "There is more" in found[-1].message

    @pytest.mark.parametrize(
        "statement",
        [
            "UPDATE entry_subject SET subject = 'tray:9' WHERE subject = 'tray:4'",
            "DELETE FROM entry_subject WHERE subject = 'tray:4'",
            "INSERT INTO entry_subject (subject, seq) VALUES ('tray:9', 4)",
        ],
    )
    def test_a_look_up_that_disagrees_is_found_and_rebuilt(self, told: SqlBook, url: str, statement: str) -> None:
        before = told.projection_bytes()
        tamper(url, statement)
        (finding,) = told.verify()
        assert (finding.code, finding.severity) == ("book-look-up", "odd")
        assert "Entry 4: it is filed under" in finding.message
        told.rebuild()
        assert told.projection_bytes() == before
        assert told.verify() == []

    @pytest.mark.parametrize(
        "statement",
        [
            "UPDATE entry_words SET words = 'looks ill' WHERE seq = 4",
            "DELETE FROM entry_words WHERE seq = 4",
        ],
    )
    def test_words_that_disagree_are_found_and_rebuilt(self, told: SqlBook, url: str, statement: str) -> None:
        before = told.projection_bytes()
        tamper(url, statement)
        (finding,) = told.verify()
        assert (finding.code, finding.severity) == ("book-look-up", "odd")
        assert "Entry 4: it is not found by the words" in finding.message
        told.rebuild()
        assert told.projection_bytes() == before
        assert told.verify() == []

    def test_rebuilding_gives_the_same_bytes_and_drops_checkpoints(self, book: SqlBook) -> None:
        book.append(every_kind(Random(8), times=3))
        head = book.head()
        book.save_checkpoint(Checkpoint(seq=head.seq, horizon=head.horizon, state=b"state"))
        before = book.projection_bytes()
        assert before.count(b"\n") == head.seq
        book.rebuild()
        assert book.projection_bytes() == before
        assert book.checkpoint() is None
        assert book.head() == head

    @pytest.mark.parametrize(
        "statement",
        [
            "UPDATE entry SET by_whom = 'somebody' WHERE seq = 2",
            "DELETE FROM entry WHERE seq = 8",
            "INSERT INTO entry SELECT 10, 'new-id-10', at, recorded, by_whom, kind, version, canonical, hash "
            "FROM entry WHERE seq = 1",
            "INSERT INTO entry SELECT 8, 'new-id-8', at, recorded, by_whom, kind, version, canonical, hash "
            "FROM entry WHERE seq = 1",
        ],
    )
    def test_the_database_itself_refuses_to_break_the_log(self, told: SqlBook, url: str, statement: str) -> None:
        with pytest.raises(Exception, match=r"append-only"):
            say(url, statement)
        assert told.verify() == []


class CopyContract(Opening):
    """Backup, export, import."""

    @pytest.fixture
    def full(self, book: SqlBook) -> SqlBook:
        book.append(every_kind(Random(15), times=4))
        book.append([note(f"awkward-{number:02d}", text=text) for number, text in enumerate(AWKWARD)])
        return book

    def test_a_backup_is_the_whole_book(self, full: SqlBook, tmp_path: Path) -> None:
        full.backup(tmp_path / "copy.book")
        with open_book(tmp_path / "copy.book") as copy:
            assert list(copy.entries()) == list(full.entries())
            assert copy.projection_bytes() == full.projection_bytes()
            assert copy.verify() == []
        assert [path.name for path in tmp_path.glob("copy.book*")] == ["copy.book"]

    def test_a_backup_is_made_while_others_write(self, full: SqlBook, tmp_path: Path) -> None:
        stop = threading.Event()

        def write() -> int:
            written = 0
            while not stop.is_set():
                full.append([note(f"meanwhile-{written}", written)])
                written += 1
            return written

        with ThreadPoolExecutor(1) as pool:
            writer = pool.submit(write)
            try:
                for number in range(5):
                    full.backup(tmp_path / f"copy-{number}.book")
            finally:
                stop.set()
            assert writer.result() > 0
        everything = list(full.entries())
        for number in range(5):
            with open_book(tmp_path / f"copy-{number}.book") as copy:
                assert copy.verify() == []
                kept = list(copy.entries())
                assert kept == everything[: len(kept)]

    def test_a_backup_never_goes_onto_a_file(self, full: SqlBook, tmp_path: Path) -> None:
        (tmp_path / "letter.txt").write_text("dear")
        with pytest.raises(BookError, match="there is something already"):
            full.backup(tmp_path / "letter.txt")
        assert (tmp_path / "letter.txt").read_text() == "dear"
        with pytest.raises(BookError, match="cannot be made"):
            full.backup(tmp_path / "no such folder" / "copy.book")

    @pytest.mark.parametrize("export", [export_lines, export_csv])
    def test_an_export_imports_to_the_identical_book(
        self, full: SqlBook, tmp_path: Path, export: Callable[[SqlBook, Path], int], fresh: Callable[[], str]
    ) -> None:
        assert export(full, tmp_path / "out") == full.head().seq
        with open_book(fresh(), create=True) as again:
            assert import_book(again, tmp_path / "out") == (full.head().seq, 0)
            assert list(again.rows()) == list(full.rows())
            assert again.projection_bytes() == full.projection_bytes()
            assert again.struck() == full.struck()
            assert again.verify() == []
            assert import_book(again, tmp_path / "out") == (0, full.head().seq)
            assert again.head() == full.head()

    @pytest.mark.parametrize("export", [export_lines, export_csv])
    def test_a_longer_copy_of_a_book_is_imported_into_its_shorter_self(
        self, full: SqlBook, tmp_path: Path, export: Callable[[SqlBook, Path], int], fresh: Callable[[], str]
    ) -> None:
        export(full, tmp_path / "short")
        count = full.head().seq
        full.append([note("later"), note("latest")])
        export(full, tmp_path / "long")
        with open_book(fresh(), create=True) as other:
            import_book(other, tmp_path / "short")
            assert import_book(other, tmp_path / "long") == (2, count)
            assert list(other.rows()) == list(full.rows())
            assert import_book(other, tmp_path / "short") == (0, count)
            assert other.head() == full.head()
            assert other.verify() == []

    @pytest.mark.parametrize("rechain", [False, True])
    @pytest.mark.parametrize("export", [export_lines, export_csv])
    def test_the_book_of_another_farm_is_not_laid_over_this_one(
        self,
        full: SqlBook,
        tmp_path: Path,
        export: Callable[[SqlBook, Path], int],
        fresh: Callable[[], str],
        rechain: bool,
    ) -> None:
        export(full, tmp_path / "out")
        with open_book(fresh(), create=True) as other:
            other.append([note("own")])
            before = list(other.rows())
            with pytest.raises(BookError, match=r"another farm than .*, which holds 1 entry of its own\. Import"):
                import_book(other, tmp_path / "out", rechain=rechain)
            assert list(other.rows()) == before

    @pytest.mark.parametrize("export", [export_lines, export_csv])
    def test_two_copies_that_were_both_written_in_are_brought_together_only_when_that_is_asked_for(
        self, full: SqlBook, tmp_path: Path, export: Callable[[SqlBook, Path], int], fresh: Callable[[], str]
    ) -> None:
        export(full, tmp_path / "short")
        count = full.head().seq
        full.append([note("here")])
        export(full, tmp_path / "long")
        with open_book(fresh(), create=True) as other:
            import_book(other, tmp_path / "short")
            other.append([note("there")])
            with pytest.raises(BookError, match=rf"differ from entry {count + 1} on: both were written in.*--rechain"):
                import_book(other, tmp_path / "long")
            assert other.head().seq == count + 1
            assert import_book(other, tmp_path / "long", rechain=True) == (1, count)
            assert other.verify() == []

    def test_a_bad_line_is_named_and_nothing_is_imported(
        self, full: SqlBook, tmp_path: Path, fresh: Callable[[], str]
    ) -> None:
        lines = list(book_lines(full))
        lines[6] = b"not json\n"
        lines[9] = lines[9].replace(b'"Mo"', b'"Jo"')
        lines[-1] = lines[-1][:-20]
        (tmp_path / "out.jsonl").write_bytes(b"".join(lines))
        with open_book(fresh(), create=True) as other:
            with pytest.raises(BookError, match="nothing was imported") as told:
                import_book(other, tmp_path / "out.jsonl")
            message = str(told.value)
            assert "line 7: it is no line of a book" in message
            assert "line 10: entry 10: its hash does not fit" in message
            assert f"line {len(lines)}: it is no line of a book" in message
            assert other.head() == Head()

    def test_what_is_left_of_a_damaged_book_can_be_taken_over(
        self, full: SqlBook, tmp_path: Path, fresh: Callable[[], str]
    ) -> None:
        lines = list(book_lines(full))
        del lines[6]
        (tmp_path / "out.jsonl").write_bytes(b"".join(lines))
        with open_book(fresh(), create=True) as other:
            with pytest.raises(BookError, match="line 7: entry 8 comes after entry 6"):
                import_book(other, tmp_path / "out.jsonl")
            assert import_book(other, tmp_path / "out.jsonl", rechain=True).kept == len(lines)
            assert other.verify() == []

    def test_an_id_that_stands_for_something_else_stops_an_import(
        self, full: SqlBook, tmp_path: Path, fresh: Callable[[], str]
    ) -> None:
        export_lines(full, tmp_path / "out.jsonl")
        with open_book(fresh(), create=True) as other:
            other.append([note("000003", text="my own third")])
            with pytest.raises(BookError, match="line 4: entry device-000003: the id is taken by another entry"):
                import_book(other, tmp_path / "out.jsonl", rechain=True)
            assert other.head().seq == 1

    def test_the_same_entries_give_the_same_chain_on_every_database(self, full: SqlBook, tmp_path: Path) -> None:
        with open_book(tmp_path / "here.book", create=True) as here:
            here.append([one.entry for one in full.entries()])
            assert list(here.rows()) == list(full.rows())
            assert here.projection_bytes() == full.projection_bytes()


class BookContract(
    KeepingContract,
    TogetherContract,
    ReadingContract,
    SearchContract,
    CheckpointContract,
    WorkedOutContract,
    CareContract,
    CopyContract,
):
    """All of it."""
