"""Models seen through a likelihood: their criterion against brute force, what they recover, and thin or odd data."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy import integrate, optimize, special, stats

from trayward.errors import InputError
from trayward.outlook.censored import IntervalLikelihood, Intervals
from trayward.outlook.counted import CountLikelihood, Counts
from trayward.outlook.latent import LatentFit, Spreads, fit_latent, settle
from trayward.outlook.latent_layout import Layout
from trayward.outlook.latent_search import Search
from trayward.outlook.terms import NEW, FixedPrior, Floats, SdPrior, Term

FLAT = FixedPrior(np.zeros(1), np.full(1, math.inf))


def term(name: str, level: Any, levels: int, **words: Any) -> Term:
    return Term(name=name, level=np.asarray(level, dtype=np.int64), levels=levels, **words)


def simulated(groups: int, seed: int, step: float = 0.5) -> tuple[IntervalLikelihood, list[Term], Floats]:
    """Sowings of six trays looked at every half day, one in twenty still going; their terms; all intervals' middles."""
    draw = np.random.default_rng(seed)
    recipe, lot, season = (draw.integers(0, levels, groups) for levels in (20, 60, 13))
    effects = draw.normal(0, 0.3, 20)[recipe] + draw.normal(0, 0.1, 60)[lot] + draw.normal(0, 0.06, 13)[season]
    own = 1.2 + effects[:, None] + draw.normal(0, 0.1, (groups, 1)) + draw.normal(0, 0.04, (groups, 6))
    first = draw.uniform(0, step, (groups, 1))
    low = np.floor((np.exp(own) - first) / step) * step + first
    going = draw.random((groups, 1)) < 0.05
    high = np.where(going, math.inf, np.log(low + step))
    low = np.where(low > 0, np.log(np.maximum(low, 1e-9)), -math.inf)
    intervals = Intervals(np.repeat(np.arange(groups), 6), low.ravel(), high.ravel())
    terms = [term("recipe", recipe, 20), term("lot", lot, 60), term("season", season, 13)]
    return IntervalLikelihood(intervals, groups), terms, (low + high) / 2


def fit_all(likelihood: Any, terms: list[Term], **words: Any) -> LatentFit:
    groups = likelihood.groups
    return fit_latent(likelihood, np.zeros(groups), np.ones((groups, 1)), FLAT, terms, **words)


def test_the_criterion_is_near_what_brute_force_integrates() -> None:
    """
    Three plates, two levels, one fixed coefficient with a prior: -2 log of a threefold integral, by scipy.

    Laplace's approximation is good to order one over what was counted; 0.02 here, with about 40 seeds a plate.
    """
    lost, of, level = np.array([12, 30, 21]), np.array([40, 45, 38]), np.array([0, 1, 1])
    likelihood = CountLikelihood(Counts(lost, of), known_shared=0.0)
    prior = FixedPrior(np.array([0.2]), np.array([1.5]))
    given = Spreads(np.zeros(0), {"lot": 0.6})
    fit = settle(likelihood, np.zeros(3), np.ones((3, 1)), prior, [term("lot", level, 2)], given)

    def height(b: float) -> float:
        total = stats.norm.pdf(b, 0.2, 1.5)
        for k in (0, 1):
            mine = level == k

            def summand(u: float, mine: Any = mine) -> float:
                chance = stats.binom.pmf(lost[mine], of[mine], special.expit(b + u)).prod()
                return float(chance * stats.norm.pdf(u, 0, 0.6))

            total *= integrate.fixed_quad(np.vectorize(summand), -3.5, 3.5, n=80)[0]
        return float(total)

    whole = integrate.fixed_quad(np.vectorize(height), -3, 3, n=60)[0]
    assert fit.criterion == pytest.approx(-2 * math.log(whole), abs=0.02)


def test_the_slope_of_the_criterion_is_that_of_the_criterion() -> None:
    draw = np.random.default_rng(2)
    low = np.round(draw.normal(1, 0.2, 60), 1)
    likelihood = IntervalLikelihood(
        Intervals(np.repeat(np.arange(20), 3), low, low + 0.1), 20, (SdPrior(0.1, 0.5), None)
    )
    terms = [term("lot", np.arange(20) // 5, 4), term("recipe", np.arange(20) % 3, 3, sd_prior=SdPrior(0.2, 0.7))]
    search = Search(likelihood, Layout(np.zeros(20), np.ones((20, 1)), FLAT, terms))
    logs = np.log([0.1, 0.07, 0.08, 0.15])
    mode = search.climb(logs, search.layout.centre)
    slope = search.point(logs, mode).slope
    for i in range(4):
        step = np.zeros(4)
        step[i] = 2e-3
        up, down = (
            search.value(logs + way * step, search.climb(logs + way * step, mode.coefficients)) for way in (1, -1)
        )
        # Both sides rest on differences of sums that are right to a few 1e-6.
        assert slope[i] == pytest.approx((up - down) / 4e-3, abs=0.02, rel=2e-3)


def test_the_search_ends_where_the_criterion_is_least() -> None:
    """Against scipy's simplex search on the same criterion, from another start."""
    likelihood, terms, _ = simulated(150, 4)
    kept = terms[:1]
    fit = fit_all(likelihood, kept, tolerance=1e-6)

    def criterion(logs: Floats) -> float:
        given = Spreads(np.exp(logs[:2]), {"recipe": math.exp(logs[2])})
        return settle(likelihood, np.zeros(150), np.ones((150, 1)), FLAT, kept, given, start=fit).criterion

    least = optimize.minimize(criterion, np.log([0.15, 0.06, 0.2]), method="Nelder-Mead", options={"xatol": 1e-4})
    found = [*fit.spreads.inner, fit.spreads.terms["recipe"]]
    assert fit.criterion <= least.fun + 1e-3
    np.testing.assert_allclose(found, np.exp(least.x), rtol=3e-3)


def test_what_made_the_times_is_found_again() -> None:
    """1,200 sowings. Bounds are about three standard errors: sd / sqrt(2 levels) for terms, a few per cent inside."""
    likelihood, terms, _ = simulated(1_200, 7)
    fit = fit_all(likelihood, terms)
    assert fit.settled
    np.testing.assert_allclose(fit.spreads.inner, [0.1, 0.04], rtol=0.08)
    assert fit.spreads.terms["recipe"] == pytest.approx(0.3, rel=0.5)
    assert fit.spreads.terms["lot"] == pytest.approx(0.1, rel=0.3)
    assert fit.spreads.terms["season"] == pytest.approx(0.06, rel=0.6)
    assert fit.fixed[0] == pytest.approx(1.2, abs=3 * math.sqrt(fit.fixed_covariance[0, 0]))


def test_middles_of_intervals_would_overrate_how_trays_differ() -> None:
    """Looked at once a day, middles and dropping what still grows mislead; intervals do not."""
    likelihood, terms, middles = simulated(600, 9, step=1.0)
    fit = fit_all(likelihood, terms)
    seen = middles[np.isfinite(middles).all(axis=1)]
    by_middles = math.sqrt(float(np.mean(np.var(seen, axis=1, ddof=1))))
    assert by_middles > 1.5 * 0.04
    assert fit.spreads.inner[1] == pytest.approx(0.04, rel=0.15)
    assert fit.spreads.inner[0] == pytest.approx(0.1, rel=0.15)


def test_trays_still_going_pull_a_recipe_later() -> None:
    """Half of the sowings were looked at once, half way: those over are early, the others late; none is left out."""
    draw = np.random.default_rng(11)
    time = draw.normal(1.5, 0.2, 400)
    low, high = np.where(time < 1.5, -math.inf, 1.5), np.where(time < 1.5, 1.5, math.inf)
    low[::2], high[::2] = np.floor(time[::2] * 20) / 20, np.ceil(time[::2] * 20) / 20
    likelihood = IntervalLikelihood(Intervals(np.arange(400), low, high), 400, known_shared=0.0)
    fit = fit_all(likelihood, [])
    assert fit.fixed[0] == pytest.approx(1.5, abs=3 * 0.2 / math.sqrt(200))
    assert fit.spreads.inner[0] == pytest.approx(0.2, rel=0.15)
    assert time[time < 1.5].mean() < 1.5 - 0.1


def test_many_groups_are_fitted_as_if_no_shortcut_were_taken() -> None:
    """Of many sowings some stand for all in small parts of the slope; the spreads move by far less than their doubt."""
    likelihood, terms, _ = simulated(4_200, 5)
    fit = fit_all(likelihood, terms)

    def criterion(scale: float) -> float:
        given = Spreads(
            fit.spreads.inner * scale, {name: np.asarray(sd) * scale for name, sd in fit.spreads.terms.items()}
        )
        return settle(likelihood, np.zeros(4_200), np.ones((4_200, 1)), FLAT, terms, given, start=fit).criterion

    assert fit.settled
    assert criterion(1.0) == pytest.approx(fit.criterion, abs=1e-3)
    assert min(criterion(0.99), criterion(1.01)) > fit.criterion
    np.testing.assert_allclose(fit.spreads.inner, [0.1, 0.04], rtol=0.05)


def test_without_a_group_everything_is_the_prior() -> None:
    none = IntervalLikelihood(
        Intervals(np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0)), 0, (SdPrior(0.1, 0.5), SdPrior(0.05, 0.5))
    )
    prior = FixedPrior(np.array([1.4]), np.array([0.3]))
    terms = [term("recipe", [], 3, sd_prior=SdPrior(0.2, 0.5)), term("lot", [], 2, known_sd=0.1)]
    fit = fit_latent(none, np.zeros(0), np.zeros((0, 1)), prior, terms)
    assert fit.settled
    np.testing.assert_allclose(fit.spreads.inner, [0.1, 0.05])
    assert fit.fixed.tolist() == [1.4]
    assert math.sqrt(fit.fixed_covariance[0, 0]) == pytest.approx(0.3)
    np.testing.assert_allclose(fit.effect_se["recipe"], 0.2)
    np.testing.assert_allclose(fit.effects["lot"], 0)
    ahead = fit.predict(np.zeros(1), np.ones((1, 1)), {"recipe": np.array([1])})
    assert ahead.mean[0] == pytest.approx(1.4)
    assert ahead.sd[0] == pytest.approx(math.sqrt(0.3**2 + 0.2**2 + 0.1**2))


def test_one_sowing_moves_the_prior_a_little() -> None:
    seen = Intervals(np.zeros(1, dtype=np.int64), np.array([1.6]), np.array([1.7]), np.array([6.0]))
    one = IntervalLikelihood(seen, 1, (SdPrior(0.1, 0.5), SdPrior(0.05, 0.5)))
    prior = FixedPrior(np.array([1.4]), np.array([0.3]))
    fit = fit_latent(one, np.zeros(1), np.ones((1, 1)), prior, [term("recipe", [0], 1, sd_prior=SdPrior(0.2, 0.5))])
    assert fit.settled
    assert 1.4 < fit.fixed[0] < 1.65
    assert 0 < fit.effects["recipe"][0] < 0.25
    # Six trays alike say that trays differ less than was believed: by about one standard deviation of that belief.
    assert fit.spreads.inner[0] == pytest.approx(0.1, rel=0.1)
    assert 0.05 * math.exp(-0.75) < fit.spreads.inner[1] < 0.05


def test_a_term_that_explains_nothing_has_no_spread() -> None:
    """Lots put on at random over too even sowings: the best spread is none, said as zero, with effects of zero."""
    low = np.tile([1.0, 1.1, 1.2, 1.3], 10)
    even = IntervalLikelihood(Intervals(np.arange(40), low, low + 0.1), 40, known_shared=0.0)
    fit = fit_all(even, [term("lot", np.arange(40) // 4, 10)])
    assert fit.settled
    assert fit.spreads.terms["lot"] == 0.0
    assert not fit.effects["lot"].any()
    assert not fit.effect_se["lot"].any()
    ahead = fit.predict(np.zeros(1), np.ones((1, 1)), {"lot": np.array([NEW])})
    assert ahead.new_sd["lot"][0] == 0.0


def test_a_known_spread_is_kept_and_may_differ_by_level() -> None:
    lost, of = np.array([5, 5, 5]), np.array([20, 20, 20])
    likelihood = CountLikelihood(Counts(lost, of), known_shared=0.0)
    prior = FixedPrior(np.array([0.0]), np.array([0.01]))
    known = term("crop", [0, 1, 2], 3, known_sd=np.array([0.0, 0.3, 30.0]))
    fit = fit_latent(likelihood, np.zeros(3), np.ones((3, 1)), prior, [known])
    none, some, free = fit.effects["crop"]
    assert none == 0
    assert -1 < some < 0
    assert free + fit.fixed[0] == pytest.approx(math.log(5 / 15), abs=0.01)
    ahead = fit.predict(np.zeros(1), np.ones((1, 1)), {})
    assert ahead.new_sd["crop"][0] == pytest.approx(math.sqrt((0.09 + 900) / 3))


def test_predictions_and_draws_agree_with_the_fitted_coefficients() -> None:
    likelihood, terms, _ = simulated(300, 3)
    fit = fit_all(likelihood, terms)
    rows = {"recipe": np.array([2, NEW]), "lot": np.array([7, 9])}
    ahead = fit.predict(np.array([0.1, 0.0]), np.ones((2, 1)), rows)
    assert ahead.mean[0] == pytest.approx(0.1 + fit.fixed[0] + fit.effects["recipe"][2] + fit.effects["lot"][7])
    assert ahead.new_sd["recipe"].tolist() == [0.0, fit.spreads.terms["recipe"]]
    drawn = fit.draw(np.random.default_rng(1), 40_000)
    total = drawn.fixed[:, 0] + drawn.effects["recipe"][:, 2] + drawn.effects["lot"][:, 7]
    assert total.mean() == pytest.approx(ahead.mean[0] - 0.1, abs=4 * ahead.known_sd[0] / 200)
    assert total.std() == pytest.approx(ahead.known_sd[0], rel=0.02)
    np.testing.assert_allclose(drawn.effects["lot"].std(axis=0), fit.effect_se["lot"], rtol=0.03)


def test_settling_again_finds_the_same_and_takes_new_levels() -> None:
    likelihood, terms, _ = simulated(200, 6)
    fit = fit_all(likelihood, terms)
    again = settle(likelihood, np.zeros(200), np.ones((200, 1)), FLAT, terms, fit.spreads)
    np.testing.assert_allclose(again.effects["lot"], fit.effects["lot"], atol=1e-4)
    wider = [term(each.name, each.level, each.levels + 2) for each in terms]
    more = settle(likelihood, np.zeros(200), np.ones((200, 1)), FLAT, wider, fit.spreads, start=fit)
    np.testing.assert_allclose(more.effects["lot"][:-2], fit.effects["lot"], atol=1e-4)
    np.testing.assert_allclose(more.effects["lot"][-2:], 0, atol=1e-9)
    np.testing.assert_allclose(more.effect_se["lot"][-2:], fit.spreads.terms["lot"])


def test_a_wildly_wrong_time_does_not_stop_a_fit() -> None:
    low = np.append(np.tile([1.0, 1.1, 1.2, 1.3, 1.4], 8), 3.5)
    likelihood = IntervalLikelihood(
        Intervals(np.arange(41), low, low + 0.1), 41, (SdPrior(0.1, 0.5), SdPrior(0.05, 0.5))
    )
    fit = fit_all(likelihood, [term("recipe", np.arange(41) % 5, 5)])
    assert fit.settled
    assert all(np.isfinite(part).all() for part in (fit.fixed, fit.effects["recipe"], fit.spreads.inner))


def test_what_cannot_be_fitted_says_why() -> None:
    likelihood = CountLikelihood(Counts(np.array([1, 2]), np.array([5, 5])))
    both = FixedPrior(np.zeros(2), np.full(2, math.inf))
    with pytest.raises(InputError, match=r"fixed columns = .* cannot be told apart.* Give their coefficients a prior"):
        fit_latent(likelihood, np.zeros(2), np.ones((2, 2)), both, [])
    with pytest.raises(InputError, match="offset = 3 rows: must have one for each of 2 groups"):
        fit_latent(likelihood, np.zeros(3), np.ones((3, 1)), FLAT, [])
    with pytest.raises(InputError, match="offset or fixed = not finite"):
        fit_latent(likelihood, np.array([0.0, math.nan]), np.ones((2, 1)), FLAT, [])
    with pytest.raises(InputError, match="term lot = 0 to 2: must lie in 0 to 1"):
        fit_all(likelihood, [term("lot", [0, 2], 2)])
    with pytest.raises(InputError, match="term lot = columns: must have one effect a level"):
        fit_all(likelihood, [term("lot", [0, 1], 2, columns=np.ones((2, 1)))])
    fit = fit_all(likelihood, [term("lot", [0, 1], 2, known_sd=0.5)])
    with pytest.raises(InputError, match="term lot = 5 to 5: must lie in 0 to 1"):
        fit.predict(np.zeros(1), np.ones((1, 1)), {"lot": np.array([5])})
    silent = IntervalLikelihood(Intervals(np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0)), 2)
    with pytest.raises(InputError, match="coefficients = without bound"):
        fit_all(silent, [])
