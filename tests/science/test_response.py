"""Laws of yield against density, light and warmth."""

from __future__ import annotations

import doctest
import math
from importlib import import_module
from typing import Any

import numpy as np
import pytest

from trayward.errors import InputError
from trayward.science.response import (
    ExponentialLaw,
    ReciprocalLaw,
    elasticity,
    fit_exponential,
    fit_reciprocal,
    warmth_response,
)
from trayward.science.seed_rate import seed_rate_trial


@pytest.mark.parametrize("module", ["response", "seed_rate"])
def test_the_examples_in_the_docstrings_run(module: str) -> None:
    assert doctest.testmod(import_module(f"trayward.science.{module}")).failed == 0


def test_twice_the_seed_for_twice_the_yield_is_an_elasticity_of_one() -> None:
    assert elasticity(2, 2) == 1
    assert elasticity(1, 2) == 0
    assert elasticity(0.5, 0.25) == pytest.approx(elasticity(2, 4))


def test_yield_of_an_area_rises_with_falling_return_and_never_falls() -> None:
    law = ReciprocalLaw(a=0.002, b=0.0001)
    areas = [law.of_area(density) for density in (1, 10, 100, 1000, 100_000)]
    assert areas == sorted(areas)
    assert areas[-1] < 1 / law.b
    assert law.elasticity_at(1e-9) == pytest.approx(1)
    assert law.elasticity_at(1e9) == pytest.approx(0, abs=1e-6)


def test_the_elasticity_of_the_law_is_the_slope_of_its_logarithms() -> None:
    law = ReciprocalLaw(a=0.002, b=0.0001)
    near = elasticity(law.of_area(30.003) / law.of_area(30.0), 30.003 / 30.0)
    assert law.elasticity_at(30.0) == pytest.approx(near, rel=1e-3)


def test_each_law_is_found_again_from_its_own_yields() -> None:
    x = [1.0, 2.0, 4.0, 8.0, 16.0]
    law = ReciprocalLaw(a=0.3, b=0.05)
    again = fit_reciprocal(x, [law.of_plant(one) for one in x])
    assert (again.a, again.b) == pytest.approx((0.3, 0.05))
    other = ExponentialLaw(a=2.0, k=0.9)
    found = fit_exponential(x, [other.of_area(one) for one in x])
    assert (found.a, found.k) == pytest.approx((2.0, 0.9))
    assert ExponentialLaw(a=1.0, k=1.0).best_density == math.inf


def test_plants_that_do_not_compete_give_a_straight_line() -> None:
    law = fit_reciprocal([1, 2, 4], [5.0, 5.0, 5.0])
    assert law.of_area(4) == pytest.approx(20, rel=1e-3)
    assert law.elasticity_at(2) == pytest.approx(1, abs=1e-3)


def test_a_trial_that_brackets_its_best_rate_may_claim_it() -> None:
    rng = np.random.default_rng(4)
    rates = [20.0, 40.0, 60.0, 80.0, 100.0, 120.0]
    truth = np.array([-((rate - 70) ** 2) / 10 for rate in rates])
    found = seed_rate_trial(rates, [list(1000 + truth + rng.normal(0, 15, 6) + 20 * block) for block in range(4)])
    assert found.p < 0.01
    assert found.peak == pytest.approx(70, abs=5)


def test_a_trial_that_only_rises_claims_no_best_rate() -> None:
    rng = np.random.default_rng(4)
    rates = [20.0, 40.0, 60.0, 80.0]
    found = seed_rate_trial(rates, [list(np.array(rates) * 3 + rng.normal(0, 5, 4)) for _ in range(4)])
    assert found.p < 0.01
    assert found.peak is None


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: elasticity(0, 2), "yield_ratio = 0: must be above 0"),
        (lambda: elasticity(2, math.nan), "input_ratio = nan: must be above 0"),
        (lambda: elasticity(2, 1), "input_ratio = 1: the two levels must differ"),
        (lambda: fit_reciprocal([4, 4], [1, 2]), "densities = 1: at least 2 must differ"),
        (lambda: fit_reciprocal([1, 2], [1, math.nan]), "every density and yield must be above 0"),
        (lambda: fit_exponential([1, 2], [1, 0]), "every density and yield must be above 0"),
        (lambda: seed_rate_trial([1, 2, 3], [[1, 2, 3]]), "needs at least 2 blocks"),
        (lambda: seed_rate_trial([1, 2, 3], [[1, 2, 3], [1, math.nan, 3]]), "every rate needs a yield in every block"),
        (lambda: ReciprocalLaw.with_elasticity(1.4, 4, 1), "elasticity = 1.4: must lie in"),
        (lambda: warmth_response(15, 25, 20, 35), "best_c = 20 °C: must lie between 25 and 35"),
        (lambda: warmth_response(math.nan, 4, 25, 35), "temp_c = nan"),
    ],
)
def test_what_cannot_be_is_refused(call: Any, words: str) -> None:
    with pytest.raises(InputError, match=words):
        call()
