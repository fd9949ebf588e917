"""The commands of the growth bench, with no farm and with one."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Typed, type_bench
from trayward.errors import InputError, NotFoundError

LOOKS = "temperature,not yet,seen,trays\n14,4.5,5,2\n14,5,5.5,2\n18,3.5,4,3\n22,2.5,3,4\n"


def run(*words: str, book: str = "nowhere.sqlite") -> str:
    """Type a bench command that must work; what it says."""
    done = type_bench("growth", *words, book=book, catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.stdout


def found(*words: str, book: str = "nowhere.sqlite") -> dict[str, Any]:
    """What a command answers in JSON, its figures by name."""
    told = json.loads(run(*words, "--json", book=book))
    return {amount["name"]: amount["value"] for amount in told["found"]}


@pytest.fixture
def logger(tmp_path: Path) -> Path:
    """A week of a shelf by the hour, 22.6 °C."""
    file = tmp_path / "shelf.csv"
    rows = [f"2026-11-{1 + hour // 24:02d} {hour % 24:02d}:00,22.6" for hour in range(24 * 7)]
    file.write_text("time,temp_c\n" + "\n".join(rows))
    return file


def test_the_bench_says_what_it_answers() -> None:
    said = run()
    assert all(name in said for name in ("emergence", "warmer", "log", "fit"))


def test_days_are_the_same_in_celsius_and_fahrenheit() -> None:
    assert found("emergence", "broccoli", "--shelf", "20 C") == pytest.approx(
        found("emergence", "broccoli", "--shelf", "68 F", "--us")
    )
    assert "6.32 d" in run("emergence", "broccoli", "--shelf", "20")


def test_a_cool_night_makes_it_later() -> None:
    steady, cool = found("emergence", "radish"), found("emergence", "radish", "--night", "15 C")
    assert cool["seedlings show"] > steady["seedlings show"]


def test_shelves_to_compare_with_are_named_or_stand_around_yours() -> None:
    assert "seedlings show sooner by" in found("warmer", "broccoli", "--shelf", "18 C", "--to", "22 C")
    said = run("warmer", "broccoli", "--shelf", "18 C")
    assert all(f"{temp} °C" in said for temp in (12, 15, 18, 21, 24))


def test_a_crop_nobody_knows_is_refused() -> None:
    with pytest.raises(NotFoundError, match="crop 'moss'"):
        run("emergence", "moss")


def test_a_log_is_added_up_for_a_crop_or_over_a_base(logger: Path) -> None:
    assert found("log", str(logger), "--crop", "broccoli")["a day"] == pytest.approx(20.0)
    assert found("log", str(logger), "--base", "12.6 C")["a day"] == pytest.approx(10.0)
    part = found("log", str(logger), "--base", "2.6", "--from", "2026-11-03", "--until", "2026-11-05")
    assert part["thermal time"] == pytest.approx(40.0)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ((), "base = none: say a crop, or below which temperature nothing moves"),
        (("--base", "3", "--from", "2027-01-01"), "fewer than two readings lie between. The log runs from 2026-11-01"),
        (("--base", "3", "--from", "lately"), "from = lately: it must be a date"),
        (("--base", "30"), r"base_c = 30 °C: must lie in \[-10, 20\] °C"),
        (("--base", "3", "--gap", "0"), r"gap = 0 h: must lie in"),
    ],
)
def test_a_log_that_cannot_be_added_up_says_why(logger: Path, words: tuple[str, ...], message: str) -> None:
    with pytest.raises(InputError, match=message):
        run("log", str(logger), *words)


def test_a_file_that_is_not_there_is_refused() -> None:
    with pytest.raises(InputError, match=r"file = nowhere.csv: it cannot be read"):
        run("log", "nowhere.csv", "--base", "3 C")


def test_looks_in_a_file_are_fitted(tmp_path: Path) -> None:
    file = tmp_path / "looks.csv"
    file.write_text(LOOKS)
    told = found("fit", str(file), "--crop", "broccoli")
    assert told["the looks tell"] is True
    assert told["nothing moves below"] == pytest.approx(3.6, abs=0.2)  # as when the page was written; 1.5 d of looks
    assert "thermal time, base held" in told


def test_every_answer_fits_eighty_columns(logger: Path, tmp_path: Path) -> None:
    file = tmp_path / "looks.csv"
    file.write_text(LOOKS)
    for words in (
        ("emergence", "radish", "--shelf", "28 C"),
        ("warmer", "broccoli"),
        ("log", str(logger), "--crop", "broccoli"),
        ("fit", str(file), "--crop", "broccoli"),
    ):
        assert max(map(len, run(*words).splitlines())) <= 80


# With a farm ----------------------------------------------------------------------------------------------------------


def test_without_a_file_and_without_a_farm_a_file_is_asked_for() -> None:
    with pytest.raises(InputError, match="file = none: a logger's file must be named"):
        run("log", "--base", "3 C")
    with pytest.raises(InputError, match=r"file = none: there is no farm here whose looks.*Name a file of looks"):
        run("fit", "--crop", "broccoli")


def test_the_farm_s_own_readings_are_its_log(shelf: Typed) -> None:
    for at in ("2026-11-25 08:00", "2026-11-25 20:00", "2026-11-26 08:00"):
        shelf.now = at.replace(" ", "T") + ":00+00:00"
        shelf("reading", "temperature", "22.6 C", "--where", "K1", "--at", at)
    words = ("log", "--crop", "broccoli", "--where", "K1", "--gap", "13", "--at", "2026-11-26 09:00")
    assert found(*words, book=str(shelf.book))["thermal time"] == pytest.approx(20.0)
    with pytest.raises(InputError, match="readings = 0: the book has fewer than two temperatures at K9"):
        run("log", "--crop", "broccoli", "--where", "K9", book=str(shelf.book))


def test_the_farm_s_own_figure_of_a_crop_counts(shelf: Typed) -> None:
    before = found("emergence", "broccoli", book=str(shelf.book))["seedlings show"]
    shelf("crop", "set", "broccoli", "tt_emerg_degCday", "55")
    assert found("emergence", "broccoli", book=str(shelf.book))["seedlings show"] == pytest.approx(before / 2)


def test_a_farm_with_no_tray_seen_through_says_what_to_do(shelf: Typed) -> None:
    with pytest.raises(InputError, match="the book has no tray of it seen through that stage"):
        run("fit", "--crop", "broccoli", book=str(shelf.book))
