"""Where growers stumbled at the benches: units of the country, amounts below zero, crops that nobody knows."""

from __future__ import annotations

import json

import pytest

from tests.cli.conftest import Typed, bare, shelf
from trayward.bench.types import Amount
from trayward.farm.settings import US, ShownUnits
from trayward.rounds.spoken import spoken
from trayward.web.bench.sums.shown import amount_words

__all__ = ["bare", "shelf"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("growth", "emergence", "broccoli", "--shelf", "122 C"), 'temperature = 122 °C: must lie in [-20, 60] °C. If'),
        (("growth", "emergence", "brocoli"), "crop 'brocoli': the library has none of that name. Did you mean broc"),
        (("growth", "fit", "--crop", "broccoli"), "file = none: there is no farm here whose looks could be taken."),
        (("seed", "mesh", "amaranth", "0 mm"), "opening = 0 mm: must be above 0."),
        (("seed", "grams", "broccoli", "--density", "0"), "density = 0: must be above 0."),
        (("seed", "grams", "broccoli", "--density", "4", "--germination", "0 %"), "germination = 0 %: must be above"),
        (("seed", "spoons", "broccoli", "2 spoons"), "seed = 2 spoons: must say which spoon."),
        (("seed", "soak", "pea", "-150 g"), "word = -150 g: with its minus it looks like an option."),
        (("light", "even", "180", "-3"), "word = -3: with its minus it looks like an option."),
        (("light", "distance", "600", "--from", "0 mm", "--to", "1 m"), "must lie above 0 and up to 20000 mm."),
        (("air", "room", "--room", "30 m3", "--trays", "4", "--hold", "22 C 120 %"), "air to hold = 120 %: must lie"),
        (
            ("water", "blend", "--ph", "7.8", "--alkalinity", "180", "--to-alkalinity", "600"),
            "target alkalinity = 12 meq/l (600 mg/l): must lie between those of the two waters, 0.04 meq/l (2 mg/l)",
        ),
        (
            ("money", "break-even", "pea", "--price", "0.10", "--fixed", "rent=350 a month"),
            "what a tray brings = 0.98: must be above what one costs, 16.82,",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_says_thing_value_rule_and_way_out(bare: Typed, words: tuple[str, ...], message: str) -> None:
    assert message in " ".join(bare.refused("bench", *words, code=2).split())


def test_degrees_below_zero_are_taken_after_two_dashes(bare: Typed) -> None:
    assert '-- "-5 C"' in bare.refused("bench", "air", "state", "-5 C", "80 %", code=2)
    assert "-5 C" in bare("bench", "air", "state", "--", "-5 C", "80 %")


def test_an_amount_below_zero_is_an_error_in_json_too(bare: Typed) -> None:
    said = json.loads(bare.run("bench", "seed", "soak", "pea", "-150 g", "--json").stdout)
    assert said["error"]["value"] == "-150 g"


def test_only_the_argument_s_name_and_its_way_out_are_reworded() -> None:
    assert spoken("alkalinity_meq = 3: of a_b = c.") == "alkalinity meq = 3: of a_b = c."
    for whole in ("sown = 3: x.", "20_000 = 3.", "no name at all"):
        assert spoken(whole) == whole


@pytest.mark.parametrize(
    ("value", "unit", "american", "metric"),
    [
        (100.0, "m3/h", "58.86 cfm", "100 m3/h"),
        (30.0, "m3", "1059 cu ft", "30 m3"),
        (365.76, "m", "1200 ft", "365.8 m"),
        (1290.0, "cm2", "200 sq in", "1290 cm2"),
    ],
)
def test_rooms_fans_and_heights_are_told_as_the_country_does(
    value: float, unit: str, american: str, metric: str
) -> None:
    # 1 ft = 0.3048 m exactly (international foot, 1959): 1 m3 = 35.3147 cubic feet; worked out by hand.
    amount = Amount(name="it", value=value, unit=unit)
    assert (amount_words(amount, US), amount_words(amount, ShownUnits())) == (american, metric)


def test_the_answer_comes_before_what_it_was_worked_out_from(bare: Typed) -> None:
    said = bare("bench", "water", "acid", "citric 50 %", "--ph", "7.8", "--alkalinity", "180")
    places = [said.index(f"\n{title}") for title in ("Found", "Do\n", "Given", "Holds", "Caution", "Sources")]
    assert places == sorted(places)


def test_the_same_figures_are_in_json_whatever_units_are_shown(bare: Typed) -> None:
    words = ("bench", "water", "depth", "--mat", "8 mm", "--mat-off", "4 mm")
    american, metric = bare.json(*words, "--us"), bare.json(*words)
    assert [one["value"] for one in american["found"]] == [one["value"] for one in metric["found"]]
    assert "0.47 in" in american["title"] or "1/2 in" in american["title"]
    assert metric["title"].endswith("12 mm")
    assert "ml" not in bare(*words, "--us").partition("Found")[2].partition("Given")[0]


def test_a_bath_a_jug_and_the_seed_to_buy_are_told_as_the_country_does(bare: Typed) -> None:
    bath = bare("bench", "hygiene", "hot-water", "radish", "--bath", "0=122 5=122 10=122 15=122", "--us")
    assert "lowest" in bath
    assert "122 F" in bath.partition("lowest")[2].partition("Given")[0]
    bleach = ("bench", "hygiene", "dilute", "bleach", "--label", "8.25 %", "--to", "200 ppm", "--make", "1 gal")
    jug = " ".join(bare(*bleach, "--us").split())
    assert "water to measure first 1 gal" in jug
    assert jug.count("1.9 tsp") == 1
    need = bare("bench", "seed", "need", "broccoli", "--trays", "6", "--grams", "20 g", "--us")
    assert "18.6 oz" in need or "1.16 lb" in need
    assert " g " not in need.partition("By crop")[2].partition("Given")[0]


def test_a_refill_that_no_tray_holds_is_pointed_out(bare: Typed) -> None:
    said = bare("bench", "water", "refill", "--now", "2310 g", "--full", "2690 kg")
    assert "more than a tray holds. Weigh it again" in " ".join(said.split())
    assert "look:" not in bare("bench", "water", "refill", "--now", "2310 g", "--full", "2690 g")
