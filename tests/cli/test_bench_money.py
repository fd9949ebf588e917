"""Typing sums of money: with no farm, with Lantern Loft's own figures, and what is refused."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from tests.cli.conftest import MORNING, Typed, type_bench
from trayward.bootstrap import Farm
from trayward.study.account import Rates, price_of_seed, tray_cost

SUMS = (
    ("tray", "broccoli"),
    ("price", "broccoli", "--margin", "40 %"),
    ("break-even", "broccoli", "--price", "9/100 g", "--fixed", "rent=350 a month", "--planned", "30"),
    ("density", "broccoli", "--price", "9/100 g"),
    ("moves", "broccoli"),
)


def typed(folder: Path, *words: str, book: Path | None = None) -> Result:
    return type_bench("money", *words, book=book or folder / "none.sqlite")


def found(result: Result) -> dict[str, Any]:
    assert result.exit_code == 0, result.output
    told = json.loads(result.stdout)
    return {one["name"]: one for one in (*told["given"], *told["found"])}


@pytest.fixture(scope="module")
def loft(tmp_path_factory: pytest.TempPathFactory) -> Path:
    terminal = Typed(tmp_path_factory.mktemp("loft"))
    terminal("init", "--setup", "loft")
    return terminal.book


# With no farm ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("words", SUMS, ids=lambda words: str(words[0]))
def test_every_sum_answers_with_no_farm_in_words_and_in_json(tmp_path: Path, words: tuple[str, ...]) -> None:
    said = typed(tmp_path, *words)
    assert said.exit_code == 0, said.output
    assert "our example: give yours" in said.stdout
    assert max(map(len, said.stdout.splitlines())) <= 80
    told = json.loads(typed(tmp_path, *words, "--json").stdout)
    assert (told["bench"], told["task"]) == ("money", words[0])
    assert told["sources"]


def test_the_group_called_bare_says_what_its_sums_answer(tmp_path: Path) -> None:
    said = typed(tmp_path)
    assert said.exit_code == 0
    assert all(words[0] in said.stdout for words in SUMS)
    assert [one["name"] for one in json.loads(typed(tmp_path, "--json").stdout)["sums"]] == [one[0] for one in SUMS]


def test_every_figure_can_be_typed_and_then_no_example_is_left(tmp_path: Path) -> None:
    """The made-up tray of COST-03 in our list of checks: 3.334."""
    words = (
        "tray", "--weight", "260 g", "--seed", "40 g", "--seed-price", "18/kg", "--medium", "0.55", "--wear", "0.04",
        "--water", "10 l", "--water-price", "4", "--lamps", "80 W", "--hours", "16", "--shelf-trays", "4", "--lit-days",
        "8", "--kwh-price", "0.15", "--hands", "all=6", "--wage", "16", "--pack-weight", "0", "--pack-price", "0",
        "--lost", "0 %", "--json",
    )  # fmt: skip
    result = typed(tmp_path, *words)
    assert found(result)["cost of a tray"]["value"] == pytest.approx(3.334, abs=0.001)
    assert "our example" not in result.stdout


@pytest.mark.parametrize(
    ("text", "a_kilogram"),
    [("18/kg", 18), ("18", 18), ("1.80/100 g", 18), ("9 / 500 g", 18), ("8 a lb", 17.637), ("2 per oz", 70.548)],
)
def test_the_price_of_seed_is_read_as_people_say_it(tmp_path: Path, text: str, a_kilogram: float) -> None:
    result = typed(tmp_path, "tray", "broccoli", "--seed-price", text, "--json")
    assert found(result)["price of seed"]["value"] == pytest.approx(a_kilogram, rel=1e-4)


def test_a_bare_price_is_a_packs(tmp_path: Path) -> None:
    result = typed(tmp_path, "tray", "broccoli", "--price", "4.50", "--pack-weight", "60 g", "--json")
    assert found(result)["price of 100 g"]["value"] == pytest.approx(7.5)


def test_fixed_costs_are_read_by_the_week_the_month_and_the_year_and_by_their_wear(tmp_path: Path) -> None:
    words = ("--fixed", "rent=365.25 a month", "--fixed", "phone=7 a week", "--bought", "rack=480 to 30 over 5 years")
    result = typed(tmp_path, "break-even", "broccoli", "--price", "9/100 g", *words, "--json")
    week = {name: found(result)[name]["value"] for name in ("rent", "phone", "rack")}
    assert week == {"rent": pytest.approx(84), "phone": pytest.approx(7), "rack": pytest.approx(90 * 7 / 365.25)}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("tray",), "without a crop, its seed and its weight must be said"),
        (("tray", "broccoli", "--lost", "100 %"), "share of trays lost = 100 %"),
        (("tray", "broccoli", "--seed-price", "cheap"), "must be a price and what it is for"),
        (("tray", "broccoli", "--lamps", "2 x 36 W"), "watts over one shelf, and hours of light"),
        (("tray", "broccoli", "--lamps", "36", "--hours", "25"), r"hours = 25 h"),
        (("tray", "broccoli", "--currency", "euro"), "must be three letters"),
        (("tray", "broccoli", "--rent", "12 a fortnight"), "for a day, week, month or year"),
        (("tray", "broccoli", "--price", "0"), "price = 0: must be above 0"),
        (("price", "broccoli", "--margin", "95 %", "--fee", "10 %"), "must leave something for the cost"),
        (("break-even", "broccoli", "--price", "9/100 g", "--bought", "rack=480"), "over how long it serves"),
        (("break-even", "broccoli", "--price", "1/100 g", "--fixed", "rent=80"), "must be above what one costs"),
        (("moves", "broccoli", "--swing", "0 %"), "must lie between 0 and 100 %"),
        (("tray", "broccoli", "--uses", "0.5"), "uses of the medium = 0.5"),
    ],
)
def test_what_cannot_be_is_refused_with_the_way_out(tmp_path: Path, words: tuple[str, ...], said: str) -> None:
    result = typed(tmp_path, *words)
    assert result.exit_code != 0
    assert said in f"{result.exception} {result.output}"


def test_what_moves_it_is_drawn_where_asked(tmp_path: Path) -> None:
    target = tmp_path / "moves.svg"
    result = typed(tmp_path, "moves", "broccoli", "--picture", str(target), "--phone", "--json")
    told = json.loads(result.stdout)
    assert target.read_text(encoding="utf-8").startswith("<svg ")
    assert told["picture"] == str(target)
    assert {"what", "now", "lower", "higher"} == set(told["moves"][0])


# With a farm ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("crop", ["broccoli", "pea", "radish", "sunflower", "basil"])
def test_the_bench_counts_a_tray_as_the_farms_own_account_does(loft: Path, tmp_path: Path, crop: str) -> None:
    """`study.account.tray_cost`, which its own tests hold to what the plan charges."""
    result = typed(tmp_path, "tray", crop, "--lost", "0 %", "--pack-price", "0", "--json", book=loft)
    with Farm.open(loft) as farm:
        at = _morning()
        state, recipe = farm.state(at), next(one for one in farm.state(at).recipes.values() if one.crop == crop)
        lot = next(lot for lot in state.seed.values() if lot.crop == crop)
        ahead = farm.outlook(at).proposed(recipe, at, lot.lot)
        ends = [round((stage.ends.likely - at).total_seconds() / 86400) for stage in ahead.stages]
        grams = found(result)["seed for a tray"]["value"]
        rates = Rates(state, farm.settings(at), at.date())
        seed = grams * price_of_seed(state, lot.lot)
        cost = tray_cost(recipe, rates, starts=[0, *ends], leave=ends[-1], how="cut", seed=seed)
    assert found(result)["cost of a tray"]["value"] == pytest.approx(cost.total)


def _morning() -> Any:
    from datetime import datetime

    return datetime.fromisoformat(MORNING)


def test_the_lofts_own_figures_answer_with_where_they_come_from(loft: Path, tmp_path: Path) -> None:
    told = found(typed(tmp_path, "tray", "broccoli", "--json", book=loft))
    assert told["wage"]["value"] == 15.0
    assert told["price of seed"]["note"] == "lot BRO-26-1"
    assert told["cost of a tray"]["unit"] == "EUR"
    weight, cost = told["weight of a tray"], told["cost of 100 g"]
    assert weight["low"] < weight["value"] < weight["high"]
    assert cost["low"] < cost["value"] < cost["high"]
    assert "our example" not in json.dumps(told)


def test_what_is_typed_counts_before_what_the_farm_says(loft: Path, tmp_path: Path) -> None:
    told = found(typed(tmp_path, "tray", "broccoli", "--wage", "20", "--weight", "150", "--json", book=loft))
    assert (told["wage"]["value"], told["wage"]["note"]) == (20.0, "typed")
    assert told["cost of 100 g"]["low"] is None


def test_density_on_a_farm_is_what_its_own_trays_say(loft: Path, tmp_path: Path) -> None:
    told = found(typed(tmp_path, "density", "broccoli", "--pack-price", "0", "--lost", "0", "--json", book=loft))
    with Farm.open(loft) as farm:
        best = farm.density_response("broccoli", _morning()).best
        recipe = next(one for one in farm.state(_morning()).recipes.values() if one.crop == "broccoli")
    assert best is not None
    ratio = told["seed that pays best"]["value"] / told["seed for a tray"]["value"]
    assert ratio == pytest.approx(best.level / recipe.live_seeds_per_cm2, rel=0.02)


def test_an_unknown_crop_is_refused_on_a_farm_and_without(loft: Path, tmp_path: Path) -> None:
    for book in (loft, None):
        result = typed(tmp_path, "tray", "borccoli", book=book)
        assert result.exit_code != 0
        assert "'borccoli'" in f"{result.exception} {result.output}"


def test_a_crop_the_farm_does_not_grow_yet_is_counted_at_its_prices(loft: Path, tmp_path: Path) -> None:
    result = typed(tmp_path, "tray", "borage", "--json", book=loft)
    told = found(result)
    assert (told["wage"]["value"], told["wage"]["note"]) == (15.0, "the farm's settings")
    assert told["price of seed"]["note"] == "our example: give yours"
    assert any("no recipe for borage" in line for line in json.loads(result.stdout)["holds"])


@pytest.mark.parametrize("words", SUMS, ids=lambda words: str(words[0]))
def test_every_sum_answers_on_a_farm_within_80_columns(loft: Path, tmp_path: Path, words: tuple[str, ...]) -> None:
    said = typed(tmp_path, *words, book=loft)
    assert said.exit_code == 0, said.output
    assert max(map(len, said.stdout.splitlines())) <= 80
    assert "EUR" in said.stdout


def test_at_home_hands_count_as_unpaid_and_it_says_so(tmp_path: Path) -> None:
    terminal = Typed(tmp_path)
    terminal("init", "--setup", "shelf")
    said = typed(tmp_path, "tray", "broccoli", book=terminal.book)
    assert "Hands count as unpaid" in said.stdout
    assert "hands: cut" not in said.stdout.partition("What it goes on")[2].partition("Given")[0]
