"""The hygiene bench typed, with no farm and in a farm's units."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import Result

from tests.cli.conftest import Typed, type_bench
from trayward.cli.bench_hygiene import hygiene
from trayward.errors import InputError
from trayward.web.bench.sums.hygiene import ANSWERS


def run(tmp_path: Path, *words: str) -> Result:
    """Type `trayward bench hygiene ...` where there is no farm."""
    return type_bench("hygiene", *words, book=tmp_path / "none.sqlite")


def told(tmp_path: Path, *words: str) -> dict[str, Any]:
    """Its answer in JSON."""
    result = run(tmp_path, *words, "--json")
    assert result.exit_code == 0, result.output
    return dict(json.loads(result.stdout))


def amount(sheet: dict[str, Any], name: str) -> dict[str, Any]:
    """The found amount of that name."""
    return next(dict(one) for one in sheet["found"] if one["name"] == name)


def refused(tmp_path: Path, *words: str) -> str:
    """Why it is refused."""
    result = run(tmp_path, *words)
    assert isinstance(result.exception, InputError), result.output
    return str(result.exception)


def test_called_bare_it_says_what_it_answers(tmp_path: Path) -> None:
    shown = run(tmp_path).stdout
    assert all(name in shown for name, _ in ANSWERS)
    assert {name for name, _ in ANSWERS} == set(hygiene.commands)


@pytest.mark.parametrize("name", [name for name, _ in ANSWERS])
def test_every_command_has_help_within_80_columns_with_an_example_of_itself(tmp_path: Path, name: str) -> None:
    shown = run(tmp_path, name, "--help").stdout
    assert f"trayward bench hygiene {name}" in shown
    assert max(map(len, shown.splitlines())) <= 80
    command = hygiene.commands[name]
    options = [parameter for parameter in command.params if isinstance(parameter, click.Option)]
    assert all(option.help for option in options)


def test_a_bucket_of_bleach_in_cups_and_spoons(tmp_path: Path) -> None:
    shown = run(tmp_path, "dilute", "bleach", "--label", "8.25 %", "--to", "200 ppm", "--us").stdout
    assert "1.9 tsp" in shown
    assert "16 cup" in shown or "1 gal" in shown
    assert max(map(len, shown.splitlines())) <= 150  # only addresses are longer than a line


def test_metric_makes_four_litres_where_nothing_is_said(tmp_path: Path) -> None:
    sheet = told(tmp_path, "dilute", "bleach", "--label", "5,25 %", "--to", "200")
    assert amount(sheet, "bleach to measure")["value"] == pytest.approx(200 * 4000 / 52_500)
    assert sheet["sources"][0]["citation"]
    assert sheet["cautions"]


@pytest.mark.parametrize(
    ("label", "ppm"),
    [
        ("52500 ppm", 52_500),
        ("5.25 % w/v", 52_500),
        ("12.5 % available chlorine by volume", 125_000),
        ("5.25 % by weight", 5.25 * 1e4 * (1 + 1.4 * 0.0525) * 70.906 / 74.442),
    ],
)
def test_labels_are_read_as_people_write_them(tmp_path: Path, label: str, ppm: float) -> None:
    sheet = told(tmp_path, "dilute", "bleach", "--label", label, "--to", "100", "--make", "1 l")
    assert amount(sheet, "bleach to measure")["value"] == pytest.approx(100 * 1000 / ppm)


def test_a_strength_in_per_cent_is_ten_thousand_ppm_each(tmp_path: Path) -> None:
    sheet = told(
        tmp_path, "dilute", "bleach", "--label", "5.25 %", "--to", "0.525 %", "--make", "1 l", "--use", "tools"
    )
    assert amount(sheet, "one part in")["value"] == pytest.approx(10)


def test_what_a_tablespoon_in_a_gallon_made(tmp_path: Path) -> None:
    # SANI-01, as typed.
    sheet = told(tmp_path, "strength", "bleach", "--label", "5.25 %", "--poured", "1 tbsp", "--into", "1 gal")
    assert amount(sheet, "strength made")["value"] == pytest.approx(204.3, abs=0.1)
    powder = told(tmp_path, "strength", "pool shock", "--label", "70 %", "--poured", "0.25 oz", "--into", "2 gal")
    assert amount(powder, "strength made")["value"] == pytest.approx(655, abs=1)


def test_a_solution_and_its_strips(tmp_path: Path) -> None:
    words = ("solution", "bleach", "--age", "1h45", "--least", "100", "--most", "200 ppm", "--strip", "1h30=150")
    assert amount(told(tmp_path, *words), "still good")["value"] is True
    old = told(tmp_path, *words, "--change-after", "1 h")
    assert amount(old, "still good")["value"] is False


def test_a_solution_by_the_farms_clock(shelf: Typed) -> None:
    words = ["solution", "bleach", "--least", "100", "--json"]

    def age(*more: str) -> float:
        done = type_bench("hygiene", *words, *more, book=shelf.book, now="2026-11-25T08:15:00+00:00")
        assert done.exit_code == 0, repr(done.exception)
        return float(next(one["value"] for one in json.loads(done.stdout)["given"] if one["name"] == "age"))

    by_clock = age("--made", "7:30", "--strip", "8:00=180")
    assert by_clock == age("--age", f"{by_clock:.0f} min")
    assert (by_clock - 45) % 60 == 0  # a quarter past, less half past: whole hours of the zone beside


def test_a_solution_made_before_midnight_is_not_a_day_old() -> None:
    from trayward.web.bench.sums.hygiene_words import age_at, clock

    assert age_at(clock("0:10", "now"), clock("23:50", "made")) == 20


def test_contact_time_from_the_table(tmp_path: Path) -> None:
    sheet = told(tmp_path, "contact", "--ppm", "1.2", "--ph", "7.5", "--water", "59 F")
    assert amount(sheet, "strength x time of the table")["value"] == 92
    assert amount(told(tmp_path, "contact", "--ppm", "200", "--time", "2 min"), "strength x time")["value"] == 400
    assert "nothing to work out" in refused(tmp_path, "contact", "--ppm", "200")


def test_chlorine_and_mixing(tmp_path: Path) -> None:
    assert amount(told(tmp_path, "chlorine", "7.5", "--ppm", "200"), "acts quickly")["value"] == pytest.approx(
        0.547, abs=0.001
    )
    assert amount(told(tmp_path, "mix", "bleach", "vinegar"), "bleach and vinegar")["value"] == "never"
    assert len(told(tmp_path, "mix")["grids"][0]["rows"]) > 10


def test_a_bath_typed_or_from_a_file_in_either_scale(tmp_path: Path) -> None:
    typed = told(tmp_path, "hot-water", "radish", "--bath", "0=50.1 5=50.2 10=49.9 15=50")
    assert amount(typed, "did its work")["value"] is True
    file = tmp_path / "bath.txt"
    file.write_text("0 122 F\n5 122.2 F\n10 121.9 F\n15 122 F\n")
    assert amount(told(tmp_path, "hot-water", "radish", "--bath", str(file)), "did its work")["value"] is True
    file.write_text("0,50.1\n5,50.2\n10,49.9\n15,50\n".replace(",", ", "))
    assert amount(told(tmp_path, "hot-water", "radish", "--bath", str(file)), "did its work")["value"] is True
    assert "broccoli" in run(tmp_path, "hot-water").stdout


@pytest.mark.parametrize(
    ("words", "rule"),
    [
        (("dilute", "bleach", "--label", "0 %", "--to", "200"), "label strength = 0 %"),
        (("dilute", "bleach", "--label", "120 %", "--to", "200"), "label strength = 120 %"),
        (("dilute", "bleach", "--label", "strong", "--to", "200"), "it must be a number with % or ppm"),
        (("dilute", "bleach", "--label", "5 % of it", "--to", "200"), "'of it' is not what a label's per cent is of"),
        (("dilute", "bleach", "--label", "0.01 %", "--to", "200"), "target = 200 ppm: must not be above"),
        (("dilute", "bleach", "--label", "5 %", "--to", "much"), "strength = much"),
        (("dilute", "alcohol", "--label", "95 %", "--to", "700"), "alcohol is told in per cent by volume"),
        (("dilute", "bleach", "--label", "5 %", "--to", "200", "--ph", "15"), "pH = 15"),
        (("dilute", "bleach", "--label", "5 %", "--to", "200", "--make", "0"), "total_ml = 0 ml"),
        (("dilute", "rain", "--label", "5 %", "--to", "200"), "sanitiser = rain"),
        (("solution", "bleach", "--age", "1h", "--least", "100", "--strip", "soon"), "strip = soon"),
        (
            ("solution", "bleach", "--age", "1h", "--least", "100", "--strip", "9:00=150"),
            "needs to know when it was made",
        ),
        (("solution", "bleach", "--made", "25:00", "--least", "100"), "made = 25:00: it must be a time of day"),
        (("solution", "bleach", "--least", "100"), "say --made or --age"),
        (("hot-water", "radish", "--bath", "0=hot"), "reading at 0 min"),
        (("hot-water", "radish", "--bath", "warm"), "readings = warm"),
        (("hot-water", "pea"), "crop = pea"),
        (("mix", "bleach", "moonshine"), "product = moonshine"),
    ],
)
def test_what_cannot_be_is_refused_in_the_house_form(tmp_path: Path, words: tuple[str, ...], rule: str) -> None:
    assert rule in refused(tmp_path, *words)


def test_in_a_farm_its_own_units_are_shown(shelf: Typed) -> None:
    words = ["dilute", "bleach", "--label", "8.25 %", "--to", "200 ppm", "--make", "1 gal"]
    shown = type_bench("hygiene", *words, book=shelf.book, now=shelf.now)
    assert shown.exit_code == 0, shown.output
    assert "bleach to measure" in shown.stdout
