"""A slip of the thumb is pointed out before it is kept: asked about on a terminal, said with --sure elsewhere."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from typing import Any

import pytest

from tests.cli.conftest import Typed
from trayward.cli import doubting

ONCE_MORE = "Correct it, or say it again with --sure."


@pytest.fixture
def grown(shelf: Typed) -> Typed:
    """Two trays of broccoli, ready to cut on 3 December."""
    shelf("sow", "broccoli", "--trays", "2", "--name", "N1")
    for moment, stage in (("11-28T19:30", "blackout"), ("11-29T19:30", "light"), ("12-03T07:30", "ready")):
        shelf.now = f"2026-{moment}:00+00:00"
        assert f"now {stage}" in shelf("turn", "N1")
    return shelf


def held(typed: Typed) -> Any:
    return typed.json("book")["held"]


@pytest.fixture
def watched(monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody sits at the terminal and can answer."""
    monkeypatch.setattr(doubting, "somebody_there", lambda: True)


def test_ten_times_the_weight_is_pointed_out_and_not_kept(grown: Typed) -> None:
    before = held(grown)
    said = grown.refused("cut", "N1.1=101g", "N1.2=950g", code=1)
    assert said.startswith("tray N1.2, weight = 950 g: a tray of broccoli brings ")
    assert said.endswith(f" g. Did you mean 95 g? {ONCE_MORE}")
    assert "N1.1" not in said
    assert held(grown) == before


def test_sure_keeps_it_as_it_was_said(grown: Typed) -> None:
    said = grown("cut", "N1.1=101g", "N1.2=950g", "--sure")
    assert "Cut N1.1 and N1.2: 1051 g" in said
    assert "cut, 950 g" in grown("tray", "story", "N1.2")


def test_in_json_a_doubt_is_data(grown: Typed) -> None:
    result = grown.run("cut", "N1.1=101g", "N1.2=950g", "--json")
    assert result.exit_code == 1
    error = json.loads(result.stdout)["error"]
    assert {"kind", "message", "name", "value", "rule", "remedy"} < set(error)
    assert (error["kind"], error["name"], error["value"], error["remedy"]) == ("doubt", "tray N1.2", "950.0", ONCE_MORE)
    [doubt] = error["doubts"]
    assert (doubt["subject"], doubt["what"], doubt["value"], doubt["unit"]) == ("tray N1.2", "weight", 950.0, "g")
    assert doubt["expected_low"] < doubt["perhaps"] * 2 < doubt["expected_high"]
    assert doubt["perhaps"] == 95.0
    assert grown.json("cut", "N1.1=101g", "N1.2=950g", "--sure")["kept"][0]["says"]["trays"][1]["grams"] == 950.0


@pytest.mark.usefixtures("watched")
def test_on_a_terminal_it_is_asked_once_and_kept_on_a_yes(grown: Typed) -> None:
    result = grown.run("cut", "N1.2=950g", stdin="y\n")
    assert result.exit_code == 0, result.stderr
    assert result.stderr.count("Did you mean 95 g?") == 1
    assert result.stderr.count("Keep 950 g? [y/N]") == 1
    assert "--sure" not in result.stderr
    assert "Cut N1.2: 950 g" in result.stdout


@pytest.mark.usefixtures("watched")
@pytest.mark.parametrize("answer", ["n\n", "\n"], ids=["no", "nothing"])
def test_on_a_terminal_anything_but_yes_keeps_nothing(grown: Typed, answer: str) -> None:
    before = held(grown)
    result = grown.run("cut", "N1.1=950g", "N1.2=1010g", stdin=answer)
    assert result.exit_code == 1
    assert "Keep all of it as you said? [y/N]" in result.stderr
    assert result.stderr.endswith("Nothing was recorded. Say it anew with the right figure.\n")
    assert held(grown) == before


@pytest.mark.usefixtures("watched")
def test_json_never_asks(grown: Typed) -> None:
    result = grown.run("cut", "N1.2=950g", "--json", stdin="y\n")
    assert result.exit_code == 1
    assert "Keep" not in result.stderr
    assert json.loads(result.stdout)["error"]["kind"] == "doubt"


@pytest.mark.usefixtures("watched")
def test_who_stops_at_the_question_keeps_nothing(grown: Typed) -> None:
    before = held(grown)
    assert grown.run("cut", "N1.2=950g", stdin="").exit_code == 130
    assert held(grown) == before


def test_a_cut_on_the_round_is_pointed_out_too(grown: Typed) -> None:
    grown("round")
    before = held(grown)
    assert "tray N1.2, weight = 950 g" in grown.refused("round", "answer", "cut-N1-K2", "cut", "101", "950", code=1)
    assert held(grown) == before
    assert "cut, H261203A" in grown("round", "answer", "cut-N1-K2", "cut", "101", "950", "--sure")


def test_rows_before_a_doubtful_one_are_kept_and_said(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--name", "N1")
    shelf("sow", "radish", "--name", "N2")
    shelf("look", "N2", "--height", "60 mm")
    shelf.now = "2026-11-25T19:30:00+00:00"
    result = shelf.run("round", "answer", "look-N1-K1,look-N2-K1", "moist", "--height", "3 mm")
    assert result.exit_code == 1
    assert "height = 3 mm: it was 60 mm before." in result.stderr
    assert "1 row before it was kept." in result.stderr
    moisture = {tray["tray"]: tray["moisture"] for tray in shelf.json("tray")["trays"]}
    assert moisture == {"N1.1": "moist", "N2.1": None}


@pytest.mark.usefixtures("watched")
def test_each_row_of_a_round_is_asked_about_by_itself(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--name", "N1")
    shelf("sow", "radish", "--name", "N2")
    shelf("look", "N1", "N2", "--height", "60 mm")
    shelf.now = "2026-11-25T19:30:00+00:00"
    before = held(shelf)
    result = shelf.run("round", "answer", "look-N1-K1,look-N2-K1", "moist", "--height", "3 mm", stdin="y\nn\n")
    assert result.exit_code == 1
    assert result.stderr.count("Keep 3 mm? [y/N]") == 2
    assert "1 row before it was kept." in result.stderr
    assert held(shelf) == before + 1


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        (["sow", "kale", "--grams", "1.8 g"], "Did you mean 18 g?"),
        (["seed", "receive", "B2", "broccoli", "500 g", "--germination", "0.92 %"], "Did you mean 92 %?"),
        (["seed", "receive", "B2", "broccoli", "500 g", "--tsw", "32 g"], "Did you mean 3.2 g?"),
        (["seed", "weigh", "K-KAL-1", "0.25 g"], "Did you mean 250 g?"),
        (["reading", "temperature", "70", "--where", "K1"], "Did you mean 70 F?"),
        (["reading", "humidity", "0.6"], "Did you mean 60 %?"),
        (["water", "N1", "240 l"], "Did you mean 240 ml?"),
        (["feed", "N1", "240 ml", "--ec", "12"], "Did you mean 1.2 dS/m?"),
        (["note", "hello", "--at", "2025-11-25 07:00"], "the book begins on 2026-11-25."),
    ],
    ids=lambda value: value if isinstance(value, str) else " ".join(value[:3]),
)
def test_other_figures_are_held_against_what_is_usual(grown: Typed, words: list[str], meant: str) -> None:
    before = held(grown)
    said = grown.refused(*words, code=1)
    assert meant in said
    assert said.endswith(ONCE_MORE)
    assert held(grown) == before
    grown(*words, "--sure")
    assert held(grown) == before + 1


def test_a_clock_set_wrong_is_pointed_out(grown: Typed) -> None:
    grown.now = "2028-12-03T07:30:00+00:00"
    said = grown.refused("note", "hello", code=1)
    assert said == (
        "when = 2028-12-03 07:30: the last entry is of 2026-12-03, 731 days before. Check the device's clock. "
        f"{ONCE_MORE}"
    )


def test_a_real_terminal_asks(grown: Typed) -> None:
    """With a keyboard on the other side of a pseudo-terminal, and with nobody there."""
    words = [sys.executable, "-m", "trayward.cli.main", "cut", "N1.2=950g"]
    env = os.environ | {"TRAYWARD_NOW": grown.now, "TRAYWARD_BOOK": str(grown.book)}
    alone = subprocess.run(words, stdin=subprocess.DEVNULL, env=env, capture_output=True, text=True, check=False)
    assert (alone.returncode, "--sure" in alone.stderr) == (1, True)
    ours, theirs = pty.openpty()
    os.write(ours, b"y\n")
    with_us = subprocess.run(words, stdin=theirs, env=env, capture_output=True, text=True, check=False)
    os.close(ours)
    os.close(theirs)
    assert with_us.returncode == 0, with_us.stderr
    assert "Keep 950 g? [y/N]" in with_us.stderr
    assert "Cut N1.2: 950 g" in with_us.stdout


def test_who_cannot_be_doubted_is_not_offered_sure() -> None:
    from trayward.cli.main import COMMANDS, cli

    sure = set()
    for name in COMMANDS:
        made = cli.get_command(None, name)  # type: ignore[arg-type]
        sure |= {name for option in made.params if "--sure" in option.opts} if made is not None else set()
    assert {"cut", "sow", "look", "water", "feed", "measure", "reading", "note"} <= sure
    assert sure.isdisjoint({"init", "plan", "round", "outlook", "order", "book"})
