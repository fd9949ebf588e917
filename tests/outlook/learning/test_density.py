"""The density that pays best: by hand where it is known, bounded where it is not."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from trayward.errors import InputError
from trayward.outlook.learning.density import best_level, bounds_of, curve_of, density_words, sown_alike
from trayward.outlook.learning.response import Bounds, Response, Worth, expected_profit

WIDE = Bounds(low=0.5, high=4.0, words="0.5 to 4 live seeds a cm2")


def known(slope: float = 0.4, bend: float = 0.0, grams: float = 250.0, doubt: float = 0.0) -> Response:
    mean = np.array([np.log(grams), slope, bend])
    return Response(what="density", centre=1.6, mean=mean, cov=np.eye(3) * doubt**2, tray_sd=0.0, day_sd=0.0)


def test_the_best_density_of_a_known_power_law_is_the_one_by_calculus() -> None:
    """g = G (d/c)^b brings w g - s d; its top is where w G b (d/c)^(b-1) / c = s. Steps of the grid are 1.75 %."""
    worth, b = Worth(gram=0.03, unit=1.2), 0.4
    best = best_level(known(b), worth, WIDE, 1.6)
    by_hand = 1.6 * (worth.gram * 250.0 * b / (worth.unit * 1.6)) ** (1 / (1 - b))
    assert best.level == pytest.approx(by_hand, rel=0.009)
    assert best.peak
    assert best.chance == 1.0
    gain = np.diff(expected_profit(known(b), worth, np.array([1.6, best.level])))[0]
    assert best.gain.mean == pytest.approx(gain)
    assert best.gain.low == pytest.approx(best.gain.high)


def test_dear_seed_lowers_the_best_density_and_a_dear_crop_raises_it() -> None:
    base = best_level(known(), Worth(gram=0.03, unit=1.2), WIDE, 1.6).level
    assert best_level(known(), Worth(gram=0.03, unit=2.4), WIDE, 1.6).level < base
    assert best_level(known(), Worth(gram=0.05, unit=1.2), WIDE, 1.6).level > base


def test_no_peak_is_claimed_where_it_still_pays_at_the_end_of_what_was_tried() -> None:
    near = Bounds(low=1.2, high=1.8, words="1.2 to 1.8 live seeds a cm2")
    best = best_level(known(), Worth(gram=0.03, unit=0.1), near, 1.6)
    assert best.level == pytest.approx(1.8)
    assert not best.peak
    assert "No peak inside what is supported: the best is its highest level" in best.words
    low = best_level(known(), Worth(gram=0.03, unit=9.0), near, 1.6)
    assert low.level == pytest.approx(1.2)
    assert "its lowest level" in low.words


def test_where_one_density_is_all_that_is_known_it_is_kept() -> None:
    bounds = bounds_of(None, [1.6], 1.6)
    best = best_level(known(doubt=0.1), Worth(gram=0.03, unit=0.1), bounds, 1.6)
    assert (bounds.low, bounds.high, best.level) == (1.6, 1.6, 1.6)
    assert (
        best.words == "Stay at 1.6 live seeds a cm2: no other is published or tried here, so only a trial would tell."
    )


def test_the_curve_never_bends_upwards_and_its_draws_are_those_of_a_cut_normal() -> None:
    """Against scipy's truncated normal: mean and sd of a bend of 0.05 with doubt 0.1, known to be at most 0."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from scipy.stats import truncnorm
    cov = np.array([[0.01, 0.0, 0.0], [0.0, 0.02, 0.005], [0.0, 0.005, 0.01]])
    response = Response(what="density", centre=1.6, mean=np.array([5.5, 0.3, 0.05]), cov=cov, tray_sd=0.1, day_sd=0.1)
    draws = response.draws(4096)
    cut = truncnorm(-np.inf, -0.5, loc=0.05, scale=0.1)
    assert draws[:, 2].max() <= 0.0
    assert draws[:, 2].mean() == pytest.approx(cut.mean(), abs=0.001)
    assert draws[:, 2].std() == pytest.approx(cut.std(), abs=0.001)
    # The slope moves with the bend: 0.005 / 0.01 of it.
    assert draws[:, 1].mean() == pytest.approx(0.3 + 0.5 * (cut.mean() - 0.05), abs=0.002)
    far = Response(what="density", centre=1.6, mean=np.array([5.5, 0.3, 9.0]), cov=cov, tray_sd=0.1, day_sd=0.1)
    assert np.all(np.isfinite(far.draws()))
    assert far.draws()[:, 2].max() <= 0.0


def test_the_chance_and_the_range_of_the_gain_are_honest() -> None:
    """Slopes drawn from the belief itself: 8 of 10 true gains fall in the range told (2,000 draws, error 0.009)."""
    response, worth = known(0.35, doubt=0.15), Worth(gram=0.03, unit=1.2)
    best = best_level(response, worth, Bounds(low=1.0, high=3.0, words=""), 1.6)
    rng = np.random.default_rng(3)
    mean, root = response.mean, 0.15
    true = mean + root * rng.standard_normal((8000, 3))
    true = true[true[:, 2] <= 0][:2000]
    levels = np.array([best.level, 1.6])
    profit = worth.gram * np.exp(true @ response.basis(levels).T) - worth.unit * levels
    gain = profit[:, 0] - profit[:, 1]
    assert np.mean((best.gain.low <= gain) & (gain <= best.gain.high)) == pytest.approx(0.8, abs=0.03)
    assert np.mean(gain > 0) == pytest.approx(best.chance, abs=0.04)


def test_bounds_say_where_they_come_from_and_three_trays_make_a_density_tried() -> None:
    bounds = bounds_of((1.0, 2.0), [0.5, 1.5, 1.6, 1.7, 2.4, 2.5, 2.6, 9.0], 1.6)
    assert (bounds.low, bounds.high) == (1.0, 2.5)
    assert bounds.words == "1 to 2.5 live seeds a cm2 (published 1 to 2, tried here 1.6 to 2.5)"
    assert bounds_of(None, [1.0, 1.2, 1.4], 1.6).words == "1.2 to 1.6 live seeds a cm2 (tried here 1.2 to 1.2, now 1.6)"
    assert bounds_of((1.0, 2.0), [], 2.6).high == 2.6


@pytest.mark.parametrize(
    ("worth", "words"),
    [
        (Worth(gram=0.0, unit=1.0), "worth of a gram = 0.0 currency/g: must be above 0"),
        (Worth(gram=float("nan"), unit=1.0), "worth of a gram = nan"),
        (Worth(gram=1.0, unit=-1.0), "cost of the level = -1.0: must be 0 or more"),
    ],
)
def test_a_price_that_is_none_is_refused(worth: Worth, words: str) -> None:
    with pytest.raises(InputError, match=words):
        best_level(known(), worth, WIDE, 1.6)


def test_bounds_the_wrong_way_round_and_a_density_of_nothing_are_refused() -> None:
    with pytest.raises(InputError, match="bounds = 2 to 1: the lower must not lie above the higher"):
        Bounds(low=2.0, high=1.0, words="").grid("density")
    with pytest.raises(InputError, match=r"density = 0.0 1/cm2: must be above 0"):
        known().basis(np.array([0.0]))


def test_the_curve_widens_away_from_the_density_it_is_known_at() -> None:
    curve = curve_of(known(doubt=0.1), WIDE)
    widths = [np.log(point.high / point.low) for point in curve]
    middle = min(curve, key=lambda point: abs(point.level - 1.6))
    assert np.log(middle.high / middle.low) == pytest.approx(min(widths), abs=0.02)
    assert all(point.low <= point.grams <= point.high for point in curve)
    assert (curve[0].level, curve[-1].level) == pytest.approx((0.5, 4.0))


def test_the_words_say_what_more_seed_gives() -> None:
    """1.1 ** 0.4 is 1.0389."""
    said = density_words("radish", known(0.4), WIDE, 12)
    assert said.startswith("About 1.6 live seeds a cm2, 10 % more seed gives 3.9 % more weight")
    assert "by published trials and 12 trays of radish with a known density" in said
    alike = density_words("radish", known(0.4), WIDE, 12, alike=True)
    assert "by published trials alone; this farm's 12 trays of radish were sown alike and say nothing of it" in alike
    assert sown_alike([1.6, 1.61, 1.6])
    assert sown_alike([1.6])
    assert not sown_alike([1.2, 1.6, 2.0])
