"""How much of a lot's seed is alive today: its label, the farm's own tests and its time in store, with doubt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime, timedelta
from functools import lru_cache

from msgspec.structs import replace

from trayward.farm.crops import CropFacts
from trayward.farm.state import SeedLot
from trayward.science.seed_life import COOL_DRY_ROOM, Store, storage_life
from trayward.science.viability import LiveShare, after_test, aged, live_share

YEAR = timedelta(days=365)
WORTH_SAYING = 0.005
"""Loss in store that is told in words, once it rounds to a point. [-]"""
SEED_WEIGHT_LOG_SD = 0.15
"""Doubt of a crop's seed weight where its range is blank, on the logarithm: our choice. [-]"""
WEIGHED_LOG_SD = 0.03
"""Doubt of a lot's own seed weight, on the logarithm: counting and weighing some hundred seeds, our choice. [-]"""
EIGHT_IN_TEN = 2 * 1.281552
"""Standard deviations between the ends of an 80 % range of a normal distribution."""


def ordinary_live_share(facts: CropFacts) -> float | None:
    """
    Share of seed that sprouts in an ordinary lot, for when the lot's own figure is blank.

    Parameters
    ----------
    facts : CropFacts
        What is known of the crop.

    Returns
    -------
    float or None
        What the farm says is usual (`germ_pct_usual`); else the middle between the least germination the law allows and
        the best there can be (the best laboratory figure where it is above that least, else all of it) [-]; None where
        neither is on record.
    """
    usual = facts.number("germ_pct_usual")
    if usual is not None:
        return usual / 100
    least = facts.number("germ_pct_fsa_min")
    if least is None:
        return None
    best = facts.number("germ_pct_lab_best")
    top = best if best is not None and best > least else 100.0
    return (least + top) / 200


def live_seed(
    lot: SeedLot, facts: CropFacts, at: datetime | None = None, *, store: Store = COOL_DRY_ROOM
) -> LiveShare | None:
    """
    Share of a lot's seed that is alive.

    Parameters
    ----------
    lot : SeedLot
        Its label, tests and delivery count.
    facts : CropFacts
        What is known of its crop: what ordinary lots do, and its family for the storage life.
    at : datetime or None
        The moment it is asked for; tests after it do not count. None: as it was when last looked at, without age.
    store : Store
        Where the seed is kept. The default is a cool dry room.

    Returns
    -------
    LiveShare or None
        The share with doubt and, in `basis`, what it rests on. None where neither label nor test says anything and no
        figure of an ordinary lot is on record: ask.

    Notes
    -----
    The label holds on the day of the delivery. From there the seed ages to each test, the test is added, and so on to
    `at`: a test starts the age anew. Seed on order does not age. See `science.viability` for both steps.
    """
    ordinary = ordinary_live_share(facts)
    if lot.germination is None and ordinary is None and not lot.tested:
        return None
    tests = [test for test in sorted(lot.tests) if at is None or test[0] <= at]
    share, seen = _without_a_day(lot, ordinary), lot.received_at
    life, _ = storage_life(facts.crop, facts.family)
    for when, sprouted, tested in tests:
        share = after_test(_aged(share, when - seen, life, store), sprouted, tested)
        seen = max(seen, when)
    today = share if at is None or lot.expected_on is not None else _aged(share, at - seen, life, store)
    lost = share.mean - today.mean
    return replace(today, basis=_rests_on(lot, tests) + _age_words(lost, at, seen))


@lru_cache(maxsize=1024)
def _aged_by_days(share: LiveShare, days: int, life_years: float, store: Store) -> LiveShare:
    return aged(share, days / YEAR.days, life_years, store)


def _aged(share: LiveShare, since: timedelta, life_years: float, store: Store) -> LiveShare:
    """Aged by whole days: trays sown on one day from one lot ask once."""
    return _aged_by_days(share, since.days, life_years, store)


def _without_a_day(lot: SeedLot, ordinary: float | None) -> LiveShare:
    """The label or an ordinary lot, and tests of which no day is known, as of the delivery."""
    dated = [(sprouted, tested) for _, sprouted, tested in lot.tests]
    sprouted = lot.sprouted - sum(some for some, _ in dated)
    tested = lot.tested - sum(whole for _, whole in dated)
    return live_share(lot.germination, max(sprouted, 0), max(tested, 0), ordinary=ordinary)


def _rests_on(lot: SeedLot, tests: Sequence[tuple[datetime, int, int]]) -> str:
    counted = [(some, whole) for _, some, whole in tests] or ([(lot.sprouted, lot.tested)] if not lot.tests else [])
    sprouted, tested = (sum(column) for column in zip(*counted, strict=True)) if counted else (0, 0)
    own = f"{sprouted} of {tested} in {'your own test' if len(counted) == 1 else f'{len(counted)} own tests'}"
    if lot.germination is None:
        return f"by {own}" if tested else "as ordinary lots do"
    return f"by its label and {own}" if tested else "by its label"


def _age_words(lost: float, at: datetime | None, seen: datetime) -> str:
    if at is None or lost < WORTH_SAYING:
        return ""
    months = max(1, round((at - seen) / YEAR * 12))
    points = round(lost * 100)
    return f", less {points} {'point' if points == 1 else 'points'} for {months} {'month' if months == 1 else 'months'}"


def live_density_doubt(
    lots: Sequence[tuple[SeedLot, float]], facts: CropFacts, at: datetime | None = None, *, store: Store = COOL_DRY_ROOM
) -> float:
    """
    How far live seeds per cm2 of a sowing may be off, from what is not known of its seed.

    Parameters
    ----------
    lots : sequence of (SeedLot, float)
        The lots sown from, with the grams of each. [g] Empty: a lot not chosen yet.
    facts, at, store
        As for `live_seed`.

    Returns
    -------
    float
        Standard deviation as a share of the mean. [-]

    Notes
    -----
    The doubt of the live share and of the weight of a thousand seeds together; lots count as independent, weighed by
    grams. How evenly the seed was spread is not in it.
    """
    whole = sum(grams for _, grams in lots if grams > 0)
    if not whole:
        share = live_share(None, ordinary=ordinary_live_share(facts))
        return math.hypot(share.doubt, seed_weight_doubt(facts))
    squares = 0.0
    for lot, grams in lots:
        if grams > 0:
            share = live_seed(lot, facts, at, store=store) or live_share(None)
            weight = WEIGHED_LOG_SD if lot.tsw_g is not None else seed_weight_doubt(facts)
            squares += (grams / whole) ** 2 * (share.doubt**2 + weight**2)
    return math.sqrt(squares)


def seed_weight_doubt(facts: CropFacts) -> float:
    """Doubt of the crop's own seed weight on the logarithm: its published range taken as 8 in 10. [-]"""
    low, high = facts.number("tsw_g_low"), facts.number("tsw_g_high")
    if low is None or high is None or not 0 < low < high:
        return SEED_WEIGHT_LOG_SD
    return math.log(high / low) / EIGHT_IN_TEN
