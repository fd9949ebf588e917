"""Germination: figures of a test, and curves fitted to counts that are only seen at looks."""

from __future__ import annotations

import doctest
import math
from importlib import import_module
from typing import Any

import numpy as np
import pytest

from trayward.errors import InputError
from trayward.science.counts import Counts, Curve, counted, counted_at_looks
from trayward.science.germination import (
    germination_share,
    hill_curve,
    mean_time,
    middle_time,
    synchrony,
    time_variance,
    uncertainty,
    uniformity,
    weighted_percent,
)
from trayward.science.germination_curves import LogLogistic, LogNormal, ThermalTime
from trayward.science.hydrotime import HydrothermalTime, Hydrotime, HydrotimeLogLogistic, hydrotime_by_probit
from trayward.science.time_to_event import fit, minus_2_log_likelihood

MODULES = ("counts", "germination", "germination_curves", "hydrotime", "likelihood", "time_to_event")


@pytest.mark.parametrize("module", MODULES)
def test_the_examples_in_the_docstrings_run(module: str) -> None:
    result = doctest.testmod(import_module(f"trayward.science.{module}"))
    assert result.failed == 0


# Figures of one test --------------------------------------------------------------------------------------------------


def test_seed_that_comes_all_at_once_is_perfectly_even() -> None:
    assert synchrony([0, 20, 0]) == 1
    assert uncertainty([0, 20, 0]) == 0
    assert uniformity([1, 2, 3], [0, 20, 0]) == math.inf
    assert time_variance([1, 2, 3], [0, 20, 0]) == 0
    assert mean_time([1, 2, 3], [0, 20, 0]) == 2
    assert weighted_percent([20, 0, 0], 20) == 100


def test_two_looks_with_half_each_are_one_bit_uncertain() -> None:
    assert uncertainty([10, 10]) == 1


def test_the_middle_seed_is_looked_for_between_the_looks() -> None:
    """10 seeds, all between day 2 and day 4: the fifth half way, the five-and-a-halfth a little later."""
    assert middle_time([2, 4], [0, 10], "farooq") == 3.0
    assert middle_time([2, 4], [0, 10], "coolbear") == pytest.approx(3.1)
    assert middle_time([2, 4], [10, 0], "farooq") == 1.0  # a look before the first is sowing itself


def test_a_hill_curve_through_a_hill_curve_is_itself() -> None:
    days = np.arange(1.0, 40.0)
    piled = 90 / (1 + (days / 6.0) ** -3.0)
    counts = np.diff(piled, prepend=0.0)
    curve = hill_curve(list(days), list(counts), 100)
    # The top is held at what had come by day 39, a little under 90.
    assert curve.slope == pytest.approx(3.0, rel=0.02)
    assert curve.middle == pytest.approx(6.0, rel=0.01)
    assert curve.time_of_all(0.95) == math.inf


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: mean_time([1, 2], [3]), "looks = 2: must be as many as counts, 1"),
        (lambda: mean_time([2, 1], [3, 4]), "looks = out of order: must rise"),
        (lambda: mean_time([1, math.nan], [3, 4]), "looks = out of order: must rise"),
        (lambda: mean_time([1, 2], [0, 0]), "some seed must have germinated"),
        (lambda: mean_time([1, 2], [-1, 4]), "counts = 3: must be 0 or more each"),
        (lambda: mean_time([1, 2], [math.nan, 4]), "counts = nan: must be 0 or more each"),
        (lambda: time_variance([1], [1]), "a variance needs more than one germinated seed"),
        (lambda: synchrony([1]), "synchrony needs two germinated seeds"),
        (lambda: uncertainty([0, 0]), "some seed must have germinated"),
        (lambda: germination_share([30, 30], 50), "seeds = 50: must be at least as many as germinated, 60"),
        (lambda: hill_curve([1, 2], [5, 5], 10), "looks = 2: a curve needs at least 3"),
    ],
)
def test_a_test_that_cannot_be_is_refused(call: Any, words: str) -> None:
    with pytest.raises(InputError, match=words):
        call()


# Counts ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: counted([0, 1], [1], [3, 4]), "rows = 2, 1, 2: start, end and seeds must be of one length"),
        (lambda: counted([1, 1], [2, 1], [3, 4]), "interval = backwards"),
        (lambda: counted([math.nan], [1], [3]), "interval = backwards"),
        (lambda: counted([0], [1], [-3]), "seeds = -3: counts must be 0 or more"),
        (lambda: counted([0], [1], [0]), "some seed must have been sown"),
        (lambda: counted([0], [1], [3], setting=[math.nan]), "setting = blank: every row needs its water potential"),
        (lambda: counted_at_looks([1, 2], [30, 30], 50), "seeds = 50: is less than germinated, 60"),
    ],
)
def test_counts_that_cannot_be_are_refused(call: Any, words: str) -> None:
    with pytest.raises(InputError, match=words):
        call()


# Curves ---------------------------------------------------------------------------------------------------------------

CURVES: list[tuple[Curve, list[float], list[float]]] = [
    (LogLogistic(), [5.0, 0.8, 4.0], [0.0]),
    (LogNormal(), [0.3, 0.8, 4.0], [0.0]),
    (Hydrotime("normal"), [0.8, -0.9, 0.2], [-0.3]),
    (Hydrotime("logistic"), [0.8, -0.9, 0.1], [-0.3]),
    (Hydrotime("gumbel"), [0.8, -0.9, 0.1], [-0.3]),
    (Hydrotime("log-logistic"), [0.7, -0.9, 0.4, 0.2], [-0.3]),
    (Hydrotime("weibull"), [0.7, -0.9, 0.4, 0.2], [-0.3]),
    (HydrotimeLogLogistic(), [0.95, -1.0, 0.1, 0.9, 4.0], [-0.3]),
    (ThermalTime(), [0.9, 1.0, 40.0, 4.0], [18.0]),
    (ThermalTime("curved"), [0.9, 1.0, 40.0, 4.0, 35.0, 5.0], [18.0]),
    (ThermalTime("broken", widening=True), [0.9, 1.0, 40.0, 9.0, 35.0, 3.0, 28.0, 0.005], [30.0]),
    (HydrothermalTime(), [0.9, -1.5, 0.03, 2.0, 0.3, 30.0, 4.0], [-0.3, 20.0]),
]


@pytest.mark.parametrize(("curve", "values", "setting"), CURVES)
def test_more_seed_has_come_the_longer_one_waits_and_time_undoes_share(
    curve: Curve, values: list[float], setting: list[float]
) -> None:
    times = np.array([0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 10.0, 100.0])
    where = np.tile(setting, (len(times), 1))
    shares = curve.share(np.array(values), times, where)
    assert shares[0] == 0
    assert np.all(np.diff(shares) >= 0)
    assert 0.3 < shares[-1] <= 1
    inside = (shares > 1e-6) & (shares < shares[-1] - 1e-6)
    assert inside.sum() >= 2
    back = curve.time(np.array(values), shares[inside], where[inside])
    assert back == pytest.approx(times[inside], rel=1e-6)


@pytest.mark.parametrize(("curve", "values", "setting"), CURVES)
def test_a_share_beyond_the_plateau_is_never_reached(curve: Curve, values: list[float], setting: list[float]) -> None:
    plateau = float(curve.share(np.array(values), np.array([1e9]), np.array([setting]))[0])
    beyond = np.array([min(plateau + 0.01, 0.999999)]) if plateau < 0.999 else np.array([0.9999999])
    if plateau < beyond[0]:
        assert curve.time(np.array(values), beyond, np.array([setting])).tolist() == [math.inf]
    assert np.isfinite(curve.time(np.array(values), np.array([plateau * 0.9]), np.array([setting]))).all()


def dish(rng: np.random.Generator, curve: Curve, values: list[float], setting: list[float], seeds: int) -> Counts:
    """One dish with known truth: seeds drawn from the curve, looked at once a day for ten days."""
    looks = np.arange(0.0, 11.0)
    where = np.tile(setting, (len(looks), 1))
    chances = np.diff(np.append(curve.share(np.array(values), looks, where), 1.0))
    many = rng.multinomial(seeds, chances)
    return counted(looks, [*looks[1:], math.inf], many, setting=np.tile(setting, (len(many), 1)))


def together(parts: list[Counts]) -> Counts:
    named = [np.full(len(part.seeds), place) for place, part in enumerate(parts)]
    return counted(
        np.concatenate([part.start for part in parts]),
        np.concatenate([part.end for part in parts]),
        np.concatenate([part.seeds for part in parts]),
        setting=np.concatenate([part.setting for part in parts]),
        dish=list(np.concatenate(named)),
    )


@pytest.mark.slow
def test_a_known_truth_is_found_again_within_its_errors() -> None:
    """100 dishes of 60 seeds: the truth lies within 1.96 errors in about 95, give or take 2.2 (so 88 to 100)."""
    rng = np.random.default_rng(20261126)
    truth = [6.0, 0.85, 4.0]
    held = 0
    for _ in range(100):
        found = fit(LogLogistic(), dish(rng, LogLogistic(), truth, [0.0], 60))
        error = found.errors["median"]
        assert error is not None
        held += abs(found.values["median"] - truth[2]) < 1.96 * error
    assert held >= 88


def test_a_known_base_temperature_is_found_again() -> None:
    rng = np.random.default_rng(7)
    truth = [0.9, 2.0, 45.0, 5.0]
    parts = [dish(rng, ThermalTime(), truth, [temp], 100) for temp in (8.0, 12.0, 16.0, 20.0, 24.0)]
    found = fit(ThermalTime(), together(parts), by_dish=True)
    assert found.values["base"] == pytest.approx(2.0, abs=1.0)
    assert found.values["theta"] == pytest.approx(45.0, rel=0.08)
    assert found.aic == pytest.approx(found.minus_2_log_likelihood + 8)


def test_dishes_that_differ_widen_the_errors_that_go_by_dish() -> None:
    rng = np.random.default_rng(11)
    parts = [dish(rng, LogLogistic(), [8.0, 0.9, median], [0.0], 100) for median in (3.0, 3.5, 4.0, 4.5, 5.0, 5.5)]
    data = together(parts)
    alone, by_dish = fit(LogLogistic(), data), fit(LogLogistic(), data, by_dish=True)
    assert (by_dish.errors["median"] or 0) > 2 * (alone.errors["median"] or math.inf)
    assert by_dish.values == alone.values


def test_pooled_dishes_and_split_rows_give_one_likelihood() -> None:
    whole = counted_at_looks([1, 2, 3, 4], [0, 12, 20, 4], 50)
    halves = together([counted_at_looks([1, 2, 3, 4], [0, 6, 10, 2], 25)] * 2)
    assert fit(LogLogistic(), whole).values == pytest.approx(fit(LogLogistic(), halves).values, rel=1e-6)


def test_the_fit_is_no_worse_than_any_point_near_it() -> None:
    data = counted_at_looks([1, 2, 3, 4], [1, 12, 20, 4], 50)
    found = fit(LogLogistic(), data)
    for name in found.values:
        for factor in (0.98, 1.02):
            moved = {**found.values, name: found.values[name] * factor}
            assert minus_2_log_likelihood(LogLogistic(), data, moved) > found.minus_2_log_likelihood


def test_seed_that_all_came_by_one_look_says_that_it_cannot_tell_how_spread_it_is() -> None:
    found = fit(LogLogistic(), counted_at_looks([1, 2, 3], [0, 50, 0], 50))
    assert 1 < found.values["median"] < 2
    assert found.errors["final"] is None
    assert "final lies at its limit, 1" in found.notes
    assert any("do not say how sure" in note or "limit" in note for note in found.notes)
    assert all(error is None or math.isfinite(error) for error in found.errors.values())


def test_one_seed_that_came_is_fitted_without_a_crash() -> None:
    found = fit(LogLogistic(), counted_at_looks([1, 2, 3], [0, 1, 0], 1))
    assert all(math.isfinite(value) for value in found.values.values())
    assert 1 <= found.time_to([0.5])[0] <= 2


def test_a_dish_in_which_nothing_came_has_no_curve() -> None:
    with pytest.raises(InputError, match=r"germinated = 0 seeds: .* Look again later"):
        fit(LogLogistic(), counted_at_looks([1, 2, 3], [0, 0, 0], 50))


def test_a_parameter_that_a_curve_does_not_have_cannot_be_held() -> None:
    with pytest.raises(InputError, match="must be among slope, final, median"):
        fit(LogLogistic(), counted_at_looks([1, 2], [3, 3], 10), fixed={"shape": 1.0})


def test_a_time_is_asked_for_a_share_between_0_and_1() -> None:
    found = fit(LogLogistic(), counted_at_looks([1, 2, 3], [3, 9, 4], 20))
    with pytest.raises(InputError, match=r"Give 0\.5 for half of all seeds"):
        found.time_to([50])


def test_a_probit_regression_of_a_hydrotime_curve_is_that_curve() -> None:
    psi, time = (grid.ravel() for grid in np.meshgrid([0.0, -0.3, -0.6], [1.0, 2.0, 4.0, 8.0]))
    share = Hydrotime().share(np.array([0.8, -0.9, 0.25]), time, psi[:, None])
    assert hydrotime_by_probit(psi, time, share) == pytest.approx((0.8, -0.9, 0.25, 1.0))
    with pytest.raises(InputError, match="at least 4 with a share between 0 and 1"):
        hydrotime_by_probit(psi[:3], time[:3], share[:3])
