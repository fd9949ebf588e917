"""The seed bench typed, with no farm and in one."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import Result

from tests.cli.conftest import Typed, type_bench
from trayward.cli.bench_seed import seed
from trayward.errors import InputError, NotFoundError
from trayward.farm.settings import ShownUnits
from trayward.web.bench.sums import seed_words
from trayward.web.bench.sums.seed import ANSWERS


def run(book: Path, *words: str) -> Result:
    """Type `trayward bench seed ...`."""
    return type_bench("seed", *words, book=book)


def told(book: Path, *words: str) -> dict[str, Any]:
    """Its answer in JSON."""
    result = run(book, *words, "--json")
    assert result.exit_code == 0, f"{result.output} {result.exception!r}"
    return dict(json.loads(result.stdout))


def amount(sheet: dict[str, Any], name: str, where: str = "found") -> dict[str, Any]:
    """The amount of that name."""
    return next(dict(one) for one in sheet[where] if one["name"] == name)


def refused(book: Path, *words: str) -> str:
    """Why it is refused."""
    result = run(book, *words)
    assert isinstance(result.exception, (InputError, NotFoundError)), result.output
    return str(result.exception)


def test_called_bare_it_says_what_it_answers(tmp_path: Path) -> None:
    shown = run(tmp_path / "none").stdout
    assert all(name in shown for name, _ in ANSWERS)
    assert {name for name, _ in ANSWERS} == set(seed.commands)


@pytest.mark.parametrize("name", [name for name, _ in ANSWERS])
def test_every_command_has_help_within_80_columns_with_an_example_of_itself(tmp_path: Path, name: str) -> None:
    shown = run(tmp_path / "none", name, "--help").stdout
    assert f"trayward bench seed {name}" in shown
    assert max(map(len, shown.splitlines())) <= 80
    options = [parameter for parameter in seed.commands[name].params if isinstance(parameter, click.Option)]
    assert all(option.help for option in options)


def test_grams_for_a_density_with_no_farm(tmp_path: Path) -> None:
    sheet = told(tmp_path / "none", "grams", "broccoli", "--density", "4.4", "--germination", "90 %")
    assert sheet["found"][0]["name"] == "seed for a tray"
    assert sheet["found"][0]["value"] == pytest.approx(19.9, abs=0.1)
    may = amount(sheet, "live seeds it may give")
    assert may["low"] < 4.4 < may["high"]
    inches = told(tmp_path / "none", "grams", "broccoli", "--density", "28.387 per in2", "--germination", "90 %")
    assert inches["found"][0]["value"] == pytest.approx(sheet["found"][0]["value"], rel=1e-3)


def test_a_crop_may_be_written_large(tmp_path: Path) -> None:
    assert told(tmp_path / "none", "grams", "Broccoli", "--density", "4")["found"]


def test_a_test_of_ones_own_gives_the_density_its_range(tmp_path: Path) -> None:
    words = ("density", "broccoli", "20 g", "--tsw", "3.2 g")
    few = amount(told(tmp_path / "none", *words, "--sprouted", "9 of 10"), "live seeds")
    many = amount(told(tmp_path / "none", *words, "--sprouted", "450 of 500"), "live seeds")
    assert many["high"] - many["low"] < few["high"] - few["low"]


def test_two_tablespoons_are_twenty_grams_of_broccoli(tmp_path: Path) -> None:
    # Common practice, no source.
    sheet = told(tmp_path / "none", "spoons", "broccoli", "2 tbsp")
    assert sheet["found"][0]["value"] == pytest.approx(20.0, rel=0.01)
    shown = run(tmp_path / "none", "spoons", "broccoli", "20 g", "--us").stdout
    assert "2 tbsp" in shown


def test_a_tray_is_read_as_people_write_it(tmp_path: Path) -> None:
    sizes = ("10 x 20 in", "25.4 by 50.8 cm", "508x254mm", "1020", '10" x 20"')
    areas = {text: seed_words.tray(text, ShownUnits()) for text in sizes}
    for text, size in areas.items():
        assert size is not None, text
        assert size.area_cm2 == pytest.approx(1290.32), text


def test_mesh_by_millimetre_by_sieve_and_by_ones_own_seed(tmp_path: Path) -> None:
    none = tmp_path / "none"
    by_size = told(none, "mesh", "amaranth", "1 mm", "--grams", "8 g")
    by_number = told(none, "mesh", "amaranth", "No. 18", "--grams", "8 g")
    assert by_size["found"] == by_number["found"]
    own = told(none, "mesh", "broccoli", "1.4 mm", "--width", "1.6 mm", "--differs", "0.15 mm", "--round")
    assert amount(own, "stays on top")["value"] == pytest.approx(0.9088, abs=0.001)  # SEED-08
    beside = told(none, "mesh", "broccoli", "1.4 mm", "--beside", "1 mm", "--beside", "2 mm")
    assert [row[0] for row in beside["grids"][0]["rows"]] == ["1 mm", "2 mm"]


def test_soak_age_and_need_with_no_farm(tmp_path: Path) -> None:
    none = tmp_path / "none"
    assert amount(told(none, "soak", "pea", "150 g"), "soak")["value"] == 15 * 60
    old = told(none, "age", "onion", "2", "--kept", "70 F", "--humidity", "60 %")
    assert old["findings"][0]["code"] == "seed-store-damp"
    need = told(none, "need", "broccoli", "--trays", "6", "--grams", "20 g", "--weeks", "4", "--have", "310 g")
    assert amount(need, "buy broccoli")["value"] == pytest.approx(480 * 1.1 - 310)
    usual = told(none, "need", "broccoli", "--trays", "6", "--weeks", "4", "--spare", "0 %")
    assert amount(usual, "buy broccoli")["value"] == pytest.approx(480)


def test_tests_and_counts_typed(tmp_path: Path) -> None:
    none = tmp_path / "none"
    series = told(none, "germination", "--seeds", "50", "5:4", "6:17", "7:10", "8:7", "9:1", "11:1")
    assert amount(series, "half of those up")["value"] == pytest.approx(5.9706, abs=1e-4)
    assert series["found"] == told(none, "germination", "--seeds", "50", "5:4, 6:17, 7:10 8:7 9:1 11:1")["found"]
    assert amount(told(none, "test", "43 of 50"), "sprouts")["value"] == 0.86
    assert "12 are allowed" in amount(told(none, "test", "--repeats", "97 88 90 85"), "repeats apart")["note"]
    assert amount(told(none, "weight", "100", "0.31 g", "0.33 g"), "1000 seeds weigh")["value"] == pytest.approx(3.2)
    assert amount(told(none, "spread", "9,10,11,10", "8 12 10 10"), "even to")["value"] == pytest.approx(0.925)


@pytest.mark.parametrize(
    ("words", "rule"),
    [
        (("grams", "broccolli", "--density", "4"), "Did you mean: broccoli"),
        (("grams", "broccoli", "--density", "thick"), "density = thick: it must be seeds on an area"),
        (("grams", "broccoli", "--density", "4", "--germination", "0 %"), "germination = 0 %: must be above 0 %"),
        (("grams", "broccoli", "--density", "4", "--germination", "140 %"), "germination"),
        (("grams", "broccoli", "--density", "4", "--sprouted", "60 of 50"), "it cannot be more than were tested"),
        (("grams", "broccoli", "--density", "4", "--tsw", "0 g"), "tsw_g = 0 g"),
        (("grams", "broccoli", "--density", "4", "--tray", "large"), "tray = large: it must be length x width"),
        (("grams", "broccoli", "--density", "4", "--tray", "0 x 20 cm"), "a side of 0 mm is no tray"),
        (("grams", "broccoli", "--density", "4", "--tray", "10 x 20"), "a side of 10 mm is no tray. Say the unit"),
        (("grams", "broccoli", "--density", "4", "--lot", "B1"), "there is no farm here"),
        (("spoons", "pea", "2 tbsp"), "bulk density = blank"),
        (("spoons", "broccoli", "2 tbsp", "--bulk", "676"), "If this is kg/m3, divide by 1000"),
        (("mesh", "broccoli", "0 mm"), "opening_mm = 0 mm"),
        (("mesh", "broccoli", "No. 3"), "sieve = No. 3"),
        (("age", "onion", "40"), "years = 40 years: must lie in [0, 30]"),
        (("age", "onion", "1", "--humidity", "120 %"), "humidity"),
        (("need",), "nothing to work out"),
        (("need", "broccoli", "--trays", "-2"), "trays = -2: must be above 0"),
        (("need", "fennel", "--trays", "2", "--grams", "many"), "seed for a tray"),
        (("germination", "5-4", "--seeds", "50"), "counts = 5-4: each must be day:count"),
        (("germination", "5:4", "4:4", "--seeds", "50"), "looks = out of order"),
        (("germination", "5:4", "--seeds", "2"), "must be at least as many as germinated"),
        (("test",), "say how many of how many"),
        (("test", "--repeats", "97 88 90"), "repeats = 3: must be 2 or 4"),
        (("spread", "9", "x"), "count = x"),
    ],
)
def test_what_cannot_be_is_refused_in_the_house_form(tmp_path: Path, words: tuple[str, ...], rule: str) -> None:
    assert rule in refused(tmp_path / "none", *words)


def test_in_a_farm_its_lot_and_recipe_are_the_defaults(shelf: Typed) -> None:
    sheet = told(shelf.book, "grams", "broccoli", "--density", "4.4")
    assert amount(sheet, "1000 seeds weigh", "given")["note"] == "lot K-BRO-1, weighed"
    assert amount(sheet, "sprouts", "given")["value"] == pytest.approx(0.92, abs=0.001)
    typed = told(shelf.book, "grams", "broccoli", "--density", "4.4", "--tsw", "3 g", "--lot", "K-BRO-1")
    assert amount(typed, "1000 seeds weigh", "given")["value"] == 3.0
    assert "it is broccoli, not radish" in refused(shelf.book, "grams", "radish", "--density", "2", "--lot", "K-BRO-1")
    assert "seed lot 'B9'" in refused(shelf.book, "grams", "broccoli", "--density", "4", "--lot", "B9")


def test_in_a_farm_the_plan_says_what_seed_the_coming_weeks_need(shelf: Typed) -> None:
    sheet = told(shelf.book, "need", "--weeks", "3")
    plan = shelf.json("plan", "--weeks", "3")
    assert amount(sheet, "trays", "given")["value"] == sum(sowing["trays"] for sowing in plan["sowings"])
    broccoli = next(row for row in sheet["grids"][0]["rows"] if row[0] == "broccoli")
    wanted = sum(sowing["seed_g"] for sowing in plan["sowings"] if sowing["crop"] == "broccoli")
    assert broccoli[2] == f"{wanted:.0f} g"
    assert "the plan of 3 weeks does not sow it" in refused(shelf.book, "need", "borage", "--weeks", "3")
    assert told(shelf.book, "need", "radish", "--weeks", "1")["grids"][0]["rows"][0][0] == "radish"
