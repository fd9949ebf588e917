"""Scenarios: what trays share they share in every one, and all scenarios together are the ranges that pages show."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import msgspec
import numpy as np
import pytest

from tests.outlook.grown import BROCCOLI, DAY, MONDAY, cut_tray, farm, standing_tray
from trayward.errors import InputError
from trayward.farm.recipes import YieldPrior
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, Tray
from trayward.library.recipes import standard_recipe
from trayward.outlook.ahead import Outlook, look_ahead
from trayward.outlook.draws import Draws, Proposed
from trayward.outlook.types import TrayOutlook, When

MANY = 6_000
"""Scenarios: a share of 0.1 is then known to 0.004, one standard error."""


def lived(count: int = 40) -> list[Tray]:
    """Sowings of two trays that differ by sowing and by tray, some of them slow, two of them lost."""
    trays = []
    for number in range(count):
        heavy, slow = 95.0 * (1.0 + 0.15 * np.sin(number)), 3.0 + 0.5 * (number % 3 == 0)
        trays += [
            cut_tray(
                2 * number + sister,
                round(heavy * (1.0 + 0.06 * np.cos(7.0 * number + 3 * sister)), 1),
                sowing=f"A{number:02d}",
                sown=MONDAY - DAY * (60 - number),
                lot=f"L{number // 10}",
                lengths=(slow, 1.0, 4.0),
            )
            for sister in range(2)
        ]
    for tray in trays[:2]:
        tray.fate, tray.grams, tray.reason = "discarded", None, "mould"
    return trays


def drawn(outlook: Outlook, *sowings: Proposed, n: int = MANY, seed: int = 1) -> Draws:
    return outlook.draws(sowings, n, np.random.default_rng(seed))


def own_farm(*standing: Tray) -> FarmState:
    return farm(*lived(), standing=standing)


@pytest.fixture(scope="module", params=["nothing known", "own trays"])
def outlook(request: pytest.FixtureRequest) -> Outlook:
    standing = (
        standing_tray("germinate", MONDAY - DAY * 3, not_yet=MONDAY - DAY * 0.2),
        standing_tray("light", MONDAY - DAY * 3, not_yet=MONDAY - DAY * 0.2, tray="t.1", sowing="t"),
    )
    state = farm(standing=standing) if request.param == "nothing known" else own_farm(*standing)
    return look_ahead(state, MONDAY)


def shares(when: When) -> list[float]:
    assert when.half is not None
    assert when.most is not None
    moments = (when.most[0], when.low, when.half[0], when.likely, when.half[1], when.high, when.most[1])
    return [(moment - MONDAY) / DAY for moment in moments]


def held(told: TrayOutlook, days: np.ndarray, grams: np.ndarray) -> None:
    """Of the scenarios, about as many lie below each edge of a range as the range says."""
    promised = (0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975)
    below = [float((days <= edge + 1e-9).mean()) for edge in shares(told.ready)]
    assert below == pytest.approx(promised, abs=0.03)
    found = told.grams
    assert found is not None
    assert found.half is not None
    assert found.most is not None
    edges = (found.most[0], found.low, found.half[0], found.likely, found.half[1], found.high, found.most[1])
    assert [float((grams <= edge).mean()) for edge in edges] == pytest.approx(promised, abs=0.03)


def test_the_scenarios_of_a_new_tray_are_its_range(outlook: Outlook) -> None:
    scenarios = drawn(outlook, Proposed(recipe=BROCCOLI, sow_at=MONDAY))
    held(outlook.proposed(BROCCOLI, MONDAY), scenarios.ready_days[:, -1], scenarios.grams[:, -1])


def test_the_scenarios_of_standing_trays_are_their_ranges(outlook: Outlook) -> None:
    scenarios = drawn(outlook)
    for at, name in enumerate(scenarios.trays):
        tray = outlook.state.tray(name)
        assert tray is not None
        held(outlook.standing(tray), scenarios.ready_days[:, at], scenarios.grams[:, at])


def test_the_same_generator_gives_the_same_scenarios_and_another_gives_others() -> None:
    outlook = look_ahead(own_farm(standing_tray("light", MONDAY)), MONDAY)
    sowing = Proposed(recipe=BROCCOLI, sow_at=MONDAY, trays=2)
    one, two, three = (drawn(outlook, sowing, n=16, seed=seed) for seed in (5, 5, 6))
    assert np.array_equal(one.grams, two.grams)
    assert np.array_equal(one.ready_days, two.ready_days)
    assert np.array_equal(one.lost, two.lost)
    assert not np.array_equal(one.grams, three.grams)


def test_trays_of_a_sowing_rise_and_fall_together_more_than_trays_of_two() -> None:
    outlook = look_ahead(own_farm(), MONDAY)
    scenarios = drawn(outlook, *(Proposed(recipe=BROCCOLI, sow_at=MONDAY, trays=2) for _ in range(2)))
    alike = np.corrcoef(np.log(scenarios.grams).T)
    assert alike[0, 1] > alike[0, 2] + 0.2
    days = np.corrcoef(scenarios.ready_days.T)
    assert days[0, 1] > days[0, 2] + 0.2
    assert scenarios.sowing.tolist() == [0, 0, 1, 1]
    # What a sowing of two brings is less sure than two trays each for itself would make it.
    assert np.log(scenarios.grams[:, :2].sum(axis=1)).std() > np.log(scenarios.grams[:, [0, 2]].sum(axis=1)).std()


def test_two_sowings_of_a_crop_share_what_nobody_knows_of_it_yet() -> None:
    scenarios = drawn(
        look_ahead(farm(), MONDAY), *(Proposed(recipe=BROCCOLI, sow_at=MONDAY + DAY * day) for day in (0, 1))
    )
    assert np.corrcoef(np.log(scenarios.grams).T)[0, 1] > 0.6


def test_a_sowing_of_a_poor_lot_is_poor_in_most_scenarios() -> None:
    trays = lived()
    for tray in trays:
        if tray.lots == ("L3",) and tray.grams is not None:
            tray.grams *= 0.6
    outlook = look_ahead(farm(*trays), MONDAY)
    scenarios = drawn(outlook, *(Proposed(recipe=BROCCOLI, sow_at=MONDAY, lot=lot) for lot in ("L3", "L1")))
    assert (scenarios.grams[:, 0] < scenarios.grams[:, 1]).mean() > 0.85


def test_scenarios_lose_as_many_trays_as_the_chance_says(outlook: Outlook) -> None:
    scenarios = drawn(outlook, Proposed(recipe=BROCCOLI, sow_at=MONDAY, trays=4))
    told = [outlook.standing(tray).loss for tray in outlook.state.growing()]
    told += [outlook.proposed(BROCCOLI, MONDAY).loss] * 4
    assert scenarios.lost.mean(axis=0).tolist() == pytest.approx(told, abs=0.012)


def test_nothing_is_ready_before_now_but_what_is_ready_already() -> None:
    ready = standing_tray("ready", MONDAY - DAY * 1.5, tray="r.1", sowing="r")
    late = standing_tray("light", MONDAY - DAY * 9, not_yet=MONDAY - timedelta(hours=1), tray="l.1", sowing="l")
    scenarios = drawn(look_ahead(own_farm(ready, late), MONDAY), n=200)
    assert scenarios.trays == ("r.1", "l.1")
    assert scenarios.stages == ((), ("light",))
    assert scenarios.ready_days[:, 0] == pytest.approx(-1.5)
    assert not scenarios.lost[:, 0].any()
    assert (scenarios.ready_days[:, 1] >= 0).all()
    assert np.isnan(scenarios.stage_days[:, 0]).all()


def test_stages_of_a_new_tray_end_one_after_another() -> None:
    scenarios = drawn(look_ahead(own_farm(), MONDAY), Proposed(recipe=BROCCOLI, sow_at=MONDAY + DAY * 2), n=300)
    assert scenarios.stages == (("germinate", "blackout", "light"),)
    ends = scenarios.stage_days[:, 0]
    assert (ends[:, 0] > 2.0).all()
    assert (np.diff(ends, axis=1) > 0).all()
    assert np.array_equal(ends[:, -1], scenarios.ready_days[:, 0])


def test_a_tray_that_waits_gains_and_a_lost_one_brings_nothing() -> None:
    growing = msgspec.structs.replace(BROCCOLI, growth_a_day=0.1)
    scenarios = drawn(look_ahead(farm(recipe=growing), MONDAY), Proposed(recipe=growing, sow_at=MONDAY, trays=3), n=500)
    after = scenarios.grams_after(2.0)
    assert after[~scenarios.lost] == pytest.approx((scenarios.grams * 1.21)[~scenarios.lost])
    assert (after[scenarios.lost] == 0).all()
    assert scenarios.lost.any()


def test_what_nobody_knows_has_no_grams() -> None:
    blank = msgspec.structs.replace(BROCCOLI, name="moonwort", crop="moonwort", yield_prior=YieldPrior())
    scenarios = drawn(look_ahead(farm(recipe=blank), MONDAY), Proposed(recipe=blank, sow_at=MONDAY), n=8)
    assert np.isnan(scenarios.grams).all()
    assert np.isfinite(scenarios.ready_days).all()


def test_a_farm_with_nothing_gives_empty_scenarios() -> None:
    scenarios = drawn(look_ahead(FarmState(), MONDAY), n=4)
    assert scenarios.grams.shape == (4, 0)
    assert scenarios.trays == ()


def test_no_scenarios_and_sowings_without_trays_are_refused() -> None:
    outlook = look_ahead(farm(), MONDAY)
    with pytest.raises(InputError, match="n = 0: must be at least 1"):
        drawn(outlook, n=0)
    with pytest.raises(InputError, match="trays = 0: a proposed sowing has at least one"):
        drawn(outlook, Proposed(recipe=BROCCOLI, sow_at=MONDAY, trays=0))


def test_sowings_of_many_days_drawn_at_once_are_like_those_drawn_one_by_one() -> None:
    """Means, spreads and what two days share agree within what 3,000 cases leave open."""
    state = FarmState(settings=FarmSettings(name="Lantern Loft"), recipes={"broccoli": standard_recipe("broccoli")})
    at, outlook = datetime(2026, 2, 2, 7, tzinfo=UTC), look_ahead(state, datetime(2026, 2, 2, 7, tzinfo=UTC))
    recipe, rng = state.recipes["broccoli"], np.random.default_rng(4)
    each = [Proposed(recipe=recipe, sow_at=at + timedelta(days=day)) for day in range(3)]
    single = outlook.draws(each, 3000, rng)
    many = outlook.draws([Proposed(recipe=recipe, sow_at=at, days=3)], 3000, rng)
    assert many.ready_days.shape == single.ready_days.shape
    for one, other in ((single.ready_days, many.ready_days), (np.log(single.grams), np.log(many.grams))):
        assert np.allclose(one.mean(axis=0), other.mean(axis=0), atol=4 * one.std() / math.sqrt(3000) * 1.5)
        assert np.allclose(one.std(axis=0), other.std(axis=0), rtol=0.12)
        assert np.allclose(np.corrcoef(one.T), np.corrcoef(other.T), atol=0.1)
    assert abs(single.lost.mean() - many.lost.mean()) < 0.01


def test_a_sowing_on_many_days_has_one_tray_a_day() -> None:
    recipe = standard_recipe("broccoli")
    state = FarmState(settings=FarmSettings(name="Lantern Loft"), recipes={"broccoli": recipe})
    at = datetime(2026, 2, 2, 7, tzinfo=UTC)
    with pytest.raises(InputError, match="days = 3 d: must be 1, or more with one tray a day"):
        look_ahead(state, at).draws([Proposed(recipe=recipe, sow_at=at, trays=2, days=3)], 5, np.random.default_rng(1))
