"""The light bench on the command line: with no farm, with one, in people's units, as JSON and as a picture."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from tests.cli.conftest import Typed, type_bench
from trayward.cli.bench_light import light
from trayward.errors import InputError, NotFoundError
from trayward.farm.settings import ShownUnits
from trayward.web.bench.sums.light import ANSWERS
from trayward.web.bench.sums.light_words import beam, lamps, sides, size_of

METRIC, US = ShownUnits(), ShownUnits(length="in")


class Bench:
    """Types sums of the light bench, beside a book or none."""

    def __init__(self, book: Path) -> None:
        self.book = book

    def run(self, *words: str) -> Result:
        return type_bench("light", *words, book=self.book)

    def __call__(self, *words: str) -> str:
        """A sum that must work; what it says."""
        result = self.run(*words)
        assert result.exit_code == 0, f"{words}: {result.output} {result.exception!r}"
        return result.stdout

    def json(self, *words: str) -> Any:
        return json.loads(self(*words, "--json"))

    def value(self, name: str, *words: str) -> Any:
        """One figure of a sum, by its name."""
        told = self.json(*words)
        return next(each["value"] for each in (*told["found"], *told["given"]) if each["name"] == name)

    def refused(self, *words: str) -> Exception:
        """A sum that must not work; why."""
        result = self.run(*words)
        assert isinstance(result.exception, InputError | NotFoundError), f"{result.output} {result.exception!r}"
        return result.exception


@pytest.fixture
def at(tmp_path: Path) -> Bench:
    """The bench where there is no farm."""
    return Bench(tmp_path / "none.sqlite")


@pytest.fixture
def home(shelf: Typed) -> Bench:
    """The bench beside the home shelf's book."""
    return Bench(shelf.book)


def test_bare_it_lists_its_sums_and_every_one_is_there(at: Bench) -> None:
    text = at()
    assert [name for name, _ in ANSWERS] == list(light.commands)
    assert all(name in text for name, _ in ANSWERS)
    assert [each["name"] for each in at.json()["answers"]] == [name for name, _ in ANSWERS]


def test_three_lamps_of_20_w_over_four_trays(at: Bench) -> None:
    text = at("map", "--lamps", "3 x 20 W", "--trays", "4")
    assert text.startswith("Light on the leaves: 133 umol/m2/s on the mean, 59 in the darkest spot.")
    assert "The shelf from above" in text
    assert "drip loops" in text
    assert max(map(len, text.splitlines())) <= 90  # an address is never broken


def test_the_map_comes_in_json_with_its_account_of_photons(at: Bench) -> None:
    told = at.json("map")
    assert len(told["map"]["ppfd"]) == len(told["map"]["y_mm"]) == 60
    assert len(told["map"]["ppfd"][0]) == len(told["map"]["x_mm"]) == 120
    found = {each["name"]: each for each in told["found"]}
    assert found["light on the leaves, mean"]["unit"] == "umol/m2/s"
    total = found["photons on the shelf"]["value"] + found["photons lost"]["value"]
    assert total == pytest.approx(found["photons given"]["value"], rel=0.005)
    assert told["sources"][0].keys() == {"key", "citation"}


@pytest.mark.parametrize("more", [(), ("--phone",)])
def test_the_map_is_saved_as_a_picture(at: Bench, tmp_path: Path, more: tuple[str, ...]) -> None:
    file = tmp_path / "map.svg"
    text = at("map", "--walls", "85 %", "--open", "front", "--picture", str(file), *more)
    assert f"Picture saved: {file}" in " ".join(text.split())
    svg = file.read_text(encoding="utf-8")
    assert svg.startswith("<svg ")
    assert "160 µmol/m²/s on the mean, 51 % of that in the darkest spot." in svg
    assert at.json("map", "--picture", str(file))["picture"] == str(file)


def test_a_picture_of_another_kind_is_refused_first(at: Bench, tmp_path: Path) -> None:
    assert "PNG or SVG" in str(at.refused("map", "--picture", str(tmp_path / "map.gif")))


def test_people_say_lengths_in_their_own_units(at: Bench) -> None:
    metric = at.value("light on the leaves, mean", "map", "--height", "254 mm", "--shelf", "1219.2 x 457.2 mm")
    assert at.value("light on the leaves, mean", "map", "--height", "10", "--shelf", "4 ft x 18 in", "--us") == metric
    assert "10 in" in at("map", "--height", "10", "--us")


def test_panels_points_and_beams_can_be_said(at: Bench) -> None:
    wide = at.value("light on the leaves, mean", "map", "--lamps", "1 x 60 W", "--length", "0", "--beam", "120")
    slim = at.value("light on the leaves, mean", "map", "--lamps", "1 x 60 W", "--length", "0", "--beam", "60°")
    round_ = at.value("light on the leaves, mean", "map", "--lamps", "1 x 60 W", "--length", "0", "--beam", "all round")
    assert slim > wide > round_
    assert "panels along the shelf" in at("map", "--length", "600 mm", "--width", "200 mm")
    assert "bars across the shelf" in at("map", "--across")


def test_the_best_height_says_where_to_hang_them(at: Bench) -> None:
    text = at("height", "--evenness", "50 %")
    assert text.startswith("Hang them ")
    assert "At other heights" in text
    told = at.json("height", "--ppfd", "130", "--lowest", "150 mm", "--highest", "300 mm")
    assert told["reached"] is True
    assert told["by_height"][0]["height_mm"] == 150
    assert "say what you need" in str(at.refused("height"))


def test_small_sums_say_their_one_number(at: Bench) -> None:
    assert at.value("daily light", "daily", "350", "--hours", "12") == pytest.approx(15.12)
    assert at.value("daily light", "daily", "--lux", "10800", "--source", "sun", "--hours", "10") == pytest.approx(7.2)
    assert at.value("light a day", "hours", "10", "--ppfd", "180") == pytest.approx(925.9, abs=0.1)
    assert at.value("light", "lux", "108000", "--source", "sun") == 2000
    assert at.value("lux meter shows", "lux", "--ppfd", "200", "--source", "Sun") == 10_800
    assert at.value("light there", "distance", "600", "--from", "30 cm", "--to", "60 cm") == 150
    assert at.value("photons a joule at best", "photon", "660") == pytest.approx(5.517, abs=0.001)
    assert at.value("evenness: least of mean", "even", "180", "200", "150") == pytest.approx(0.849, abs=0.001)


def test_energy_takes_days_and_weight_from_the_library(at: Bench) -> None:
    told = at.json("energy", "--lamps", "3 x 20 W", "--crop", "broccoli", "--price", "0.30", "--currency", "EUR")
    names = [each["name"] for each in told["found"]]
    assert names[:4] == ["energy a day", "energy a month", "energy a tray", "energy 100 g cut"]
    assert names[4:] == ["cost a day", "cost a month", "cost a tray", "cost 100 g cut"]
    own = at.value("energy a tray", "energy", "--days", "5", "--weight", "200 g")
    assert own == pytest.approx(1.2)


REFUSED = {
    "25 h a day": (("map", "--hours", "25"), r"hours = 25 h: must lie in [0, 24] h"),
    "a height below nothing": (("map", "--height", "-20 mm"), "must not be below zero"),
    "lamps on the leaves": (("map", "--height", "0"), "lamp height = 0 mm"),
    "beyond physics": (("map", "--efficacy", "6"), "efficacy = 6 umol/J: must lie above 0 and up to 5.85"),
    "no such side": (("map", "--walls", "80 %", "--open", "north"), "it is no side of a shelf"),
    "a wall that gives light": (("map", "--walls", "120 %"), "between 0 % and 100 %"),
    "a mirror": (("map", "--walls", "100 %"), "must lie from 0 up to, not with, 1"),
    "no farm": (("map", "--shelf", "A1"), "there is no farm here"),
    "bad lamps": (("map", "--lamps", "many"), "must say how many of what"),
    "energy of photons": (("energy", "--lamps", "2 x 92 umol/s"), "energy is counted from watts"),
    "both": (("daily", "100", "--lux", "200"), "say either PPFD or lux"),
    "neither": (("hours", "8"), "say either PPFD or lux"),
    "too short a day": (("hours", "30", "--ppfd", "100"), "takes more than the 24 h of a day"),
    "pencil": (("map", "--beam", "3"), "beam angle = 3 degrees"),
    "through walls": (("map", "--walls", "80 %", "--length", "1.5 m"), "a lamp ends outside the walls"),
    "an open side of no walls": (("map", "--open", "front"), "there are no walls"),
    "a gap without walls": (("height", "--gap", "400 mm", "--ppfd", "100"), "there are no walls"),
    "a gap lower than the lamps": (("map", "--walls", "80 %", "--gap", "200 mm"), "over the lamps"),
    "no crop": (("energy", "--crop", "moonflower"), "moonflower"),
    "dark meter": (("map", "--measured", "-5"), "ppfd = -5"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_be_is_refused_in_the_house_form(at: Bench, what: str) -> None:
    words, told = REFUSED[what]
    assert told in str(at.refused(*words))


def test_words_for_shelves_lamps_beams_and_sides_are_read() -> None:
    assert size_of("1220 x 460 mm", METRIC) == (1220, 460)
    assert size_of("48 x 18", US) == pytest.approx((1219.2, 457.2))
    assert size_of("1.2 m x 45 cm", METRIC) == pytest.approx((1200, 450))
    assert size_of("4 ft × 18 in", METRIC) == pytest.approx((1219.2, 457.2))
    assert [size_of(name, METRIC) for name in ("A1", "X2", "box", "")] == [None] * 4
    assert lamps("3 x 20 W") == {"count": 3, "watts": 20}
    assert lamps("18,5") == {"count": 1, "watts": 18.5}
    assert lamps("2 x 92 µmol/s") == {"count": 2, "umol_s": 92}
    assert sides("front, left") == ("left", "front")
    assert beam("All-Round")["all_round"] is True
    assert beam("120 deg")["beam_power"] == pytest.approx(1)


# With a farm ----------------------------------------------------------------------------------------------------------


def test_a_shelf_of_the_farm_brings_its_lamps(home: Bench) -> None:
    told = home.json("map", "--shelf", "K2")
    given = {each["name"]: each["value"] for each in told["given"]}
    assert given["shelf K2, length"] == 1016
    assert (given["lamps"], given["trays on it"], given["light a day"]) == (2, 4, 960)
    assert given["photons of a lamp"] == pytest.approx(24 * 2.2)


def test_a_shelf_of_the_farm_brings_its_power_and_the_farm_its_price(home: Bench) -> None:
    """The home shelf: 2 x 24 W, 16 h, 0.34 EUR a kWh: 0.768 kWh a day. By hand from its setup file."""
    told = home.json("energy", "--shelf", "K2", "--crop", "broccoli")
    found = {each["name"]: each["value"] for each in told["found"]}
    assert found["energy a day"] == pytest.approx(0.768)
    assert found["cost a day"] == pytest.approx(0.768 * 0.34)
    assert {each["unit"] for each in told["found"] if each["name"].startswith("cost")} == {"EUR"}


def test_the_last_reading_of_the_shelf_is_held_against_the_map(shelf: Typed, home: Bench) -> None:
    shelf("reading", "light", "30", "--where", "K2")
    told = home.json("map", "--shelf", "K2")
    assert [finding["code"] for finding in told["findings"]] == ["light-far-off"]


def test_a_shelf_that_is_not_there_or_dark_is_refused(home: Bench) -> None:
    assert "K2" in str(home.refused("map", "--shelf", "Z9"))
    assert "it is a dark one" in str(home.refused("map", "--shelf", "K1"))
    assert "it is a dark one" in str(home.refused("energy", "--shelf", "K1"))
