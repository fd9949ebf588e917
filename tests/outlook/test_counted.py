"""Losses counted by the sowing: each group's likelihood against plain numeric integration."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import special, stats

from trayward.errors import InputError
from trayward.outlook.counted import CountLikelihood, Counts
from trayward.outlook.latent import fit_latent
from trayward.outlook.terms import FixedPrior


def by_quad(k: float, n: float, eta: float, shared: float) -> float:
    """Log likelihood by Gauss and Legendre's rule on pieces of a fifth of a standard deviation."""

    at, weight = np.polynomial.legendre.leggauss(12)
    edges = np.linspace(-12 * shared, 12 * shared, 121)
    half = 0.5 * np.diff(edges)[:, None]
    v = edges[:-1, None] + half * (1 + at)
    chance = stats.binom.pmf(k, n, special.expit(eta + v)) * stats.norm.pdf(v, scale=shared)
    return math.log(float((half * weight * chance).sum()))


@pytest.mark.parametrize("shared", [0.05, 0.7, 2.5])
@pytest.mark.parametrize(("k", "n"), [(0, 6), (1, 6), (6, 6), (0, 60), (31, 60), (0, 1)])
def test_the_likelihood_of_a_count_is_its_integral(k: int, n: int, shared: float) -> None:
    for eta in (-3.0, -1.0, 0.5):
        told = CountLikelihood(Counts(np.array([k]), np.array([n]))).told(np.array([eta]), np.array([shared]))
        at, step = by_quad(k, n, eta, shared), 1e-2
        up, down = by_quad(k, n, eta + step, shared), by_quad(k, n, eta - step, shared)
        assert told.loglik[0] == pytest.approx(at, abs=1e-5)
        assert told.slope[0] == pytest.approx((up - down) / (2 * step), abs=1e-3)
        assert told.curvature[0] == pytest.approx((2 * at - up - down) / step**2, abs=2e-3)
        up, down = (by_quad(k, n, eta, shared * math.exp(way * step)) for way in (1, -1))
        assert told.inner_slopes[0, 0] == pytest.approx((up - down) / (2 * step), abs=1e-3)


def test_with_nothing_shared_counts_are_binomial() -> None:
    counts = Counts(np.array([2, 0, 5]), np.array([6, 4, 5]))
    told = CountLikelihood(counts, known_shared=0.0).told(np.array([-1.0, -2.0, 0.4]), np.zeros(0))
    expected = stats.binom.logpmf(counts.lost, counts.of, special.expit([-1.0, -2.0, 0.4]))
    np.testing.assert_allclose(told.loglik, expected, rtol=1e-12)
    assert told.inner_slopes.shape == (3, 0)


def test_a_sowing_of_no_trays_says_nothing_and_extremes_give_numbers() -> None:
    counts = Counts(np.array([0, 0, 500]), np.array([0, 500, 500]))
    told = CountLikelihood(counts).told(np.array([-2.0, 30.0, -30.0]), np.array([1.0]))
    assert told.loglik[0] == pytest.approx(0.0, abs=1e-6)
    assert all(np.isfinite(part).all() for part in told)


def test_losses_that_come_by_the_sowing_are_found_to() -> None:
    """1,500 sowings of 8 with logit -2 and shared sd 1: standard errors are about 0.04 and 0.05."""
    draw = np.random.default_rng(8)
    lost = draw.binomial(8, special.expit(-2 + draw.standard_normal(1_500)))
    likelihood = CountLikelihood(Counts(lost, np.full(1_500, 8)))
    flat = FixedPrior(np.zeros(1), np.full(1, math.inf))
    fit = fit_latent(likelihood, np.zeros(1_500), np.ones((1_500, 1)), flat, [])
    assert fit.settled
    assert fit.fixed[0] == pytest.approx(-2, abs=0.12)
    assert fit.spreads.inner[0] == pytest.approx(1, abs=0.15)


def test_losses_no_more_alike_than_chance_share_nothing() -> None:
    # 1 of 4 in every sowing: less spread than chance, so that the best shared standard deviation is none.
    likelihood = CountLikelihood(Counts(np.ones(50), np.full(50, 4)))
    flat = FixedPrior(np.zeros(1), np.full(1, math.inf))
    fit = fit_latent(likelihood, np.zeros(50), np.ones((50, 1)), flat, [])
    assert fit.settled
    assert fit.spreads.inner[0] < 0.01
    assert fit.fixed[0] == pytest.approx(math.log(1 / 3), abs=1e-4)


def test_counts_that_cannot_be_are_refused() -> None:
    with pytest.raises(InputError, match="group 1 = 7 of 6: must be between none and all of them"):
        Counts(np.array([1, 7]), np.array([6, 6]))
    with pytest.raises(InputError, match="must be two rows of the same length"):
        Counts(np.array([1]), np.array([6, 6]))
    with pytest.raises(InputError, match="known_shared = nan"):
        CountLikelihood(Counts(np.array([1]), np.array([6])), known_shared=math.nan)
