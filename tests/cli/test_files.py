"""Saving to a file: one rule for all commands."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from trayward.cli.files import file_named, save, save_folder, save_new
from trayward.errors import InputError


def test_an_older_file_is_replaced_whole(tmp_path: Path) -> None:
    path = tmp_path / "november.csv"
    path.write_bytes(b"a long old one")
    save(path, b"new")
    assert path.read_bytes() == b"new"
    assert [each.name for each in tmp_path.iterdir()] == ["november.csv"]


def test_a_name_of_another_kind_is_refused_so_that_no_slip_lands_on_the_book(tmp_path: Path) -> None:
    assert file_named("a/November.PDF", ".pdf") == Path("a/November.PDF")
    with pytest.raises(InputError, match=r"must end in \.xlsx or \.csv\. For instance lantern-loft\.xlsx"):
        file_named(tmp_path / "lantern-loft.sqlite", ".xlsx", ".csv")
    with pytest.raises(InputError, match=r"xlsx = -: its name must end in \.xlsx"):
        file_named("-", ".xlsx", name="xlsx")


def test_where_nothing_can_be_written_the_old_one_stays_and_it_is_said(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"cannot be written .No such file or directory.*Choose another place"):
        save(tmp_path / "none" / "november.csv", b"new")
    (tmp_path / "folder.csv").mkdir()
    with pytest.raises(InputError, match="cannot be written"):
        save(tmp_path / "folder.csv", b"new")
    assert [each.name for each in tmp_path.iterdir()] == ["folder.csv"]


def test_a_folder_is_a_new_one(tmp_path: Path) -> None:
    save_folder(tmp_path / "pack", {"records.pdf": b"%PDF"})
    assert (tmp_path / "pack" / "records.pdf").read_bytes() == b"%PDF"
    with pytest.raises(InputError, match="one of that name already"):
        save_folder(tmp_path / "pack", {})


def test_a_new_file_is_not_left_half_and_an_old_one_is_left_alone(tmp_path: Path) -> None:
    def broken() -> Iterator[bytes]:
        yield b"half"
        raise InputError("last day", "2026-11-01", "it comes before the first", "Swap the two.")

    with pytest.raises(InputError, match="last day"):
        save_new(tmp_path / "e.jsonld", broken())
    assert list(tmp_path.iterdir()) == []
    assert save_new(tmp_path / "e.jsonld", [b"whole", b" one"]) == 9
    with pytest.raises(InputError, match=r"one of that name already\. Choose another name"):
        save_new(tmp_path / "e.jsonld", [b"other"])
    assert (tmp_path / "e.jsonld").read_bytes() == b"whole one"
