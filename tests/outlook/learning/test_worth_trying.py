"""The value of a trial, against closed forms; which trials are offered, and when none is."""

from __future__ import annotations

import math
from statistics import NormalDist

import msgspec
import numpy as np
import pytest

from trayward.errors import InputError
from trayward.outlook.learning.response import Bounds, Response, Worth
from trayward.outlook.learning.trials import TrialTray, learned
from trayward.outlook.learning.worth_trying import (
    Candidate,
    NextTrial,
    Pace,
    Worthwhile,
    candidates,
    covariance_after,
    gain_a_tray,
    gain_of_knowing,
    grams_expected,
    means_ahead,
    next_trial,
    shuffled,
    weigh,
)

NORMAL = NormalDist()
BOUNDS = Bounds(low=0.8, high=3.2, words="0.8 to 3.2 live seeds a cm2")
PACE = Pace(trays_a_week=10.0, days_a_week=2.0, days_to_cut=8.5)


def belief(slope: float = 0.34, slope_sd: float = 0.18, bend_sd: float = 0.08) -> Response:
    """Near what is believed of any crop before its own trays."""
    return Response(
        what="density",
        centre=1.6,
        mean=np.array([np.log(250.0), slope, -0.11]),
        cov=np.diag([0.05**2, slope_sd**2, bend_sd**2]),
        tray_sd=0.12,
        day_sd=0.12,
    )


@pytest.mark.parametrize("mean", [-0.8, -0.1, 0.0, 0.3])
def test_the_gain_of_knowing_between_two_choices_is_the_normal_loss_integral(mean: float) -> None:
    """
    One choice pays 0, the other theta: EVSI = s L(|mean| / s), L(u) = phi(u) - u (1 - Phi(u)); s^2 is what the trial
    takes from the variance.

    Raiffa and Schlaifer (1961), Applied Statistical Decision Theory (from memory); recomputed here.
    """
    before, after = np.array([[1.0]]), np.array([[0.4]])
    s = math.sqrt(0.6)
    u = abs(mean) / s
    loss = s * (NORMAL.pdf(u) - u * (1 - NORMAL.cdf(u)))
    ahead = means_ahead(np.array([mean]), before, after, 4096)
    payoffs = np.column_stack([np.zeros(4096), ahead[:, 0]])
    assert gain_of_knowing(payoffs, np.array([0.0, mean])) == pytest.approx(loss, abs=0.002)


def test_the_gain_between_two_densities_without_cost_is_an_option_to_exchange() -> None:
    """
    Weights are lognormal: E max(A, B) = A Phi(d1) + B Phi(v - d1), d1 = log(A / B) / v + v / 2.

    Margrabe (1978), The value of an option to exchange one asset for another, Journal of Finance 33:177-186 (from
    memory); v^2 is the variance of the log ratio that the trial will settle.
    """
    response, candidate = belief(), Candidate(levels=(1.6, 2.6), blocks=3, trays_each=2)
    basis = response.basis(np.array([1.6, 2.6]))
    after = covariance_after(response, candidate)
    ahead = means_ahead(response.mean, response.cov, after, 4096)
    payoffs = grams_expected(basis, ahead, after, response.spread)
    a, b = now = grams_expected(basis, response.mean, response.cov, response.spread)
    apart = basis[0] - basis[1]
    v = math.sqrt(apart @ (response.cov - after) @ apart)
    d1 = math.log(a / b) / v + v / 2
    exact = a * NORMAL.cdf(d1) + b * NORMAL.cdf(v - d1) - max(a, b)
    assert gain_of_knowing(payoffs, now) == pytest.approx(exact, abs=0.02 * abs(exact) + 0.01)


def test_what_a_trial_will_teach_is_what_its_trays_then_teach() -> None:
    """The covariance told beforehand is the one after sowing just these trays."""
    response, candidate = belief(), Candidate(levels=(1.2, 1.6, 2.1), blocks=2, trays_each=2)
    trays = [
        TrialTray(f"{day}{level}{each}", level, day, 5.4)
        for day in range(2)
        for level in candidate.levels
        for each in range(2)
    ]
    assert covariance_after(response, candidate) == pytest.approx(learned(response, trays).cov, abs=1e-12)


def test_a_larger_trial_teaches_more_and_never_less_than_nothing() -> None:
    worth = Worth(gram=0.03, unit=1.0)
    gains = [
        gain_a_tray(belief(), worth, BOUNDS, Candidate(levels=(1.6, 2.5), blocks=blocks, trays_each=2))
        for blocks in (2, 4, 8)
    ]
    assert 0 < gains[0] < gains[1] < gains[2]
    known = msgspec.structs.replace(belief(), cov=np.zeros((3, 3)))
    assert gain_a_tray(known, worth, BOUNDS, Candidate(levels=(1.6, 2.5), blocks=2, trays_each=2)) == 0.0


def test_a_farm_that_knows_its_answer_hears_of_no_trial() -> None:
    worth = Worth(gram=0.03, unit=1.0)
    sure = msgspec.structs.replace(belief(), cov=np.diag([0.01, 0.01, 0.01]) ** 2)
    weighed = [weigh("radish", sure, worth, BOUNDS, PACE, one) for one in candidates(BOUNDS, "density", 1.6, PACE)]
    said = next_trial(weighed, {"radish": 250 * 0.03 * 10 * 26})
    assert said.best is None
    assert said.words.startswith("No trial is worth making now")


def test_a_farm_that_does_not_know_hears_of_the_trial_that_brings_most() -> None:
    worth = Worth(gram=0.05, unit=0.4)
    choices = candidates(BOUNDS, "density", 1.6, PACE)
    weighed = [weigh("radish", belief(0.4, 0.35, 0.15), worth, BOUNDS, PACE, one) for one in choices]
    said = next_trial(weighed, {"radish": 250 * 0.05 * 10 * 26})
    assert said.best is not None
    assert said.best.net == max(one.net for one in weighed)
    assert [one.net for one in said.ranked] == sorted((one.net for one in weighed), reverse=True)
    assert said.words.startswith("Try ")
    assert "live seeds a cm2 with radish" in said.words


def test_a_trial_costs_what_its_trays_bring_less_than_the_best_known_choice() -> None:
    """With no doubt the best of two levels costs nothing and the other its difference, by hand."""
    worth = Worth(gram=0.04, unit=0.0)
    sure = msgspec.structs.replace(belief(0.5), cov=np.zeros((3, 3)))
    candidate = Candidate(levels=(1.6, 3.2), blocks=2, trays_each=3)
    one = weigh("radish", sure, worth, BOUNDS, PACE, candidate)
    g = np.exp(sure.mean @ sure.basis(np.array([1.6, 3.2])).T + sure.spread / 2)
    assert one.cost == pytest.approx(6 * 0.04 * (g[1] - g[0]))
    assert one.net == pytest.approx(-one.cost)
    assert one.trays_later == pytest.approx((26 - 2 / 2 - 8.5 / 7) * 10)


def test_trials_fit_the_farm() -> None:
    for one in candidates(BOUNDS, "density", 1.6, PACE):
        assert one.blocks >= 2
        assert len(one.levels) * one.trays_each <= PACE.trays_a_week
        assert one.trays <= 4 * PACE.trays_a_week
        assert BOUNDS.low <= one.levels[0] < one.levels[-1] <= BOUNDS.high
        assert 1.6 in one.levels
    assert candidates(BOUNDS, "density", 1.6, Pace(trays_a_week=1.0, days_a_week=1.0, days_to_cut=8.0)) == ()
    assert candidates(Bounds(low=1.6, high=1.6, words=""), "density", 1.6, PACE) == ()
    days = candidates(Bounds(low=0.0, high=3.0, words=""), "blackout", 1.0, PACE)
    assert {one.levels for one in days} >= {(0.0, 1.0), (1.0, 2.0), (0.0, 1.0, 2.0)}


def test_with_nothing_to_weigh_it_says_what_is_lacking() -> None:
    assert next_trial([], {}) == NextTrial(
        best=None, words="No trial can be weighed yet: a recipe with a price and a few sowings is needed."
    )


def test_a_gain_that_is_a_trifle_is_not_worth_the_trouble() -> None:
    one = Worthwhile(
        recipe="radish",
        what="density",
        candidate=Candidate(levels=(1.6, 2.0), blocks=2, trays_each=1),
        gain_a_tray=0.01,
        trays_later=200,
        cost=0.5,
        net=1.5,
    )
    assert next_trial([one], {"radish": 100.0}).best is not None
    assert next_trial([one], {"radish": 2000.0}).best is None


def test_every_day_of_a_trial_has_every_level_in_an_order_of_its_own() -> None:
    orders = shuffled((1.2, 1.6, 2.1), 40, np.random.default_rng(1))
    assert all(sorted(order) == [1.2, 1.6, 2.1] for order in orders)
    assert len(set(orders)) == 6
    assert orders == shuffled((1.2, 1.6, 2.1), 40, np.random.default_rng(1))
    firsts = [order[0] for order in orders]
    assert all(firsts.count(level) >= 5 for level in (1.2, 1.6, 2.1))  # 13 expected, sd 3
    with pytest.raises(InputError, match="blocks = 1: at least 2 days"):
        shuffled((1.2, 1.6), 1, np.random.default_rng(1))
    with pytest.raises(InputError, match="at least 2 different ones"):
        shuffled((1.2, 1.2), 3, np.random.default_rng(1))
