"""What looks mistyped, and what does not: honest figures pass, slips of the hand are caught."""

from __future__ import annotations

import math
import random
from datetime import UTC, datetime, timedelta

import pytest

from trayward.farm.recipes import Medium, Recipe, Stage, TraySize
from trayward.farm.state import StageStep, Tray
from trayward.outlook.doubt import (
    OF_LENGTH,
    OF_WEIGHT,
    Slip,
    Suspicion,
    heaviest,
    least_factor,
    outside,
    suspect,
    weight_expected,
    within_factor,
)
from trayward.outlook.types import Basis, Range, StageEnd, TrayOutlook, When
from trayward.units import GRAMS_PER_OUNCE

FARMS_OWN = Range(low=70.0, likely=95.0, high=130.0)
"""A crop the farm knows well: 8 in 10 trays within 70 to 130 g."""
PRINTED = Range(low=92.0, likely=170.0, high=320.0)
"""One of which only printed figures are known."""
READY = datetime(2026, 12, 3, 7, 30, tzinfo=UTC)


def spread(expected: Range) -> float:
    """Standard deviation of the log; a normal's tenth and ninetieth percentile lie 1.2816 of them from its middle."""
    return math.log(expected.high / expected.low) / (2 * 1.2816)


@pytest.mark.parametrize(
    ("typed", "meant", "unit"),
    [
        (950.0, 95.0, ""),
        (9.5, 95.0, ""),
        (9500.0, 95.0, ""),
        (0.095, 95.0, ""),
        (95_000.0, 95.0, ""),
        (3.4, 3.4 * GRAMS_PER_OUNCE, "oz"),
        (95.0 * GRAMS_PER_OUNCE, 95.0, "g"),
        (0.2, 0.2 * 16 * GRAMS_PER_OUNCE, "oz"),
        (95.0 * 16 * GRAMS_PER_OUNCE, 95.0, "g"),
    ],
    ids=["ten times", "a tenth", "no point", "kg as g", "g as kg", "oz as g", "g as oz", "lb as g", "g as lb"],
)
def test_a_slip_is_read_back(typed: float, meant: float, unit: str) -> None:
    found = suspect(typed, FARMS_OWN, OF_WEIGHT)
    assert found is not None
    assert found.perhaps == pytest.approx(meant)
    assert found.unit == unit


def test_a_weight_that_no_slip_explains_is_doubted_without_a_guess() -> None:
    assert suspect(330.0, FARMS_OWN, OF_WEIGHT) == Suspicion()
    assert suspect(0.0, FARMS_OWN, OF_WEIGHT) == Suspicion()


@pytest.mark.parametrize("grams", [48.0, 60.0, 95.0, 150.0, 189.0])
def test_a_poor_or_a_splendid_tray_is_not_nagged_about(grams: float) -> None:
    """Half to twice the likely weight passes, however alike the trays have been so far."""
    narrow = Range(low=93.0, likely=95.0, high=97.0)
    assert suspect(grams, FARMS_OWN, OF_WEIGHT) is None
    assert suspect(grams, narrow, OF_WEIGHT) is None


@pytest.mark.parametrize("expected", [FARMS_OWN, PRINTED], ids=["own", "printed"])
def test_hardly_one_honest_weight_in_thousands_is_doubted(expected: Range) -> None:
    """Beyond 3 sd lie 0.27 % of normal draws; only where a slip fits too is one doubted."""
    generator, asked, draws = random.Random(20261203), 0, 50_000
    for _ in range(draws):
        grams = expected.likely * math.exp(generator.gauss(0.0, spread(expected)))
        asked += suspect(grams, expected, OF_WEIGHT) is not None
    assert asked / draws < 0.003


@pytest.mark.parametrize(("expected", "least"), [(FARMS_OWN, 1.0), (PRINTED, 0.95)], ids=["own", "printed"])
@pytest.mark.parametrize("times", [10.0, 0.1])
def test_nearly_every_slip_of_the_point_is_caught(expected: Range, least: float, times: float) -> None:
    """A point one place off moves the log by 2.3: 9.5 standard deviations of own trays here, 4.7 of printed ones."""
    generator, caught, draws = random.Random(20261204), 0, 5_000
    for _ in range(draws):
        grams = expected.likely * math.exp(generator.gauss(0.0, spread(expected)))
        caught += suspect(times * grams, expected, OF_WEIGHT) is not None
    assert caught / draws >= least


def test_too_little_is_no_wonder_of_a_second_cut() -> None:
    assert suspect(9.5, FARMS_OWN, OF_WEIGHT) is not None
    assert suspect(9.5, FARMS_OWN, OF_WEIGHT, only_above=True) is None
    assert suspect(950.0, FARMS_OWN, OF_WEIGHT, only_above=True) is not None


def test_what_was_meant_for_each_may_have_been_taken_for_all() -> None:
    found = suspect(95.0 / 8, FARMS_OWN, (Slip(8, each=True),))
    assert found == Suspicion(95.0, "", each=True)
    assert found.times(8) == Suspicion(8 * 95.0, "", each=True)


def test_the_wider_range_counts_where_the_outlook_gives_one() -> None:
    """A tail heavier than the middle of the range lets on: 19 of 20 within 20 to 450 g makes 330 g no wonder."""
    heavy = Range(low=70.0, likely=95.0, high=130.0, most=(20.0, 450.0))
    assert suspect(330.0, FARMS_OWN, OF_WEIGHT) is not None
    assert suspect(330.0, heavy, OF_WEIGHT) is None


@pytest.mark.parametrize("value", [math.nan, math.inf, -5.0])
def test_what_is_refused_anyway_is_not_doubted_too(value: float) -> None:
    assert suspect(value, FARMS_OWN, OF_WEIGHT) is None


@pytest.mark.parametrize(
    "bounds",
    [(0.0, 1.0, 2.0), (math.nan, 1.0, 2.0), (3.0, 2.0, 1.0), (1.0, 2.0, math.inf)],
    ids=["zero", "nan", "upside down", "no end"],
)
def test_a_range_that_says_nothing_raises_no_doubt(bounds: tuple[float, float, float]) -> None:
    low, likely, high = bounds
    assert suspect(500.0, Range(low=low, likely=likely, high=high), OF_WEIGHT) is None


def test_bounds_doubt_what_lies_outside_and_try_what_was_meant() -> None:
    assert outside(20.0, 0.0, 45.0) is None
    assert outside(math.nan, 0.0, 45.0) is None
    assert outside(70.0, 0.0, 45.0, [(700.0, ""), ((70 - 32) / 1.8, "F")]) == Suspicion((70 - 32) / 1.8, "F")
    assert outside(70.0, 0.0, 45.0, [(700.0, "")]) == Suspicion()


def test_inches_for_millimetres_are_read_back() -> None:
    found = suspect(2.0, within_factor(60.0, 1.5), OF_LENGTH)
    assert found is not None
    assert (found.perhaps, found.unit) == (pytest.approx(50.8), "in")


# A tray's weight ------------------------------------------------------------------------------------------------------


RECIPE = Recipe(
    name="broccoli",
    crop="broccoli",
    medium=Medium(name="mesh mat"),
    live_seeds_per_cm2=5.0,
    growth_a_day=0.05,
    cut_window_days=3,
    tray=TraySize(length_mm=500.0, width_mm=200.0),
    stages=(
        Stage(name="light", days_low=3.0, days_typical=4.0, days_high=5.0, ground="lit"),
        Stage(name="ready", days_low=1.0, days_typical=2.0, days_high=3.0, ground="lit"),
    ),
)


def standing(stage: str = "ready") -> Tray:
    return Tray(
        tray="s.1",
        sowing="s",
        recipe="broccoli",
        crop="broccoli",
        sown_at=READY - timedelta(days=8),
        seed_g=20.0,
        lots=("L1",),
        steps=[StageStep(stage=stage, since=READY)],
    )


def told(grams: Range | None, own_trays: int = 30) -> TrayOutlook:
    when = When(low=READY, likely=READY, high=READY)
    basis = Basis(own_trays=own_trays, prior_trays=3.0, words="")
    return TrayOutlook(
        recipe="broccoli",
        crop="broccoli",
        stages=(StageEnd(stage="light", ends=when),),
        ready=when,
        grams=grams,
        time_basis=basis,
        grams_basis=basis,
    )


def test_a_tray_that_waited_is_held_against_what_it_has_grown_to() -> None:
    """5 % a day for two days is 1.1025; for ten it is the three of the cut window, 1.157625."""
    after = [weight_expected(standing(), RECIPE, told(FARMS_OWN), READY + timedelta(days=days)) for days in (0, 2, 10)]
    assert [round(each.likely / 95.0, 6) for each in after if each] == [1.0, 1.1025, 1.157625]
    wide = Range(low=70.0, likely=95.0, high=130.0, most=(60.0, 160.0))
    two = weight_expected(standing(), RECIPE, told(wide), READY + timedelta(days=2))
    assert two is not None
    assert two.most == pytest.approx((66.15, 176.4))


def test_a_tray_that_is_not_ready_has_not_waited() -> None:
    expected = weight_expected(standing("light"), RECIPE, told(FARMS_OWN), READY + timedelta(days=2))
    assert expected == FARMS_OWN


def test_where_nobody_knows_the_weight_only_what_a_tray_can_bear_is_left() -> None:
    """1.5 g/cm2 on 1000 cm2; the heaviest of the trials is 3.797 kg/m2 (sare_fne20_966: pea, 17.28 oz a tray)."""
    assert weight_expected(standing(), RECIPE, told(None), READY) is None
    assert heaviest(RECIPE) == pytest.approx(1500.0)
    assert heaviest(RECIPE) > 3.9 * 0.3797 * RECIPE.tray.area_cm2


def test_a_farm_without_own_trays_may_lie_far_off_what_is_printed() -> None:
    """Published yields of one crop differ two to four times between sources."""
    printed = least_factor(Basis(own_trays=0, prior_trays=3.0, words=""))
    own = least_factor(Basis(own_trays=30, prior_trays=0.1, words=""))
    narrow = Range(low=270.0, likely=336.0, high=420.0)
    assert suspect(100.0, narrow, OF_WEIGHT, least_factor=printed) is None
    assert suspect(100.0, narrow, OF_WEIGHT, least_factor=own) is not None
    assert suspect(33.6, narrow, OF_WEIGHT, least_factor=printed) is not None
