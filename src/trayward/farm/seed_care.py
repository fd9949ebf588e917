"""Which seed to use first, and which to test again: what a lot's age asks of the grower."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Literal

import msgspec

from trayward.farm.crops import CropFacts
from trayward.farm.live_seed import live_seed
from trayward.farm.state import SeedLot

RETEST_AFTER = timedelta(days=182)
"""A test or a label is looked at again after half a year: our choice. (From memory: the US Federal Seed Act lets the
test on a label of seed shipped between states stand for five months, beside the month of the test.)"""
LEAST_SHARE = 0.5
"""Where no law names a least germination, seed below this is called weak: our choice. [-]"""
UNSURE_WIDTH = 0.25
"""An 8-in-10 range wider than this is worth a test of fifty seeds, which narrows it below: our choice. [-]"""
FURTHEST_MONTHS = 120
"""Nobody keeps seed longer. [months]"""
MONTH = timedelta(days=30)

Retest = Literal["", "unknown", "weak", "old", "unsure"]


class SeedCare(msgspec.Struct, frozen=True, kw_only=True):
    """
    What a lot's age asks.

    `least` is the share below which its seed is weak [-]; `good_until` the moment its likely share falls to that, None
    where it does not within ten years or nothing is known; `weak` whether it is below already; `retest` why it should
    be tested: `unknown` nobody said how much sprouts, `weak`, `old` neither tested nor delivered for half a year,
    `unsure`.
    """

    least: float
    good_until: datetime | None
    weak: bool
    retest: Retest


def seed_care(lot: SeedLot, facts: CropFacts, at: datetime) -> SeedCare:
    """
    What a lot's age asks of the grower.

    Parameters
    ----------
    lot : SeedLot
        A lot that is here; one on order does not age, a treated one is not sown: neither is asked anything.
    facts : CropFacts
        What is known of its crop: the least germination by law (`germ_pct_fsa_min`), its family for how long it keeps.
    at : datetime
        Now.

    Returns
    -------
    SeedCare

    Notes
    -----
    The share in time is that of `farm.live_seed`, for a cool dry room. It only falls until the next test, so the moment
    is found by halving, to a month: nobody knows it nearer.
    """
    least = (facts.number("germ_pct_fsa_min") or 100 * LEAST_SHARE) / 100
    share = live_seed(lot, facts, at)
    if lot.expected_on is not None or lot.treated or share is None:
        retest: Retest = "" if lot.expected_on is not None or lot.treated else "unknown"
        return SeedCare(least=least, good_until=None, weak=False, retest=retest)
    weak = share.mean < least
    return SeedCare(
        least=least,
        good_until=at if weak else _good_until(lot, facts, at, least),
        weak=weak,
        retest=_retest(lot, at, weak=weak, width=share.high - share.low),
    )


def _retest(lot: SeedLot, at: datetime, *, weak: bool, width: float) -> Retest:
    if weak:
        return "weak"
    if at - max(lot.received_at, lot.tested_at or lot.received_at) > RETEST_AFTER:
        return "old"
    return "unsure" if width > UNSURE_WIDTH else ""


def _good_until(lot: SeedLot, facts: CropFacts, at: datetime, least: float) -> datetime | None:
    good, weak = 0, FURTHEST_MONTHS
    if not _weak_then(lot, facts, at + weak * MONTH, least):
        return None
    while weak - good > 1:
        middle = (good + weak) // 2
        if _weak_then(lot, facts, at + middle * MONTH, least):
            weak = middle
        else:
            good = middle
    return at + weak * MONTH


def _weak_then(lot: SeedLot, facts: CropFacts, at: datetime, least: float) -> bool:
    share = live_seed(lot, facts, at)
    return share is not None and share.mean < least
