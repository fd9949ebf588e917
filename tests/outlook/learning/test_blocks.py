"""A blocked trial against published tables of variance."""

from __future__ import annotations

import csv
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from trayward.errors import InputError
from trayward.outlook.learning.blocks import blocked, parabola_top, quadratic_peak, table_of_variance

TURNIP = Path(__file__).resolve().parents[4] / "shared" / "data" / "mixed-models" / "mcconway_turnip.csv"

SEED_RATES = np.array([25.0, 50.0, 75.0, 100.0, 125.0, 150.0])
SEED_YIELDS = np.array(
    [
        [5113, 5346, 5272, 5164, 4804, 5254],
        [5398, 5952, 5713, 4831, 4848, 4542],
        [5307, 4719, 5483, 4986, 4432, 4919],
        [4678, 4264, 4749, 4410, 4748, 4098],
    ],
    dtype=float,
)
"""Gomez and Gomez (1984), Statistical Procedures for Agricultural Research, Wiley, p. 26: rice, kg seed and kg grain a
ha, four blocks; data as in agridat gomez.seedrate."""


def seed_rates() -> tuple[np.ndarray, list[int], list[float]]:
    blocks = [block for block in range(4) for _ in range(6)]
    return SEED_YIELDS.ravel(), blocks, list(SEED_RATES) * 4


def test_the_seed_rate_trial_of_gomez_and_gomez_splits_as_printed() -> None:
    """Sums of squares and F as printed in the book, to its last digit."""
    y, blocks, rates = seed_rates()
    block, rate, left = table_of_variance(y, [("block", blocks), ("rate", rates)])
    assert (block.freedom, rate.freedom, left.freedom) == (3, 5, 15)
    assert block.squares == pytest.approx(1_944_361, abs=1)
    assert rate.squares == pytest.approx(1_198_331, abs=1)
    assert left.squares == pytest.approx(1_658_376, abs=1)
    assert rate.f == pytest.approx(2.17, abs=0.005)


def test_no_peak_is_claimed_where_the_parabola_tops_next_to_the_lowest_rate() -> None:
    """The least-squares parabola tops at 29.148 kg/ha by our fit of the published data: on one end alone."""
    y, _, rates = seed_rates()
    assert parabola_top(np.array(rates), y) == pytest.approx(29.148, abs=0.001)
    assert quadratic_peak(np.array(rates), y) is None


def test_a_peak_well_inside_what_was_tried_is_named() -> None:
    levels = np.array([1.0, 2.0, 3.0, 4.0, 5.0])
    assert quadratic_peak(levels, -((levels - 3.2) ** 2)) == pytest.approx(3.2)
    assert quadratic_peak(levels, (levels - 3.2) ** 2) is None
    assert quadratic_peak(levels[:3], -((levels[:3] - 2) ** 2)) is None  # three levels fit any parabola


def test_the_turnip_trial_of_mcconway_splits_as_published() -> None:
    """F values and residual mean square as on the agridat help page of mcconway.turnip: all three factors crossed."""
    if not TURNIP.exists():
        pytest.skip("the open data is not beside the checkout")
    with TURNIP.open() as file:
        rows = list(csv.DictReader(file))
    y = np.array([float(row["yield"]) for row in rows])
    one = {name: [row[name] for row in rows] for name in ("gen", "density", "date", "block")}
    three = ("gen", "density", "date")
    together = [pair for count in (2, 3) for pair in combinations(three, count)]
    factors = [(name, one[name]) for name in (*three, "block")]
    factors += [(" x ".join(pair), list(zip(*(one[name] for name in pair), strict=True))) for pair in together]
    *lines, left = table_of_variance(y, factors)
    published = {"gen": 8.753, "density": 16.347, "date": 24.367, "block": 5.690, "density x date": 5.380}
    found = {line.what: line.f for line in lines}
    assert {name: found[name] for name in published} == pytest.approx(published, abs=0.0006)
    assert left.freedom == 45
    assert left.mean_square == pytest.approx(9.59, abs=0.005)


def test_levels_are_compared_within_days_and_the_days_own_luck_drops_out() -> None:
    """Days differ by 1 on the log scale, levels by 0.2; nothing else varies but a little."""
    rng = np.random.default_rng(4)
    days = [day for day in range(4) for _ in range(4)]
    levels = [1.0, 1.0, 2.0, 2.0] * 4
    y = np.array([day + 0.2 * (level == 2.0) for day, level in zip(days, levels, strict=True)])
    said = blocked(y + rng.normal(0, 0.01, 16), days, levels, 1.0)
    assert said is not None
    assert (said.blocks, said.freedom, said.reference) == (4, 11, 1.0)
    (effect,) = said.levels
    assert effect.difference == pytest.approx(0.2, abs=0.02)  # error of 0.01 / sqrt(4), five of them
    assert effect.low < effect.difference < effect.high


def test_an_80_percent_range_of_a_level_holds_8_of_10_truths() -> None:
    """1,000 made-up trials of 3 days; the share's own error is 0.013."""
    rng = np.random.default_rng(11)
    days, levels = [0, 0, 1, 1, 2, 2], [1.0, 2.0] * 3
    held = 0
    for _ in range(1000):
        y = np.repeat(rng.normal(0, 1, 3), 2) + np.tile([0.0, 0.3], 3) + rng.normal(0, 0.2, 6)
        said = blocked(y, days, levels, 1.0)
        assert said is not None
        held += said.levels[0].low <= 0.3 <= said.levels[0].high
    assert held / 1000 == pytest.approx(0.8, abs=0.04)


@pytest.mark.parametrize(
    ("days", "levels"),
    [
        ([0, 0], [1.0, 1.0]),  # one level
        ([0, 1], [1.0, 2.0]),  # levels never meet in a day
        ([0, 0], [1.0, 2.0]),  # nothing left to judge the spread by
    ],
)
def test_nothing_is_said_where_nothing_can_be_compared(days: list[int], levels: list[float]) -> None:
    assert blocked(np.array([5.0, 5.2]), days, levels) is None


def test_a_weight_that_is_no_number_is_refused() -> None:
    with pytest.raises(InputError, match="weights = not a number: each tray of a trial needs one"):
        table_of_variance(np.array([1.0, np.nan]), [("day", [0, 1])])
    with pytest.raises(InputError, match="day = 3: each of the 2 trays needs one"):
        table_of_variance(np.array([1.0, 2.0]), [("day", [0, 1, 2])])
