"""`trayward plan --what-if`: two plans side by side that fit a terminal, and nothing in the book."""

from __future__ import annotations

import pytest

from tests.cli.conftest import Typed

WEEKS = ("--weeks", "3")
NO_WED = ("plan", *WEEKS, "--what-if", "no home-wed")


def entries(typed: Typed) -> int:
    return len(typed.json("book", "show", "--last", "1000")["entries"])


def test_the_answer_says_what_was_understood_what_it_comes_to_and_that_nothing_was_recorded(shelf: Typed) -> None:
    told = shelf(*NO_WED, "--what-if", "1 more lit shelf of 3 spots")
    lines = told.splitlines()
    assert lines[:2] == ["What if: home-wed off.", "What if: 1 more lit shelf of 3 spots."]
    assert "Both plans run from Wed 25 Nov to Tue 15 Dec." in lines
    assert "met in full instead of" in " ".join(lines)
    assert any(line.split()[:2] == ["With", "it"] for line in lines)
    assert lines[-1] == "Nothing was recorded."


def test_it_fits_eighty_columns_whatever_the_names(shelf: Typed) -> None:
    long = "The Most Exceedingly Long Named Lantern Supper Society"
    told = shelf("plan", *WEEKS, "--all", "--what-if", f"200 g radish every Fri for {long}")
    assert max(map(len, told.splitlines())) <= 80
    assert "  The Most Exceedingly Long Named L…" in told


def test_the_difference_is_with_it_less_as_it_is(shelf: Typed) -> None:
    told = shelf(*NO_WED)
    found = shelf.json(*NO_WED)
    due = next(row for row in found["service"] if row["what"] == "lines due")
    assert due["difference"] == due["with_it"] - due["as_it_is"] < 0
    row = next(line.split() for line in told.splitlines() if line.strip().startswith("Lines due"))
    assert row[2:] == [f"{due['with_it']:.0f}", f"{due['as_it_is']:.0f}", f"{due['difference']:.0f}"]


def test_json_holds_both_plans_and_every_figure_between_them(shelf: Typed) -> None:
    found = shelf.json(*NO_WED)
    assert found["what_if"] == ["home-wed off"]
    assert {
        "verdict",
        "told_apart",
        "worth_a_week",
        "doubt_a_week",
        "money",
        "service",
        "customers",
        "crops",
        "limits",
    } <= (found.keys())
    assert len(found["with_it"]["lines"]) < len(found["as_it_is"]["lines"])
    assert [row["what"] for row in found["money"]][-3:] == ["margin", "letting down", "worth"]


def test_nothing_is_kept_neither_the_plan_nor_an_entry(shelf: Typed) -> None:
    before = entries(shelf)
    shelf(*NO_WED)
    assert entries(shelf) == before
    shelf("plan", *WEEKS)
    assert entries(shelf) == before + 1, "a plan that is not a what-if is kept, so the count would have shown it"


def test_all_shows_also_what_stays_the_same(shelf: Typed) -> None:
    brief, whole = shelf(*NO_WED), shelf(*NO_WED, "--all")
    assert len(whole.splitlines()) > len(brief.splitlines())
    assert "Packaging" in whole
    assert "Packaging" not in brief, "nothing is packed at the home shelf"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("no home-wedd", "Did you mean home-wed"),
        ("purple rain", "these words are not understood"),
        ("9 lit shelves less", "the farm has only"),
    ],
)
def test_what_is_not_understood_is_refused_with_the_way_out(shelf: Typed, words: str, told: str) -> None:
    said = " ".join(shelf.refused("plan", "--what-if", words, code=2).split())
    assert f"what-if = '{words}'" in said
    assert told in said


def test_the_plain_plan_stays_what_it_was(shelf: Typed) -> None:
    assert shelf("plan", *WEEKS).startswith("Plan from Wed 25 Nov")
