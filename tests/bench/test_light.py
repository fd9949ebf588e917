"""The light bench: what its sheets say of a shelf, of daily light, energy and lux."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trayward.bench.light import map_sheet, readings_sheet
from trayward.bench.light_energy import LampUse, energy_sheet
from trayward.bench.light_farm import lamp_of, light_measured, shelf_layout, usual_tray
from trayward.bench.light_height import height_sheet
from trayward.bench.light_layout import SIDES, make_layout, trays_on
from trayward.bench.light_sums import daily_sheet, distance_sheet, hours_sheet, lux_sheet, photon_sheet
from trayward.bench.types import Amount, Sheet
from trayward.errors import InputError, NotFoundError
from trayward.farm.places import Lamp, Shelf
from trayward.farm.recipes import TraySize
from trayward.farm.state import FarmState, Reading
from trayward.library.recipes import standard_recipe
from trayward.sources import source

LIT = Shelf(name="A2", rack="A", room="loft", kind="lit", spots=4, lamp=Lamp(count=2, watts=36, umol_s=92, hours=14))


def amount(sheet: Sheet, name: str) -> Amount:
    """What was put in or found, by its name."""
    return next(each for each in (*sheet.found, *sheet.given) if each.name == name)


def value(sheet: Sheet, name: str) -> float:
    """A figure, by its name."""
    found = amount(sheet, name).value
    assert isinstance(found, int | float)
    return float(found)


# A shelf --------------------------------------------------------------------------------------------------------------


def test_three_lamps_of_20_w_over_four_trays_are_what_is_usual() -> None:
    """Common practice, no source; the figures are those of `light_map`, with its own tests."""
    sheet, found = map_sheet(make_layout())
    assert (value(sheet, "lamps"), value(sheet, "trays on it"), value(sheet, "power")) == (3, 4, 60)
    assert amount(sheet, "photons of a lamp").note == "20 W x 2.2 umol/J, usual"
    assert value(sheet, "light on the leaves, mean") == pytest.approx(found.evenness.mean, rel=0.005)
    assert 100 < value(sheet, "light on the leaves, mean") < 200
    assert value(sheet, "energy a day") == pytest.approx(0.96)
    assert sheet.found[0].name == "light on the leaves, mean"


@given(
    st.integers(1, 5),
    st.floats(5, 60),
    st.floats(120, 500),
    st.sampled_from(SIDES),
    st.one_of(st.just(0.0), st.just(0.8)),
)
@settings(max_examples=20, deadline=None)
def test_photons_on_the_shelf_and_lost_are_those_given(
    count: int, watts: float, height: float, side: str, walls: float
) -> None:
    layout = make_layout(count=count, watts=watts, height_mm=height, walls=walls, open_sides=(side,))
    sheet, found = map_sheet(layout)
    assert found.on_shelf + found.lost == pytest.approx(count * watts * 2.2)
    told = [value(sheet, f"photons {what}") for what in ("on the shelf", "lost", "given")]
    assert told[0] + told[1] == pytest.approx(told[2], rel=0.01)


def test_the_small_table_is_the_map_as_one_stands_before_it() -> None:
    layout = make_layout(walls=0.9, open_sides=("front", "right"))
    sheet, _ = map_sheet(layout)
    (grid,) = sheet.grids
    back, middle, front = ([float(cell) for cell in row[1:]] for row in grid.rows)
    assert [row[0] for row in grid.rows] == ["Back", "Middle", "Front"]
    assert grid.columns[1] == "Left"
    assert min(back) > min(front)
    assert middle[0] > middle[-1]


def test_walls_are_told_with_their_open_sides_and_how_far_they_hold() -> None:
    sheet, _ = map_sheet(make_layout(walls=0.85, open_sides=("front",), gap_mm=400.0))
    assert amount(sheet, "walls throw back").note == "open: front"
    assert value(sheet, "leaves to the shelf above") == 400
    assert any("matt" in line for line in sheet.holds)
    bare, _ = map_sheet(make_layout())
    assert not any("matt, and clean" in line for line in bare.holds)
    assert value(sheet, "light on the leaves, mean") > value(bare, "light on the leaves, mean")


def test_photons_that_no_lamp_gives_are_pointed_out_and_what_physics_forbids_is_refused() -> None:
    sheet, _ = map_sheet(make_layout(watts=20.0, efficacy=4.5))
    assert [finding.code for finding in sheet.findings] == ["efficacy-high"]
    assert "kusuma2020" in sheet.sources
    with pytest.raises(InputError, match=r"efficacy = 6 umol/J: must lie above 0 and up to 5.85"):
        make_layout(watts=20.0, efficacy=6.0)
    with pytest.raises(InputError, match=r"efficacy = 6 umol/J"):
        make_layout(watts=20.0, umol_s=120.0)


def test_a_lamp_known_by_its_photons_alone_has_no_energy() -> None:
    sheet, _ = map_sheet(make_layout(umol_s=92.0, count=2))
    assert [each.name for each in sheet.found if "energy" in each.name] == []
    with pytest.raises(InputError, match="the lamp's photons are already said"):
        make_layout(umol_s=92.0, efficacy=2.5)


def test_a_reading_far_from_the_map_deserves_a_look() -> None:
    sheet, found = map_sheet(make_layout(), measured=60.0)
    assert [finding.code for finding in sheet.findings] == ["light-far-off"]
    assert "dust" in sheet.findings[0].remedy
    near, _ = map_sheet(make_layout(), measured=found.evenness.mean * 1.2)
    assert near.findings == ()
    assert amount(near, "measured").note == "120 % of the map's mean"


def test_where_trays_stand_is_inside_the_shelf() -> None:
    layout = make_layout(size_mm=(1220.0, 520.0), trays=4)
    assert layout.places[0] == pytest.approx((102.0, 6.0, 254.0, 508.0))
    assert make_layout(size_mm=(1220.0, 460.0)).places == ()
    assert trays_on(1220, 460) == 2


def test_impossible_shelves_are_refused() -> None:
    for said, words in (
        ({"count": 0}, r"lamps = 0: must lie in \[1, 100\]"),
        ({"trays": 0}, r"trays = 0"),
        ({"size_mm": (0.0, 500.0)}, r"shelf length = 0 mm"),
        ({"watts": 0.0}, r"watts = 0 W: must lie above 0"),
        ({"umol_s": 0.0}, r"photon output = 0 umol/s"),
        ({"hours": 25.0}, r"hours = 25 h: must lie in \[0, 24\] h"),
    ):
        with pytest.raises(InputError, match=words):
            make_layout(**said)


# Where to hang them ---------------------------------------------------------------------------------------------------


def test_the_best_height_is_told_with_what_other_heights_give() -> None:
    sheet, best = height_sheet(make_layout(), (100, 400), evenness=0.5)
    assert best.reached
    assert sheet.title.startswith("Hang them ")
    assert "50 % of the mean" in sheet.title
    assert value(sheet, "lamps above the leaves") == best.best.height_mm
    assert len(sheet.grids[0].rows) == 11
    assert amount(sheet, "all that was asked for").value is True


def test_what_cannot_be_had_is_said_with_a_way_on() -> None:
    sheet, best = height_sheet(make_layout(), (100, 400), evenness=0.9)
    assert not best.reached
    assert sheet.title.startswith("No height gives the evenness asked for. Closest: ")
    assert "matt white" in sheet.steps[0]
    both, _ = height_sheet(make_layout(), (100, 400), evenness=0.9, ppfd=900.0)
    assert "the evenness and the light asked for" in both.title
    walled, _ = height_sheet(make_layout(walls=0.9), (100, 400), evenness=0.75)
    assert amount(walled, "all that was asked for").value is True


def test_light_asked_for_alone_gives_the_evenest() -> None:
    sheet, _ = height_sheet(make_layout(), (100, 400), ppfd=120.0)
    assert "the evenest with 120 umol/m2/s on the mean" in sheet.title
    assert value(sheet, "light on the leaves, mean") >= 119.9


def test_one_lamp_has_no_spacing_on_its_sheet() -> None:
    sheet, _ = height_sheet(make_layout(count=1, trays=1), (100, 300), ppfd=20.0)
    assert "apart" not in sheet.title
    assert "Apart" not in sheet.grids[0].columns


# Small sums -----------------------------------------------------------------------------------------------------------


def test_daily_light_and_hours_answer_each_other() -> None:
    day = value(daily_sheet(140, 16), "daily light")
    assert day == pytest.approx(8.064)
    assert value(hours_sheet(day, 140), "light a day") == pytest.approx(960)
    with pytest.raises(InputError, match="takes more than the 24 h"):
        hours_sheet(30, 140)


def test_energy_is_shared_by_the_trays_of_a_full_shelf() -> None:
    """60 W x 16 h = 0.96 kWh a day; 5 days of a quarter of it are 1.2 kWh; 0.30 a kWh; 200 g a tray. By hand."""
    use = LampUse(watts=60, hours=16, trays=4, days=5, grams=200, price=0.30, currency="EUR")
    sheet = energy_sheet(use)
    told = {each.name: each.value for each in sheet.found}
    assert told["energy a day"] == pytest.approx(0.96)
    assert told["energy a tray"] == pytest.approx(1.2)
    assert told["energy 100 g cut"] == pytest.approx(0.6)
    assert told["cost a day"] == pytest.approx(0.288)
    assert told["cost a tray"] == pytest.approx(0.36)
    assert told["cost 100 g cut"] == pytest.approx(0.18)
    assert sheet.cautions


def test_what_was_not_said_of_energy_is_asked_for() -> None:
    sheet = energy_sheet(LampUse(watts=60, hours=16, trays=4))
    assert [each.name for each in sheet.found] == ["energy a day", "energy a month"]
    assert sheet.holds[-1] == "Say --days and --weight and --price to see more."
    for said, words in (
        ({"trays": 0}, "trays = 0"),
        ({"hours": 25}, "hours = 25 h"),
        ({"watts": -1}, "watts = -1 W"),
        ({"days": 0}, "days = 0 d"),
        ({"grams": 0}, "weight = 0 g"),
        ({"price": -1}, "price = -1"),
    ):
        with pytest.raises(InputError, match=words):
            energy_sheet(LampUse(**{"watts": 60, "hours": 16, "trays": 4, **said}))  # type: ignore[arg-type]


def test_lux_of_white_leds_has_a_range_and_that_of_the_sun_none() -> None:
    white = lux_sheet("white LED", lux=6700)
    assert value(white, "light") == pytest.approx(100)
    assert amount(white, "light").note == "89.3 to 112 by the lamp's make"
    assert amount(lux_sheet("sun", ppfd=200), "lux meter shows").value == 10_800
    assert amount(lux_sheet("sun", lux=10_800), "light").note == ""
    assert amount(lux_sheet("white LED", ppfd=100), "lux meter shows").note == "6000 to 7500 by the lamp's make"
    with pytest.raises(InputError, match="say either lux or PPFD"):
        lux_sheet("sun")
    with pytest.raises(NotFoundError, match="pink"):
        lux_sheet("pink", lux=100)


def test_a_lamp_of_one_colour_cannot_beat_its_photons() -> None:
    sheet = photon_sheet(450, 3.0)
    assert value(sheet, "power that becomes light") == pytest.approx(3.0 / 3.762, abs=0.001)
    with pytest.raises(InputError, match=r"efficacy = 4 umol/J: .*Light of 450 nm has 3.76 umol in each joule"):
        photon_sheet(450, 4.0)


def test_a_lamp_too_near_for_the_inverse_square_is_pointed_out() -> None:
    assert distance_sheet(600, 300, 600, 50).findings == ()
    near = distance_sheet(600, 300, 600, 600)
    assert [finding.code for finding in near.findings] == ["lamp-no-point"]
    assert value(near, "light there") == 150


def test_evenness_from_readings() -> None:
    assert readings_sheet((180, 200, 210, 190, 150, 220, 205, 195, 170)).title == (
        "The darkest spot has 78 % of the mean light."
    )


def test_every_sheet_names_sources_that_are_there() -> None:
    sheets = [
        map_sheet(make_layout())[0],
        daily_sheet(100, 12, lux=5400, light="sun"),
        hours_sheet(5, 200),
        lux_sheet("sun", lux=1),
        photon_sheet(660),
        distance_sheet(1, 1, 1),
        readings_sheet((1, 2)),
    ]
    for sheet in sheets:
        assert sheet.sources
        assert all(source(key).citation for key in sheet.sources)
        assert sheet.bench == "light"


# A farm's shelf -------------------------------------------------------------------------------------------------------


def test_a_shelf_of_the_farm_brings_its_own_lamps_hours_and_trays() -> None:
    layout = shelf_layout(LIT, TraySize())
    assert (layout.count, layout.watts, layout.umol_s, layout.hours, layout.trays) == (2, 36, 92, 14, 4)
    assert layout.length_mm == 1016
    sheet, _ = map_sheet(layout)
    assert amount(sheet, "shelf A2, length").value == 1016
    assert shelf_layout(LIT, TraySize(), efficacy=2.0).umol_s == 72
    assert shelf_layout(LIT, TraySize(), count=3, watts=20.0).umol_s == 44


def test_the_light_of_a_farms_shelf_is_that_of_its_own_lamps_and_hours() -> None:
    """The share of its photons that reaches the leaves is far from all: nobody may count on 100 %."""
    sheet, found = map_sheet(shelf_layout(LIT, TraySize()))
    ppfd = found.evenness.mean
    assert ppfd == pytest.approx(184 * found.share_on_shelf / 0.516128, rel=0.001)
    assert 0.4 < found.share_on_shelf < 0.7
    assert value(sheet, "daily light, mean") == pytest.approx(ppfd * 14 * 0.0036, rel=0.01)
    assert value(sheet, "energy a day") == pytest.approx(1.008, rel=0.01)


def test_a_shelf_without_light_is_refused_with_the_way_out() -> None:
    dark = Shelf(name="A1", rack="A", room="loft", kind="dark", spots=4)
    with pytest.raises(InputError, match="shelf = A1: it is a dark one"):
        lamp_of(dark)
    with pytest.raises(InputError, match="shelf = A1: it is a dark one"):
        shelf_layout(dark, TraySize(), count=3, watts=20.0)
    bare = Shelf(name="A3", rack="A", room="loft", kind="lit", spots=4)
    with pytest.raises(InputError, match=r"nothing is known of this shelf's lamp. Say it: trayward place set A3"):
        lamp_of(bare)
    closed = Shelf(name="A4", rack="A", room="loft", kind="lit", spots=0, lamp=Lamp(watts=20))
    with pytest.raises(InputError, match="it is closed"):
        shelf_layout(closed, TraySize())


def test_the_last_reading_of_a_shelf_or_its_spots_counts() -> None:
    def read(hour: int, what: str, value: float, where: str) -> Reading:
        return Reading(at=datetime(2026, 11, 25, hour, tzinfo=UTC), what=what, value=value, where=where)

    state = FarmState(
        readings=[
            read(7, "ppfd", 120.0, "A2"),
            read(9, "ppfd", 140.0, "A2.1"),
            read(10, "ppfd", 90.0, "A3"),
            read(11, "temperature", 22.0, "A2"),
        ]
    )
    assert light_measured(state, "A2") == 140
    assert light_measured(state, "B1") is None


def test_the_usual_tray_is_the_one_most_recipes_use() -> None:
    assert usual_tray([]) == TraySize()
    assert usual_tray([standard_recipe("broccoli")]) == standard_recipe("broccoli").tray
