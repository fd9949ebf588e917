"""The spread of stage times and the lots that are slow, on farms whose truth is known."""

from __future__ import annotations

import math
import re
from datetime import timedelta

import numpy as np
import pytest

from tests.outlook.learning.grown import BEGAN, recipe
from trayward.outlook.learning.of_stages import Seen, seen_of, stage_spread, stage_stand_outs
from trayward.outlook.rows import FIRST_MONDAY, SEASON_DAYS, StageRow

RADISH = recipe()


def seen_through(seed: int, *, sowings: int = 40, lots: int = 4, slow: str = "", by: float = 0.0) -> Seen:
    """Trays seen through the light stage, looked at every six hours; lots alike but for one that is slow. [log d]"""
    rng = np.random.default_rng(seed)
    rows = []
    for number in range(sowings):
        lot, at = f"radish {number % lots + 1}", BEGAN + timedelta(days=3 * number)
        day = rng.normal(0, 0.15) + (by if lot == slow else 0.0)
        for tray in range(4):
            days = 4.0 * math.exp(day + rng.normal(0, 0.05))
            low = math.floor(4 * days) / 4
            rows.append(
                StageRow(
                    tray=f"{number}.{tray}",
                    stage="light",
                    recipe=RADISH.name,
                    sowing=f"{RADISH.name}|{lot}|{at.date().isoformat()}",
                    lot=lot,
                    season=(at.date() - FIRST_MONDAY).days // SEASON_DAYS,
                    low=low,
                    high=low + 0.25,
                    at=at + timedelta(days=7),
                )
            )
    return seen_of("light", {RADISH.name: RADISH}, rows)


def test_what_explains_the_days_of_a_stage_adds_up_and_sowings_lead_where_they_differ_most() -> None:
    """True sds 0.15 (sowing) and 0.05 (tray): 0.9 and 0.1 of the variance, were lots and seasons known to be alike."""
    said = stage_spread(seen_through(1, sowings=60))
    by_name = {share.what: share for share in said.shares}
    assert sum(share.share for share in said.shares) == pytest.approx(1.0)
    assert said.shares[0].what == "sowing"
    assert by_name["sowing"].high > 0.75
    assert 0.05 < by_name["tray"].low < by_name["tray"].high < 0.3
    assert "recipe" not in by_name
    assert by_name["lot"].high > by_name["lot"].share > by_name["lot"].low
    assert (said.trays, by_name["sowing"].levels) == (240, 60)
    assert said.words.startswith("Of the spread of days in light, ")


def test_a_slow_lot_is_named_with_how_much_longer_it_takes() -> None:
    said = stage_stand_outs(seen_through(2, slow="radish 3", by=0.4))
    assert [one.name for one in said.found] == ["radish 3"]
    (slow,) = said.found
    assert slow.low < math.exp(0.4) < slow.high * 1.05  # shrunken a little
    assert slow.trays == 40
    assert re.search(r"takes about \d+ % longer \(\d+ to \d+ %\) in light than its like, by 40 trays", slow.words)


@pytest.mark.slow
def test_lots_that_are_alike_are_seldom_named() -> None:
    """40 farms: at most 1 in 10 may name one; three Monte Carlo errors of 0.047 let pass."""
    named = sum(bool(stage_stand_outs(seen_through(seed)).found) for seed in range(40))
    assert named / 40 <= 0.1 + 3 * 0.047


def test_without_a_tray_seen_through_it_says_so() -> None:
    model = seen_of("light", {RADISH.name: RADISH}, [])
    assert stage_spread(model).words == (
        "Nothing is known of the spread of days in light yet: no tray was seen through it here."
    )
    assert stage_stand_outs(model).looked_at == 0


def test_one_tray_gives_shares_and_no_crash() -> None:
    said = stage_spread(seen_through(3, sowings=1, lots=1))
    assert all(0 <= share.low <= share.share <= share.high <= 1 for share in said.shares)
    assert stage_stand_outs(seen_through(3, sowings=1, lots=1)).found == ()
