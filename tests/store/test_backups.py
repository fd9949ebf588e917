"""Backups that were tried out: each restored and looked through, torn ones told, the last sound one never let go."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from tests.contract.telling import note
from tests.postgres import postgres, postgres_url
from tests.store.test_moving import fill
from trayward.desk.backups import BackupPlan, Backups, backups_of, is_due, late_note
from trayward.errors import BookError
from trayward.store import SqlBook, open_book
from trayward.store import backups as keeping
from trayward.store.backups import back_up, keep_plan, kept_of, make_backup, proof_path, prove, read_proof, shelf
from trayward.store.moving import compare_books, move_book

__all__ = ["postgres", "postgres_url"]

AT = datetime(2026, 11, 25, 2, 30, tzinfo=UTC)
HERE = ZoneInfo("Europe/Madrid")
DAY = timedelta(days=1)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[SqlBook]:
    with open_book(tmp_path / "farm.sqlite", create=True) as opened:
        fill(opened, 60)
        yield opened


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "disk").mkdir()
    return tmp_path / "disk"


def plan_for(folder: Path) -> BackupPlan:
    return BackupPlan(folder=str(folder))


def test_it_works(book: SqlBook, folder: Path) -> None:
    made = back_up(book, plan_for(folder), AT, HERE)
    assert Path(made.file).name == "farm-2026-11-25-0330.sqlite"
    assert [(each.standing, each.entries, each.made) for each in shelf(folder, check=True)] == [("sound", 60, AT)]
    with open_book(made.file) as copy:
        assert copy.head().hash == book.head().hash
    assert backups_of(book).last == made


def test_a_database_is_backed_up_to_a_folder_as_well(book: SqlBook, folder: Path, postgres_url: str) -> None:
    move_book(book, postgres_url)
    with open_book(postgres_url) as there:
        made = back_up(there, plan_for(folder), AT, HERE)
        assert made.entries == 60
        assert shelf(folder, check=True)[0].standing == "sound"


@pytest.mark.parametrize("share", [0.0, 0.001, 0.3, 0.9])
def test_a_backup_cut_short_is_found_at_a_glance(book: SqlBook, folder: Path, share: float) -> None:
    made = make_backup(book, folder, AT, HERE)
    whole = Path(made.file).read_bytes()
    Path(made.file).write_bytes(whole[: int(len(whole) * share)])
    (found,) = shelf(folder)
    assert found.standing == "damaged"
    assert "cut short" in found.why


def test_a_backup_changed_in_the_middle_is_found_when_it_is_tried_out(book: SqlBook, folder: Path) -> None:
    made = make_backup(book, folder, AT, HERE)
    whole = bytearray(Path(made.file).read_bytes())
    place = whole.index(b"Gem\xc3\xbcse")
    whole[place : place + 3] = b"Pen"
    Path(made.file).write_bytes(bytes(whole))
    assert shelf(folder)[0].standing == "sound"
    (found,) = shelf(folder, check=True)
    assert found.standing == "damaged"
    assert "cannot be relied on" in found.why


def test_a_photo_changed_in_a_backup_is_found(book: SqlBook, folder: Path) -> None:
    made = make_backup(book, folder, AT, HERE)
    with closing(sqlite3.connect(made.file, isolation_level=None)) as connection:
        connection.execute("UPDATE photo SET picture = x'00'")
    with pytest.raises(BookError, match=r"The photo .* is damaged"):
        prove(Path(made.file), AT, proof=read_proof(Path(made.file)))


def test_a_person_lost_from_a_backup_is_found(book: SqlBook, folder: Path) -> None:
    made = make_backup(book, folder, AT, HERE)
    with closing(sqlite3.connect(made.file, isolation_level=None)) as connection:
        connection.execute("DELETE FROM token")
    with pytest.raises(BookError, match="token: 1 rows in one, 0 in the other"):
        prove(Path(made.file), AT, proof=read_proof(Path(made.file)))


def test_a_copy_that_comes_out_torn_is_not_kept_and_the_sound_one_stays(
    book: SqlBook, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = back_up(book, plan_for(folder), AT, HERE)

    def torn(self: SqlBook, target: Path) -> None:
        shutil.copyfile(before.file, target)
        os.truncate(target, 50_000)

    monkeypatch.setattr(SqlBook, "backup", torn)
    with pytest.raises(BookError, match="cut short"):
        back_up(book, plan_for(folder), AT + DAY, HERE)
    assert sorted(path.name for path in folder.iterdir()) == sorted(
        [Path(before.file).name, proof_path(Path(before.file)).name]
    )
    known = backups_of(book)
    assert known.last == before
    assert known.failed == AT + DAY
    assert "cut short" in known.why


def test_a_copy_of_something_else_is_not_kept(
    book: SqlBook, folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with open_book(tmp_path / "other.sqlite", create=True) as other:
        other.append([note("another-1", 1)])
        copy = SqlBook.backup
        monkeypatch.setattr(SqlBook, "backup", lambda _, target: copy(other, target))
        with pytest.raises(BookError, match="not that of the book"):
            back_up(book, plan_for(folder), AT, HERE)


def test_a_disk_that_is_not_there_is_told(book: SqlBook, tmp_path: Path) -> None:
    with pytest.raises(BookError, match="Plug the disk in"):
        back_up(book, plan_for(tmp_path / "gone"), AT, HERE)
    assert "Plug the disk in" in backups_of(book).why


def test_a_full_disk_is_told_before_it_is_filled(book: SqlBook, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(keeping.shutil, "disk_usage", lambda _: shutil._ntuple_diskusage(10, 9, 1))
    with pytest.raises(BookError, match="0 MB are free"):
        back_up(book, plan_for(folder), AT, HERE)
    assert list(folder.iterdir()) == []


def test_a_disk_that_fills_up_meanwhile_leaves_nothing(
    book: SqlBook, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(self: SqlBook, target: Path) -> None:
        raise BookError(f"{target}: cannot be written (No space left on device). Make room, or name another.")

    monkeypatch.setattr(SqlBook, "backup", full)
    with pytest.raises(BookError, match="No space left"):
        back_up(book, plan_for(folder), AT, HERE)
    assert list(folder.iterdir()) == []


def test_seven_days_four_weeks_twelve_months_stay(book: SqlBook, folder: Path) -> None:
    """Counted by hand: 25 to 19 November; Sundays 8 and 15 November besides; last days of the months before."""
    moments = [AT - day * DAY for day in range(70)]
    kept = sorted(
        moment.astimezone(HERE).date().isoformat() for moment in kept_of(moments, BackupPlan(folder=""), HERE)
    )
    assert kept == [
        "2026-09-30", "2026-10-31", "2026-11-08", "2026-11-15", "2026-11-19", "2026-11-20", "2026-11-21", "2026-11-22",
        "2026-11-23", "2026-11-24", "2026-11-25",
    ]  # fmt: skip


def test_what_the_plan_no_longer_keeps_goes_with_its_proof(book: SqlBook, folder: Path) -> None:
    plan = BackupPlan(folder=str(folder), days=2, weeks=0, months=0)
    for day in range(4):
        back_up(book, plan, AT + day * DAY, HERE)
    assert sorted(path.name for path in folder.iterdir()) == [
        "farm-2026-11-27-0330.proof.json", "farm-2026-11-27-0330.sqlite", "farm-2026-11-28-0330.proof.json",
        "farm-2026-11-28-0330.sqlite",
    ]  # fmt: skip


def test_the_only_sound_one_stays_however_old_it_is(book: SqlBook, folder: Path) -> None:
    plan = BackupPlan(folder=str(folder), days=1, weeks=0, months=0)
    first = make_backup(book, folder, AT, HERE)
    for day in (1, 2, 3):
        made = make_backup(book, folder, AT + day * DAY, HERE)
        os.truncate(made.file, 30_000)
    assert keeping.let_go(folder, plan, HERE) == []
    assert Path(first.file).is_file()
    assert [each.standing for each in shelf(folder)] == ["damaged"] * 3 + ["sound"]


def test_a_file_of_somebody_else_is_never_let_go(book: SqlBook, folder: Path) -> None:
    (folder / "notes.sqlite").write_bytes(b"not ours")
    for day in range(3):
        back_up(book, BackupPlan(folder=str(folder), days=1, weeks=0, months=0), AT + day * DAY, HERE)
    assert (folder / "notes.sqlite").read_bytes() == b"not ours"
    assert [each.standing for each in shelf(folder)] == ["sound", "not proven"]


def test_two_in_one_minute_are_two(book: SqlBook, folder: Path) -> None:
    names = {make_backup(book, folder, AT, HERE).file for _ in range(2)}
    assert len(names) == 2


def test_what_a_killed_backup_left_goes_the_day_after(book: SqlBook, folder: Path) -> None:
    left = folder / "farm-2026-11-20-0330.sqlite.unproven"
    left.write_bytes(b"half")
    os.utime(left, (AT.timestamp() - 3600,) * 2)
    make_backup(book, folder, AT, HERE)
    assert left.exists()
    make_backup(book, folder, AT + DAY, HERE)
    assert not left.exists()


def test_a_backup_stays_sound_although_it_was_opened(book: SqlBook, folder: Path, tmp_path: Path) -> None:
    made = make_backup(book, folder, AT, HERE)
    with open_book(made.file) as opened:
        assert opened.verify() == []
    assert shelf(folder, check=True)[0].standing == "sound"
    with open_book(made.file) as opened:
        move_book(opened, str(tmp_path / "new.sqlite"), close=False)
    with open_book(tmp_path / "new.sqlite") as new, open_book(made.file) as opened:
        assert compare_books(new, opened).same


def test_what_is_known_of_backups_outlives_a_rebuild(book: SqlBook, folder: Path) -> None:
    keep_plan(book, plan_for(folder), AT)
    made = back_up(book, plan_for(folder), AT, HERE)
    book.keep_worked_out("figures", b"1")
    book.rebuild()
    assert book.worked_out("figures") is None
    assert backups_of(book).last == made


# When -----------------------------------------------------------------------------------------------------------------


def test_one_is_due_once_a_day_on_the_farms_clock(book: SqlBook, folder: Path) -> None:
    keep_plan(book, plan_for(folder), AT)
    assert is_due(backups_of(book), AT, HERE)
    back_up(book, plan_for(folder), AT, HERE)  # 03:30 on the farm's clock
    known = backups_of(book)
    assert not is_due(known, AT + timedelta(hours=21, minutes=59), HERE)
    assert is_due(known, AT + timedelta(hours=23), HERE)


def test_one_that_failed_is_tried_again_after_an_hour(book: SqlBook, tmp_path: Path) -> None:
    plan = plan_for(tmp_path / "gone")
    keep_plan(book, plan, AT)
    with pytest.raises(BookError):
        back_up(book, plan, AT, HERE)
    known = backups_of(book)
    assert not is_due(known, AT + timedelta(minutes=59), HERE)
    assert is_due(known, AT + timedelta(minutes=60), HERE)
    assert is_due(known, AT - DAY, HERE)  # a clock set back must not keep backups away


def test_the_round_warns_when_the_last_sound_one_is_older_than_the_farm_wants(book: SqlBook, folder: Path) -> None:
    assert late_note(backups_of(book), AT) == ""
    keep_plan(book, plan_for(folder), AT)
    assert late_note(backups_of(book), AT + 2 * DAY) == ""
    assert late_note(backups_of(book), AT + 3 * DAY).startswith("No sound backup")
    back_up(book, plan_for(folder), AT, HERE)
    assert late_note(backups_of(book), AT + 2 * DAY) == ""
    assert "is 3 days old" in late_note(backups_of(book), AT + 3 * DAY)


def test_notes_of_another_version_are_no_trouble() -> None:
    class Odd:
        def worked_out(self, name: str) -> bytes:
            return b'{"plan": 7}'

    assert backups_of(Odd()) == Backups()
