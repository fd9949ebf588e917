"""What a row wants measured out, in words and in the units the farm reads."""

from __future__ import annotations

import msgspec

from tests.rounds.loft import BROCCOLI
from trayward.farm.settings import ShownUnits
from trayward.outlook.types import Range
from trayward.rounds.amount_words import amounts_words
from trayward.rounds.amounts import cut_height, expected_grams, watering, watering_to_come
from trayward.rounds.types import Amount

METRIC = ShownUnits()
US = ShownUnits(mass="oz", volume="cup", length="in", temperature="F")


def test_the_height_of_a_cut_is_an_amount_and_is_not_said_twice() -> None:
    height = cut_height(BROCCOLI, METRIC)
    assert (height.value, height.unit, height.each) == (13.0, "mm", False)
    assert height.note == "13 to 25 mm above the mat"
    assert amounts_words([height], METRIC) == ""


def test_what_a_tray_may_weigh_is_said_to_two_figures_in_the_farms_unit() -> None:
    grams = Range(low=168.2, likely=199.7, high=237.9)
    assert amounts_words(expected_grams(grams, 2, METRIC), METRIC) == (
        "Expect 200 g a tray, 170 to 240 g in 8 of 10; expect together 400 g."
    )
    assert amounts_words(expected_grams(grams, 1, US), US) == "Expect 7.1 oz a tray, 5.9 to 8.4 oz in 8 of 10."


def test_what_holds_once_a_tray_has_gone_on_is_said_once_and_apart() -> None:
    _, blackout, light, _ = BROCCOLI.stages
    assert amounts_words([*watering(blackout, BROCCOLI), *watering_to_come(blackout, light, BROCCOLI)], METRIC) == (
        "Water below 60 ml a tray, only if dry, never over the top. From then on: water below 240 ml a tray, if dry, "
        "never over the top; feed pH 5.5 to 6.0, measured after mixing; acids burn: follow the label, add acid to "
        "water."
    )


def test_seed_its_lots_and_the_kit_to_fetch_are_a_sentence_each() -> None:
    seed = Amount(what="seed", value=20.0, unit="g", note="on the scale")
    one = Amount(what="of lot B1", value=20.0, unit="g", each=False)
    mat = Amount(what="kit: mesh mat", value=2, unit="pieces", each=False)
    assert amounts_words([seed, one, mat], METRIC) == "Seed 20 g a tray, on the scale, from lot B1. Kit: 2 x mesh mat."
    spoon = Amount(what="seed by the spoon", value=1.9, unit="tbsp", note="level tablespoons, if there is no scale")
    assert amounts_words([seed, spoon, one], METRIC) == (
        "Seed 20 g a tray, on the scale, from lot B1. Without a scale 1.9 level tablespoons a tray."
    )
    other = msgspec.structs.replace(one, what="of lot B2", value=5.0)
    assert amounts_words([seed, one, other], METRIC) == (
        "Seed 20 g a tray, on the scale, from lots B1, 20 g and B2, 5 g."
    )


def test_a_heavy_cover_is_in_pounds_where_ounces_are_read() -> None:
    cover = Amount(what="weight on the cover", value=2268.0, unit="g")
    assert amounts_words([cover], US) == "Weight on the cover 5 lb a tray."
    assert amounts_words([cover], METRIC) == "Weight on the cover 2.268 kg a tray."
