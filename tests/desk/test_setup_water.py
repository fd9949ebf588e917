"""What a setup file says of the farm's water."""

from __future__ import annotations

import pytest

from trayward.desk.setup.file import read_setup, ready_setup_text
from trayward.errors import SetupError
from trayward.farm.entries import FarmSet, RecipeSet
from trayward.farm.settings import FarmWater


def setup(water: str, more: str = "") -> str:
    return ready_setup_text("shelf").replace("[[rack]]", f"[farm.water]\n{water}\n\n[[rack]]", 1) + more


def read(water: str) -> FarmWater | None:
    return next(body.settings.water for body in read_setup(setup(water), name="nook.toml") if isinstance(body, FarmSet))


def test_water_is_read_as_people_write_it() -> None:
    found = read(
        'ph = 7.6\nalkalinity = "3.6 meq/l"\nec = "600 uS/cm"\ntemperature = "60.8 F"\ncalcium = 70\n'
        'acid = "phosphoric 75 % 1.58"\nfeed = "leaf feed"\nfeed_adds = "175 ppm 500"\nfeed_ec = "1.2 dS/m"'
    )
    assert found == FarmWater(
        ph=7.6, alkalinity_meq=pytest.approx(3.6), ec_ds_m=0.6, temp_c=pytest.approx(16.0), calcium_mg=70.0,
        acid="phosphoric 75 % 1.58", feed="leaf feed", feed_gain_ds_m=0.35, feed_ec_ds_m=(1.2, 1.2),
    )  # fmt: skip


def test_a_plain_number_of_alkalinity_is_in_mg_as_calcium_carbonate() -> None:
    found = read("ph = 7.6\nalkalinity = 180")
    assert found is not None
    assert found.alkalinity_meq == pytest.approx(3.597, abs=1e-3)


def test_a_farm_need_not_state_its_water() -> None:
    bodies = read_setup(ready_setup_text("shelf"), name="nook.toml")
    assert next(body.settings.water for body in bodies if isinstance(body, FarmSet)) is None


@pytest.mark.parametrize(
    ("water", "match"),
    [
        ("alkalinity = 180", "ph = nothing"),
        ("ph = 7.6", "alkalinity = nothing"),
        ("ph = 15\nalkalinity = 180", "ph = 15: must lie in \\[4.5, 10.5\\]"),
        ('ph = 7.6\nalkalinity = "hard"', "must be a number with a unit of alkalinity"),
        ('ph = 7.6\nalkalinity = 180\nacid = "vinegar 5 %"', "must be one of citric acid"),
        ('ph = 7.6\nalkalinity = 180\nacid = "citric 110 %"', "must lie above 0 and up to 60 %"),
        ("ph = 10.4\nalkalinity = 5", "is too high for this alkalinity"),
        ("ph = 7.6\nalkalinity = 180\nfeed_ec = 1.2", "feed_adds = nothing"),
        ("ph = 7.6\nalkalinity = 180\nfeed_ec = [1.4, 1.0]", "must run from low to high"),
        ('ph = 7.6\nalkalinity = 180\nacd = "citric 50 %"', "acd"),
    ],
)
def test_water_that_cannot_be_is_refused_with_its_line(water: str, match: str) -> None:
    with pytest.raises(SetupError, match=match):
        read(water)


def test_a_mediums_top_is_read_and_caps_the_water_of_a_round() -> None:
    from trayward.rounds.amounts import most_below_ml, watering

    text = (
        ready_setup_text("shelf")
        + '\n[[medium]]\nname = "thin mat"\ntop = "4 mm"\n'
        + '[[recipe]]\ncrop = "kale"\nmedium = "thin mat"\nname = "thin kale"\n'
    )
    recipe = next(
        body.recipe
        for body in read_setup(text, name="nook.toml")
        if isinstance(body, RecipeSet) and body.recipe.name == "thin kale"
    )
    most = recipe.tray.length_mm * recipe.tray.width_mm * 4.0 / 1000
    assert most_below_ml(recipe) == pytest.approx(most)
    light = next(stage for stage in recipe.stages if stage.water == "below")
    (first, *_) = watering(light, recipe)
    assert first.value <= most + 0.05
    assert f"at most {most:.0f} ml" in first.note or "would stand over the top" in first.note
