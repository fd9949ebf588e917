"""Seed against a mesh, one by one and as a spread; `test_seeds` has the arithmetic of single sizes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.science.mesh import falls_through, mesh_pass_size, share_retained, sieve_opening

means, sds, flats = st.floats(0.5, 5), st.floats(0.01, 0.5), st.floats(0.3, 1.0)


@given(means, sds, flats, st.booleans())
def test_a_range_of_openings_gives_what_each_alone_gives_and_wider_ones_never_hold_more(
    mean: float, sd: float, flat: float, square: bool
) -> None:
    openings = np.linspace(0.1, 2 * mean, 60)
    held = share_retained(mean, sd, openings, thickness_mm=mean * flat, square_holes=square)
    alone = [share_retained(mean, sd, float(o), thickness_mm=mean * flat, square_holes=square) for o in openings]
    assert held == pytest.approx(alone, abs=1e-12)
    assert (np.diff(held) <= 1e-12).all()
    assert ((held >= 0) & (held <= 1)).all()


@given(means, sds, flats)
def test_round_holes_never_let_more_through_than_square_ones_of_the_same_measure(
    mean: float, sd: float, flat: float
) -> None:
    openings = np.linspace(0.1, 2 * mean, 40)
    square = share_retained(mean, sd, openings, thickness_mm=mean * flat)
    assert (share_retained(mean, sd, openings, thickness_mm=mean * flat, square_holes=False) >= square - 1e-12).all()


@given(st.lists(st.tuples(means, flats), min_size=1, max_size=50), st.floats(0.2, 5), st.booleans())
def test_many_seeds_fall_as_each_alone_does(seeds: list[tuple[float, float]], opening: float, square: bool) -> None:
    widths = np.array([width for width, _ in seeds])
    thick = widths * np.array([flat for _, flat in seeds])
    fell = falls_through(widths, opening, thick, square_holes=square)
    for one, (width, thin) in zip(fell, zip(widths, thick, strict=True), strict=True):
        size = mesh_pass_size(float(width), float(thin)) if square else float(width)
        assert bool(one) == (size <= opening)


def test_without_spread_the_share_is_all_or_none() -> None:
    assert share_retained(1.5, 0.0, np.array([1.0, 1.5, 2.0])).tolist() == [1.0, 0.0, 0.0]


@pytest.mark.parametrize(
    ("call", "rule"),
    [
        (lambda: sieve_opening(3), r"sieve = No. 3: is not on record here. On record: 4, 5"),
        (lambda: falls_through(np.array([1.0, -1.0]), 1.0), r"width_mm = -1 mm: must be above 0"),
        (lambda: falls_through(np.array([1.0]), 0.0), r"opening_mm = 0 mm"),
        (lambda: falls_through(np.array([1.0]), 1.0, np.array([1.2])), r"thickness_mm = some mm: .* the same seed"),
        (
            lambda: share_retained(1.0, 0.1, np.array([0.5, 0.0])),
            r"opening_mm = 0 mm: must be above 0. Measure the hole",
        ),
        (lambda: share_retained(1.0, 0.1, 1.0, thickness_mm=0.0), r"thickness_mm = 0 mm"),
    ],
)
def test_values_out_of_range_are_refused(call, rule: str) -> None:
    with pytest.raises(InputError, match=rule):
        call()
