"""What goes into the bucket is what was in the bottle."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.science.dilution import (
    powder_for,
    ppm_made,
    ppm_of_parts,
    ppm_of_powder,
    product_for,
    strength_of_percent,
)

strengths = st.floats(100, 900_000)
shares = st.floats(0.0001, 1.0)
volumes = st.floats(10, 1_000_000)


@given(strengths, shares, volumes)
def test_what_is_in_the_product_is_what_is_in_the_bucket(strength: float, share: float, total: float) -> None:
    product = product_for(strength * share, strength, total)
    assert product * strength == pytest.approx(strength * share * total, rel=1e-12)
    assert 0 < product <= total * (1 + 1e-12)
    assert ppm_made(product, strength, max(total - product, 0.0)) == pytest.approx(strength * share, rel=1e-9)


@given(st.floats(0, 10_000), strengths, volumes, st.floats(0, 10_000))
def test_more_product_never_makes_it_weaker_and_more_water_never_stronger(
    product: float, strength: float, water: float, more: float
) -> None:
    made = ppm_made(product, strength, water)
    assert ppm_made(product + more, strength, water) >= made * (1 - 1e-12)
    assert ppm_made(product, strength, water + more) <= made * (1 + 1e-12)
    assert made <= strength * (1 + 1e-12)


@given(st.floats(1, 5000), st.floats(0.05, 1.0), volumes)
def test_weighing_powder_and_asking_what_it_made_are_each_others_inverse(
    ppm: float, share: float, total: float
) -> None:
    assert ppm_of_powder(powder_for(ppm, share, total), share, total) == pytest.approx(ppm, rel=1e-9)


@given(strengths, st.floats(1, 10_000))
def test_parts_in_all_are_a_dilution_like_any_other(strength: float, parts: float) -> None:
    assert ppm_of_parts(strength, parts) == pytest.approx(ppm_made(1.0, strength, parts - 1), rel=1e-9)


def test_arrays_go_in_and_come_out() -> None:
    targets = np.array([50.0, 100.0, 200.0])
    assert product_for(targets, 82_500.0, 1000.0) == pytest.approx([product_for(t, 82_500.0, 1000.0) for t in targets])
    assert strength_of_percent(np.array([3.0, 35.0])) == pytest.approx([30_000, 350_000])


@pytest.mark.parametrize(
    ("call", "rule"),
    [
        (lambda: strength_of_percent(0), r"label strength = 0 %: must lie above 0 and up to 100 %. Read the strength"),
        (lambda: strength_of_percent(101), r"label strength = 101 %"),
        (lambda: strength_of_percent(math.nan), r"label strength = nan %"),
        (lambda: strength_of_percent(np.array([5.0, -1.0])), r"label strength = -1 %"),
        (lambda: strength_of_percent(5, density_g_per_ml=1080), r"density_g_per_ml = 1080 g/ml: .* divide by 1000"),
        (lambda: product_for(300.0, 200.0, 1000.0), r"target = 300 ppm: must not be above .* 200 ppm. Use a stronger"),
        (lambda: product_for(np.array([1.0, 300.0]), 200.0, 1000.0), r"target = 300 ppm"),
        (lambda: product_for(0.0, 200.0, 1000.0), r"target_ppm = 0 ppm: must be above 0"),
        (lambda: product_for(100.0, 200.0, -1.0), r"total_ml = -1 ml: must be above 0"),
        (lambda: ppm_made(0.0, 200.0, 0.0), r"product and water = 0 ml: must be above 0. Say how much"),
        (lambda: ppm_of_parts(200.0, 0.5), r"parts_in_all = 0.5: must be 1 or more. One part of product is one"),
        (lambda: powder_for(200.0, 65.0, 1000.0), r"active_share = 65: .* for instance 0.65 for 65 %"),
        (lambda: powder_for(800_000.0, 0.65, 1000.0), r"target_ppm = 800000 ppm: must lie above 0 and up to 650000"),
        (lambda: ppm_of_powder(5.0, 0.65, math.inf), r"water_ml = inf ml"),
    ],
)
def test_values_out_of_range_are_refused_with_the_way_out(call, rule: str) -> None:
    with pytest.raises(InputError, match=rule):
        call()
