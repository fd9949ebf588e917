"""Readings of sensors beside the book: never lost, never changed unseen; on SQLite and PostgreSQL alike."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta
from itertools import count
from pathlib import Path

import pytest

from tests.contract.telling import START, entry, note, tamper
from tests.postgres import postgres, postgres_url
from trayward.errors import BookError
from trayward.farm.entries import ReadingsSummed
from trayward.farm.sensors import Sensor
from trayward.sensors.hours import sum_hour
from trayward.sensors.types import ReadingsKept, Taken
from trayward.store import SqlBook, open_book
from trayward.store.export import export_csv, export_lines
from trayward.store.importing import import_book
from trayward.store.readings import readings_file

__all__ = ["postgres", "postgres_url"]

M = timedelta(minutes=1)
COLD = Sensor(name="cold-1", place="cold room", what="cold room temperature", high=5.0)


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    return str(tmp_path / "farm.book") if request.param == "sqlite" else request.getfixturevalue("postgres_url")


@pytest.fixture
def book(url: str) -> Iterator[SqlBook]:
    with open_book(url, create=True) as opened:
        yield opened


@pytest.fixture
def fresh(tmp_path: Path) -> Callable[[], Path]:
    numbers = count(1)
    return lambda: tmp_path / f"fresh-{next(numbers)}"


def told(values: list[float], name: str = "cold-1") -> list[Taken]:
    return [Taken(name, START + 5 * M * place, value) for place, value in enumerate(values)]


def with_an_hour(book: SqlBook) -> None:
    """A note, an hour of readings with a value no decimal can say, and the entry of that hour."""
    book.append([note("a")])
    book.keep_readings(told([4.0, 0.1 + 0.2, 4.5]), START + 16 * M)
    there = book.readings("cold-1", START, START + 60 * M)
    hour = sum_hour(COLD, START, there)
    assert hour is not None
    body = ReadingsSummed(hour=START, taken_until=START + 63 * M, sensors=(hour,))
    book.append([entry("hour", body, 63)])


def all_of(book: SqlBook) -> list[tuple[object, float]]:
    return [tuple(each) for each in book.readings("cold-1", START - 60 * M, START + 600 * M)]


def test_it_works(book: SqlBook):
    with_an_hour(book)
    assert [each.value for each in book.readings("cold-1", START, START + 60 * M)] == [4.0, 0.1 + 0.2, 4.5]
    assert book.last_readings(["cold-1", "other"])["cold-1"].at == START + 10 * M
    assert book.reading_hours("cold-1", START - 60 * M, START + 120 * M) == [START]
    assert book.verify() == []


def test_the_same_reading_twice_changes_nothing_and_the_first_one_stays(book: SqlBook):
    assert book.keep_readings(told([4.0, 4.1]), START) == ReadingsKept(new=2)
    again = book.keep_readings(told([4.0, 9.9, 4.2]), START + M)
    assert again == ReadingsKept(new=1, already=2, differing=1)
    twice_at_once = book.keep_readings([Taken("b", START, 1.0), Taken("b", START, 2.0)], START)
    assert twice_at_once == ReadingsKept(new=1, already=1, differing=1)
    assert [each.value for each in book.readings("cold-1", START, START + 60 * M)] == [4.0, 4.1, 4.2]


def test_many_come_at_once(book: SqlBook):
    many = [Taken("cold-1", START + M * place, float(place % 7)) for place in range(12_000)]
    assert book.keep_readings(many, START).new == 12_000
    assert book.keep_readings(many, START).already == 12_000
    assert len(book.reading_hours("cold-1", START, START + 20_000 * M)) == 200


def test_a_restart_loses_nothing(book: SqlBook, url: str):
    with_an_hour(book)
    before = all_of(book)
    book.close()
    with open_book(url) as again:
        assert all_of(again) == before
        assert again.verify() == []


@pytest.mark.parametrize("change", ["UPDATE sensor_reading SET value = 4", "DELETE FROM sensor_reading"])
def test_the_database_itself_refuses_to_change_one(book: SqlBook, change: str):
    with_an_hour(book)
    with pytest.raises(BookError, match=r"refused to break the log"), book.writing() as connection:
        connection.exec_driver_sql(change)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("UPDATE sensor_reading SET value = 4.4 WHERE value > 4.2", "the readings of its hour were changed"),
        ("DELETE FROM sensor_reading WHERE value > 4.2", "2 of 3 readings of its hour are there"),
    ],
)
def test_a_reading_changed_behind_its_back_is_found(book: SqlBook, url: str, change: str, said: str):
    with_an_hour(book)
    book.close()
    tamper(url, change)
    with open_book(url) as again:
        found = again.verify()
        assert {each.code for each in found} == {"book-readings"}
        assert said in found[0].message


def test_guards_taken_away_are_missed_and_put_back(book: SqlBook):
    on = " ON sensor_reading" if book.path is None else ""
    name = "reading_no_change" if book.path is None else "reading_no_update"
    with book.writing() as connection:
        connection.exec_driver_sql(f"DROP TRIGGER {name}{on}")
    assert [each.code for each in book.verify()] == ["book-guard"]
    book.rebuild()
    assert book.verify() == []


def test_one_that_came_after_its_hour_was_said_is_no_change(book: SqlBook):
    with_an_hour(book)
    book.keep_readings([Taken("cold-1", START + 7 * M, 4.2)], START + 90 * M)
    assert book.verify() == []


def test_a_backup_holds_them(book: SqlBook, fresh: Callable[[], Path]):
    with_an_hour(book)
    copy = fresh()
    book.backup(copy)
    with open_book(copy) as other:
        assert all_of(other) == all_of(book)
        assert other.verify() == []


@pytest.mark.parametrize("export", [export_lines, export_csv])
def test_an_export_holds_them_and_is_read_back_exactly(book: SqlBook, fresh: Callable[[], Path], export: Callable):
    with_an_hour(book)
    target = fresh()
    assert export(book, target) == 2
    with open_book(fresh(), create=True) as other:
        assert import_book(other, target).kept == 2
        assert all_of(other) == all_of(book)
        assert other.verify() == []
        assert import_book(other, target).already == 2
        assert all_of(other) == all_of(book)
        second = fresh()
        export(other, second)
        assert readings_file(second).read_bytes() == readings_file(target).read_bytes()


def test_a_spoilt_file_of_readings_lets_nothing_in(book: SqlBook, fresh: Callable[[], Path]):
    with_an_hour(book)
    target = fresh()
    export_lines(book, target)
    file = readings_file(target)
    file.write_text(file.read_text().replace("0.30000000000000004", "much"))
    with open_book(fresh(), create=True) as other:
        with pytest.raises(BookError, match=r"line 3: it is no reading"):
            import_book(other, target)
        assert other.head().seq == 0


def test_a_book_without_sensors_has_no_such_file(book: SqlBook, fresh: Callable[[], Path]):
    book.append([note("a")])
    target = fresh()
    export_lines(book, target)
    assert not readings_file(target).exists()
