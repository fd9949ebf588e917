"""Setting a farm up and changing it: init, setup, places, kit, seed, crops and recipes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner

from tests.cli.conftest import Typed
from trayward.cli import starting
from trayward.cli.given import Given
from trayward.cli.show import range_words
from trayward.desk.setup.file import ready_setup
from trayward.farm.settings import ShownUnits
from trayward.outlook.types import Range


def test_a_farm_is_made_and_the_next_step_is_named(bare: Typed) -> None:
    said = bare("init", "--setup", "shelf")
    assert " ".join(said.split()).startswith(f"Kitchen Shelf is set up in {bare.book}: ")
    assert f"trayward plan --book {bare.book}" in said
    assert bare.json("round")["round"] == "2026-11-25 morning"


def test_a_ready_setup_can_be_shown_edited_and_used(bare: Typed) -> None:
    text = bare("init", "--setup", "shelf", "--show")
    assert not bare.book.exists()
    mine = bare.folder / "mine.toml"
    mine.write_text(text.replace("Kitchen Shelf", "Window Sill"), encoding="utf-8")
    assert "Window Sill is set up" in bare("init", "--setup", str(mine))


def test_the_barn_is_generated_and_has_no_file_to_show(bare: Typed) -> None:
    said = bare.refused("init", "--setup", "barn", "--show", code=2)
    assert "generated from a number" in said
    assert "trayward init --setup loft --show" in said


def test_a_setup_that_cannot_be_used_makes_no_book(bare: Typed) -> None:
    mine = bare.folder / "mine.toml"
    text = bare("init", "--setup", "shelf", "--show")
    mine.write_text(text.replace('caution = "80 %"', 'caution = "lots"'), encoding="utf-8")
    said = bare.refused("init", "--setup", str(mine), code=2)
    assert "mine.toml" in said
    assert "caution" in said
    assert not bare.book.exists()
    assert "ready setup 'castle'" in bare.refused("init", "--setup", "castle", code=2)


def test_a_farm_may_have_begun_before_today(bare: Typed) -> None:
    bare("init", "--setup", "shelf", "--at", "2026-11-01 08:00")
    bare("sow", "broccoli", "--at", "2026-11-20 08:00")
    assert bare.json("tray")["trays"][0]["sown_at"] == "2026-11-20T08:00:00Z"


def test_an_edited_setup_is_shown_asked_about_and_only_the_change_kept(shelf: Typed) -> None:
    mine = shelf.folder / "mine.toml"
    text = shelf("init", "--setup", "shelf", "--show", "--book", "elsewhere.sqlite")
    mine.write_text(text.replace('name = "mesh mat"\ncount = 10', 'name = "mesh mat"\ncount = 14'), encoding="utf-8")
    said = shelf("setup", str(mine), stdin="n\n")
    assert said.startswith("Kit mesh mat: 14 in all instead of 10.\n")
    assert "Record 1 change?" in said
    assert "Nothing was changed." in said
    shelf("setup", str(mine), "--yes")
    pools = {pool["pool"]: pool["count"] for pool in shelf.json("kit")["kit"]}
    assert pools["mesh mat"] == 14
    assert shelf("setup", str(mine)).startswith("The farm is like that already.")


def test_a_setup_that_nobody_answers_for_records_nothing_and_says_how_to_say_yes(shelf: Typed) -> None:
    mine = shelf.folder / "mine.toml"
    text = shelf("init", "--setup", "shelf", "--show", "--book", "elsewhere.sqlite")
    mine.write_text(text.replace("spots = 4", "spots = 6"), encoding="utf-8")
    result = shelf.run("setup", str(mine), stdin="")
    assert result.exit_code == 1
    assert result.stdout.startswith("Shelf K1: 6 spots instead of 4.\n")
    assert "Nobody answered, so nothing was recorded. To say yes beforehand: --yes." in result.stderr
    assert shelf.json("place", "list")["shelves"][0]["spots"] == 4


def test_the_map_shows_what_stands_where(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--trays", "2")
    shelf("look", "261125A.2", "--problem", "uneven")
    spots = {place["shelf"]["name"]: place["spots"] for place in shelf.json("place")["places"]}
    assert spots["K1"]["K1.1"] == "261125A.1"
    line = next(line for line in shelf("place").splitlines() if line.startswith("K1"))
    assert line.split()[-len(spots["K1"]) :][:2] == ["G", "!"]


def test_a_shelf_is_added_changed_and_closed(shelf: Typed) -> None:
    shelf("place", "set", "K9", "--kind", "lit", "--spots", "3", "--watts", "40")
    shelf("place", "set", "K9", "--hours", "14")
    [place] = [place for place in shelf.json("place", "list")["shelves"] if place["name"] == "K9"]
    assert (place["rack"], place["spots"], place["lamp"]["watts"], place["lamp"]["hours"]) == ("K", 3, 40.0, 14.0)
    shelf("place", "set", "K9", "--lamps", "3", "--photons", "88")
    light = " ".join(shelf("bench", "light", "map", "--shelf", "K9").split())
    assert "lamps 3 bars along the shelf photons of a lamp 88 umol/s as said" in light
    shelf("place", "set", "K9", "--watts", "20")
    [lamp] = [place["lamp"] for place in shelf.json("place", "list")["shelves"] if place["name"] == "K9"]
    assert (lamp["count"], lamp["watts"], lamp["umol_s"], lamp["hours"]) == (3, 20.0, None, 14.0)
    assert "hours = 30 h: must lie in [0, 24] h" in shelf.refused("place", "set", "K9", "--hours", "30", code=2)
    assert "Shelf K9 is closed." in shelf("place", "set", "K9", "--spots", "0")
    assert "a new one needs its kind and spots" in shelf.refused("place", "set", "K8", "--spots", "2", code=2)


def test_kit_goes_through_the_wash(shelf: Typed) -> None:
    def pool(name: str) -> dict[str, int]:
        return next(pool for pool in shelf.json("kit")["kit"] if pool["pool"] == name)

    shelf("kit", "set", "mesh mat", "--sanitise")
    shelf("sow", "broccoli")
    assert (pool("mesh mat")["in_use"], pool("mesh mat")["ready"]) == (1, 9)
    shelf("discard", "261125A", "--reason", "dropped")
    shelf("strip", "261125A.1")
    assert pool("mesh mat")["dirty"] == 1
    assert "Washed 1 of mesh mat, to sanitise next." in shelf("wash", "mesh mat", "--rinse", "100 F")
    said = shelf("sanitise", "mesh mat", "--agent", "food-safe sanitiser", "--ppm", "80", "--contact", "2 min")
    assert "Sanitised 1 of mesh mat, dry in about 24 h." in said
    assert (pool("mesh mat")["drying"], pool("mesh mat")["ready"]) == (1, 9)
    assert "there is none to wash" in shelf.refused("wash", "mesh mat", code=2)
    shelf("kit", "count", "mesh mat", "9", "--reason", "one torn")
    assert pool("mesh mat")["count"] == 9


def test_seed_is_received_tested_weighed_and_its_story_told(shelf: Typed) -> None:
    shelf("seed", "receive", "B2", "broccoli", "1 lb", "--germination", "90 %", "--tsw", "3.1 g", "--cost", "12.50")
    shelf("seed", "test", "B2", "--sprouted", "43 of 50")
    shelf("seed", "weigh", "B2", "400 g", "--reason", "spilled some")
    lots = {lot["lot"]: lot for lot in shelf.json("seed")["seed"]}
    assert (lots["B2"]["left_g"], lots["B2"]["sprouted"], lots["B2"]["tested"]) == (400.0, 43, 50)
    assert lots["B2"]["received_g"] == pytest.approx(453.6, abs=0.1)
    story = " ".join(line["words"] for line in shelf.json("seed", "story", "B2")["story"])
    assert "received" in story
    assert "43 of 50" in story
    sprouts = shelf.json("seed")["sprouts"]["B2"]
    assert sprouts["likely"] == pytest.approx((0.9 * 30 + 43) / 80, abs=0.001)
    assert sprouts["low"] < 0.85 < 0.9 < sprouts["high"]
    assert "88 % (83 to 92)" in shelf("seed")
    assert "Today 88 % (83 to 92) sprout, by its label and 43 of 50 in your own test." in shelf("seed", "story", "B2")
    assert "crop 'tulip'" in shelf.refused("seed", "receive", "T1", "tulip", "10 g", code=2)


def test_seed_on_order_waits_until_it_is_here(shelf: Typed) -> None:
    assert "on order for Tue 1 Dec" in shelf("seed", "receive", "B3", "broccoli", "1 kg", "--expected", "2026-12-01")
    shelf("seed", "receive", "B3", "broccoli", "1 kg")
    [lot] = [lot for lot in shelf.json("seed")["seed"] if lot["lot"] == "B3"]
    assert lot["expected_on"] is None


def test_seed_is_taken_from_the_lots_that_are_named(shelf: Typed) -> None:
    shelf("seed", "receive", "B2", "broccoli", "50 g")
    shelf("sow", "broccoli", "--trays", "2", "--lot", "B2=30g", "--lot", "K-BRO-1=10g")
    lots = {lot["lot"]: lot["left_g"] for lot in shelf.json("seed")["seed"]}
    assert (lots["B2"], lots["K-BRO-1"]) == (20.0, 240.0)
    assert "this sowing needs 60 g" in shelf.refused(
        "sow", "broccoli", "--trays", "3", "--lot", "B2", "--grams", "20 g", code=2
    )
    assert "all or none must say their grams" in shelf.refused(
        "sow", "broccoli", "--lot", "B2=5g", "--lot", "x", code=2
    )


def test_what_the_farm_says_of_a_crop_goes_before_the_library(shelf: Typed) -> None:
    assert shelf.json("crop", "facts", "broccoli")["facts"]["tsw_g_typ"]["trust"] != "farm"
    shelf("crop", "set", "broccoli", "tsw_g_typ", "3,4", "--note", "weighed 500 seeds")
    fact = shelf.json("crop", "facts", "broccoli")["facts"]["tsw_g_typ"]
    assert (fact["value"], fact["trust"]) == (3.4, "farm")
    assert shelf.refused("crop", "set", "broccoli", "colour", "green", code=2) == (
        "fact = colour: crops have no figure of that name. See them with: trayward crop facts broccoli"
    )
    said = shelf.refused("crop", "set", "broccoli", "yield", "95", code=2)
    assert "Did you mean yield_g_per_1020_low, yield_g_per_1020_typ and yield_g_per_1020_high?" in said
    assert said.endswith("What trays of a recipe bring on this farm is set in the setup file, as its yield.")


def test_facts_are_shown_with_their_sources(shelf: Typed) -> None:
    said = shelf("crop", "facts", "broccoli")
    assert "kew_sid: Royal Botanic Gardens, Kew." in said
    assert "common practice" in said


def test_slim_seed_on_a_coarse_mat_is_warned_about(shelf: Typed) -> None:
    """Amaranth on 1 mm mesh is doubtful, broccoli is not: the library's seed sizes against the aperture."""
    found = shelf.json("recipe", "check", "amaranth", "--aperture", "1.0")["findings"]
    assert any("aperture" in finding["message"] for finding in found)
    found = shelf.json("recipe", "check", "broccoli", "--aperture", "1.0")["findings"]
    assert not any("aperture" in finding["message"] for finding in found)


def test_a_recipe_shows_its_stages_and_its_seed(shelf: Typed) -> None:
    told = shelf.json("recipe", "show", "broccoli")
    assert [stage["name"] for stage in told["recipe"]["stages"]] == ["germinate", "blackout", "light", "ready"]
    assert told["seed_for_tray"]["grams"] == pytest.approx(20, rel=0.1)
    assert "More yellow shoot than brown seed?" in " ".join(shelf("recipe", "show", "broccoli").split())


def test_where_a_farm_is_set_up_is_said_without_the_password() -> None:
    """A server takes its time; the words are the same for any book."""
    result = CliRunner().invoke(click.Command("made", callback=lambda: _made_at("postgresql://mo:s3cret@db/loft")))
    assert "s3cret" not in result.output
    assert "trayward plan --book postgresql://mo:***@db/loft" in result.output


def _made_at(address: str) -> None:
    given = Given(click.get_current_context(), {"book": address})
    starting.show_made(given, "Lantern Loft", ready_setup("loft"))


def test_a_recipe_is_shown_with_the_next_lot_what_it_brings_and_what_it_asks_for(shelf: Typed) -> None:
    said = " ".join(shelf("recipe", "show", "broccoli").split())
    assert said.startswith("broccoli on mesh mat, tray 1020 of 1290 cm2 ")
    assert "Seed: 19.3 g a tray, about 1.9 tbsp of lot K-BRO-1, which is next;" in said
    assert "Yield by the recipe: " in said
    assert "Kit: 1 x mesh tray, 1 x mesh mat, 1 x solid tray and 1 x cover in germinate and blackout." in said
    assert "Cut at 13 to 25 mm, within 2 days of being ready; keeps 10 days in the cold room." in said
    assert "Minutes of hands a tray: sow 6, look 0.3, cut 8, wash 4." in said
    told = shelf.json("recipe", "show", "broccoli")
    assert told["lot"] == "K-BRO-1"
    assert told["outlook"]["grams"]["likely"] > 0
    assert "no lot of it is here" in " ".join(shelf("recipe", "show", "red cabbage").split())


def test_what_nobody_knows_of_a_recipe_is_said_to_be_that(shelf: Typed) -> None:
    """No yield of mizuna is on record: it borrows from crops like it, says from which, and how little that counts."""
    said = " ".join(shelf("recipe", "show", "mizuna").split())
    assert "Seed: no amount without the germination of the mizuna seed." in said
    assert "both in 8 of 10. The weight rests on figures borrowed from crops like it (broccoli, kale, " in said
    basis = shelf.json("recipe", "show", "mizuna")["outlook"]["grams_basis"]
    assert " more) only, counted as " in said
    assert basis["words"].endswith("none cut here yet.")
    assert 0 < basis["prior_trays"] < 0.5


def test_a_recipe_shows_what_its_next_lot_is_likely_to_do_as_the_outlook_does(shelf: Typed) -> None:
    """One tray of the lot is cut, so that it is known a little better than a lot not met yet."""
    shelf("sow", "broccoli", "--name", "N1")
    shelf.now = "2026-12-04T07:30:00+00:00"
    shelf("cut", "N1=200g")
    told = shelf.json("recipe", "show", "broccoli")["outlook"]
    crops = shelf.json("outlook", "crops")["recipes"]
    assert told == next(one for one in crops if one["crop"] == "broccoli")


def test_all_recipes_of_the_farm_are_checked_where_none_is_named(shelf: Typed) -> None:
    told = shelf.json("recipe", "check")["recipes"]
    assert [one["recipe"].partition(" ")[0] for one in told] == ["broccoli", "radish", "pea", "kale"]
    assert shelf("recipe", "check").count("nothing known speaks against it.") == 4


@pytest.mark.parametrize(
    ("grams", "unit", "shown"),
    [
        ((64.2, 94.6, 131.0), "g", "64 to 130 g, likely 95"),
        ((64.2, 94.6, 131.0), "oz", "2.3 to 4.6 oz, likely 3.3"),
        ((230.0, 490.0, 1040.0), "oz", "8.1 oz to 2.3 lb, likely 1.1 lb"),
    ],
)
def test_a_weight_with_doubt_has_two_figures_and_no_doubt_about_its_unit(
    grams: tuple[float, float, float], unit: Any, shown: str
) -> None:
    low, likely, high = grams
    assert range_words(Range(low=low, likely=likely, high=high), ShownUnits(mass=unit)) == shown


def test_the_farm_as_it_is_written_out_and_applied_again_changes_nothing(shelf: Typed, tmp_path: Path) -> None:
    written = tmp_path / "as-it-is.toml"
    written.write_text(shelf("setup", "--show"), encoding="utf-8")
    assert "[farm]" in written.read_text(encoding="utf-8")
    assert "The farm is like that already." in shelf("setup", str(written))
    assert "Write the farm out: trayward setup --show" in shelf.refused("setup", code=2)
