"""How much of a lot is alive: label, own tests and time in store, told with doubt."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import msgspec
import pytest

from tests.farm.told import lantern_loft
from trayward.farm.crops import CropFacts, Fact
from trayward.farm.entries import SeedReceived, SeedTested
from trayward.farm.live_seed import live_density_doubt, live_seed
from trayward.farm.state import SeedLot
from trayward.science.seed_life import Store
from trayward.science.viability import live_share

AT = datetime(2026, 11, 25, 7, tzinfo=UTC)
YEAR = timedelta(days=365.25)
RADISH = CropFacts(
    crop="radish",
    family="Brassicaceae",
    facts={"germ_pct_fsa_min": Fact(value=75.0), "tsw_g_low": Fact(value=7.1), "tsw_g_high": Fact(value=14.2)},
)
ONION = CropFacts(crop="onion", family="Amaryllidaceae", facts={"germ_pct_fsa_min": Fact(value=70.0)})


def lot(**fields: object) -> SeedLot:
    plain = SeedLot(lot="RAD-1", crop="radish", received_at=AT, received_g=500.0, left_g=500.0)
    return msgspec.structs.replace(plain, **fields)


def with_tests(*tests: tuple[float, int, int], **fields: object) -> SeedLot:
    """A lot with tests, each so many days after the delivery."""
    dated = [(AT + timedelta(days=days), some, whole) for days, some, whole in tests]
    sums = {"sprouted": sum(some for _, some, _ in dated), "tested": sum(whole for *_, whole in dated)}
    return lot(tests=dated, **sums, **fields)


def mean(seed: SeedLot, days: float | None = None, facts: CropFacts = RADISH, store: Store | None = None) -> float:
    at = None if days is None else AT + timedelta(days=days)
    found = live_seed(seed, facts, at) if store is None else live_seed(seed, facts, at, store=store)
    assert found is not None
    return found.mean


def test_a_fresh_lot_is_what_its_label_says() -> None:
    found = live_seed(lot(germination=0.92), RADISH, AT)
    assert found is not None
    assert (found.mean, found.basis) == (pytest.approx(0.92), "by its label")
    assert found.low < 0.92 < found.high


def test_without_label_or_test_it_is_an_ordinary_lot_with_more_doubt() -> None:
    found, label = live_seed(lot(), RADISH, AT), live_seed(lot(germination=0.875), RADISH, AT)
    assert found is not None
    assert label is not None
    assert (found.mean, found.basis) == (pytest.approx(0.875), "as ordinary lots do")
    assert found.high - found.low > 1.3 * (label.high - label.low)


def test_where_nothing_is_known_nothing_is_made_up() -> None:
    assert live_seed(lot(), CropFacts(crop="radish"), AT) is None
    only_tested = live_seed(with_tests((0, 43, 50)), CropFacts(crop="radish"), AT)
    assert only_tested is not None
    # What is known of no seed at all, 85 %, counts as 4 seeds: (3.4 + 43) / 54.
    assert only_tested.mean == pytest.approx(46.4 / 54)
    assert only_tested.basis == "by 43 of 50 in your own test"


def test_a_test_moves_the_label_and_takes_doubt_away() -> None:
    label, both = live_seed(lot(germination=0.92), RADISH, AT), live_seed(
        with_tests((0, 43, 50), germination=0.92), RADISH, AT
    )  # fmt: skip
    assert label is not None
    assert both is not None
    assert both.mean == pytest.approx((0.92 * 30 + 43) / 80)
    assert both.sd < label.sd
    assert both.basis == "by its label and 43 of 50 in your own test"
    more = live_seed(with_tests((0, 43, 50), (1, 47, 50), germination=0.92), RADISH, AT + timedelta(days=1))
    assert more is not None
    assert more.basis == "by its label and 90 of 100 in 2 own tests"


def test_seed_ages_and_a_short_lived_crop_ages_faster() -> None:
    seed = lot(germination=0.92)
    assert mean(seed, 0) > mean(seed, 180) > mean(seed, 720)
    assert mean(seed, 360, ONION) < mean(seed, 360) - 0.1
    found = live_seed(seed, RADISH, AT + YEAR)
    assert found is not None
    assert found.basis.startswith("by its label, less ")
    assert found.basis.endswith("points for 12 months")


def test_a_warm_damp_shed_costs_more_than_a_cool_dry_room_and_a_cold_jar_less() -> None:
    seed = lot(germination=0.92)
    shed, room, jar = (Store(temp_c=temp, rh_pct=rh) for temp, rh in ((25.0, 60.0), (15.0, 40.0), (4.0, 30.0)))
    assert mean(seed, 200, store=shed) < mean(seed, 200, store=room) < mean(seed, 200, store=jar)
    assert mean(seed, 200, store=room) == mean(seed, 200)


def test_a_test_starts_the_age_anew() -> None:
    """An old lot whose test of yesterday came out well is no longer taken for old."""
    untested, well = lot(germination=0.92), with_tests((700, 184, 200), germination=0.92)
    assert mean(untested, 701) < 0.88
    assert mean(well, 701) == pytest.approx(0.91, abs=0.015)
    assert mean(well, 701) - mean(well, 760) < 0.02


def test_a_new_test_outweighs_one_from_long_ago() -> None:
    """48 of 50 two years ago and 30 of 50 today: nearer to today's 60 % than their sum's 78 %."""
    assert mean(with_tests((0, 48, 50), (730, 30, 50), germination=0.95), 730) < 0.70
    assert mean(with_tests((730, 48, 50), (730, 30, 50), germination=0.95), 730) > 0.74


def test_a_test_that_is_not_made_yet_does_not_count() -> None:
    seed = with_tests((100, 10, 50), germination=0.92)
    assert mean(seed, 50) > 0.9
    assert mean(seed, 100) < 0.6


def test_seed_on_order_does_not_age() -> None:
    seed = lot(germination=0.92, expected_on=AT.date())
    assert mean(seed, 400) == pytest.approx(0.92)


def test_a_clock_set_wrong_does_not_make_seed_younger() -> None:
    assert mean(lot(germination=0.92), -400) == pytest.approx(0.92)


def test_the_order_in_which_tests_were_written_down_does_not_matter() -> None:
    late, early = ((30.0, 40, 50), (10.0, 45, 50))
    assert mean(with_tests(late, early, germination=0.92), 60) == mean(with_tests(early, late, germination=0.92), 60)


# The book -------------------------------------------------------------------------------------------------------------


def test_the_book_keeps_each_test_with_its_day() -> None:
    told = lantern_loft()
    told.say(SeedTested(lot="RAD-1", sprouted=43, tested=50))
    first = told.now
    told.say(SeedTested(lot="RAD-1", tsw_g=11.0), hours=24)
    told.say(SeedTested(lot="RAD-1", sprouted=47, tested=50), hours=24)
    held = told.state.seed["RAD-1"]
    assert [(some, whole) for _, some, whole in held.tests] == [(43, 50), (47, 50)]
    assert held.tests[0][0] == first
    assert held.tested_at == held.tests[1][0] > first
    assert told.refold().seed["RAD-1"] == held


def test_a_test_of_seed_on_order_stays_when_it_comes() -> None:
    told = lantern_loft()
    told.say(SeedReceived(lot="RAD-2", crop="radish", grams=100.0, expected_on=AT.date()))
    told.say(SeedTested(lot="RAD-2", sprouted=18, tested=20))
    told.say(SeedReceived(lot="RAD-2", crop="radish", grams=100.0))
    held = told.state.seed["RAD-2"]
    assert (held.tests[0][1:], held.tested_at) == ((18, 20), held.tests[0][0])


def test_a_lot_written_before_tests_had_days_is_still_read() -> None:
    """Sums without days count as of the delivery."""
    assert mean(lot(germination=0.92, sprouted=43, tested=50), 0) == pytest.approx((0.92 * 30 + 43) / 80)
    assert lot(sprouted=43, tested=50).tested_at is None


def test_a_half_said_test_is_left_out_of_the_state() -> None:
    told = lantern_loft()
    told.say(SeedTested(lot="RAD-1", sprouted=43))
    assert told.state.seed["RAD-1"].tests == []


# Doubt of a density ---------------------------------------------------------------------------------------------------


def test_the_doubt_of_a_density_is_that_of_share_and_seed_weight_together() -> None:
    """Label 92 % as 30 seeds: sd 0.0487, or 5.3 %; radish seed weighs 7.1 to 14.2 g, ln 2 / 2.563 = 27 %."""
    blank, weighed = lot(germination=0.92), lot(germination=0.92, tsw_g=12.0)
    share = live_share(0.92).doubt
    assert live_density_doubt([(blank, 40.0)], RADISH, AT) == pytest.approx(
        math.hypot(share, math.log(2) / 2.563), 1e-3
    )
    assert live_density_doubt([(weighed, 40.0)], RADISH, AT) == pytest.approx(math.hypot(share, 0.03))


def test_two_lots_spread_the_doubt_and_a_lot_not_chosen_yet_has_most() -> None:
    seed = lot(germination=0.92, tsw_g=12.0)
    one, two = (live_density_doubt([(seed, 20.0)] * many, RADISH, AT) for many in (1, 2))
    assert two == pytest.approx(one / math.sqrt(2))
    assert live_density_doubt([], RADISH, AT) > one
    assert live_density_doubt([(seed, 0.0)], RADISH, AT) == live_density_doubt([], RADISH, AT)


def test_old_seed_is_more_in_doubt() -> None:
    seed = lot(germination=0.92, tsw_g=12.0)
    assert live_density_doubt([(seed, 20.0)], RADISH, AT + 2 * YEAR) > live_density_doubt([(seed, 20.0)], RADISH, AT)
