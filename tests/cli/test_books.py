"""The book from the terminal: shown, verified, struck, written out and taken in again."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from tests.cli.conftest import Typed
from tests.postgres import postgres, postgres_url
from trayward.store import open_book

__all__ = ["postgres", "postgres_url"]


def test_the_newest_entries_are_shown_with_what_they_say(shelf: Typed) -> None:
    shelf("sow", "broccoli")
    said = shelf("book", "show", "--last", "1")
    assert "Ada: sowing made" in said
    assert "261125A sown: 1 tray of broccoli on mesh mat, 19.3 g of lot K-BRO-1, on K1.1." in " ".join(said.split())


def test_a_long_entry_is_cut_short_in_a_list_and_whole_by_its_id(shelf: Typed) -> None:
    listed = shelf("book", "show", "--kind", "recipe set", "--last", "1")
    assert "...\nOne entry whole: trayward book show and the letters before its date.\n" in listed
    whole = shelf("book", "show", listed.split()[1])
    assert "\n  blackout: 0.7 to 1.5 days, mostly 1, in the dark, under the blackout cover," in whole
    assert "cut_window" not in whole
    assert "to be cut within 2 days" in whole


def test_entries_are_found_by_what_they_are_about_and_by_kind(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--trays", "2")
    shelf("water", "261125A.2", "30 ml", "--mist")
    shelf("note", "fan off")

    def kinds(*words: str) -> list[str]:
        return [entry["kind"] for entry in shelf.json("book", "show", *words)["entries"]]

    assert kinds("--about", "261125A.1") == ["sowing made"]
    assert kinds("--about", "261125A.2") == ["sowing made", "watered"]
    assert kinds("--kind", "note") == ["note"]
    assert "no entry is of that kind" in shelf.refused("book", "show", "--kind", "poem", code=2)


def test_the_count_is_of_the_entries_asked_for_and_says_how_to_see_the_older_ones(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--name", "N1")
    for _ in range(3):
        shelf("water", "N1", "30 ml", "--mist")
    assert shelf("book", "show", "--about", "N1.1").endswith("4 of 4 entries about N1.1.\n")
    said = " ".join(shelf("book", "show", "--about", "N1.1", "--last", "3").split())
    assert said.endswith(
        "3 of 4 entries about N1.1. Older ones are left out; all: trayward book show --about N1.1 --last 4"
    )
    said = " ".join(shelf("book", "show", "--kind", "recipe set", "--about", "N1.1").split())
    assert said == "0 of 0 entries about N1.1 of the kind recipe set."
    recipes = shelf.json("book", "show", "--kind", "recipe set", "--last", "1")["fitting"]
    said = " ".join(shelf("book", "show", "--kind", "recipe set", "--last", "1").split())
    assert said.endswith(f"all: trayward book show --kind 'recipe set' --last {recipes}")
    told = shelf.json("book", "show", "--last", "2")
    assert (len(told["entries"]), told["fitting"]) == (2, told["held"])
    assert shelf("book", "show", "--last", "2").endswith(f"2 of {told['held']} entries.\n")


def test_a_struck_entry_stays_in_the_book_and_counts_no_more(shelf: Typed) -> None:
    shelf("sow", "broccoli")
    entry = shelf.json("discard", "261125A.1", "--reason", "mould")["kept"][0]["id"]
    said = shelf("book", "strike", entry[:8], "--reason", "wrong tray")
    assert said.startswith("Taken back, of Wed 25 Nov 07:30: 261125A.1 thrown away: mould. Reason: wrong")
    assert shelf.json("tray", "list", "261125A.1")["trays"][0]["fate"] == "growing"
    assert "discarded (struck)" in shelf("book", "show", entry)
    story = {line["entry"]: line["struck"] for line in shelf.json("tray", "story", "261125A.1")["story"]}
    assert story[entry] is True
    assert "it is struck already" in shelf.refused("book", "strike", entry, "--reason", "again", code=2)


def test_a_strike_wants_a_reason_and_an_entry(shelf: Typed) -> None:
    entry = shelf.json("note", "fan off")["kept"][0]["id"]
    assert "a struck entry needs one" in shelf.refused("book", "strike", entry, code=2)
    assert "the farm has none of that name" in shelf.refused("book", "strike", "zzzz", "--reason", "x", code=2)


def test_a_whole_book_is_verified_and_a_changed_one_is_found_out(shelf: Typed) -> None:
    assert "The book is whole" in shelf("book", "verify")
    with sqlite3.connect(shelf.book) as database:
        for (trigger,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            database.execute(f"DROP TRIGGER {trigger}")
        database.execute("UPDATE entry SET canonical = replace(canonical, '250.0', '950.0') WHERE seq = 14")
        assert database.total_changes == 1
    database.close()
    result = shelf.run("book", "verify")
    assert result.exit_code == 1
    assert "look: " in result.stdout


def test_a_book_written_out_and_taken_in_is_the_same_book(shelf: Typed, tmp_path: Path) -> None:
    shelf("sow", "broccoli")
    for form in ("lines", "sheets"):
        target = tmp_path / form
        words = ["--csv"] if form == "sheets" else []
        count = shelf.json("book", "export", str(target), *words)["exported"]
        other = Typed(tmp_path)
        other.book = tmp_path / f"{form}.sqlite"
        assert other.json("book", "import", str(target))["imported"] == count
        assert other.json("book", "verify")["hash"] == shelf.json("book", "verify")["hash"]
        assert other.json("tray") == shelf.json("tray")
        assert other.json("book", "import", str(target)) == {"imported": 0, "already": count, "book": str(other.book)}


def test_a_backup_is_a_book_of_its_own(shelf: Typed, tmp_path: Path) -> None:
    shelf("sow", "broccoli")
    copy = tmp_path / "copy.sqlite"
    shelf("book", "backup", str(copy))
    shelf("discard", "261125A.1", "--reason", "mould")
    assert shelf.json("tray", "--book", str(copy))["trays"][0]["fate"] == "growing"
    assert "already" in shelf.refused("book", "backup", str(copy), code=1)


def test_rebuilding_changes_no_entry(shelf: Typed) -> None:
    shelf("sow", "broccoli")
    before = shelf.json("book", "verify"), shelf.json("tray")
    assert shelf.json("book", "rebuild")["rebuilt"] == before[0]["entries"]
    assert (shelf.json("book", "verify"), shelf.json("tray")) == before


def test_a_strike_taken_back_says_that_the_first_entry_counts_again(shelf: Typed) -> None:
    shelf("sow", "broccoli")
    discarded = shelf.json("discard", "261125A.1", "--reason", "mould")["kept"][0]["id"]
    struck = shelf.json("book", "strike", discarded, "--reason", "wrong tray")["kept"][0]["id"]
    shown = " ".join(shelf("book", "show", "--last", "1").split())
    assert f"Took back “261125A.1 thrown away: mould” ({discarded[:8]}): wrong tray." in shown
    said = " ".join(shelf("book", "strike", struck, "--reason", "it was right").split())
    assert "Reason: it was right. What it took back counts again." in said


def test_one_entry_is_one_entry(shelf: Typed) -> None:
    lines = shelf.folder / "farm.jsonl"
    shelf("book", "export", str(lines))
    second = shelf.folder / "second.sqlite"
    shelf("book", "import", str(lines), "--book", str(second))
    shelf("note", "fan off")
    lines.unlink()
    shelf("book", "export", str(lines))
    said = " ".join(shelf("book", "import", str(lines), "--book", str(second)).split())
    assert said == f"Imported 1 entry into {second}; 21 were there already."


# Moving a book --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("form", ["lines", "sheets"])
def test_a_book_goes_over_to_an_empty_database_on_a_server(shelf: Typed, postgres_url: str, form: str) -> None:
    shelf("sow", "broccoli")
    target = shelf.folder / form
    words = ["--csv"] if form == "sheets" else []
    count = shelf.json("book", "export", str(target), *words)["exported"]
    there = ["--book", postgres_url]
    assert shelf.json("book", "import", str(target), *there)["imported"] == count
    assert shelf.json("book", "verify", *there) == shelf.json("book", "verify")
    assert shelf.json("round", *there) == shelf.json("round")
    with open_book(shelf.book) as here, open_book(postgres_url) as server:
        assert [kept.hash for kept in server.entries()] == [kept.hash for kept in here.entries()]
    assert shelf.json("book", "import", str(target), *there)["already"] == count


def test_a_farm_begins_on_a_server_and_its_book_comes_over_to_a_file(bare: Typed, postgres_url: str) -> None:
    there = ["--book", postgres_url]
    bare("init", "--setup", "shelf", *there)
    bare("book", "export", str(bare.folder / "farm.jsonl"), *there)
    bare("book", "import", str(bare.folder / "farm.jsonl"))
    assert bare.json("book", "verify") == bare.json("book", "verify", *there)


@pytest.mark.parametrize("form", ["lines", "sheets"])
def test_the_book_of_another_farm_is_refused_with_a_way_out(shelf: Typed, form: str) -> None:
    target = shelf.folder / form
    shelf("book", "export", str(target), *(["--csv"] if form == "sheets" else []))
    other = shelf.folder / "loft.sqlite"
    shelf("init", "--setup", "loft", "--book", str(other))
    before = shelf.json("book", "verify", "--book", str(other))
    for words in ([], ["--rechain"]):
        said = shelf.refused("book", "import", str(target), "--book", str(other), *words, code=1)
        assert "nothing was imported. It is the book of another farm" in " ".join(said.split())
        assert "name one with --book" in " ".join(said.split())
    assert shelf.json("book", "verify", "--book", str(other)) == before


def test_an_import_that_is_refused_leaves_no_empty_book_behind(bare: Typed) -> None:
    (bare.folder / "poem.txt").write_text("roses are red\n")
    bare.refused("book", "import", str(bare.folder / "poem.txt"), code=1)
    assert not bare.book.exists()
