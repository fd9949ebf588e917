"""Which seed goes off first, and which wants a test."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import msgspec
import pytest

from trayward.farm.crops import CropFacts, Fact
from trayward.farm.live_seed import live_seed
from trayward.farm.seed_care import MONTH, RETEST_AFTER, SeedCare, seed_care
from trayward.farm.state import SeedLot

AT = datetime(2026, 11, 25, 7, tzinfo=UTC)
ONION = CropFacts(crop="onion", family="Amaryllidaceae", facts={"germ_pct_fsa_min": Fact(value=70.0)})
NOT_KNOWN = CropFacts(crop="starflower")


def lot(**fields: object) -> SeedLot:
    plain = SeedLot(lot="ONI-1", crop="onion", received_at=AT, received_g=200.0, left_g=200.0, germination=0.9)
    return msgspec.structs.replace(plain, **fields)


def care(seed: SeedLot, days: float = 0.0, facts: CropFacts = ONION) -> SeedCare:
    return seed_care(seed, facts, AT + timedelta(days=days))


def test_fresh_seed_is_asked_nothing() -> None:
    found = care(lot())
    assert (found.retest, found.weak, found.least) == ("", False, 0.7)


def test_seed_is_good_until_the_month_its_likely_share_falls_below_the_least() -> None:
    found = care(lot())
    assert found.good_until is not None
    before, after = (live_seed(lot(), ONION, moment) for moment in (found.good_until - MONTH, found.good_until))
    assert before is not None
    assert after is not None
    assert after.mean < 0.7 <= before.mean


def test_seed_that_sprouts_less_goes_off_sooner() -> None:
    good, poor = care(lot()).good_until, care(lot(germination=0.8)).good_until
    assert good is not None
    assert poor is not None
    assert poor < good


def test_seed_below_the_least_is_weak_and_past_today() -> None:
    found = care(lot(germination=0.6))
    assert (found.weak, found.retest, found.good_until) == (True, "weak", AT)


@pytest.mark.parametrize(("days", "retest"), [(RETEST_AFTER.days, ""), (RETEST_AFTER.days + 1, "old")])
def test_after_half_a_year_a_lot_is_tested_again(days: float, retest: str) -> None:
    """Radish keeps for years: it is old before it is weak or unsure."""
    radish = CropFacts(crop="radish", family="Brassicaceae", facts={"germ_pct_fsa_min": Fact(value=75.0)})
    assert care(lot(crop="radish"), days, radish).retest == retest


def test_a_test_of_ones_own_starts_the_half_year_anew() -> None:
    days = RETEST_AFTER.days + 10
    tested = lot(tests=[(AT + timedelta(days=days - 5), 46, 50)], sprouted=46, tested=50)
    assert care(tested, days).retest == ""


def test_what_is_hardly_known_wants_a_test_and_one_of_fifty_is_enough() -> None:
    few = lot(germination=None, tests=[(AT, 4, 5)], sprouted=4, tested=5)
    many = lot(germination=None, tests=[(AT, 40, 50)], sprouted=40, tested=50)
    assert (care(few, facts=NOT_KNOWN).retest, care(many, facts=NOT_KNOWN).retest) == ("unsure", "")


def test_where_nobody_said_what_sprouts_a_test_is_asked_for() -> None:
    found = care(lot(germination=None), facts=NOT_KNOWN)
    assert (found.retest, found.good_until) == ("unknown", None)


def test_seed_on_order_does_not_age_and_is_asked_nothing() -> None:
    found = care(lot(expected_on=AT.date(), germination=None), 400, NOT_KNOWN)
    assert (found.retest, found.good_until, found.weak) == ("", None, False)


def test_treated_seed_is_not_sown_and_asked_nothing() -> None:
    assert care(lot(treated=True), 400).retest == ""
