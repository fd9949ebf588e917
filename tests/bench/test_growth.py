"""The growth bench: what its sheets say of crops, shelves, logs and looks."""

from __future__ import annotations

import math

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.bench.growth import emergence_sheet, log_sheet, warmer_sheet
from trayward.bench.growth_crop import CropWarmth, crop_warmth, require_base, stage_factor
from trayward.bench.growth_fit import fit_sheet, read_looks
from trayward.bench.temperature_log import read_log
from trayward.bench.types import Sheet
from trayward.errors import InputError
from trayward.library.crops import crop_names, library_facts
from trayward.science.degree_days import Days
from trayward.science.growth import days_to_emergence
from trayward.science.warm_fit import WarmLook

BROCCOLI = crop_warmth(library_facts("broccoli"))
NOTHING = CropWarmth(
    crop="moss", base_c=None, thermal_time_c_d=None, best_c=None, ceiling_c=None, stages=(), sources=()
)


def value(sheet: Sheet, name: str) -> float | str | bool:
    """A figure that was found, by its name."""
    return next(amount.value for amount in sheet.found if amount.name == name)


def codes(sheet: Sheet) -> list[str]:
    return [finding.code for finding in sheet.findings]


# Emergence ------------------------------------------------------------------------------------------------------------


def test_a_steady_shelf_gives_the_library_s_own_days() -> None:
    sheet = emergence_sheet(BROCCOLI, Days.steady(20.0))
    assert value(sheet, "seedlings show") == pytest.approx(1440 * days_to_emergence(20.0, 2.6, 110.0))
    assert sheet.sources == ("harrington1954", "ifas_soiltemp")


def test_at_the_temperature_they_were_written_for_stages_keep_their_length() -> None:
    grid = emergence_sheet(BROCCOLI, Days.steady(21.0)).grids[0]
    assert grid.rows[0] == ("germinate", "3.0", "2.0 to 4.0", "warmth")
    assert grid.rows[1][3] == "the calendar"


def test_too_cold_a_shelf_never_brings_it_up() -> None:
    sheet = emergence_sheet(BROCCOLI, Days.steady(2.0))
    assert value(sheet, "seedlings show") == "never: too cold"
    assert sheet.grids[0].rows[0][1] == "never"
    assert codes(sheet) == ["shelf-cold"]


@pytest.mark.parametrize(("temp", "code"), [(36.0, "shelf-too-hot"), (28.0, "shelf-hot"), (20.0, None)])
def test_a_shelf_too_warm_is_pointed_out(temp: float, code: str | None) -> None:
    assert codes(emergence_sheet(BROCCOLI, Days.steady(temp))) == ([code] if code else [])


def test_a_crop_warmer_than_its_best_is_pointed_out() -> None:
    assert codes(emergence_sheet(crop_warmth(library_facts("spinach")), Days.steady(22.0))) == ["shelf-warm"]


def test_a_crop_that_was_tried_shows_what_was_seen() -> None:
    grids = emergence_sheet(crop_warmth(library_facts("radish")), Days.steady(20.0)).grids
    assert grids[-1].title == "As the published trial saw it"
    # Harrington and Minges, 1954: radish at 5 and 20 °C.
    assert {("5 °C", "29", "42 %"), ("20 °C", "4", "95 %")} <= set(grids[-1].rows)


def test_a_crop_nobody_knows_anything_of_is_refused() -> None:
    with pytest.raises(InputError, match="crop = moss: neither its base temperature nor its stages are on record"):
        emergence_sheet(NOTHING, Days.steady(20.0))
    with pytest.raises(InputError, match=r"crop = moss: its base temperature is not on record. Give one with --base"):
        require_base(NOTHING)


def test_who_reads_fahrenheit_gets_titles_tables_and_findings_in_it() -> None:
    sheet = warmer_sheet(BROCCOLI, Days.steady(20.0), [Days.steady(30.0)], "F")
    assert "at 86 °F instead of 68 °F" in sheet.title
    assert [row[0] for row in sheet.grids[0].rows] == ["68 °F", "86 °F"]
    assert sheet.findings[0].message.startswith("broccoli at 86 °F: beyond 77 °F")


@pytest.mark.parametrize("crop", crop_names())
def test_every_crop_of_the_library_gets_an_answer_or_says_what_is_missing(crop: str) -> None:
    known = crop_warmth(library_facts(crop))
    if known.base_c is None and not known.stages:
        with pytest.raises(InputError, match="neither its base temperature nor its stages"):
            emergence_sheet(known, Days.steady(20.0))
    else:
        assert emergence_sheet(known, Days.steady(20.0)).found


# Warmer, cooler -------------------------------------------------------------------------------------------------------


@given(st.floats(3.0, 25.0), st.floats(0.05, 5.0))
def test_more_warmth_below_25_degrees_is_never_slower(temp: float, more: float) -> None:
    now, then = Days.steady(temp), Days.steady(min(temp + more, 25.0))
    before, after = BROCCOLI.days_to_emergence(now), BROCCOLI.days_to_emergence(then)
    assert before is not None
    assert after is not None
    assert after <= before
    germinate = BROCCOLI.stages[0]
    assert (stage_factor(germinate, then) or 0) <= (stage_factor(germinate, now) or 0)


def test_a_warmer_shelf_is_sooner_and_a_cooler_one_later_by_as_much() -> None:
    cool, warm = Days.steady(16.0), Days.steady(22.0)
    sooner = value(warmer_sheet(BROCCOLI, cool, [warm]), "seedlings show sooner by")
    later = value(warmer_sheet(BROCCOLI, warm, [cool]), "seedlings show later by")
    assert sooner == later == pytest.approx(1440 * 110 * (1 / 13.4 - 1 / 19.4))


def test_shelves_stand_side_by_side_the_coolest_first() -> None:
    shelves = [Days.steady(temp) for temp in (24.0, 15.0)]
    grid = warmer_sheet(BROCCOLI, Days.steady(18.0), shelves).grids[0]
    assert [row[0] for row in grid.rows] == ["15 °C", "18 °C", "24 °C"]
    assert [row[-1] for row in grid.rows] == ["", "now", ""]


def test_a_shelf_too_cold_to_compare_with_says_never() -> None:
    sheet = warmer_sheet(BROCCOLI, Days.steady(18.0), [Days.steady(1.0)])
    assert value(sheet, "seedlings show") == "never: too cold"


def test_no_other_shelf_is_refused() -> None:
    with pytest.raises(InputError, match="to = nothing: a shelf to hold against it must be said"):
        warmer_sheet(BROCCOLI, Days.steady(18.0), [])


# Log ------------------------------------------------------------------------------------------------------------------


def steady_log(days: int, temp: float) -> str:
    return "\n".join(f"2026-11-{1 + hour // 24:02d} {hour % 24:02d}:00,{temp}" for hour in range(24 * days))


def test_a_steady_log_brings_its_degrees_a_day_and_says_when_seed_came_up() -> None:
    sheet = log_sheet(read_log(steady_log(8, 22.6)), 2.6, crop=BROCCOLI)
    assert value(sheet, "a day") == pytest.approx(20.0)
    assert value(sheet, "seed sown at the first reading shows") == "2026-11-06 12:00"  # 110 / 20 = 5.5 days
    assert len(sheet.grids[0].rows) == 8


def test_a_log_too_short_says_how_much_of_the_warmth_there_was() -> None:
    sheet = log_sheet(read_log(steady_log(3, 22.6)), 2.6, crop=BROCCOLI)
    assert value(sheet, "of the warmth it takes to come up") == pytest.approx(20 * (71 / 24) / 110)


def test_a_log_with_a_gap_says_so_and_what_it_may_have_brought() -> None:
    lines = steady_log(6, 22.6).split("\n")
    sheet = log_sheet(read_log("\n".join([*lines[:30], *lines[60:]])), 2.6)
    assert codes(sheet) == ["log-gaps"]
    assert sheet.findings[0].message == "log = 1 gap, 31 h in all (22 %): not counted."
    assert sheet.grids[1].rows == (("2026-11-02 05:00", "2026-11-03 12:00", "31.0"),)


# Looks ----------------------------------------------------------------------------------------------------------------

APART = "temperature,not yet,seen,trays\n14,4.5,5,2\n14,5,5.5,2\n18,3.5,4,3\n22,2.5,3,3\n22,3,3.5,1\n"  # broccoli-like


def test_looks_at_shelves_well_apart_give_figures_with_ranges() -> None:
    sheet = fit_sheet(read_looks(APART), known_base_c=2.6, sources=("harrington1954",))
    assert value(sheet, "the looks tell") is True
    base = next(amount for amount in sheet.found if amount.name == "nothing moves below")
    assert base.low is not None
    assert base.high is not None
    assert base.low < base.value < base.high  # type: ignore[operator]
    assert sheet.steps == ()


def test_looks_at_one_shelf_say_that_they_cannot_tell_and_what_would() -> None:
    looks = [WarmLook(temp_c=21.0, low_d=2.5 + 0.5 * (one % 2), high_d=3.0 + 0.5 * (one % 2)) for one in range(8)]
    alone, known = fit_sheet(looks), fit_sheet(looks, known_base_c=2.6)
    assert value(alone, "the looks tell") is False
    assert codes(alone) == ["warmth-not-told"]
    assert "nothing moves below" not in [amount.name for amount in alone.found]
    assert len(alone.steps) == 3
    assert alone.grids == ()
    assert value(known, "thermal time, base held") == pytest.approx(3.0 * 18.4, rel=0.05)


def test_a_file_of_looks_is_read_with_blanks_for_what_was_not_seen() -> None:
    looks = read_looks("Temp F;not yet;seen;trays\n68;3;3,5;2\n68;4;;1\n", fahrenheit=True)
    assert looks == [
        WarmLook(temp_c=20.0, low_d=3.0, high_d=3.5, trays=2.0),
        WarmLook(temp_c=20.0, low_d=4.0, high_d=math.inf, trays=1.0),
    ]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "looks = nothing: the file has no looks in it"),
        ("temperature,seen\n20,3\n", "no column of it is called not yet"),
        ("temperature,not yet,seen\n20,3,soon\n", "line 2 = soon: it must be a number"),
        ("temperature,not yet,seen\n,3,4\n", "line 2 = blank: it has no temperature"),
        ("temperature,not yet,seen\n20,4,3\n", "line 2 = 4 to 3 d: the look that saw it must come after"),
    ],
)
def test_a_file_of_looks_that_cannot_be_read_says_how_one_is_written(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read_looks(text)


def test_the_farm_s_own_base_goes_before_the_library_s() -> None:
    facts = library_facts("broccoli")
    own = msgspec.structs.replace(facts.facts["t_base_emerg_C"], value=4.0, source="farm", trust="farm")
    assert crop_warmth(msgspec.structs.replace(facts, facts={**facts.facts, "t_base_emerg_C": own})).base_c == 4.0
