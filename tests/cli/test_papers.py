"""Sheets and labels from the terminal, and entering what was written on them."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest

from tests.cli.conftest import Typed


def text_of(path: Path) -> str:
    document = pypdfium2.PdfDocument(path.read_bytes())
    return " ".join(" ".join(page.get_textpage().get_text_bounded() for page in document).split())


@pytest.fixture
def sown(shelf: Typed) -> Typed:
    """Two sowings on the shelf, and the evening round on."""
    shelf("sow", "broccoli")
    shelf("sow", "radish")
    shelf.now = "2026-11-25T19:30:00+00:00"
    return shelf


def test_it_works(sown: Typed, tmp_path: Path) -> None:
    out = tmp_path / "round.pdf"
    said = sown("paper", "round", "--out", str(out), "--size", "Letter")
    assert f"Saved: {out}" in said
    assert "--sheet 261125-1930" in said
    assert "Round 2026-11-25 evening" in text_of(out)


@pytest.mark.parametrize("name", ["round", "sowing", "harvest", "washing", "picks"])
def test_every_sheet_says_in_json_where_it_is(sown: Typed, tmp_path: Path, name: str) -> None:
    told = sown.json("paper", name, "--out", str(tmp_path / "sheet.pdf"))
    assert told["file"] == str(tmp_path / "sheet.pdf")
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")


def test_the_list_of_sheets_names_labels_by_their_measures(shelf: Typed) -> None:
    said = shelf("paper")
    assert "3 x 8 of 63.5 x 33.9 mm on A4" in said
    assert "round" in said


def test_a_number_of_the_sheet_answers_its_row_though_the_round_was_shown_again(sown: Typed, tmp_path: Path) -> None:
    rows = sown.json("round")["rows"]
    looks = [row for row in rows if row["kind"] == "look"]
    assert len(looks) > 1
    sown("paper", "round", "--out", str(tmp_path / "round.pdf"))
    sown("round", "answer", str(looks[0]["number"]), "moist")
    shown_again = sown.json("round")["rows"]
    number = looks[1]["number"]
    assert [row["row"] for row in shown_again if row["number"] == number] != [looks[1]["row"]]
    told = sown.json("round", "answer", str(number), "moist", "--sheet", "261125-1930")
    assert [each["row"] for each in told["answers"]] == [looks[1]["row"]]
    assert looks[1]["row"] not in {row["row"] for row in sown.json("round")["rows"]}


def test_a_sheet_is_entered_hours_later_at_its_own_time(sown: Typed, tmp_path: Path) -> None:
    sown("paper", "round", "--out", str(tmp_path / "round.pdf"))
    sown.now = "2026-11-26T08:00:00+00:00"
    said = sown("round", "answer", "1", "fine", "--sheet", "261125-1930", "--at", "2026-11-25 19:40")
    assert said.startswith("1  Look")


def test_weights_for_a_sheet_are_as_many_as_its_trays(sown: Typed, tmp_path: Path) -> None:
    sown("paper", "round", "--out", str(tmp_path / "round.pdf"))
    result = sown.run("round", "answer", "1", "cut", "90", "91", "92", "--sheet", "261125-1930")
    assert result.exit_code != 0
    assert "Give one for each tray" in result.stderr


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("paper", "round", "--out", "round.txt"), "must end in .pdf"),
        (("paper", "round", "--size", "B5"), "Say A4 or Letter"),
        (("paper", "round", "--only", "Z9"), "place"),
        (("paper", "sowing", "--days", "0"), "how many days"),
        (("paper", "note", "D1"), "delivery"),
        (("paper", "invoice", "1"), "invoice"),
        (("paper", "labels", "P1", "--on", "63.5x33.9"), "pack"),
        (("paper", "tags", "shelves", "--on", "3x3"), "labels"),
        (("round", "answer", "1", "fine", "--sheet", "260101-0000"), "foot of the sheet"),
    ],
)
def test_what_cannot_be_printed_is_refused_in_words(
    sown: Typed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], says: str
) -> None:
    monkeypatch.chdir(tmp_path)
    result = sown.run(*words)
    assert result.exit_code != 0
    assert says in result.stderr
    assert list(tmp_path.glob("*.pdf")) == []


def test_tags_are_moved_by_lengths_as_people_say_them(shelf: Typed, tmp_path: Path) -> None:
    out = tmp_path / "tags.pdf"
    on = ("--on", "99.1 x 38.1", "--right", "1.5 mm", "--down", "-1 mm", "--start", "3", "--outlines")
    assert "Saved" in shelf("paper", "tags", "shelves", *on, "--out", str(out))
    assert len(pypdfium2.PdfDocument(out.read_bytes())) == 1
