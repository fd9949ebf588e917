"""Baths for seed: what the table says and whether a log keeps to it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.library.crops import crop_names
from trayward.science.hot_water import NOT_FOR, TREATMENTS, check_bath, treatment_for
from trayward.sources import source


@pytest.mark.parametrize(
    ("crop", "fahrenheit", "minutes"),
    [("red cabbage", 122, 25), ("broccoli", 122, 20), ("kale", 122, 20), ("radish", 122, 15), ("lettuce", 118, 30)],
)
def test_the_table_is_the_one_of_the_extension_sheets(crop: str, fahrenheit: float, minutes: float) -> None:
    # A newspaper column of an extension service, 7 January 2010 (seen), repeats the sheets' table in Fahrenheit.
    assert treatment_for(crop).temp_c * 1.8 + 32 == pytest.approx(fahrenheit, abs=0.01)
    assert treatment_for(crop).minutes == minutes


def test_crops_go_by_the_names_growers_use() -> None:
    assert treatment_for("Cabbage").crop == "red cabbage"
    assert treatment_for(" Broccoli ").crop == "broccoli"
    with pytest.raises(InputError, match="crop = chard"):
        treatment_for("Swiss chard")


def test_every_crop_of_the_table_has_a_source_and_no_crop_is_both_in_it_and_ruled_out() -> None:
    assert not set(TREATMENTS) & set(NOT_FOR)
    assert all(source(one.source).title for one in TREATMENTS.values())
    assert set(TREATMENTS) - set(crop_names()) == {"brussels sprouts"}


def test_seed_that_must_not_be_treated_is_refused() -> None:
    with pytest.raises(InputError, match=r"crop = pea: .*damaged by hot water.* Buy tested seed"):
        treatment_for("pea")
    with pytest.raises(InputError, match=r"crop = amaranth: no degrees and minutes are on record.* do not guess"):
        treatment_for("amaranth")


def test_a_bath_that_dips_between_readings_is_counted_to_the_moment() -> None:
    # 50 to 49 °C in 4 minutes crosses 49.5 after 2; then flat at 49.
    check = check_bath([0, 4, 8, 15], [50.0, 49.0, 49.0, 49.0], treatment_for("radish"))
    assert check.in_band_min == pytest.approx(2.0)
    assert check.cold_min == pytest.approx(13.0)
    assert not check.good
    assert "too cold, down to 49.0" in check.words


def test_a_bath_that_lies_on_the_edge_of_the_band_is_in_it() -> None:
    for edge in (49.5, 50.5):
        check = check_bath([0, 5, 10, 15], [edge] * 4, treatment_for("radish"))
        assert (check.good, check.in_band_min) == (True, 15.0)


@pytest.mark.parametrize(
    ("minutes", "temps", "words"),
    [
        ([0, 5, 10, 15], [50, 51, 50, 50], "too hot, up to 51.0"),
        ([0, 5, 10], [50, 50, 50], "too short, the table says 15"),
        ([0, 5, 10, 15, 20], [50] * 5, "too long, the table says 15"),
        ([0, 15], [50, 50], "15 minutes went by without a reading"),
    ],
)
def test_a_bath_that_went_wrong_says_why(minutes: list[float], temps: list[float], words: str) -> None:
    check = check_bath(minutes, temps, treatment_for("radish"))
    assert not check.good
    assert words in check.words


@given(st.lists(st.floats(45, 55), min_size=2, max_size=30), st.floats(0.1, 3))
def test_every_minute_is_in_the_band_or_too_hot_or_too_cold(temps: list[float], band: float) -> None:
    minutes = [float(each) for each in range(len(temps))]
    check = check_bath(minutes, temps, treatment_for("radish"), band)
    parts = (check.in_band_min, check.hot_min, check.cold_min)
    assert all(part >= -1e-9 for part in parts)
    assert sum(parts) == pytest.approx(minutes[-1])


@given(st.lists(st.floats(48, 52), min_size=2, max_size=20), st.floats(0.1, 1), st.floats(1, 3))
def test_a_wider_band_never_holds_fewer_minutes(temps: list[float], band: float, times: float) -> None:
    minutes = [float(each) for each in range(len(temps))]
    narrow = check_bath(minutes, temps, treatment_for("radish"), band)
    wide = check_bath(minutes, temps, treatment_for("radish"), band * times)
    assert wide.in_band_min >= narrow.in_band_min - 1e-9


@pytest.mark.parametrize(
    ("minutes", "temps", "rule"),
    [
        ([0], [50], r"readings = 1: at least two"),
        ([0, 5], [50], r"readings = 2: at least two are needed, each with its minute"),
        ([5, 0], [50, 50], r"readings = out of order: minutes must rise"),
        ([0, 5], [122, 122], r"reading = 122 °C: must lie in \[0, 100\] °C. Fahrenheit is written with an F"),
        ([-1, 5], [50, 50], r"minute = -1 min"),
    ],
)
def test_readings_that_cannot_be_are_refused(minutes: list[float], temps: list[float], rule: str) -> None:
    with pytest.raises(InputError, match=rule):
        check_bath(minutes, temps, treatment_for("radish"))
