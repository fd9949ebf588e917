"""The water bench's sheets: what is asked for first, what is found odd, and that cautions are never left out."""

from __future__ import annotations

import pytest

from trayward.bench.types import Amount, Sheet
from trayward.bench.water import blend_sheet, dose_sheet
from trayward.bench.water_depth import TrayInside, depth_sheet, refill_sheet, tank_sheet
from trayward.bench.water_feed import dilute_sheet, ec_sheet, feed_sheet, salt_sheet
from trayward.bench.water_words import read_alkalinity, read_ec
from trayward.errors import InputError
from trayward.farm.settings import FarmWater
from trayward.science.solution_reagents import read_product
from trayward.sources import source

TAP = FarmWater(ph=7.8, alkalinity_meq=3.6, ec_ds_m=0.6)
RO = FarmWater(ph=5.8, alkalinity_meq=0.04, ec_ds_m=0.02)
CITRIC = read_product("citric 50 %")
TRAY = TrayInside(length_mm=500.0, width_mm=250.0, mat_mm=8.0, mat_from_mm=4.0)


def value(sheet: Sheet, name: str) -> float:
    found = next(each for each in (*sheet.found, *sheet.given) if each.name == name)
    assert not isinstance(found.value, str)
    return float(found.value)


def codes(sheet: Sheet) -> list[str]:
    return [finding.code for finding in sheet.findings]


EVERY = {
    "acid": dose_sheet(TAP, CITRIC, 5.8, 10_000.0),
    "base": dose_sheet(RO, read_product("koh 10 %"), 6.2, 10_000.0),
    "blend": blend_sheet(TAP, RO, 20_000.0, tap_share=0.4),
    "feed": feed_sheet(1.2, 0.35, 10_000.0, water_ds_m=0.4),
    "salt": salt_sheet(100.0, "N", {"N": 0.155, "Ca": 0.19}, 100_000.0),
    "ec": ec_sheet(1.6, temp_c=18.0),
    "dilute": dilute_sheet(20_000.0, 2.4, 1.6, 0.3),
    "depth": depth_sheet(TRAY),
    "refill": refill_sheet(2310.0, 2690.0),
    "tank": tank_sheet(length_mm=1200.0, width_mm=600.0, depth_mm=25.0),
}


@pytest.mark.parametrize("task", EVERY)
def test_every_sheet_says_what_it_was_given_what_it_found_how_far_it_holds_and_on_what_it_rests(task: str) -> None:
    sheet = EVERY[task]
    assert (sheet.bench, sheet.task) == ("water", task)
    assert sheet.given
    assert sheet.found
    assert sheet.holds
    assert all(source(key).citation for key in sheet.sources)
    assert sheet.sources
    assert all((isinstance(each, Amount) and each.name[0].islower()) or each.name[0].isupper() for each in sheet.found)


@pytest.mark.parametrize("task", ["acid", "base"])
def test_acid_and_lye_never_come_without_their_cautions(task: str) -> None:
    said = " ".join(EVERY[task].cautions)
    for words in ("goggles", "gloves", "acid into water", "chlorine", "label", "local codes"):
        assert words in said


def test_the_dose_comes_first_in_all_and_for_each_litre() -> None:
    sheet = EVERY["acid"]
    assert [each.name for each in sheet.found[:2]] == ["acid in all", "acid for each litre"]
    assert value(sheet, "acid in all") == pytest.approx(10 * value(sheet, "acid for each litre"))
    assert value(sheet, "on to pH 5.7") < 0.2 * value(sheet, "acid for each litre")
    assert value(sheet, "alkalinity left") == pytest.approx(41, abs=2)


def test_three_quarters_go_in_first() -> None:
    assert "2.85 ml" in EVERY["acid"].steps[1]


def test_the_curve_passes_through_the_target() -> None:
    rows = EVERY["acid"].grids[0].rows
    assert rows[0][1] == "7.80"
    assert rows[4][1] == "5.80"


def test_citric_acid_is_told_to_take_less_where_calcium_is_not_said() -> None:
    # Held against PHREEQC in tests/published: calcium takes up citrate, which sets protons free.
    hard = value(EVERY["acid"], "in hard water")
    assert 0.6 < hard / value(EVERY["acid"], "acid for each litre") < 0.9
    said = FarmWater(ph=7.8, alkalinity_meq=3.6, ec_ds_m=0.6, calcium_mg=3.6 / 2 * 40.078)
    assert value(dose_sheet(said, CITRIC, 5.8, 1000.0), "acid for each litre") == pytest.approx(hard, rel=1e-6)
    assert "in hard water" not in [each.name for each in dose_sheet(said, CITRIC, 5.8, 1000.0).found]


def test_too_little_to_measure_is_said() -> None:
    sheet = dose_sheet(TAP, CITRIC, 5.8, 500.0)
    assert "too little for a syringe" in sheet.found[0].note


def test_acid_that_would_upset_the_feed_is_pointed_out() -> None:
    strong = FarmWater(ph=7.8, alkalinity_meq=3.6)
    assert codes(dose_sheet(strong, read_product("phosphoric 75 %"), 5.8, 1000.0)) == ["acid-nutrient"]
    assert codes(dose_sheet(strong, CITRIC, 5.8, 1000.0)) == []


def test_very_hard_water_is_told_to_be_blended() -> None:
    assert codes(dose_sheet(FarmWater(ph=7.8, alkalinity_meq=6.0), CITRIC, 5.8, 1000.0)) == ["alkalinity-high"]


def test_water_that_stands_open_takes_more_acid() -> None:
    open_air = dose_sheet(TAP, CITRIC, 5.8, 10_000.0, co2_ppm=420.0)
    assert value(open_air, "acid in all") > value(EVERY["acid"], "acid in all")


def test_where_nothing_holds_the_ph_it_is_said() -> None:
    nitric = read_product("nitric 38 %")
    assert codes(dose_sheet(TAP, nitric, 5.8, 10_000.0, co2_ppm=420.0)) == ["buffer-thin"]
    assert codes(dose_sheet(TAP, nitric, 5.8, 10_000.0)) == []


def test_a_blend_to_an_alkalinity_has_it() -> None:
    sheet = blend_sheet(TAP, RO, 20_000.0, target_meq=1.2)
    assert value(sheet, "alkalinity") == pytest.approx(1.2 * 50.0435, abs=1e-3)
    assert value(sheet, "tap water") + value(sheet, "other water") == pytest.approx(20_000.0)


def test_a_blend_wants_a_share_or_an_alkalinity() -> None:
    for said in ({}, {"tap_share": 0.5, "target_meq": 1.0}):
        with pytest.raises(InputError, match="either as a share or as an alkalinity"):
            blend_sheet(TAP, RO, 1000.0, **said)


def test_feed_may_be_weighed() -> None:
    sheet = feed_sheet(1.2, 0.35, 10_000.0, water_ds_m=0.4, density=1.2)
    assert value(sheet, "or by weight") == pytest.approx(1.2 * value(sheet, "feed in all"))


def test_strong_feed_is_pointed_out() -> None:
    assert codes(feed_sheet(2.4, 0.35, 1000.0)) == ["feed-strong"]


def test_water_to_the_top_of_the_mat_and_never_over() -> None:
    sheet = EVERY["depth"]
    most = value(sheet, "water for a dry tray, at most")
    assert most == pytest.approx(500 * 250 * 12 / 1000)
    assert value(sheet, "better stop at") < most
    assert codes(sheet) == []
    assert codes(depth_sheet(TRAY, ml=most + 10)) == ["over-the-top"]
    assert codes(depth_sheet(TRAY, ml=most - 1)) == []
    assert codes(depth_sheet(TRAY, depth_mm=13.0)) == ["over-the-top"]


@pytest.mark.parametrize(
    ("act", "match"),
    [
        (lambda: depth_sheet(TrayInside(length_mm=500, width_mm=250, depth_mm=10, mat_mm=12)), "lies above the brim"),
        (lambda: depth_sheet(TRAY, ml=9000.0), "does not stay in this tray"),
        (lambda: depth_sheet(TRAY, depth_mm=40.0), "lies above the brim"),
        (lambda: tank_sheet(length_mm=1000.0), "is a box with a width, or a barrel with a radius"),
        (lambda: tank_sheet(length_mm=1000.0, width_mm=500.0), "either depth or litres"),
        (
            lambda: tank_sheet(length_mm=1000.0, radius_mm=300.0, depth_mm=10.0, displaced_l=1.0),
            "counted in a box only",
        ),
        (lambda: feed_sheet(1.2, 0.35, 0.0), "water = 0 ml"),
        (lambda: feed_sheet(1.2, 0.35, 1000.0, density=12.0), "density = 12"),
        (lambda: dose_sheet(TAP, CITRIC, 5.8, -1.0), "water = -1 ml"),
        (lambda: dose_sheet(TAP, CITRIC, 5.8, 1000.0, co2_ppm=5.0), "carbon dioxide = 5 ppm"),
    ],
)
def test_what_cannot_be_is_refused_with_the_way_out(act, match: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match=match):
        act()


def test_a_barrel_is_asked_both_ways() -> None:
    deep = tank_sheet(length_mm=1000.0, radius_mm=300.0, depth_mm=200.0)
    back = tank_sheet(length_mm=1000.0, radius_mm=300.0, litres=value(deep, "water in it") / 1000)
    assert value(back, "depth") == pytest.approx(200.0, abs=1e-6)


@pytest.mark.parametrize(
    ("words", "meq"),
    [
        ("180 mg/l", 3.597),
        ("3,6 meq/l", 3.6),
        ("220 mg/l hco3", 3.606),
        ("10 dKH", 3.567),
        ("180", 3.597),
        ("180 ppm as CaCO3", 3.597),
    ],
)
def test_alkalinity_is_read_as_laboratories_print_it(words: str, meq: float) -> None:
    # IUPAC masses; 1 German degree is 10 mg/l CaO (definition).
    assert read_alkalinity(words) == pytest.approx(meq, rel=1e-3)


@pytest.mark.parametrize(
    ("words", "ec"),
    [
        ("1.2", 1.2),
        ("1200 uS/cm", 1.2),
        ("1.2 mS/cm", 1.2),
        ("600 ppm 500", 1.2),
        ("840 ppm (700)", 1.2),
        ("1,2 dS/m", 1.2),
    ],
)
def test_ec_is_read_as_meters_show_it(words: str, ec: float) -> None:
    assert read_ec(words) == pytest.approx(ec)


@pytest.mark.parametrize("words", ["600 ppm", "strong", "1.2 dS/m 500", "", "1,2.3"])
def test_an_ec_that_could_be_anything_is_refused(words: str) -> None:
    with pytest.raises(InputError, match="EC = "):
        read_ec(words)


@pytest.mark.parametrize("words", ["hard", "10 french", "", "-3 meq/l"])
def test_an_alkalinity_that_could_be_anything_is_refused(words: str) -> None:
    with pytest.raises(InputError, match="alkalinity = "):
        read_alkalinity(words)
