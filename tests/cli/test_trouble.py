"""The command `trouble`: the guide, saying it, the list of what is held, and clearing."""

from __future__ import annotations

from pathlib import Path

from tests.cli.conftest import Typed


def test_the_signs_are_listed_and_everyday_words_find_them(shelf: Typed) -> None:
    assert "hulls stuck" in shelf("trouble")
    said = shelf("trouble", "they fell over")
    assert said.startswith("Fallen seedlings")
    assert "Texas A&M AgriLife Extension" in said
    assert "common practice, no source" in said


def test_words_that_mean_no_sign_are_refused_with_the_signs(shelf: Typed) -> None:
    assert "no sign of the guide is like it" in shelf.refused("trouble", "zzz", code=2)


def test_a_tray_and_a_sign_are_kept_ranked_and_the_tray_is_held_until_it_is_cleared(shelf: Typed) -> None:
    tray = shelf.json("sow", "broccoli")["names"][1]
    told = shelf.json("trouble", tray, "white fuzz", "--no", "gone when misted", "--yes", "smells", "--share", "20 %")
    assert "held back, suspected mould" in str(told["kept"]) or "suspected mould" in str(told["kept"])
    assert told["likely"][0]["cause"] == "mould"
    assert tray in shelf("trouble", "list")
    said = shelf("trouble", tray, "white fuzz")
    assert "Held back, suspected mould" in said
    assert "in 10: Mould on seed" in said
    assert "never eat it, never sell it" in said or "Root hairs" in said
    assert "it was root hairs" in shelf("trouble", "clear", tray, "--found", "root hairs")
    assert "No tray is held back." in shelf("trouble", "list")


def test_learn_says_what_trouble_came_with(shelf: Typed) -> None:
    shelf("sow", "broccoli")
    assert "No trouble was written down in 1 sowings" in shelf("learn", "trouble")


def test_the_guide_gives_temperatures_as_the_farm_reads_them(shelf: Typed) -> None:
    assert "°C" in shelf("trouble", "find", "slow")
    shelf("setup", "--yes", str(in_fahrenheit(shelf)))
    said = shelf("trouble", "find", "slow")
    assert "Keep the dark phase at 70 to 75 °F." in said  # 21 to 24 °C
    assert "°C" not in said


def in_fahrenheit(shelf: Typed) -> Path:
    path = shelf.book.parent / "warm.toml"
    path.write_text(shelf("setup", "--show").replace('temperature = "C"', 'temperature = "F"'), encoding="utf-8")
    return path
