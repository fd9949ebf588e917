"""How much of the spread comes from what."""

from __future__ import annotations

import doctest

import numpy as np
import pytest

from tests.outlook.grown import MONDAY, cut_tray, farm
from tests.outlook.learning.grown import Truth, recipe, taught
from trayward.errors import InputError
from trayward.outlook.ahead import look_ahead
from trayward.outlook.learning import shares
from trayward.outlook.learning.drift import drift_of
from trayward.outlook.learning.effects import lot_effects
from trayward.outlook.learning.shares import variance_shares, yield_spread


def test_the_example_in_the_docstring_holds() -> None:
    result = doctest.testmod(shares)
    assert result.attempted > 0
    assert result.failed == 0


def test_known_spreads_share_the_variance_exactly() -> None:
    """3-4-5: 0.09 and 0.16 of 0.25."""
    lot, tray = variance_shares(["tray", "lot"], np.log([0.3, 0.4]), np.zeros((2, 2)))
    assert (lot.what, lot.share, lot.low, lot.high) == ("lot", *[pytest.approx(0.64)] * 3)
    assert tray.share == pytest.approx(0.36)


def test_the_range_of_a_share_is_that_of_a_logistic_normal() -> None:
    """Of two parts the share is 1 / (1 + exp(-2 d)), d normal: its tenths are known in closed form."""
    lot, _ = variance_shares(["lot", "tray"], np.log([0.2, 0.15]), np.diag([0.3**2, 0.0]))
    d = np.log(0.2 / 0.15) + np.array([-1.2816, 1.2816]) * 0.3
    assert [lot.low, lot.high] == pytest.approx(1 / (1 + np.exp(-2 * d)), abs=0.005)


def test_a_spread_nobody_knows_may_be_all_or_nothing() -> None:
    lot, _ = variance_shares(["lot", "tray"], np.log([0.1, 0.1]), np.diag([np.inf, 0.01]))
    assert lot.low < 0.01
    assert lot.high > 0.99


def test_a_spread_that_is_no_number_is_refused() -> None:
    with pytest.raises(InputError, match="each cause needs a spread"):
        variance_shares(["lot"], np.array([np.nan]), np.zeros((1, 1)))


def test_a_farm_whose_lots_differ_hears_that_its_lots_explain_the_spread() -> None:
    """True sds 0.3 (lot), 0.1 (sowing), 0.1 (tray): the lots' true share is 0.82, its range that of 12 lots."""
    radish = recipe()
    truth = Truth(np.random.default_rng(3))
    even = np.linspace(-1, 1, 12)
    truth.lots = {f"radish {k + 1}": float(0.3 * x / even.std(ddof=1)) for k, x in enumerate(even)}
    said = yield_spread(taught([radish], truth.rows(radish, sowings=96, lots=12)))
    assert said.shares[0].what == "lot"
    assert said.shares[0].low < 0.82 < said.shares[0].high
    assert said.shares[0].high - said.shares[0].low > 0.15
    assert sum(share.share for share in said.shares) == pytest.approx(1.0)
    assert {share.what: share.levels for share in said.shares}["lot"] == 12
    assert "from the seed lot" in said.words
    assert said.trays == 288


def test_a_recipe_that_stands_alone_explains_nothing() -> None:
    radish = recipe()
    said = yield_spread(taught([radish], Truth(np.random.default_rng(3)).rows(radish, sowings=20, lots=2)))
    assert "recipe" not in {share.what for share in said.shares}


def test_where_each_recipe_had_one_lot_the_two_cannot_be_told_apart_and_that_is_said() -> None:
    radish, pea = recipe(), recipe("pea")
    truth = Truth(np.random.default_rng(3))
    one = truth.rows(radish, sowings=10, lots=1) + truth.rows(pea, sowings=10, lots=1)
    said = yield_spread(taught([radish, pea], one))
    assert said.one_lot_each
    assert said.words.endswith("is mostly a guess.")
    assert all(lot.alone for lot in lot_effects(taught([radish, pea], one)))
    two = truth.rows(radish, sowings=10, lots=2) + truth.rows(pea, sowings=10, lots=1)
    said = yield_spread(taught([radish, pea], two))
    assert not said.one_lot_each
    assert "guess" not in said.words
    assert [lot.alone for lot in lot_effects(taught([radish, pea], two))].count(False) == 2


def test_trays_that_are_all_written_down_alike_have_no_spread_and_no_drift() -> None:
    model = look_ahead(farm(*(cut_tray(number, 200.0) for number in range(60))), MONDAY).yields
    said = yield_spread(model)
    assert (said.shares, said.trays) == ((), 60)
    assert said.words.startswith("All trays are written down with the same weight")
    assert drift_of(model).words == said.words


def test_without_a_tray_it_says_that_nothing_is_known() -> None:
    said = yield_spread(taught([recipe()], []))
    assert said.shares == ()
    assert said.words == "Nothing is known of the spread of weights yet: no tray was cut here."


def test_one_tray_gives_shares_with_wide_ranges_and_no_crash() -> None:
    radish = recipe()
    said = yield_spread(taught([radish], Truth(np.random.default_rng(1)).rows(radish, sowings=1, trays=1)))
    assert said.trays == 1
    assert all(0 <= share.low <= share.share <= share.high <= 1 for share in said.shares)
