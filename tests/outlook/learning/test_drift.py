"""Slow change is told where there is one, and what could have been seen where there is none."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from tests.outlook.learning.grown import Truth, recipe, taught
from trayward.outlook.learning.drift import drift_of
from trayward.outlook.rows import FIRST_MONDAY, SEASON_DAYS


def test_a_farm_whose_trays_grow_lighter_hears_so_with_the_truth_in_its_range() -> None:
    """5 % lighter every 30 days over 240 days."""
    radish = recipe()
    truth = Truth(np.random.default_rng(7))
    truth.per_month = -0.05
    said = drift_of(taught([radish], truth.rows(radish, sowings=80, lots=2)))
    assert said.farm is not None
    assert said.farm.seen
    assert said.farm.low < np.exp(-0.05) < said.farm.high < 1.0
    assert "lighter" in said.words
    assert (said.farm.sowings, said.farm.days) == (80, 237)


def test_no_drift_is_told_with_what_would_have_shown() -> None:
    radish = recipe()
    said = drift_of(taught([radish], Truth(np.random.default_rng(8)).rows(radish, sowings=80, lots=2)))
    assert said.farm is not None
    assert not said.farm.seen
    assert 0.0 < said.farm.could_see < 0.2
    assert said.words.startswith("The farm's trays: no drift seen over 80 sowings in 237 days; one of ")


@pytest.mark.slow
def test_drift_is_seldom_told_where_there_is_none() -> None:
    """60 farms of 60 sowings without a trend, seasons alike: at most 1 in 10, and three Monte Carlo errors of 0.039."""
    radish = recipe()
    seen = 0
    for seed in range(60):
        said = drift_of(taught([radish], Truth(np.random.default_rng(seed)).rows(radish, sowings=60, lots=3)))
        assert said.farm is not None
        seen += said.farm.seen
    assert seen / 60 <= 0.1 + 3 * 0.039


def test_only_the_crop_that_drifts_is_named() -> None:
    radish, pea = recipe(), recipe("pea")
    truth = Truth(np.random.default_rng(9))
    rows = truth.rows(pea, sowings=60, lots=2)
    truth.per_month = 0.08
    rows += truth.rows(radish, sowings=60, lots=2)
    said = drift_of(taught([radish, pea], rows))
    assert {trend.crop: trend.seen for trend in said.crops} == {"pea": False, "radish": True}
    assert "Radish trays grow heavier" in said.words
    assert "Pea" not in said.words


def test_seasons_come_in_order_and_the_poor_one_is_the_poorest() -> None:
    radish = recipe()
    truth = Truth(np.random.default_rng(10))
    rows = truth.rows(radish, sowings=40, lots=2)
    poor = sorted({row.season for row in rows})[2]
    truth = Truth(np.random.default_rng(10))
    truth.seasons = {poor: -0.3}
    said = drift_of(taught([radish], truth.rows(radish, sowings=40, lots=2)))
    assert [season.first for season in said.seasons] == sorted(season.first for season in said.seasons)
    poorest = min(said.seasons, key=lambda season: season.factor)
    assert poorest.first == FIRST_MONDAY + timedelta(days=SEASON_DAYS * poor)
    assert sum(season.trays for season in said.seasons) == 120


@pytest.mark.parametrize("sowings", [0, 1, 5])
def test_too_little_to_go_by_is_said(sowings: int) -> None:
    radish = recipe()
    said = drift_of(taught([radish], Truth(np.random.default_rng(1)).rows(radish, sowings=sowings)))
    assert said.farm is None
    assert said.words == "Too few weeks or sowings yet to tell a slow change."
