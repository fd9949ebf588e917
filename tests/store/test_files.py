"""Exported files: what is in them, what may happen to them, and reading a long book in little memory."""

from __future__ import annotations

import csv
import doctest
import hashlib
import json
import tracemalloc
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path
from random import Random

import msgspec
import pytest

from tests.contract.telling import AWKWARD, entry, every_kind, note, strike
from trayward.errors import BookError
from trayward.farm.codec import LIFTS, encode_state
from trayward.farm.entries import KINDS, Note, SeedReceived, SeedWeighed
from trayward.farm.fold import fold
from trayward.store import SqlBook, open_book
from trayward.store.export import export_csv, export_lines
from trayward.store.importing import import_book
from trayward.store.pen import Pen, prepare_canonical
from trayward.store.sheet_form import ENVELOPE


@pytest.fixture
def book(tmp_path: Path) -> Iterator[SqlBook]:
    with open_book(tmp_path / "farm.book", create=True) as opened:
        yield opened


@pytest.fixture
def other(tmp_path: Path) -> Iterator[SqlBook]:
    with open_book(tmp_path / "other.book", create=True) as opened:
        yield opened


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def _write_rows(path: Path, rows: list[dict[str, str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


@pytest.mark.parametrize("module", ["chain", "strikes", "sheet_form"])
def test_the_examples_in_the_docstrings_hold(module: str) -> None:
    result = doctest.testmod(import_module(f"trayward.store.{module}"))
    assert result.attempted > 0
    assert result.failed == 0


def test_json_lines_can_be_checked_without_this_program(book: SqlBook, tmp_path: Path) -> None:
    book.append([note("a"), note("b", text="Gemüse")])
    export_lines(book, tmp_path / "out.jsonl")
    previous = ""
    for number, line in enumerate((tmp_path / "out.jsonl").read_text("utf-8").splitlines(), start=1):
        said = json.loads(line)
        text = json.dumps(said["entry"], ensure_ascii=False, separators=(",", ":"), sort_keys=True)
        previous = hashlib.sha256(f"{previous}\n{number}\n{text}".encode()).hexdigest()
        assert (said["seq"], said["hash"]) == (number, previous)


def test_a_sheet_reads_like_a_sheet(book: SqlBook, tmp_path: Path) -> None:
    book.append([entry("a", SeedReceived(lot="RAD-1", crop="radish", grams=500, supplier="=Seeds & Co")), note("b")])
    assert export_csv(book, tmp_path / "sheets") == 2
    assert sorted(path.name for path in (tmp_path / "sheets").iterdir()) == [
        "about.json",
        "note.csv",
        "seed-received.csv",
    ]
    (row,) = _rows(tmp_path / "sheets" / "seed-received.csv")
    assert row["seq"] == "1"
    assert row["at"] == "2026-11-25T07:00:00Z"
    assert (row["lot"], row["grams"], row["germination"], row["treated"]) == ("RAD-1", "500.0", "", "false")
    assert row["supplier"] == "'=Seeds & Co", "a spreadsheet must not take a text for a formula"


def test_no_kind_has_a_field_that_hides_a_column_of_the_sheet() -> None:
    for kind, body in KINDS.items():
        fields = {field.encode_name for field in msgspec.structs.fields(body)}
        assert not fields & set(ENVELOPE), kind


def test_sheets_that_went_through_a_spreadsheet_still_import(book: SqlBook, other: SqlBook, tmp_path: Path) -> None:
    """Other line ends, no mark in front, a column moved."""
    book.append([note(f"n{number:02d}", text=text) for number, text in enumerate(AWKWARD)])
    export_csv(book, tmp_path / "sheets")
    rows = _rows(tmp_path / "sheets" / "note.csv")
    _write_rows(tmp_path / "sheets" / "note.csv", [dict(reversed(row.items())) for row in rows])
    assert import_book(other, tmp_path / "sheets").kept == len(AWKWARD)
    assert list(other.rows()) == list(book.rows())


def _drop_row(folder: Path) -> None:
    _write_rows(folder / "note.csv", _rows(folder / "note.csv")[:2])


def _change_cell(folder: Path) -> None:
    rows = _rows(folder / "note.csv")
    rows[1]["text"] = "all is well"
    _write_rows(folder / "note.csv", rows)


def _spoil_number(folder: Path) -> None:
    rows = _rows(folder / "seed-weighed.csv")
    rows[0]["grams"] = "12,5"
    _write_rows(folder / "seed-weighed.csv", rows)


def _cut_line(folder: Path) -> None:
    text = (folder / "note.csv").read_text("utf-8-sig")
    (folder / "note.csv").write_text(text[: text.rindex(",")], "utf-8")


def _drop_column(folder: Path) -> None:
    rows = _rows(folder / "note.csv")
    _write_rows(folder / "note.csv", [{name: cell for name, cell in row.items() if name != "hash"} for row in rows])


SPOILT: list[tuple[Callable[[Path], None], str]] = [
    (_drop_row, r"entry 5 comes after entry 3; one is missing"),
    (_change_cell, r"note\.csv line 3: entry 2: its hash does not fit"),
    (_spoil_number, r"seed-weighed\.csv line 2: it is no row of a book"),
    (_cut_line, r"note\.csv line 4: it is no row of a book: it has more or fewer cells"),
    (_drop_column, r"note\.csv: column hash is missing"),
    (lambda folder: (folder / "about.json").unlink(), r"about\.json is missing"),
    (lambda folder: (folder / "about.json").write_text("{") and None, r"about\.json: cannot be read"),
    (lambda folder: (folder / "note.csv").unlink(), r"note\.csv: cannot be read"),
    (lambda folder: (folder / "note.csv").write_bytes(b"seq,\xff\xfe") and None, r"cannot be read as text"),
]


@pytest.mark.parametrize(("spoil", "told"), SPOILT)
def test_spoilt_sheets_are_told_and_nothing_is_imported(
    book: SqlBook, other: SqlBook, tmp_path: Path, spoil: Callable[[Path], None], told: str
) -> None:
    book.append([note("a"), note("b"), entry("w", SeedWeighed(lot="RAD-1", grams=20)), note("c")])
    book.append([entry("x", SeedWeighed(lot="RAD-1", grams=10))])
    export_csv(book, tmp_path / "sheets")
    spoil(tmp_path / "sheets")
    with pytest.raises(BookError, match=told):
        import_book(other, tmp_path / "sheets")
    assert other.head().seq == 0


def test_many_bad_lines_are_told_at_first_twenty(book: SqlBook, tmp_path: Path) -> None:
    (tmp_path / "out.jsonl").write_text("nonsense\n" * 50)
    with pytest.raises(BookError, match=r"line 20: it is no line(.|\n)*and 30 more") as told:
        import_book(book, tmp_path / "out.jsonl")
    assert "line 21" not in str(told.value)


def test_lines_in_another_form_than_the_books_are_told(book: SqlBook, other: SqlBook, tmp_path: Path) -> None:
    """Read as the same entry, but not the same bytes: the chain would not be the same either."""
    book.append([note("a")])
    export_lines(book, tmp_path / "out.jsonl")
    line = json.loads((tmp_path / "out.jsonl").read_text())
    text = json.dumps(line["entry"])
    line["hash"] = hashlib.sha256(f"\n1\n{text}".encode()).hexdigest()
    (tmp_path / "out.jsonl").write_text(f'{{"seq":1,"hash":"{line["hash"]}","entry":{text}}}\n')
    with pytest.raises(BookError, match="line 1: the entry is written in another way"):
        import_book(other, tmp_path / "out.jsonl")
    assert import_book(other, tmp_path / "out.jsonl", rechain=True).kept == 1
    assert list(other.rows()) == list(book.rows())


def test_a_missing_file_is_told(book: SqlBook, tmp_path: Path) -> None:
    with pytest.raises(BookError, match=r"nowhere\.jsonl: cannot be read \(No such file"):
        import_book(book, tmp_path / "nowhere.jsonl")


def test_an_export_never_goes_onto_what_is_there(book: SqlBook, tmp_path: Path) -> None:
    (tmp_path / "sheets").mkdir()
    (tmp_path / "sheets" / "mine.txt").write_text("mine")
    with pytest.raises(BookError, match=r"there is something already. Name a folder"):
        export_csv(book, tmp_path / "sheets")
    with pytest.raises(BookError, match=r"there is something already. Name a file"):
        export_lines(book, tmp_path / "sheets" / "mine.txt")
    assert (tmp_path / "sheets" / "mine.txt").read_text() == "mine"


@pytest.mark.parametrize("export", [export_lines, export_csv])
def test_the_farm_folded_from_an_imported_book_is_the_same(
    book: SqlBook, other: SqlBook, tmp_path: Path, export: Callable[[SqlBook, Path], int]
) -> None:
    book.append(every_kind(Random(21), times=3))
    book.append([strike("s1", "000005", 6000), strike("s2", "000010", 6000), strike("s3", "s2", 6001)])
    export(book, tmp_path / "out")
    import_book(other, tmp_path / "out")
    states = [encode_state(fold(one.timeline(), struck=one.struck())) for one in (book, other)]
    assert states[0] == states[1]


def test_entries_of_an_older_version_keep_their_bytes(
    book: SqlBook, other: SqlBook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Written when notes had a `words` where they now have a `text`."""
    older = (
        b'{"at":"2026-11-25T07:00:00Z","body":{"about":[],"words":"12"},"by":"Mo","id":"device-old",'
        b'"kind":"note","recorded":"2026-11-25T07:00:00Z","version":1}'
    )
    monkeypatch.setattr(Note, "VERSION", 2)
    monkeypatch.setitem(LIFTS, ("note", 1), lambda body: {"about": body["about"], "text": body["words"]})
    with book.writing() as connection:
        pen = Pen(connection)
        pen.keep([prepare_canonical(older)])
        pen.flush()
    book.append([note("new", text="12")])
    assert [one.entry.body for one in book.entries()] == [Note(text="12")] * 2
    assert book.append([note("old", text="12")])[0].seq == 1, "the same entry, said again by a newer device"
    assert book.verify() == []
    export_csv(book, tmp_path / "sheets")
    assert {path.name for path in (tmp_path / "sheets").iterdir()} == {"about.json", "note.csv", "note.v2.csv"}
    import_book(other, tmp_path / "sheets")
    assert list(other.rows()) == list(book.rows())


def test_a_long_book_is_read_and_written_out_in_little_memory(
    book: SqlBook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Memory grows with the page, not with the book."""
    monkeypatch.setattr("trayward.store.book.PAGE", 100)
    monkeypatch.setattr("trayward.store.projections.PAGE", 100)
    book.append([note(f"n{number:05d}", number, text="x" * 5000) for number in range(2_000)])
    tracemalloc.start()
    try:
        assert sum(1 for _ in book.timeline()) == 2_000
        export_lines(book, tmp_path / "out.jsonl")
        assert book.verify() == []
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert (tmp_path / "out.jsonl").stat().st_size > 10_000_000
    assert peak < 3_000_000
