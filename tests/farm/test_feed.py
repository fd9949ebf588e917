"""Feed as the farm wants it: what is found of readings and of feed given, and what mends it."""

from __future__ import annotations

import msgspec
import pytest

from tests.farm.told import codes, grown, lantern_loft
from trayward.farm.codec import decode_entry, encode_entry
from trayward.farm.entries import FarmSet, Fed, ReadingTaken
from trayward.farm.settings import FarmSettings, FarmWater
from trayward.farm.water import dose_of, ec_remedy, mix_of, ph_remedy

WATER = FarmWater(
    ph=7.6, alkalinity_meq=3.6, ec_ds_m=0.4, acid="citric 50 %", feed="leaf feed", feed_gain_ds_m=0.35,
    feed_ec_ds_m=(1.0, 1.4),
)  # fmt: skip
STATED = FarmSet(settings=FarmSettings(name="Lantern Loft", water=WATER))


@pytest.mark.parametrize(
    ("what", "value", "where", "expected"),
    [
        ("ph", 7.1, "feed tank", [("odd", "feed-ph")]),
        ("ph", 4.2, "", [("odd", "feed-ph")]),
        ("ph", 5.8, "feed tank", []),
        ("ph", 6.4, "feed tank", []),
        ("ph", 7.6, "tap", []),
        ("ph", 7.6, "rain butt", []),
        ("ec", 2.0, "feed tank", [("odd", "feed-ec")]),
        ("ec", 0.4, "feed tank", [("odd", "feed-ec")]),
        ("ec", 1.2, "feed tank", []),
        ("ec", 0.4, "reverse osmosis", []),
        ("ppfd", 150.0, "A2", []),
    ],
)
def test_a_reading_of_the_feed_is_held_against_what_is_wanted(
    what: str, value: float, where: str, expected: list[tuple[str, str]]
) -> None:
    told = lantern_loft()
    told.say(STATED)
    assert codes(told.say(ReadingTaken(what=what, value=value, where=where))) == expected


@pytest.mark.parametrize(("what", "value"), [("ph", 7.1), ("ph", 4.0), ("ec", 5.0)])
def test_where_no_water_is_stated_readings_are_as_before(what: str, value: float) -> None:
    assert lantern_loft().say(ReadingTaken(what=what, value=value, where="feed tank")) == ()


def test_feed_given_at_the_wrong_ec_or_ph_is_found_and_told_how_to_mend() -> None:
    told = grown()
    told.say(STATED)
    (found,) = told.say(Fed(trays=("S.1",), ml=300.0, ec=2.4))
    assert (found.severity, found.code) == ("odd", "feed-ec")
    assert "plain water" in found.remedy
    (found,) = told.say(Fed(trays=("S.1",), ml=300.0, ph=7.0))
    assert found.code == "feed-ph"
    assert "citric acid 50 % for each litre" in found.remedy


@pytest.mark.parametrize("acid", ["citric 50 %", "nitric 38 %"])
def test_what_is_missing_is_the_rest_of_the_dose(acid: str) -> None:
    water = msgspec.structs.replace(WATER, calcium_mg=70.0, acid=acid)
    more = dose_of(water, acid, 5.75).amount - dose_of(water, acid, 6.6).amount
    assert f"about {more:.2g} ml" in ph_remedy(water, 6.6, (5.5, 6.0))
    whole = dose_of(water, acid, 5.75).amount
    assert f"about {whole:.2g} ml" in ph_remedy(water, 8.2, (5.5, 6.0))


def test_citric_acid_begins_as_for_hard_water_where_nobody_said_how_hard_it_is() -> None:
    first, soft = mix_of(WATER, (5.5, 6.0)).parts[-1], dose_of(WATER, WATER.acid, 5.75).amount
    assert 0.7 * soft < first.each < 0.85 * soft
    assert first.note == f"begin with this, soft water takes {soft:.3g} ml/l"
    assert "about 0.31 ml" in ph_remedy(WATER, 8.2, (5.5, 6.0))


def test_where_calcium_is_stated_or_makes_no_difference_the_whole_dose_is_told() -> None:
    for water in (
        msgspec.structs.replace(WATER, calcium_mg=70.0),
        msgspec.structs.replace(WATER, acid="nitric 38 %"),
        msgspec.structs.replace(WATER, alkalinity_meq=0.4),
    ):
        part = mix_of(water, (5.5, 6.0)).parts[-1]
        assert part.each == pytest.approx(float(dose_of(water, water.acid, 5.75).amount))
        assert part.note == ""


def test_too_much_acid_is_not_mended_with_acid() -> None:
    said = ph_remedy(WATER, 4.5, (5.5, 6.0))
    assert "Too much acid" in said
    assert "stir in" not in said


def test_without_a_stated_acid_the_label_decides() -> None:
    for water in (None, msgspec.structs.replace(WATER, acid="")):
        assert ph_remedy(water, 7.0, (5.5, 6.0)).endswith("correct it as the label of the acid or base says.")


def test_weak_feed_takes_feed_and_strong_feed_water() -> None:
    assert ec_remedy(WATER, 0.5) == "Stir in about 2 ml of leaf feed for each litre, and measure again."
    assert "plain water" in ec_remedy(WATER, 2.0)


def test_the_mix_has_feed_first_and_acid_last() -> None:
    mix = mix_of(WATER, (5.5, 6.0))
    assert [part.name for part in mix.parts] == ["leaf feed", "citric acid 50 %"]
    assert mix.parts[0].each == pytest.approx(0.8 / 0.35)
    assert mix.note == ""


def test_soft_water_that_is_there_already_takes_no_acid() -> None:
    assert mix_of(FarmWater(ph=5.8, alkalinity_meq=0.1, acid="citric 50 %"), (5.5, 6.0)).parts == ()


def test_a_base_raises_water_that_is_too_low() -> None:
    (part,) = mix_of(FarmWater(ph=5.0, alkalinity_meq=0.1, acid="koh 10 %"), (5.5, 6.0)).parts
    assert part.name == "potassium hydroxide 10 %"


def test_water_stronger_than_the_feed_wanted_is_said() -> None:
    mix = mix_of(msgspec.structs.replace(WATER, ec_ds_m=1.8), (5.5, 6.0))
    assert [part.name for part in mix.parts] == ["citric acid 50 %"]
    assert "lies below the water's own 1.8 dS/m" in mix.note


def test_stated_water_comes_back_from_the_book_and_older_settings_still_do() -> None:
    told = lantern_loft()
    told.say(STATED)
    entry = told.entries[-1]
    assert decode_entry(encode_entry(entry)) == entry
    assert told.refold().settings == STATED.settings
    older = encode_entry(entry).decode()
    start = older.index('"water":{')
    end = older.index("}", start) + 1
    without = (older[: start - 1] + older[end:]).replace("{,", "{").encode()
    body = decode_entry(without).body
    assert isinstance(body, FarmSet)
    assert body.settings.water is None
