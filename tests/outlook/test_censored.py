"""Stage times seen at rounds: each group's likelihood against plain numeric integration, and draws against theory."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, special, stats

from trayward.errors import InputError
from trayward.outlook.censored import IntervalLikelihood, Intervals, draw_own, draw_shared, shared_posterior
from trayward.outlook.terms import Floats

Rows = list[tuple[float, float, int]]

CASES: dict[str, Rows] = {
    "six trays alike, as most sowings are": [(1.0, 1.2, 6)],
    "trays in neighbouring intervals": [(1.0, 1.15, 4), (1.15, 1.3, 2)],
    "trays an interval apart": [(0.9, 1.0, 3), (1.1, 1.2, 2)],
    "still going": [(1.3, math.inf, 6)],
    "nobody had looked before": [(-math.inf, 0.9, 6)],
    "one over, the others still going": [(1.0, 1.1, 1), (1.1, math.inf, 5)],
    "seen to the minute": [(1.07, 1.07, 2), (1.02, 1.02, 1)],
    "some to the minute, some at rounds": [(1.07, 1.07, 1), (1.0, 1.2, 3), (1.1, math.inf, 2)],
    "a tenfold typing error": [(3.3, 3.5, 1)],
    "sixty trays": [(1.0, 1.2, 60)],
}
SPREADS = [(0.1, 0.05), (0.3, 0.02), (0.02, 0.1), (0.15, 0.15)]


def likelihood(rows: Rows, groups: int = 1) -> IntervalLikelihood:
    low, high, count = (np.array(part, dtype=np.float64) for part in zip(*rows, strict=True))
    return IntervalLikelihood(Intervals(np.zeros(len(rows), dtype=np.int64), low, high, count), groups)


def log_summand(v: Floats, rows: Rows, eta: float, shared: float, own: float) -> Floats:
    """Log of what is integrated over v, written out with scipy alone."""
    total = stats.norm.logpdf(v, scale=shared)
    for low, high, count in rows:
        a, b = (low - eta - v) / own, (high - eta - v) / own
        if low == high:
            total = total + count * (stats.norm.logpdf(a) - math.log(own))
            continue
        near, far = np.where(a + b > 0, -a, b), np.where(a + b > 0, -b, a)
        top, rest = special.log_ndtr(near), special.log_ndtr(far)
        total = total + count * (top + np.log1p(-np.exp(rest - top)))
    return np.asarray(total)


def by_quad(rows: Rows, eta: float, shared: float, own: float, power: int = 0) -> float:
    """Log likelihood by Gauss and Legendre's rule on 300 pieces; with `power`, the mean of v to that power instead."""
    grid = np.linspace(-3.5, 3.5, 7_001)
    logs = log_summand(grid, rows, eta, shared, own)
    top = float(logs.max())
    kept = grid[logs > top - 60]
    v, weight = pieces(kept[0] - 2e-3, kept[-1] + 2e-3, 300)
    summands = weight * np.exp(log_summand(v, rows, eta, shared, own) - top)
    whole = float(summands.sum())
    return float((summands * v**power).sum()) / whole if power else top + math.log(whole)


def pieces(low: float, high: float, number: int) -> tuple[Floats, Floats]:
    """Points and weights of Gauss and Legendre's rule of 12 points on each of as many pieces."""
    at, weight = np.polynomial.legendre.leggauss(12)
    edges = np.linspace(low, high, number + 1)
    half = 0.5 * np.diff(edges)[:, None]
    return (edges[:-1, None] + half * (1 + at)).ravel(), (half * weight).ravel()


@pytest.mark.parametrize(("shared", "own"), SPREADS)
@pytest.mark.parametrize("name", CASES)
def test_the_likelihood_of_a_sowing_is_its_integral(name: str, shared: float, own: float) -> None:
    """The sum leaves out 1e-6 and misses a few 1e-6 by its steps; with 60 trays alike, a few 1e-5."""
    for eta in (1.05, 1.4):
        told = likelihood(CASES[name]).told(np.array([eta]), np.array([shared, own]))
        assert told.loglik[0] == pytest.approx(by_quad(CASES[name], eta, shared, own), abs=1e-4)


@pytest.mark.parametrize(("shared", "own"), SPREADS)
@pytest.mark.parametrize("name", CASES)
def test_slopes_are_those_of_the_likelihood(name: str, shared: float, own: float) -> None:
    """Against central differences of scipy's integral by a step of a hundredth of the total spread."""
    rows, eta, step = CASES[name], 1.1, 0.01
    width = step * math.hypot(shared, own)
    told = likelihood(rows).told(np.array([eta]), np.array([shared, own]))
    up, at, down = (by_quad(rows, eta + k * width, shared, own) for k in (1, 0, -1))
    scale = 1 / math.hypot(shared, own)
    assert told.slope[0] == pytest.approx((up - down) / (2 * width), abs=2e-3 * scale, rel=1e-3)
    assert told.curvature[0] == pytest.approx((2 * at - up - down) / width**2, abs=2e-2 * scale**2, rel=5e-3)
    up, down = (by_quad(rows, eta, shared * math.exp(k * step), own) for k in (1, -1))
    assert told.inner_slopes[0, 0] == pytest.approx((up - down) / (2 * step), abs=2e-3, rel=2e-3)
    up, down = (by_quad(rows, eta, shared, own * math.exp(k * step)) for k in (1, -1))
    assert told.inner_slopes[0, 1] == pytest.approx((up - down) / (2 * step), abs=2e-3, rel=2e-3)


def test_one_tray_needs_no_sum() -> None:
    """v + e of a single tray is normal, so its chance is a difference of two normal shares (scipy)."""
    low, high = np.array([0.9, 1.3, -math.inf]), np.array([1.1, math.inf, 0.7])
    told = IntervalLikelihood(Intervals(np.arange(3), low, high), 3).told(np.full(3, 1.0), np.array([0.12, 0.09]))
    expected = np.log(stats.norm.cdf(high, 1.0, 0.15) - stats.norm.cdf(low, 1.0, 0.15))
    np.testing.assert_allclose(told.loglik, expected, atol=1e-5)


def test_with_nothing_shared_trays_stand_alone_and_a_small_share_comes_close() -> None:
    rows = CASES["some to the minute, some at rounds"]
    low, high, count = (np.array(part, dtype=np.float64) for part in zip(*rows, strict=True))
    intervals = Intervals(np.zeros(3, dtype=np.int64), low, high, count)
    alone = IntervalLikelihood(intervals, 1, known_shared=0.0).told(np.array([1.1]), np.array([0.08]))
    expected = (
        stats.norm.logpdf(1.07, 1.1, 0.08)
        + 3 * math.log(stats.norm.cdf(1.2, 1.1, 0.08) - stats.norm.cdf(1.0, 1.1, 0.08))
        + 2 * stats.norm.logsf(1.1, 1.1, 0.08)
    )
    assert alone.loglik[0] == pytest.approx(expected, abs=1e-12)
    assert alone.inner_slopes.shape == (1, 1)
    nearly = IntervalLikelihood(intervals, 1).told(np.array([1.1]), np.array([1e-4, 0.08]))
    assert nearly.loglik[0] == pytest.approx(alone.loglik[0], abs=1e-4)
    assert nearly.slope[0] == pytest.approx(alone.slope[0], abs=0.01)
    assert nearly.curvature[0] == pytest.approx(alone.curvature[0], rel=1e-3)


def test_a_group_never_looked_at_says_nothing() -> None:
    told = likelihood([(1.0, 1.2, 6)], groups=3).told(np.zeros(3), np.array([0.1, 0.05]))
    np.testing.assert_allclose(told.loglik[1:], 0.0, atol=1e-5)
    np.testing.assert_allclose(np.abs(told.slope[1:]) + told.curvature[1:] + np.abs(told.inner_slopes[1:]).sum(1), 0)
    none = IntervalLikelihood(Intervals(np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0)), 0)
    assert none.told(np.zeros(0), np.array([0.1, 0.1])).loglik.shape == (0,)


def test_a_wildly_wrong_time_still_gives_numbers() -> None:
    """A 1,000-fold typing error: log time 6.9 off, 60 standard deviations and more."""
    for rows in ([(8.0, 8.1, 6)], [(-6.0, -5.9, 6)], [(8.0, 8.0, 1)], [(-6.0, -5.9, 1), (8.0, math.inf, 1)]):
        told = likelihood(rows).told(np.array([1.1]), np.array([0.1, 0.02]))
        for part in told:
            assert np.isfinite(part).all()
        assert told.curvature[0] > 0


def test_rows_may_come_one_by_one_or_counted() -> None:
    one = Intervals(np.array([1, 0, 1, 1]), np.array([1.0, 0.9, 1.0, 1.2]), np.array([1.2, 1.1, 1.2, math.inf]))
    counted = Intervals(
        np.array([0, 1, 1]), np.array([0.9, 1.0, 1.2]), np.array([1.1, 1.2, math.inf]), np.array([1, 2, 1])
    )
    spreads, eta = np.array([0.1, 0.05]), np.array([1.0, 1.1])
    for mine, theirs in zip(
        IntervalLikelihood(one, 2).told(eta, spreads), IntervalLikelihood(counted, 2).told(eta, spreads), strict=True
    ):
        np.testing.assert_allclose(mine, theirs, rtol=1e-12)


def test_some_groups_say_what_they_say_among_all() -> None:
    draw = np.random.default_rng(3)
    group = draw.integers(0, 40, 200)
    low = np.round(draw.normal(1, 0.1, 200), 1)
    whole = IntervalLikelihood(Intervals(group, low, low + 0.1), 40)
    some, eta, spreads = np.array([3, 17, 29]), draw.normal(1, 0.1, 40), np.array([0.1, 0.05])
    np.testing.assert_allclose(
        whole.some(some).told(eta[some], spreads).slope, whole.told(eta, spreads).slope[some], atol=1e-4
    )


@pytest.mark.parametrize("name", CASES)
def test_what_a_sowing_shares_is_known_as_integration_knows_it(name: str) -> None:
    rows = CASES[name]
    low, high, count = (np.array(part, dtype=np.float64) for part in zip(*rows, strict=True))
    intervals = Intervals(np.zeros(len(rows), dtype=np.int64), low, high, count)
    mean, sd = shared_posterior(intervals, np.array([1.1]), 0.15, 0.06)
    first, second = (by_quad(rows, 1.1, 0.15, 0.06, power) for power in (1, 2))
    assert mean[0] == pytest.approx(first, abs=1e-4)
    assert sd[0] == pytest.approx(math.sqrt(second - first**2), rel=1e-3)


@pytest.mark.parametrize("name", CASES)
def test_draws_of_what_a_sowing_shares_follow_its_distribution(name: str) -> None:
    rows, u = CASES[name], np.linspace(0.0005, 0.9995, 1_000)[:, None]
    low, high, count = (np.array(part, dtype=np.float64) for part in zip(*rows, strict=True))
    intervals = Intervals(np.zeros(len(rows), dtype=np.int64), low, high, count)
    v = draw_shared(intervals, np.full((1_000, 1), 1.1), 0.15, 0.06, u)[:, 0]
    grid = np.linspace(v[0] - 0.1, v[-1] + 0.1, 20_001)
    logs = log_summand(grid, rows, 1.1, 0.15, 0.06)
    below = integrate.cumulative_trapezoid(np.exp(logs - logs.max()), grid, initial=0)
    # Cubics between points 0.4 standard deviations apart put the share below within 5e-4.
    np.testing.assert_allclose(np.interp(v, grid, below / below[-1]), u[:, 0], atol=5e-4)


def test_a_sowing_without_a_look_is_drawn_from_the_normal() -> None:
    empty = Intervals(np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0))
    u = np.linspace(0.001, 0.999, 999)[:, None]
    v = draw_shared(empty, np.full((999, 1), 1.1), 0.15, 0.06, u)
    np.testing.assert_allclose(stats.norm.cdf(v, scale=0.15), u, atol=1e-4)
    assert not draw_shared(empty, np.ones((4, 2)), 0.0, 0.06, np.full((4, 2), 0.3)).any()


def test_scenarios_of_several_sowings_keep_to_their_own_place() -> None:
    intervals = Intervals(np.array([0, 2]), np.array([1.3, 0.7]), np.array([math.inf, 0.8]))
    draw = np.random.default_rng(5)
    eta = draw.normal(1.0, 0.05, (500, 3))
    v = draw_shared(intervals, eta, 0.1, 0.03, draw.random((500, 3)))
    assert v.shape == (500, 3)
    assert np.all(eta[:, 0] + v[:, 0] > 1.3 - 5 * 0.03)
    assert np.all(np.abs(eta[:, 2] + v[:, 2] - 0.75) < 0.05 + 5 * 0.03)


def test_a_tray_that_said_not_yet_is_drawn_beyond_that() -> None:
    e = draw_own(0.05, math.inf, 0.04, np.linspace(0.001, 0.999, 999))
    assert e.min() > 0.05
    assert e.mean() == pytest.approx(stats.truncnorm.mean(0.05 / 0.04, math.inf, scale=0.04), rel=2e-3)


def test_rows_that_cannot_be_are_refused() -> None:
    one = np.zeros(1, dtype=np.int64)
    with pytest.raises(InputError, match=r"interval in row 0 = 2, 1: must have low <= high"):
        Intervals(one, np.array([2.0]), np.array([1.0]))
    with pytest.raises(InputError, match="interval in row 0 = nan, 1"):
        Intervals(one, np.array([math.nan]), np.array([1.0]))
    with pytest.raises(InputError, match="interval in row 0 = inf, inf"):
        Intervals(one, np.array([math.inf]), np.array([math.inf]))
    with pytest.raises(InputError, match="count in row 0 = -1"):
        Intervals(one, np.array([0.0]), np.array([1.0]), np.array([-1.0]))
    with pytest.raises(InputError, match="group = 0: must be below the number of groups, 0"):
        IntervalLikelihood(Intervals(one, np.array([0.0]), np.array([1.0])), 0)
    with pytest.raises(InputError, match="known_shared = -1"):
        IntervalLikelihood(Intervals(one, np.array([0.0]), np.array([1.0])), 1, known_shared=-1.0)
