"""What a sowing's trays say of the sowing, on a grid, against the engine's own draws and against the normal."""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
import pytest

from trayward.outlook.censored import Intervals, draw_shared
from trayward.outlook.sisters import sowing_quantiles

SHARES = np.array([0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975])


def seen(*rows: tuple[float, float, float]) -> Intervals:
    low, high, count = (np.array(column) for column in zip(*rows, strict=True))
    return Intervals(np.zeros(len(rows), dtype=np.int64), low, high, count)


@pytest.mark.parametrize(
    "rows",
    [
        [(0.2, 0.6, 1.0)],
        [(0.2, 0.6, 6.0)],
        [(-math.inf, -0.4, 3.0), (-0.4, math.inf, 1.0)],
        [(1.5, math.inf, 4.0)],
        [(-0.1, 0.0, 2.0), (0.3, 0.5, 2.0), (0.5, math.inf, 2.0)],
    ],
    ids=["one seen", "six alike", "three through, one not", "late, all of them", "one after another"],
)
def test_the_grid_gives_what_averaging_over_the_levels_gives(rows: list[tuple[float, float, float]]) -> None:
    """Levels in 1,201 even steps, weighed by their normal; each sowing's law with the standard library's normal."""
    mean, level, shared, own = 0.1, 0.3, 0.4, 0.25
    cdf = np.vectorize(NormalDist().cdf)
    steps = np.linspace(-3.0, 3.5, 1_201)
    chance = np.ones(len(steps))
    for low, high, count in rows:
        upper = cdf((high - steps) / own) if high < math.inf else 1.0
        chance = chance * (upper - (cdf((low - steps) / own) if low > -math.inf else 0.0)) ** count
    each = chance * np.exp(-0.5 * ((steps - steps[:, None]) / shared) ** 2)
    each /= each.sum(axis=1, keepdims=True)
    density = np.exp(-0.5 * ((steps - mean) / level) ** 2) @ each
    below = np.cumsum(density) / density.sum()
    expected = np.interp(SHARES, below - density / density.sum() / 2, steps)
    found = sowing_quantiles(seen(*rows), mean, level, shared, own, SHARES)
    assert found == pytest.approx(expected, abs=0.015)  # 15 levels stand for all


def test_the_grid_agrees_with_the_engines_draws_where_the_level_is_sure() -> None:
    told, shares = seen((0.2, 0.6, 4.0)), (np.arange(2000) + 0.5) / 2000
    drawn = draw_shared(told, np.full((2000, 1), 0.1), 0.4, 0.2, shares[:, None])[:, 0] + 0.1
    assert np.quantile(drawn, SHARES) == pytest.approx(sowing_quantiles(told, 0.1, 0.0, 0.4, 0.2, SHARES), abs=2e-3)


def test_a_look_far_from_what_was_believed_is_followed_and_not_lost() -> None:
    """Nine standard deviations late: the grid reaches it; the middle lies between belief and look."""
    found = sowing_quantiles(seen((9.0, 9.2, 5.0)), 0.0, 0.1, 1.0, 0.1, SHARES)
    assert np.all(np.isfinite(found))
    assert 8.8 < found[3] < 9.2
    assert np.all(np.diff(found) > 0)


def test_a_sowing_without_luck_of_its_own_is_its_level() -> None:
    found = sowing_quantiles(seen((0.2, 0.6, 1.0)), 0.3, 0.1, 0.0, 0.2, SHARES)
    assert found == pytest.approx([0.3 + 0.1 * NormalDist().inv_cdf(share) for share in SHARES])
