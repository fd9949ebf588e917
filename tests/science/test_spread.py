"""Evenness of seed over cells, and seeds sorted into cells."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.science.spread import christiansen, counts_by_cell, low_quarter, spread_of_counts

amounts = st.lists(st.floats(0.1, 100), min_size=2, max_size=60)


@given(amounts, st.floats(0.1, 50))
def test_evenness_does_not_depend_on_the_unit(caught: list[float], times: float) -> None:
    scaled = [each * times for each in caught]
    assert christiansen(scaled) == pytest.approx(christiansen(caught), abs=1e-9)
    assert low_quarter(scaled) == pytest.approx(low_quarter(caught), abs=1e-9)
    assert low_quarter(caught) <= 1 + 1e-12


def test_the_same_in_every_cell_is_as_even_as_can_be() -> None:
    assert christiansen([4, 4, 4, 4, 4]) == 1.0
    assert low_quarter([4, 4, 4, 4, 4]) == pytest.approx(1.0)
    assert spread_of_counts([4] * 50).pattern == "even"


def test_a_quarter_that_is_no_whole_number_of_cells_takes_its_share_of_the_next() -> None:
    # 6 cells: the lowest 1.5, that is 1 and half of 2, over 1.5, over the mean 3.5.
    assert low_quarter([1, 2, 3, 4, 5, 6]) == pytest.approx((1 + 0.5 * 2) / 1.5 / 3.5)


def test_seed_that_falls_by_chance_is_called_clumped_or_even_in_about_one_of_twenty_trays() -> None:
    # 400 trays: 20 expected, standard deviation 4.4; three of them to either side.
    rng = np.random.default_rng(11)
    odd = sum(spread_of_counts(rng.poisson(5.0, 200)).pattern != "random" for _ in range(400))
    assert 7 <= odd <= 33


@given(st.integers(1, 400), st.integers(0, 10_000), st.floats(5, 60))
def test_no_seed_is_lost_or_counted_twice(many: int, seed: int, cell: float) -> None:
    rng = np.random.default_rng(seed)
    x, y = rng.uniform(0, 300, many), rng.uniform(0, 200, many)
    counts = counts_by_cell(x, y, 300, 200, cell)
    rows, columns = counts.shape
    assert counts.sum() == ((x <= rows * cell) & (y <= columns * cell)).sum()
    assert (rows, columns) == (int(300 / cell + 1e-9), int(200 / cell + 1e-9))


def test_a_seed_on_the_rim_is_in_the_last_cell() -> None:
    assert counts_by_cell([20.0], [20.0], 20, 20, 10).tolist() == [[0, 0], [0, 1]]


@pytest.mark.parametrize(
    ("call", "rule"),
    [
        (lambda: spread_of_counts([3]), r"count = 1: at least two cells"),
        (lambda: spread_of_counts([0, 0]), r"count = 0: there is nothing in any cell"),
        (lambda: spread_of_counts([3, -1]), r"count = -1"),
        (lambda: christiansen([float("nan"), 1]), r"amount = nan"),
        (lambda: counts_by_cell([25], [5], 20, 20, 10), r"along_mm = 25 mm: .* outside the tray"),
        (lambda: counts_by_cell([5], [5], 20, 20, 30), r"cell_mm = 30 mm: .* fit into the tray"),
        (lambda: counts_by_cell([5, 6], [5], 20, 20, 10), r"places = 2 and 1"),
    ],
)
def test_counts_that_cannot_be_are_refused(call, rule: str) -> None:
    with pytest.raises(InputError, match=rule):
        call()
