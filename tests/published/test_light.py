"""Light against published values, closed forms and definitions; the source stands beside each."""

from __future__ import annotations

import math

import numpy as np
import pytest

from trayward.errors import InputError
from trayward.science.lamps import HungLamp, lamps_in_rows
from trayward.science.light import dli, hours_for_dli
from trayward.science.light_bars import light_on
from trayward.science.light_forms import (
    below_endless_bar,
    below_point,
    corner_share,
    disc_share,
    exchange_parallel,
    exchange_square,
    strip_share,
)
from trayward.science.light_map import LitShelf, light_map
from trayward.science.light_power import (
    EFFICACY_LIMIT,
    ideal_efficacy,
    kwh_a_day,
    kwh_per_mol,
    photon_energy,
    watts_for,
)
from trayward.science.light_readings import LUX_PER_UMOL, like_a_point, lux_of_ppfd, ppfd_at, ppfd_of_lux, uniformity

# Lux ------------------------------------------------------------------------------------------------------------------


def test_full_sun_is_two_thousand_umol() -> None:
    # LITE-01: Thimijan and Heins (1983), HortScience 18:818-822, 54 lux per umol; its reciprocal is printed as 0.0185.
    assert ppfd_of_lux(108_000, "sun") == pytest.approx(2000, rel=0.005)
    assert 1 / LUX_PER_UMOL["sun"].factor == pytest.approx(0.0185, abs=0.00005)


def test_fluorescent_and_sodium_lamps_have_factors_of_their_own() -> None:
    # LITE-02: Thimijan and Heins (1983): 74 and 82 lux per umol.
    assert ppfd_of_lux(14_800, "cool white fluorescent") == pytest.approx(200, rel=0.005)
    assert ppfd_of_lux(16_400, "high pressure sodium") == pytest.approx(200, rel=0.005)


PRINTED = {
    # A public conversion page's tables after Thimijan and Heins (1983): PPFD -> lux.
    "sun": {10: 540, 100: 5400, 200: 40_800, 300: 16_200, 600: 32_400, 1000: 54_000, 2000: 108_000},
    "high pressure sodium": {10: 820, 100: 8200, 200: 16_400, 300: 24_600, 600: 49_200, 1000: 82_000, 2000: 164_000},
    "metal halide": {10: 710, 100: 7100, 200: 14_200, 300: 21_300, 600: 42_600, 1000: 71_000, 2000: 142_000},
    "cool white fluorescent": {10: 740, 100: 7400, 200: 14_800, 300: 22_200, 600: 44_400, 1000: 74_000, 2000: 148_000},
}


def test_a_wrong_row_in_a_published_conversion_table_is_caught() -> None:
    # LITE-03: every row must be factor x PPFD; the page prints 40,800 for sun at 200, which is 10,800.
    wrong = [
        (light, ppfd, lux, round(lux_of_ppfd(ppfd, light)))
        for light, rows in PRINTED.items()
        for ppfd, lux in rows.items()
        if lux_of_ppfd(ppfd, light) != pytest.approx(lux, abs=1)
    ]
    assert wrong == [("sun", 200, 40_800, 10_800)]


def test_lux_factors_are_those_relayed_from_the_review() -> None:
    # Thimijan and Heins (1983) as relayed on the plant-ed mailing list, October 2001: 54, 52, 71, 82, 74 and 50.
    relayed = {"sun": 54, "blue sky": 52, "metal halide": 71, "high pressure sodium": 82, "incandescent": 50}
    assert {light: LUX_PER_UMOL[light].factor for light in relayed} == relayed


# Daily light and energy -----------------------------------------------------------------------------------------------


def test_daily_light_is_light_times_time() -> None:
    # LITE-04: definition, x 0.0036; an example of a public lighting page.
    assert dli(350, 12) == pytest.approx(15.12, rel=1e-12)


def test_low_and_finish_high_is_six_to_eight_mol_a_day() -> None:
    # R. G. Lopez as summed up by the Indoor Ag Science Cafe (seen): 100 to 140 umol for 16 h is 6 to 8 mol/d.
    assert dli(np.array([100, 140]), 16) == pytest.approx([5.76, 8.064])


def test_hours_for_a_daily_light() -> None:
    # LITE-05: definition; 15.432 h. More than a day is refused with the light it would take.
    assert hours_for_dli(10, 180) == pytest.approx(15.43, abs=0.01)
    with pytest.raises(InputError, match=r"takes more than the 24 h of a day. It takes 231 umol/m2/s at least"):
        hours_for_dli(20, 180)


def test_energy_and_ideal_efficacy_of_blue_and_red_photons() -> None:
    # LITE-06: the exact constants of the SI of 2019, E = N_A h c / wavelength.
    assert photon_energy(np.array([450, 660])) == pytest.approx([265.84, 181.25], abs=0.05)
    assert ideal_efficacy(np.array([450, 660])) == pytest.approx([3.762, 5.517], abs=0.001)


def test_power_energy_and_daily_light_of_a_square_metre() -> None:
    # LITE-07: definitions; 2.5 umol/J is assumed and all photons land.
    watts = watts_for(200, 1.0, 2.5)
    assert watts == pytest.approx(80, abs=0.001)
    assert kwh_a_day(watts, 16) == pytest.approx(1.28, abs=0.001)
    assert dli(200, 16) == pytest.approx(11.52, abs=0.001)
    assert kwh_per_mol(2.5) == pytest.approx(0.111, abs=0.001)
    assert kwh_a_day(watts, 16) / dli(200, 16) == pytest.approx(kwh_per_mol(2.5), rel=1e-12)


def test_the_limits_of_led_lamps_lie_below_the_physical_one() -> None:
    # Kusuma and others (2020), abstract: 3.4 (white and red) and 4.1 umol/J (blue and red) for whole lamps.
    assert 3.4 < 4.1 < EFFICACY_LIMIT == pytest.approx(5.85, abs=0.005)
    # The same abstract: red LEDs can be 81 % efficient; of 660 nm that is 4.47 umol/J before the lamp's own losses.
    assert 0.81 * ideal_efficacy(660) > 4.1


# Closed forms ---------------------------------------------------------------------------------------------------------


def test_a_point_follows_the_inverse_square_law() -> None:
    # LITE-08: inverse-square law; 150 and 66.7.
    assert ppfd_at(600, 300, np.array([600, 900])) == pytest.approx([150, 66.7], abs=0.1)
    assert like_a_point(60, 300)
    assert not like_a_point(900, 300)
    lamp = HungLamp(x_mm=0, y_mm=0, height_mm=300, umol_s=600 * math.pi * 0.09)
    below = [float(light_on([lamp], np.array([[0.0, 0.0, -deeper]]))[0]) for deeper in (0, 300, 600)]
    assert below == pytest.approx([600, 150, 66.67], abs=0.01)


@pytest.mark.parametrize("aside", [0.0, 0.1, 0.4])
@pytest.mark.parametrize("height", [0.1, 0.3])
def test_a_map_below_a_point_and_a_long_bar_is_the_closed_form(height: float, aside: float) -> None:
    # Inverse-square and cosine laws; a bar 200 m long is as good as endless: 1e-6 is the part of it that is missing.
    spot = np.array([[0.0, 1000 * aside, 0.0]])
    point = HungLamp(x_mm=0, y_mm=0, height_mm=1000 * height, umol_s=40)
    assert light_on([point], spot) == pytest.approx(below_point(40, height, [aside]), rel=1e-12)
    halves = [
        HungLamp(x_mm=side * 10_000, y_mm=0, height_mm=1000 * height, umol_s=40 * 20, length_mm=20_000)
        for side in (-1, 1)
    ]
    assert light_on(halves, spot) == pytest.approx(below_endless_bar(40, height, [aside]), rel=1e-5)


def disc(radius: float, height: float, exitance: float, rings: int) -> list[HungLamp]:
    """A matt disc of points, in rings of equal area. [mm], [umol/m2/s]"""
    steps = 4 * rings
    share = exitance * math.pi * (radius / 1000) ** 2 / (rings * steps)
    at = [radius * math.sqrt((ring + 0.5) / rings) for ring in range(rings)]
    turns = [2 * math.pi * step / steps for step in range(steps)]
    return [
        HungLamp(x_mm=r * math.cos(turn), y_mm=r * math.sin(turn), height_mm=height, umol_s=share)
        for r in at
        for turn in turns
    ]


def test_a_disc_of_points_gives_the_closed_form_the_nearer_the_finer_it_is() -> None:
    # LITE-09: E = M r^2 / (r^2 + h^2) = 307.7 (Howell's catalog, formula from memory).
    assert 1000 * disc_share(0.20, 0.30) == pytest.approx(307.7, abs=0.1)
    spot = np.zeros((1, 3))
    found = [float(light_on(disc(200, 300, 1000, rings), spot)[0]) for rings in (4, 8, 16)]
    away = np.abs(np.array(found) - 307.692)
    assert away[2] < 0.1
    assert away[0] > 3 * away[1] > 9 * away[2]


def test_a_panel_gives_an_equal_tray_below_a_fifth_of_its_light() -> None:
    # LITE-10: aligned equal squares, spacing = side: F = 0.1998 (Incropera and DeWitt, Table 13.2, from memory).
    assert float(exchange_parallel([[0, 1, 0, 1]], [[0, 1, 0, 1]], 1.0)[0, 0]) == pytest.approx(0.1998, abs=0.0005)
    panel = HungLamp(x_mm=500, y_mm=500, height_mm=1000, umol_s=100, length_mm=1000, width_mm=1000)
    found = light_map([panel], LitShelf(length_mm=1000, width_mm=1000))
    assert found.share_on_shelf == pytest.approx(0.1998, abs=0.0005)
    assert found.ppfd.mean() == pytest.approx(100 * 0.19982, abs=0.005)


def test_a_panel_is_the_closed_form_of_a_rectangle_at_every_spot() -> None:
    # Plane element and parallel rectangle (Howell's catalog; Siegel and Howell; formula from memory).
    panel = HungLamp(x_mm=0, y_mm=0, height_mm=250, umol_s=0.6 * 0.3 * 500, length_mm=600, width_mm=300)
    spots = np.array([[0.0, 0.0, 0.0], [200.0, 100.0, 0.0], [450.0, -250.0, 0.0]])
    exact = [
        500 * sum(i * j * float(corner_share(i * 300 - x, j * 150 - y, 250)) for i in (-1, 1) for j in (-1, 1))
        for x, y, _ in spots
    ]
    assert light_on([panel], spots) == pytest.approx(exact, rel=1e-6)


@pytest.mark.parametrize("aside", [0, 80, 300])
def test_a_wide_long_strip_is_the_closed_form_of_a_strip(aside: float) -> None:
    # Half the difference of the sines (crossed strings, Hottel; from memory).
    strips = [
        HungLamp(x_mm=side * 10_000, y_mm=0, height_mm=200, umol_s=700 * 20 * 0.3, length_mm=20_000, width_mm=300)
        for side in (-1, 1)
    ]
    wanted = 700 * strip_share(300, 200, aside)
    assert float(light_on(strips, np.array([[0.0, aside, 0.0]]))[0]) == pytest.approx(wanted, rel=2e-5)


def test_view_factors_of_rectangles_are_those_of_other_programs() -> None:
    # Values printed in the manual of a heat transfer library: plates 1 x 1.5, 0.5 apart (Siegel and Howell) 0.4756;
    # squares of 0.1 m in line, 0.05 m apart (Howell's catalog C-13) 0.4153. Four digits are printed.
    plates = exchange_parallel([[0, 1, 0, 1.5]], [[0, 1, 0, 1.5]], 0.5)[0, 0] / 1.5
    squares = exchange_parallel([[0.1, 0.2, 0.1, 0.2]], [[0.1, 0.2, 0.1, 0.2]], 0.05)[0, 0] / 0.01
    assert [float(plates), float(squares)] == pytest.approx([0.4756, 0.4153], abs=0.00005)
    # Squares that meet at a right angle: 0.20004 (Incropera and DeWitt, from memory).
    assert float(exchange_square([[0, 1, 0, 1]], [[0, 1, 0, 1]])[0, 0]) == pytest.approx(0.20004, abs=0.00001)


# Evenness -------------------------------------------------------------------------------------------------------------


def test_evenness_of_nine_readings() -> None:
    # LITE-11: definitions; the readings are made up.
    found = uniformity([180, 200, 210, 190, 150, 220, 205, 195, 170])
    assert found.mean == pytest.approx(191.11, abs=0.01)
    assert (found.min_mean, found.min_max) == pytest.approx((0.785, 0.682), abs=0.001)
    assert found.cv == pytest.approx(0.113, abs=0.001)


def test_the_coefficient_of_christiansen_is_that_of_another_program() -> None:
    # Example of the open-source R package spreval (after Christiansen 1942): 69.13955 %.
    caught = [47, 42, 45, 24, 13, 26, 33, 34, 27, 30, 40, 44, 32, 12, 12]
    assert 100 * uniformity(caught).christiansen == pytest.approx(69.13955, abs=0.00001)


def test_three_lamps_of_20_w_light_a_shelf_of_four_trays_as_growers_do() -> None:
    # Three 20 W lamps over four 1020 trays: common practice, no source. 2.2 umol/J is a plain LED bar's (the same).
    # R. G. Lopez (Indoor Ag Science Cafe, seen): 100 to 140 umol for 16 h is enough; it must come out at that order.
    lamps = lamps_in_rows(3, over_mm=(1016, 508), height_mm=250, spacing_mm=508 / 3, umol_s=20 * 2.2, length_mm=1016)
    found = light_map(lamps, LitShelf(length_mm=1016, width_mm=508))
    assert 100 <= found.evenness.mean <= 200
    assert 5 <= dli(found.evenness.mean, 16) <= 11
    assert 0.4 <= found.share_on_shelf <= 0.8
