"""Whether doubt is honest: on farms whose truth is known, and on past weeks of a farm's book."""

from __future__ import annotations

import math
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from multiprocessing import get_context

import numpy as np
import pytest

from tests.outlook.grown import BROCCOLI, DAY, MONDAY, cut_tray, farm, standing_tray
from trayward.farm.state import FarmState
from trayward.outlook.ahead import look_ahead
from trayward.outlook.calibration import Foretold, calibration, share_of, summed_up
from trayward.outlook.draws import Proposed
from trayward.outlook.types import TrayOutlook
from trayward.study.fields import Field, Habits, Off
from trayward.study.honesty import Told, held, told_of_farm

FARMS, SIZES = 24, (0, 5, 30, 200)
"""A share of 0.8 is then known to 0.03 to 0.04, one standard error; `benchmarks.calibration` asks more farms."""


# How a share is reckoned ----------------------------------------------------------------------------------------------


def test_what_was_seen_between_two_looks_counts_by_the_part_a_range_holds() -> None:
    assert Foretold("days", "s", 0.05, 0.15).held_by(0.8) == pytest.approx(0.5)
    assert Foretold("days", "s", 0.2, 0.3).held_by(0.8) == 1.0
    assert Foretold("days", "s", 0.95, 1.0).held_by(0.8) == 0.0
    assert Foretold("grams", "s", 0.5, 0.5).held_by(0.5) == 1.0


def test_even_shares_are_held_as_promised_and_low_ones_are_not() -> None:
    even = [Foretold("grams", f"s{at}", x, x) for at, x in enumerate(np.linspace(0.001, 0.999, 999))]
    rows = {row.promised: row for row in summed_up(even, 4).rows}
    assert {promised: round(row.held, 2) for promised, row in rows.items()} == {0.5: 0.5, 0.8: 0.8, 0.95: 0.95}
    low = summed_up([Foretold("grams", f"s{at}", 0.04, 0.04) for at in range(50)], 4)
    assert "too narrow for grams" in low.words


def test_shares_are_read_off_between_sorted_cases() -> None:
    cases = np.array([1.0, 2.0, 3.0, 4.0])
    assert share_of(cases, 2.5) == pytest.approx(0.5)
    assert (share_of(cases, 0.0), share_of(cases, 9.0)) == (0.0, 1.0)


def test_a_farm_without_a_past_is_told_so() -> None:
    told = calibration(farm(), MONDAY)
    assert told.rows == ()
    assert "nothing can be held" in told.words


# Farms with known truth -----------------------------------------------------------------------------------------------


def _one(number: int) -> list[Told]:
    """Every third farm logs warmth, every other answers a fifth of its sowings for all trays together."""
    habits = Habits(logs_warmth=number % 3 == 0, together=0.2 if number % 2 else 0.0)
    return told_of_farm(number, SIZES, habits)


def of_many(one: Callable[[int], list[Told]], farms: int) -> list[Told]:
    """What is foretold on many farms, two at a time."""
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        return [told for farm in pool.map(one, range(farms), chunksize=5) for told in farm]


@pytest.mark.slow
def test_ranges_for_80_in_100_hold_so_many_and_so_do_the_others() -> None:
    """Of each thing and size the 80 % ranges hold 78 to 82 in 100, give or take two and a half standard errors."""
    told = of_many(_one, FARMS)
    for what in ("grams", "days", "days at looks", "rest of days", "grams of standing", "sum of grams", "last of days"):
        sizes = [
            size for size in SIZES if size or ("standing" not in what and "rest" not in what)
        ]  # nothing stands yet
        for size in sizes:
            found = held(told, what, size, 0.8)  # type: ignore[arg-type]
            assert found.farms > FARMS / 3
            assert found.agrees(0.8, leeway=0.02, errors=2.5), (what, size, found)
        for promised in (0.5, 0.8, 0.95):
            shares = [held(told, what, size, promised) for size in sizes]  # type: ignore[arg-type]
            mean, error = np.mean([share.held for share in shares]), np.mean([share.error for share in shares])
            assert abs(mean - promised) < 0.02 + 1.5 * error, (what, promised, mean, error)


@pytest.mark.slow
def test_a_share_that_is_not_honest_would_be_noticed() -> None:
    """Farms whose spreads are all twice what is believed break the ranges of a new farm."""
    wild = of_many(_wild, 40)
    assert not held(wild, "days", 0, 0.8).agrees(0.8, leeway=0.02, errors=2.5)


def _wild(number: int) -> list[Told]:
    return told_of_farm(number, (0,), None, Off(spreads=2.5))


def test_ranges_and_scenarios_agree() -> None:
    """Shares of 8,000 joint draws (error 0.006) below the ranges shown, which 512 even points know to about 0.02."""
    field = Field(np.random.default_rng(5), 40)
    for size in (0, 12, 40):
        at = field.moment_of(size)
        outlook = look_ahead(field.state(at), at)
        recipe = next(one for one in field.recipes.values() if one.crop == "radish")
        shown = outlook.proposed(recipe, at, "radish 0")
        draws = outlook.draws([Proposed(recipe=recipe, sow_at=at, lot="radish 0")], 8000, np.random.default_rng(1))
        assert shown.grams is not None
        days = [(when - at) / DAY for when in (shown.ready.low, shown.ready.likely, shown.ready.high)]
        for quantity, bounds in (
            (draws.grams[:, -1], (shown.grams.low, shown.grams.likely, shown.grams.high)),
            (draws.ready_days[:, -1], days),
        ):
            below = [float((quantity < bound).mean()) for bound in bounds]
            assert below == pytest.approx([0.1, 0.5, 0.9], abs=0.03)


# Past weeks of a book -------------------------------------------------------------------------------------------------


@pytest.mark.slow
def test_past_weeks_of_farms_with_known_truth_hold_what_they_promised() -> None:
    """Here what was seen is all there is: ready between two looks, weights as they were written down."""
    rows: dict[tuple[str, float], list[float]] = {}
    for number in range(6):
        field = Field(np.random.default_rng(300 + number), 200)
        at = field.moment_of(200)
        for row in calibration(field.state(at), at, weeks=4).rows:
            rows.setdefault((row.what, row.promised), []).append(row.held)
    assert len(rows) == 6  # days and grams, three ranges
    for (what, promised), shares in rows.items():
        error = np.std(shares, ddof=1) / math.sqrt(len(shares))
        assert abs(np.mean(shares) - promised) < 0.02 + 2.5 * error, (what, promised, np.mean(shares), error)


# Thin and odd books ---------------------------------------------------------------------------------------------------


def finite(told: TrayOutlook) -> bool:
    assert told.grams is not None
    grams = (told.grams.low, told.grams.likely, told.grams.high, told.grams.mean or 0.0)
    return all(map(math.isfinite, (*grams, told.loss))) and told.ready.low <= told.ready.likely <= told.ready.high


def ahead(state: FarmState, lot: str = "") -> TrayOutlook:
    return look_ahead(state, MONDAY).proposed(BROCCOLI, MONDAY, lot)


def test_one_tray_all_alike_and_a_lot_never_seen_give_figures() -> None:
    one = farm(cut_tray(1, 95.0))
    alike = farm(*(cut_tray(number, 95.0, density=5.0) for number in range(60)))
    for state in (farm(), one, alike):
        assert finite(ahead(state))
        assert finite(ahead(state, "NEVER SEEN"))


def test_from_no_tray_to_a_thousand_ranges_narrow_and_the_published_figures_count_for_less() -> None:
    """Trays of one recipe, four a sowing, one sowing a day; 200 g give or take 12 %, the published 118 to 340 g."""
    chance = np.random.default_rng(4)
    grams = 200.0 * np.exp(chance.normal(0.0, 0.12, 1000))
    trays = [
        cut_tray(number, float(grams[number]), sowing=f"s{number // 4}", sown=MONDAY - DAY * (20 + number // 4))
        for number in range(1000)
    ]
    told = [ahead(farm(*trays[:count])) for count in (0, 1, 5, 30, 1000)]
    assert all(map(finite, told))
    widths = [math.log(one.grams.high / one.grams.low) for one in told if one.grams is not None]
    days = [(one.ready.high - one.ready.low) / DAY for one in told]
    for narrowing in (widths, days):
        assert all(after < before for before, after in pairwise(narrowing))
    rests = [one.grams_basis for one in told]
    assert [one.own_trays for one in rests] == [0, 1, 5, 30, 1000]
    published = [one.prior_trays / (one.own_trays + one.prior_trays) for one in rests]
    assert published[0] == 1
    assert all(0 < after < before for before, after in pairwise(published))
    assert told[-1].grams is not None
    assert told[-1].grams.likely == pytest.approx(200, rel=0.02)  # 250 sowings, one recipe, one lot


def test_one_tray_hurried_through_in_the_book_does_not_widen_the_days_of_all() -> None:
    """Light begun and over within the hour was caught up on: it is named, and the others' days stay as they were."""
    good = [cut_tray(number, 200.0) for number in range(20)]
    state = farm(*good, cut_tray(20, 200.0, lengths=(3.0, 1.0, 0.04)))
    assert "stage-time-odd" in {finding.code for finding in look_ahead(state, MONDAY).findings}
    with_it, without = ahead(state).ready, ahead(farm(*good)).ready
    assert abs(with_it.high - without.high) < DAY / 4
    assert abs(with_it.low - without.low) < DAY / 4


def test_seed_ten_times_off_and_insisted_on_does_not_move_trays_sown_as_usual() -> None:
    good = [cut_tray(number, 190.0 + number % 20, density=5.0) for number in range(40)]
    with_it, without = ahead(farm(*good, cut_tray(40, 200.0, density=50.0))).grams, ahead(farm(*good)).grams
    assert with_it is not None
    assert without is not None
    for mine, theirs in ((with_it.low, without.low), (with_it.likely, without.likely), (with_it.high, without.high)):
        assert mine == pytest.approx(theirs, rel=0.02)


def test_a_weight_ten_times_off_is_pointed_out_and_does_not_move_the_rest() -> None:
    good = [cut_tray(number, 90.0 + number % 9) for number in range(20)]
    state = farm(*good, cut_tray(20, 950.0))
    outlook = look_ahead(state, MONDAY)
    assert "weight-wild" in {finding.code for finding in outlook.findings}
    with_it, without = ahead(state).grams, ahead(farm(*good)).grams
    assert with_it is not None
    assert without is not None
    assert with_it.likely == pytest.approx(without.likely, rel=1e-6)


def test_a_clock_set_wrong_is_pointed_out() -> None:
    tray = cut_tray(1, 95.0)
    tray.steps[0].until = tray.steps[0].since - timedelta(days=2)
    state = farm(tray, cut_tray(2, 95.0))
    assert "stage-time-odd" in {finding.code for finding in look_ahead(state, MONDAY).findings}
    assert finite(ahead(state))


def test_a_standing_tray_far_beyond_its_time_still_has_a_range() -> None:
    late = standing_tray("germinate", MONDAY, not_yet=MONDAY + 25 * DAY)
    at = datetime(2026, 11, 28, tzinfo=UTC)
    told = look_ahead(farm(cut_tray(1, 95.0), standing=(late,)), at).standing(late)
    assert told.ready.low >= MONDAY + 25 * DAY
    assert finite(told)
