"""Seed arithmetic, against published figures where there are some."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.science.mesh import equivalent_diameter, mesh_pass_size, share_retained
from trayward.science.seeds import (
    density_of_grams,
    grams_for_density,
    grams_of_volume,
    pure_live_seed,
    seeds_in_grams,
    tsw_of_count,
    volume_of_grams,
)

weights = st.floats(0.1, 400)


@given(st.floats(0.01, 60), st.floats(100, 5000), weights, st.floats(0.05, 1.0))
def test_grams_and_density_are_each_others_inverse(density: float, area: float, tsw: float, live: float) -> None:
    grams = grams_for_density(density, area, tsw, live)
    assert density_of_grams(grams, area, tsw, live) == pytest.approx(density, rel=1e-9)


@given(st.floats(0.01, 500), st.floats(0.1, 1.5))
def test_grams_and_volume_are_each_others_inverse(grams: float, density: float) -> None:
    assert grams_of_volume(volume_of_grams(grams, density), density) == pytest.approx(grams, rel=1e-9)


@given(st.floats(0.3, 10), st.floats(0.2, 1.0))
def test_a_flat_seed_passes_a_smaller_hole_than_a_round_one_but_none_below_its_thickness(
    width: float, flat: float
) -> None:
    size = mesh_pass_size(width, width * flat)
    assert width * flat - 1e-9 <= size <= width + 1e-9


@given(st.floats(0.5, 5), st.floats(0.01, 0.5), st.floats(0.5, 5))
def test_a_wider_opening_never_holds_more_seed(width: float, sd: float, opening: float) -> None:
    assert share_retained(width, sd, opening * 1.1) <= share_retained(width, sd, opening) + 1e-12


def test_a_flat_seed_slips_through_a_square_hole_on_the_diagonal_but_not_through_a_round_one() -> None:
    assert share_retained(1.2, 0.0, 1.0, thickness_mm=0.5) == 0.0
    assert share_retained(1.2, 0.0, 1.0, thickness_mm=0.5, square_holes=False) == 1.0


def test_half_the_seed_is_held_where_the_mean_width_just_passes() -> None:
    assert share_retained(1.0, 0.1, 1.0) == pytest.approx(0.5)
    widest = math.sqrt(2 * 1.0**2 - 0.87**2)
    assert share_retained(widest, 0.1, 1.0, thickness_mm=0.87) == pytest.approx(0.5)


def test_the_two_ways_to_look_at_a_mesh_agree() -> None:
    """A seed whose pass size equals the opening sits on the edge of `share_retained`."""
    opening = mesh_pass_size(1.2, 0.87)
    assert share_retained(1.2, 0.05, opening, thickness_mm=0.87) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("call", "rule"),
    [
        (lambda: seeds_in_grams(-1, 3), r"grams = -1 g: must not be below zero"),
        (lambda: seeds_in_grams(1, 0), r"tsw_g = 0 g: must be above zero. Count 100 seeds"),
        (lambda: seeds_in_grams(math.nan, 3), r"grams = nan g"),
        (lambda: tsw_of_count(0, 3), r"seeds = 0: must be above zero"),
        (lambda: grams_for_density(5, 1290, 3, 0), r"live_share = 0: must lie above 0 and up to 1"),
        (lambda: grams_for_density(5, 1290, 3, 85), r"live_share = 85: .* for instance 0.85 for 85 %"),
        (lambda: grams_for_density(5, 0, 3, 1), r"area_cm2 = 0 cm2: must be above zero. Measure the inside"),
        (lambda: density_of_grams(5, 1290, math.inf), r"tsw_g = inf g: must be above zero"),
        (lambda: grams_of_volume(10, 676), r"density_g_per_ml = 676 g/ml: .* If this is kg/m3, divide by 1000"),
        (lambda: volume_of_grams(10, 0), r"density_g_per_ml = 0 g/ml: must be above zero"),
        (lambda: equivalent_diameter(0), r"tsw_g = 0 g"),
        (lambda: mesh_pass_size(0), r"width_mm = 0 mm"),
        (lambda: mesh_pass_size(1, 2), r"thickness_mm = 2 mm: must not be more than the width, 1 mm"),
        (lambda: share_retained(1, -0.1, 1), r"width_sd_mm = -0.1 mm"),
        (lambda: share_retained(1, 0.1, 0), r"opening_mm = 0 mm"),
        (lambda: pure_live_seed(98, 0.85), r"purity = 98: .* for instance 0.98 for 98 %"),
    ],
)
def test_values_out_of_range_are_refused_with_the_way_out(call, rule: str) -> None:
    with pytest.raises(InputError, match=rule):
        call()


@given(st.lists(st.floats(0.1, 60), min_size=1, max_size=20), weights, st.floats(0.05, 1.0))
def test_arrays_give_what_each_number_alone_gives(densities: list[float], tsw: float, live: float) -> None:
    import numpy as np

    many = grams_for_density(np.array(densities), 1290.0, tsw, live)
    assert many == pytest.approx([grams_for_density(each, 1290.0, tsw, live) for each in densities])
    assert seeds_in_grams(many, tsw) * live / 1290.0 == pytest.approx(densities)


def test_one_bad_value_in_an_array_is_refused() -> None:
    import numpy as np

    with pytest.raises(InputError, match="grams = -1 g: must not be below zero"):
        seeds_in_grams(np.array([1.0, -1.0]), 3.0)
