"""The water bench typed, with no farm, and where a farm states its water."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import Result

from tests.cli.conftest import Typed, type_bench
from trayward.cli.bench_water import water
from trayward.errors import InputError
from trayward.web.bench.sums.water import ANSWERS

ACID = ("acid", "citric 50 %", "--ph", "7.8", "--alkalinity", "180 mg/l", "--to", "5.8", "--make", "10 l")


def run(book: Path, *words: str) -> Result:
    """Type `trayward bench water ...`."""
    return type_bench("water", *words, book=book)


@pytest.fixture
def nowhere(tmp_path: Path) -> Path:
    """Where there is no farm."""
    return tmp_path / "none.sqlite"


def told(book: Path, *words: str) -> dict[str, Any]:
    """Its answer in JSON."""
    result = run(book, *words, "--json")
    assert result.exit_code == 0, result.output
    return dict(json.loads(result.stdout))


def found(sheet: dict[str, Any], name: str) -> float:
    return float(next(one["value"] for one in sheet["found"] if one["name"] == name))


def refused(book: Path, *words: str) -> str:
    result = run(book, *words)
    assert isinstance(result.exception, InputError), result.output
    return str(result.exception)


def test_called_bare_it_says_what_it_answers(nowhere: Path) -> None:
    shown = run(nowhere).stdout
    assert all(name in shown for name, _ in ANSWERS)
    assert {name for name, _ in ANSWERS} == set(water.commands)


@pytest.mark.parametrize("name", [name for name, _ in ANSWERS])
def test_every_command_has_help_within_80_columns_with_an_example_that_works(nowhere: Path, name: str) -> None:
    shown = run(nowhere, name, "--help").stdout
    assert f"trayward bench water {name}" in shown
    assert max(map(len, shown.splitlines())) <= 80
    options = [parameter for parameter in water.commands[name].params if isinstance(parameter, click.Option)]
    assert all(option.help for option in options)
    names = [opt for option in options for opt in option.opts]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("name", [name for name, _ in ANSWERS])
def test_every_example_in_the_help_works(nowhere: Path, name: str) -> None:
    import shlex

    words = shlex.split((water.commands[name].epilog or "").split("Example:")[1])
    assert words[:4] == ["trayward", "bench", "water", name]
    sheet = told(nowhere, *words[3:])
    assert (sheet["bench"], sheet["task"]) == ("water", name)
    assert sheet["found"]
    assert all(one["citation"] for one in sheet["sources"])


def test_the_acid_comes_first_with_its_cautions_and_sources(nowhere: Path) -> None:
    shown = run(nowhere, *ACID).stdout
    assert shown.index("acid in all") < shown.index("alkalinity left") < shown.index("Caution") < shown.index("Sources")
    assert "never water into acid" in shown
    assert max(map(len, shown.splitlines())) <= 80
    assert found(told(nowhere, *ACID), "acid in all") == pytest.approx(3.89, abs=0.01)


def test_cups_and_fahrenheit_go_in_and_come_out(nowhere: Path) -> None:
    sheet = told(nowhere, *ACID[:-2], "--make", "1 gal", "--temperature", "64.4 F", "--us")
    assert next(one["value"] for one in sheet["given"] if one["name"] == "water temperature") == pytest.approx(18.0)
    assert "F" in run(nowhere, *ACID, "--us").stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("acid", "citric 110 %", "--ph", "7.8", "--alkalinity", "180"), "strength of citric acid = 110 %"),
        (("acid", "citric 50 %", "--ph", "15", "--alkalinity", "180"), "water pH = 15"),
        (("acid", "citric 50 %", "--ph", "7.8"), "alkalinity = not said"),
        (("acid", "--ph", "7.8", "--alkalinity", "180"), "acid = not said"),
        (("acid", "koh 10 %", "--ph", "7.8", "--alkalinity", "180"), "is no acid"),
        (("base", "citric 50 %", "--ph", "5", "--alkalinity", "2"), "is no base"),
        (("acid", "citric 50 %", "--ph", "5.2", "--alkalinity", "2"), "lies above the water's own pH"),
        (("depth", "--mat", "40 mm"), "lies above the brim"),
        (("feed", "--to", "1.2"), "Mix 1 ml in 1 l"),
        (("feed", "--adds", "0.3"), "EC wanted = not said"),
        (("feed", "--to", "600 ppm", "--adds", "0.3"), "one of three scales"),
        (("salt", "--holds", "N=15 %", "--to", "K=100"), "is not in this fertiliser"),
        (("tank", "--length", "1 m", "--depth", "10 mm"), "is a box with a width"),
    ],
)
def test_what_cannot_be_is_refused_with_the_way_out(nowhere: Path, words: tuple[str, ...], said: str) -> None:
    assert said in refused(nowhere, *words)


# In a farm that states its water --------------------------------------------------------------------------------------

STATED = """
[farm.water]
ph = 7.6
alkalinity = "180 mg/l"
ec = 0.4
acid = "citric 50 %"
feed = "leaf feed"
feed_adds = 0.35
feed_ec = [1.0, 1.4]

[[rack]]
"""


@pytest.fixture
def stated(bare: Typed) -> Typed:
    """The home shelf, its water stated."""
    from trayward.desk.setup.file import ready_setup_text

    setup = bare.folder / "home.toml"
    setup.write_text(ready_setup_text("shelf").replace("[[rack]]", STATED.strip(), 1), encoding="utf-8")
    bare("init", "--setup", str(setup))
    return bare


def test_the_farms_own_water_acid_and_feed_count_where_nothing_is_typed(stated: Typed) -> None:
    acid = told(stated.book, "acid")
    given = {one["name"]: one["value"] for one in acid["given"]}
    assert given["water pH"] == 7.6
    assert given["acid"] == "citric acid 50 %"
    assert given["pH wanted"] == pytest.approx(5.75)
    feed = told(stated.book, "feed", "--make", "10 l")
    assert found(feed, "leaf feed in all") == pytest.approx((1.2 - 0.4) / 0.35 * 10)
    other = told(stated.book, "acid", "--ph", "7.0")
    assert found(other, "acid in all") < found(acid, "acid in all")


def test_the_rounds_figures_are_the_benchs(stated: Typed) -> None:
    stated("sow", "broccoli", "--trays", "2", "--stage", "light", "--name", "X")
    stated.now = "2026-11-26T07:40:00+00:00"
    (row,) = [row for row in stated.json("round")["rows"] if row["kind"] == "look"]
    amounts = {one["what"]: one for one in row["amounts"]}
    acid = found(told(stated.book, "acid"), "in hard water")
    assert amounts["mix in citric acid 50 %"]["value"] == pytest.approx(acid, rel=5e-3)
    assert "begin with this, soft water takes 0.398 ml/l" in amounts["mix in citric acid 50 %"]["note"]
    assert amounts["mix in citric acid 50 %"]["unit"] == "ml/l"
    assert amounts["mix in leaf feed"]["value"] == pytest.approx((1.2 - 0.4) / 0.35, rel=5e-3)
    assert "for the row's 0.48 l" in amounts["mix in leaf feed"]["note"]
    assert "acids burn" in stated("round")


def test_a_reading_out_of_range_says_what_to_stir_in(stated: Typed) -> None:
    said = " ".join(stated("reading", "ph", "7.1", "--where", "feed tank").split())
    assert "its recipes want 5.5 to 6" in said
    assert "ml citric acid 50 % for each litre" in said
    assert "look:" not in stated("reading", "ph", "7.1", "--where", "tap")
    assert "plain water" in stated("reading", "ec", "2.0", "--where", "feed tank")


def test_a_tray_weighed_after_watering_is_refilled_by_its_own_weights(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--trays", "1", "--stage", "light", "--name", "X")
    assert "none was measured since the last watering" in refused(shelf.book, "refill", "--tray", "X.1")
    for moment, words in (
        ("07:40", ("measure", "X.1", "weight", "1900 g")),
        ("07:45", ("water", "X.1", "400 ml")),
        ("07:50", ("measure", "X.1", "weight", "2690 g")),
        ("19:00", ("measure", "X.1", "weight", "2310 g")),
    ):
        shelf.now = f"2026-11-25T{moment}:00+00:00"
        shelf(*words, "--sure") if words[0] != "water" else shelf(*words)
    shelf.now = "2026-11-25T19:30:00+00:00"
    sheet = shelf.json("bench", "water", "refill", "--tray", "X.1")
    assert found(sheet, "water to put back") == pytest.approx(380 / 0.9982, rel=1e-4)
    typed = shelf.json("bench", "water", "refill", "--tray", "X.1", "--now", "2290 g")
    assert found(typed, "water to put back") == pytest.approx(400 / 0.9982, rel=1e-4)


def test_a_farm_that_states_no_water_is_as_before(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--trays", "2", "--stage", "light", "--name", "X")
    shelf.now = "2026-11-26T07:40:00+00:00"
    (row,) = [row for row in shelf.json("round")["rows"] if row["kind"] == "look"]
    assert [one["what"] for one in row["amounts"]] == ["water below", "feed pH"]
    assert "look:" not in shelf("reading", "ph", "7.1", "--where", "feed tank")
