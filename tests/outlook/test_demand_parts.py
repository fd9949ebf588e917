"""The parts of the forecast of spot orders, each held against sums done the long way."""

from __future__ import annotations

import math

import numpy as np
import pytest

from trayward.outlook.demand_amounts import learn_amounts, shrunk
from trayward.outlook.demand_fading import HALF_LIVES, KEPT, before_each, blocks, faded, pick, trust
from trayward.outlook.demand_shares import STRENGTHS, learn_shares
from trayward.outlook.demand_when import _stayed, still_to_come

SLOWEST = int(np.argmax(HALF_LIVES))
FASTEST = int(np.argmin(HALF_LIVES))

# When -----------------------------------------------------------------------------------------------------------------


def poisson(k: int, mean: float) -> float:
    return math.exp(-mean) * mean**k / math.factorial(k)


def binomial(k: int, n: int, share: float) -> float:
    return math.comb(n, k) * share**k * (1 - share) ** (n - k)


@pytest.mark.parametrize("share", [0.1, 0.6, 1.0])
@pytest.mark.parametrize("early", [0.0, 0.3, 0.9])
@pytest.mark.parametrize("extra", [0.02, 0.8])
@pytest.mark.parametrize("placed", [0, 1, 3])
def test_what_is_still_to_come_is_what_bayes_rule_gives_case_by_case(
    share: float, early: float, extra: float, placed: int
) -> None:
    """All numbers of orders a day can have, each with its chance of showing so many by now, added up."""
    chances = np.zeros(40)
    for orders in range(40):
        prior = 1 - share if orders == 0 else share * poisson(orders - 1, extra)
        if orders >= placed:
            chances[orders - placed] = prior * binomial(placed, orders, early)
    if chances.sum() == 0:  # so many cannot be placed yet
        return
    chances /= chances.sum()
    parts = still_to_come(*(np.array([[value]]) for value in (share, early, extra)), np.array([[placed]]))
    first, second, more = (float(part[0, 0]) for part in parts)
    if placed == 0:
        found = [1 - first] + [first * poisson(k - 1, more) for k in range(1, 40)]
    else:
        found = [(1 - second) * poisson(k, more) + (second * poisson(k - 1, more) if k else 0) for k in range(40)]
    assert found == pytest.approx(chances, abs=1e-9)


def test_the_chance_of_having_stayed_counts_every_week_a_customer_may_have_gone() -> None:
    """Fader, Hardie & Shang (2010): gone before the first silent week, after it, ... or not at all."""
    a, b, leaving, weeks = 2.0, 0.7, 0.03, 4
    quiet = np.array([math.prod((b + i) / (a + b + i) for i in range(k)) for k in range(weeks + 1)])
    gone = sum(leaving * (1 - leaving) ** k * quiet[k] for k in range(weeks))
    here = (1 - leaving) ** weeks * quiet[weeks]
    found = _stayed(quiet[None, None, :], np.array([weeks]), leaving)
    assert found[0, 0] == pytest.approx(here / (here + gone))
    assert _stayed(quiet[None, None, :], np.array([0]), leaving)[0, 0] == 1.0


def test_the_chance_of_having_stayed_is_that_of_made_up_customers() -> None:
    rng = np.random.default_rng(3)
    share = rng.beta(2.0, 0.7, 400_000)
    goes = rng.geometric(0.03, 400_000) - 1
    silent = np.ones(400_000, dtype=bool)
    for week in range(4):
        silent &= (goes <= week) | (rng.random(400_000) >= share)
    quiet = np.array([math.prod((0.7 + i) / (2.7 + i) for i in range(k)) for k in range(5)])
    found = _stayed(quiet[None, None, :], np.array([4]), 0.03)[0, 0]
    seen = (goes >= 4)[silent]
    assert found == pytest.approx(seen.mean(), abs=4 * math.sqrt(0.25 / len(seen)))


# Fading ---------------------------------------------------------------------------------------------------------------


def test_a_week_counts_half_after_its_half_life() -> None:
    weeks = np.zeros((200, 1))
    weeks[0] = 1.0
    for way, life in enumerate(HALF_LIVES):
        assert faded(weeks[: int(life)])[way, 0] == pytest.approx(0.5)


def test_sums_before_each_week_are_those_of_the_weeks_before_it() -> None:
    rng = np.random.default_rng(1)
    weeks = rng.random((9, 2, 3))
    before, after = before_each(faded(weeks[:4]), weeks[4:])
    for number in range(5):
        assert before[number] == pytest.approx(faded(weeks[: 4 + number]))
    assert after == pytest.approx(faded(weeks))


def test_blocks_leave_no_week_out() -> None:
    for weeks, size in ((0, 10), (7, 10), (7, 100_000), (52, 10**9)):
        assert [week for block in blocks(weeks, size) for week in range(weeks)[block]] == list(range(weeks))


def test_the_way_that_foretold_a_customer_best_is_trusted_and_others_lend_to_those_who_do_not_tell() -> None:
    scores = np.zeros((3, 5))
    scores[1, :4] = 6.0
    weights = trust(scores)
    assert weights.sum(axis=1) == pytest.approx(np.ones(5))
    assert weights[0, 1] > 0.98
    assert weights[4, 1] > 0.5, "the fifth says nothing of itself"
    assert trust(np.zeros((3, 5))) == pytest.approx(np.full((5, 3), 1 / 3))


def test_ways_are_picked_as_often_as_they_are_trusted() -> None:
    weights = np.array([[0.2, 0.5, 0.3], [0.0, 0.0, 1.0]])
    picked = pick(weights, 20_000, np.random.default_rng(1))
    shares = [np.bincount(picked[:, row], minlength=3) / 20_000 for row in range(2)]
    assert shares[0] == pytest.approx(weights[0], abs=0.015)
    assert shares[1].tolist() == [0.0, 0.0, 1.0]


# How often ------------------------------------------------------------------------------------------------------------


def made_up(weeks: int, truth: np.ndarray, seed: int = 1) -> np.ndarray:
    return (np.random.default_rng(seed).random((weeks, *truth.shape)) < truth).astype(float)


def test_shares_come_near_the_truth_the_longer_they_are_seen() -> None:
    truth = np.random.default_rng(2).uniform(0.05, 0.9, (6, 7))
    errors = []
    for weeks in (4, 16, 64):
        done = made_up(weeks, truth)
        errors.append(np.abs(learn_shares(done, np.ones_like(done)).mean(0.0) - truth).mean())
    assert errors[0] > errors[1] > errors[2]
    assert errors[2] < 0.06


def test_where_a_row_has_no_chances_it_is_taken_for_the_others() -> None:
    truth = np.full((5, 7), 0.3)
    done = made_up(40, truth)
    chances = np.ones_like(done)
    chances[:, 4], done[:, 4] = 0.0, 0.0
    assert learn_shares(done, chances).mean(0.0)[4] == pytest.approx(np.full(7, 0.3), abs=0.07)


def test_a_habit_that_changed_is_learned_by_forgetting_faster() -> None:
    steady, changed = np.full((1, 7), 0.2), np.full((1, 7), 0.8)
    done = np.concatenate([made_up(52, steady, 1), made_up(12, changed, 2)])
    turned = learn_shares(done, np.ones_like(done))
    stayed = learn_shares(made_up(64, steady, 3), np.ones((64, 1, 7)))
    by_life = [one.trusted[0].reshape(len(KEPT), len(STRENGTHS)).sum(axis=1) for one in (turned, stayed)]
    assert by_life[0][FASTEST] > by_life[1][FASTEST]
    assert by_life[1][SLOWEST] > by_life[0][SLOWEST]
    assert turned.mean(0.0).mean() == pytest.approx(0.8, abs=0.1)
    assert stayed.mean(0.0).mean() == pytest.approx(0.2, abs=0.05)


def test_the_doubt_of_a_share_grows_with_the_days_ahead() -> None:
    done = made_up(30, np.full((3, 7), 0.4))
    shares = learn_shares(done, np.ones_like(done))
    near, far = (shares.draw(weeks, 4_000, np.random.default_rng(1)).std() for weeks in (0.0, 20.0))
    assert far > 1.1 * near


def test_chances_may_be_of_the_row_alone() -> None:
    done = made_up(12, np.full((3, 5), 0.4))
    one = learn_shares(done, np.ones((12, 3, 1)))
    each = learn_shares(done, np.ones((12, 3, 5)))
    assert one.mean(0.0) == pytest.approx(each.mean(0.0))


# How much -------------------------------------------------------------------------------------------------------------


def lines(customers: int, products: int, each: int, seed: int, spread: float = 0.2) -> tuple[np.ndarray, ...]:
    """Lines of every customer and product, `each` a week for ten weeks, about levels of their own."""
    rng = np.random.default_rng(seed)
    level = rng.normal(5.0, 0.6, (customers, products))
    week, who, what, _ = (axis.ravel() for axis in np.indices((10, customers, products, each)))
    day = rng.integers(0, 7, len(week))
    return level, level[who, what] + spread * rng.standard_normal(len(week)), who, what, week, day


def test_amounts_come_near_the_truth_and_their_spread_too() -> None:
    level, y, who, what, week, day = lines(4, 5, 2, 1)
    amounts = learn_amounts(y, who, what, week, day, shape=np.array([10, 4, 5]))
    drawn, spread = amounts.draw(0.0, 400, np.random.default_rng(1))
    middle = (drawn[..., None] + amounts.usual).mean(axis=(0, 3))
    assert np.abs(middle - level).mean() < 0.08
    assert np.median(spread) == pytest.approx(0.2, rel=0.25)
    assert amounts.mean(0.0).mean(axis=2) == pytest.approx(np.exp(level + 0.02), rel=0.25)


def test_a_product_a_customer_never_ordered_is_about_what_others_order_of_it() -> None:
    level, y, who, what, week, day = lines(5, 3, 2, 2)
    y = np.where(who == 0, y - level[0, what], y - level[who, what]) + np.array([4.0, 5.0, 6.0])[what]
    known = ~((who == 0) & (what == 2))
    amounts = learn_amounts(y[known], who[known], what[known], week[known], day[known], shape=np.array([10, 5, 3]))
    assert np.log(amounts.mean(0.0)[0, 2]).mean() == pytest.approx(6.0, abs=0.15)


def test_weekdays_move_amounts_only_where_they_differ() -> None:
    _, y, who, what, week, day = lines(3, 4, 6, 3)
    flat = learn_amounts(y, who, what, week, day, shape=np.array([10, 3, 4]))
    moved = learn_amounts(y + 0.8 * (day == 5), who, what, week, day, shape=np.array([10, 3, 4]))
    assert np.ptp(flat.usual, axis=2).max() < 0.15
    saturday = moved.usual[:, :, 5] - np.delete(moved.usual, 5, axis=2).mean(axis=2)
    assert saturday == pytest.approx(np.full((3, 4), 0.8), abs=0.2)


def test_a_product_that_varies_more_is_given_a_wider_spread() -> None:
    _, y, who, what, week, day = lines(2, 2, 4, 4, spread=1.0)
    narrow = what == 0
    y = np.where(narrow, 5.0 + 0.1 * (y - y.mean()), 5.0 + 0.5 * (y - y.mean()))
    amounts = learn_amounts(y, who, what, week, day, shape=np.array([10, 2, 2]))
    _, spread = amounts.draw(0.0, 400, np.random.default_rng(1))
    assert np.median(spread[..., 1]) > 2.5 * np.median(spread[..., 0])


def test_groups_that_do_not_differ_are_drawn_together_and_those_that_do_stay_apart() -> None:
    rng = np.random.default_rng(1)
    cell = np.repeat(np.arange(10), 30)
    noise = rng.standard_normal(300)
    apart = np.linspace(-2, 2, 10)
    assert np.abs(shrunk(noise, cell, 10)).max() < 0.25
    assert shrunk(noise + apart[cell], cell, 10) == pytest.approx(apart, abs=0.45)
    assert shrunk(np.array([1.0, 2.0]), np.array([0, 1]), 3).tolist() == [0.0, 0.0, 0.0], "one each tells nothing"


def test_single_lines_are_enough_to_begin() -> None:
    one = np.array([0])
    amounts = learn_amounts(np.array([math.log(80.0)]), one, one, one, one, shape=np.array([1, 1, 1]))
    assert amounts.mean(0.0) == pytest.approx(np.full((1, 1, 7), 80.0), rel=0.25)
    drawn, spread = amounts.draw(0.0, 50, np.random.default_rng(1))
    assert np.isfinite(drawn).all()
    assert np.isfinite(spread).all()
