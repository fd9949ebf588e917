"""Live seed: what label and tests say of a lot, how sure, and how it ages."""

from __future__ import annotations

import doctest
import math
from importlib import import_module
from typing import Any

import numpy as np
import pytest
from scipy import stats

from trayward.errors import InputError
from trayward.science.bell import below, beta_below, beta_quantile, probit
from trayward.science.seed_life import Store, life_factor, probit_days, storage_life, store_factor, stores_well
from trayward.science.viability import SUREST_LABEL, LiveShare, after_test, aged, live_share


@pytest.mark.parametrize("module", ["bell", "seed_life", "viability"])
def test_the_examples_in_the_docstrings_run(module: str) -> None:
    assert doctest.testmod(import_module(f"trayward.science.{module}")).failed == 0


# Label and tests ------------------------------------------------------------------------------------------------------


def test_a_label_alone_keeps_its_figure_and_a_test_adds_its_seeds() -> None:
    label = live_share(0.92)
    assert label.mean == pytest.approx(0.92)
    assert label.alpha + label.beta == pytest.approx(30)
    both = live_share(0.92, sprouted=43, tested=50)
    assert (both.alpha, both.beta) == pytest.approx((0.92 * 30 + 43, 0.08 * 30 + 7))


def test_two_tests_one_after_the_other_are_one_test_of_both() -> None:
    after = after_test(after_test(live_share(0.9), 40, 50), 30, 50)
    assert (after.alpha, after.beta) == pytest.approx((live_share(0.9, 70, 100).alpha, live_share(0.9, 70, 100).beta))


def test_many_tested_seeds_drown_any_label() -> None:
    assert live_share(0.95, 6000, 10000).mean == pytest.approx(0.6, abs=0.002)


def test_a_label_of_all_or_a_test_of_none_stays_a_share() -> None:
    assert live_share(1.0).mean == SUREST_LABEL
    dead = live_share(0.9, 0, 200)
    assert 0 < dead.low < dead.mean < 0.15


def test_less_known_means_more_doubt() -> None:
    widths = [share.high - share.low for share in (
        live_share(0.87, 870, 1000), live_share(0.87), live_share(None, ordinary=0.87), live_share(None),
    )]  # fmt: skip
    assert widths == sorted(widths)
    assert live_share(0.87, label_counts_as=100).sd < live_share(0.87).sd


def test_eight_in_ten_lots_drawn_from_it_lie_in_its_range() -> None:
    """10,000 draws: 80 %, give or take 0.4 points (one standard deviation); four of them are allowed."""
    share = live_share(0.92, 43, 50)
    drawn = np.random.default_rng(5).beta(share.alpha, share.beta, 10_000)
    assert float(np.mean((drawn > share.low) & (drawn < share.high))) == pytest.approx(0.8, abs=0.016)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: live_share(92), r"label = 92: must lie above 0 and up to 1\. Give 0\.92 for 92 %"),
        (lambda: live_share(0.0), "label = 0: must lie above 0"),
        (lambda: live_share(math.nan), "label = nan: must lie above 0"),
        (lambda: live_share(None, ordinary=87.0), "label = 87: must lie above 0"),
        (lambda: live_share(0.9, 51, 50), "sprouted = 51 of 50: must lie between none and all"),
        (lambda: live_share(0.9, label_counts_as=0), "label_counts_as = 0 seeds: must be above 0"),
        (lambda: aged(live_share(0.9), 1.0, 0.0), "life_years = 0 years: must be above 0"),
        (lambda: aged(live_share(0.9), math.nan, 3.0), "years = nan years: must be a number"),
        (lambda: store_factor(Store(temp_c=60.0)), "temp_c = 60 °C: must lie in"),
        (lambda: store_factor(Store(rh_pct=140.0)), "rh_pct = 140 %: must lie in"),
        (lambda: life_factor(12, 0), "moisture_points = 12 %: must lie in"),
        (lambda: probit_days(3.0, 20.0, (9.983, 5.896, 0.04, 0.000428)), "moisture_pct = 3 %: must lie in"),
    ],
)
def test_what_cannot_be_is_refused(call: Any, words: str) -> None:
    with pytest.raises(InputError, match=words):
        call()


# Storage --------------------------------------------------------------------------------------------------------------


def test_two_points_drier_and_20_f_cooler_keep_seed_16_times_as_long() -> None:
    # SEED-12: Harrington's rules, as restated in Justice and Bass (1978), Agriculture Handbook 506.
    assert life_factor(-2, -20 / 1.8) == pytest.approx(16)
    assert life_factor(0, 0) == 1
    assert life_factor(1, 0) == 0.5


def test_fahrenheit_and_humidity_together_stay_within_100() -> None:
    # SEED-13: Harrington's sum rule, same source. 50 °F and 50 % pass, 70 °F and 60 % do not.
    assert stores_well((50 - 32) / 1.8, 50)
    assert not stores_well((70 - 32) / 1.8, 60)


def test_the_default_store_keeps_the_sum_rule_and_changes_nothing() -> None:
    store = Store()
    assert stores_well(store.temp_c, store.rh_pct)
    assert store_factor(store) == 1


def test_barley_loses_one_probit_in_1306_days_at_10_per_cent_and_20_degrees() -> None:
    # SEED-14: Ellis and Roberts (1980), Annals of Botany 45:13; the barley constants are from memory.
    assert probit_days(10.0, 20.0, (9.983, 5.896, 0.040, 0.000428)) == pytest.approx(1306, rel=0.01)


def test_onion_is_known_for_its_short_life_and_lettuce_for_its_long_one() -> None:
    # Knott's Handbook for Vegetable Growers, 4th ed. (1997), as an extension table gives it: 1 and 6 years.
    assert storage_life("onion")[0] == 1
    assert storage_life("lettuce")[0] == 6
    assert storage_life("arugula") == (4.0, "garden pages")
    assert storage_life("wheatgrass", "Poaceae") == (3.0, "its family")
    assert storage_life("nasturtium", "Tropaeolaceae") == (3.0, "seed in general")


# Ageing ---------------------------------------------------------------------------------------------------------------


def test_in_one_storage_life_the_probit_falls_by_about_one() -> None:
    """90 % comes to 61 %; doubt of the life takes the mean to 56 %: a short life costs more than a long one gives."""
    sure = LiveShare(mean=0.9, sd=0.003, alpha=9000.0, beta=1000.0)
    assert below(probit(0.9) - 1) == pytest.approx(0.61, abs=0.001)
    assert aged(sure, 4.0, 4.0).mean == pytest.approx(0.564, abs=0.005)


def test_ageing_agrees_with_plain_simulation() -> None:
    """The Gauss rules against 400,000 draws of share and life; within 1 point on mean and spread."""
    rng = np.random.default_rng(3)
    start = live_share(0.92, 43, 50)
    p = rng.beta(start.alpha, start.beta, 400_000)
    for years in (0.25, 1.0, 2.0):
        fall = years / 3.0 * np.exp(rng.normal(0, 0.5, len(p)))
        drawn = stats.norm.cdf(stats.norm.ppf(p) - fall)
        found = aged(start, years, 3.0)
        assert found.mean == pytest.approx(float(drawn.mean()), abs=0.01)
        assert found.sd == pytest.approx(float(drawn.std()), abs=0.01)


def test_no_time_changes_nothing_and_a_moment_changes_next_to_nothing() -> None:
    share = live_share(0.92)
    assert aged(share, 0.0, 3.0) == share
    assert aged(share, -1.0, 3.0) == share
    moment = aged(share, 1e-9, 3.0)
    assert (moment.alpha, moment.beta) == pytest.approx((share.alpha, share.beta), rel=1e-4)


def test_seed_far_beyond_its_life_is_all_but_dead_and_the_figures_stay_sane() -> None:
    for start in (live_share(0.92), live_share(1.0), live_share(0.5), live_share(0.9, 0, 50)):
        old = aged(start, 40.0, 1.0, Store(temp_c=35.0, rh_pct=80.0))
        assert 0 < old.mean < 0.01
        assert 0 <= old.low <= old.high < 0.1
        assert math.isfinite(old.sd)


# The distributions ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("alpha", "beta"), [(1.0, 1.0), (27.6, 2.4), (0.5, 0.5), (2.0, 60.0), (9000.0, 1000.0)])
def test_the_beta_distribution_is_that_of_scipy(alpha: float, beta: float) -> None:
    for share in (0.01, 0.1, 0.5, 0.9, 0.99):
        value = float(stats.beta.ppf(share, alpha, beta))
        assert beta_quantile(alpha, beta, share) == pytest.approx(value, abs=1e-9)
        assert beta_below(alpha, beta, value) == pytest.approx(share, abs=1e-9)
    assert (beta_below(alpha, beta, 0.0), beta_below(alpha, beta, 1.0)) == (0, 1)


def test_the_probit_is_that_of_scipy() -> None:
    for share in (1e-9, 1e-6, 0.001, 0.1, 0.299, 0.301, 0.5, 0.7, 0.999, 1 - 1e-6):
        assert probit(share) == pytest.approx(float(stats.norm.ppf(share)), abs=1e-9)
        assert below(probit(share)) == pytest.approx(share, rel=1e-9)
    assert probit(0.0) == probit(1e-9)
