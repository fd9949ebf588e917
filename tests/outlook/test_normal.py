"""The normal distribution, held against scipy.special: an independent implementation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import special, stats

from trayward.errors import InputError
from trayward.outlook.normal import cdf, log_cdf, log_cdf_between, mass_within, quantile, truncated_quantile

CLOSE = 1e-12
"""The polynomial of the tail is right to 2e-14; powers and logs take up some of the rest."""


def test_the_share_below_a_point_agrees_with_scipy_far_into_both_tails() -> None:
    x = np.linspace(-37, 37, 20_001)
    np.testing.assert_allclose(cdf(x), special.ndtr(x), rtol=CLOSE)
    assert cdf([-math.inf, math.inf]).tolist() == [0.0, 1.0]


def test_its_logarithm_agrees_a_thousand_standard_deviations_out() -> None:
    x = np.concatenate([np.linspace(-40, 8, 9_601), -np.logspace(1, 3, 500)])
    np.testing.assert_allclose(log_cdf(x), special.log_ndtr(x), rtol=CLOSE, atol=1e-300)
    assert log_cdf([-math.inf, math.inf]).tolist() == [-math.inf, 0.0]


def test_the_chance_between_two_edges_keeps_its_digits_in_both_tails() -> None:
    draw = np.random.default_rng(1)
    low = draw.uniform(-30, 30, 20_000)
    high = low + draw.exponential(1.0, 20_000) + 1e-3
    # log(exp(p) - exp(q)) of the tail that the interval lies in; itself good to about 1e-16 / width.
    near, far = np.where(low > 0, -low, high), np.where(low > 0, -high, low)
    upper, lower = special.log_ndtr(near), special.log_ndtr(far)
    expected = upper + np.log1p(-np.exp(lower - upper))
    np.testing.assert_allclose(log_cdf_between(low, high), expected, rtol=1e-11, atol=1e-12)


def test_a_narrow_interval_weighs_its_width_times_the_density() -> None:
    for width in (1e-12, 1e-6, 1e-3, 0.03, 0.049, 0.051):
        middle = np.linspace(-0.9, 0.9, 19)
        got = log_cdf_between(middle - width / 2, middle + width / 2)
        # Gauss-Legendre of the density on the interval: exact to rounding for intervals so narrow.
        node, weight = np.polynomial.legendre.leggauss(8)
        edges = (middle + width / 2) - (middle - width / 2)
        mass = (stats.norm.pdf(middle[:, None] + edges[:, None] / 2 * node) * weight).sum(axis=1) * edges / 2
        np.testing.assert_allclose(got, np.log(mass), rtol=1e-10)


def test_open_edges_and_empty_intervals_are_allowed() -> None:
    assert log_cdf_between(-math.inf, 1.5) == pytest.approx(special.log_ndtr(1.5), rel=CLOSE)
    assert log_cdf_between(1.5, math.inf) == pytest.approx(special.log_ndtr(-1.5), rel=CLOSE)
    assert log_cdf_between(2.0, 2.0) == -math.inf
    assert log_cdf_between(500.0, math.inf) == pytest.approx(special.log_ndtr(-500.0), rel=CLOSE)


def test_the_density_at_the_edges_is_how_the_mass_grows() -> None:
    near, far, step = np.array([-8.0, 0.5, 1.0, -0.2, -7.0]), np.array([9.0, 1.0, 1.0, 3.0, 7.4]), 1e-6
    log_mass, at_near, at_far = mass_within(near, far)
    np.testing.assert_allclose(log_mass, log_cdf_between(-far, near), rtol=CLOSE)
    grows_near = (log_cdf_between(-far, near + step) - log_cdf_between(-far, near - step)) / (2 * step)
    grows_far = (log_cdf_between(-far - step, near) - log_cdf_between(-far + step, near)) / (2 * step)
    # Central differences with a step of 1e-6 are good to about 1e-9 here.
    np.testing.assert_allclose(at_near, grows_near, rtol=1e-7, atol=1e-8)
    np.testing.assert_allclose(at_far, grows_far, rtol=1e-7, atol=1e-8)


def test_quantiles_agree_with_scipy_down_to_the_smallest_chances() -> None:
    p = np.concatenate([np.linspace(1e-6, 1 - 1e-6, 20_001), np.logspace(-307, -6, 2_000), [5e-324]])
    np.testing.assert_allclose(quantile(p), special.ndtri(p), rtol=CLOSE, atol=1e-15)
    assert quantile([0.0, 1.0]).tolist() == [-math.inf, math.inf]


def test_a_chance_that_is_none_is_refused() -> None:
    with pytest.raises(InputError, match=r"chance = 1.2: must lie in \[0, 1\]"):
        quantile([0.5, 1.2])
    with pytest.raises(InputError, match="chance = nan"):
        quantile(math.nan)
    with pytest.raises(InputError, match=r"must lie in \[0, 1\]"):
        truncated_quantile(-0.1, 0, 1)
    with pytest.raises(InputError, match=r"interval = \(2, 1\): must have its low edge"):
        log_cdf_between([0.0, 2.0], [1.0, 1.0])


def test_a_draw_between_edges_agrees_with_scipy() -> None:
    u = np.linspace(0.001, 0.999, 501)
    for low, high in ((-1.0, 2.0), (-math.inf, -3.0), (2.5, math.inf), (4.0, 4.5), (-6.0, 6.0), (-0.2, 30.0)):
        got = truncated_quantile(u, low, high)
        np.testing.assert_allclose(got, stats.truncnorm.ppf(u, low, high), rtol=1e-9, atol=1e-9)


def test_a_draw_beyond_a_far_edge_is_nearly_exponential() -> None:
    # Beyond x the tail falls off like exp(-x d): its median is at d = log(2)/x, less a share of order 1/x^2.
    for edge in (50.0, 1_000.0):
        assert truncated_quantile(0.5, edge, math.inf) - edge == pytest.approx(math.log(2) / edge, rel=2 / edge)
        assert truncated_quantile(0.5, -math.inf, -edge) + edge == pytest.approx(-math.log(2) / edge, rel=2 / edge)


def test_draws_never_leave_their_edges() -> None:
    low = np.array([-math.inf, -3.0, 8.0, 40.0])
    high = np.array([-20.0, -3.0, 8.0000001, math.inf])
    for u in (0.0, 1e-300, 0.5, 1.0):
        got = truncated_quantile(u, low, high)
        assert np.all((got >= low) & (got <= high))
