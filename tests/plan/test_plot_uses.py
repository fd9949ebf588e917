"""The choices of a crop by hand: what a tray takes up on which day."""

from __future__ import annotations

import numpy as np
import pytest

from tests.plan.farms import day, farm, order, pool, recipe
from tests.plan.test_plot_layout import choice, plots
from tests.plan.test_under_doubt import LIVE, on_mats
from trayward.farm.kit import Pool, PoolState
from trayward.plan.days import Floats
from trayward.plan.limits import DARK, DARK_BY_DAY, HANDS, LIT, OFF, OWN_NUMBERS
from trayward.plan.plots import Plot
from trayward.plan.uses import LIVE as LEAVES_LIVE


def days_of(plot: Plot, limit: int, number: int) -> dict[int, float]:
    """Day -> how much of a limit a choice takes up."""
    taken: Floats = plot.uses[limit][number, 0]
    return {int(one): round(float(taken[one]), 4) for one in np.flatnonzero(taken)}


def test_a_tray_takes_its_spots_night_by_night() -> None:
    """Nights 0 and 1 in the dark, half a floor position where two are stacked; nights 2 to 4 in the light."""
    (plot,) = plots(farm(order(5, 50), recipes=(recipe(window=0, keeps=0, stack=2),), dark_stack=4))
    one = choice(plot, 0)
    assert days_of(plot, DARK, one) == {0: 0.5, 1: 0.5}
    assert days_of(plot, LIT, one) == {2: 1.0, 3: 1.0, 4: 1.0}


def test_the_dark_is_taken_by_day_until_the_evening_a_tray_goes_on() -> None:
    """Sown in the morning and turned on day 2's evening: three days in the dark by day, nights 0 and 1 in it."""
    (plot,) = plots(farm(order(6, 50), recipes=(recipe(window=1, keeps=0, dark=2.3),)))
    one = choice(plot, 0)
    assert days_of(plot, DARK, one) == {0: 1.0, 1: 1.0}
    assert days_of(plot, DARK_BY_DAY, one) == {0: 1.0, 1: 1.0, 2: 1.0}
    assert days_of(plot, LIT, one) == {2: 1.0, 3: 1.0, 4: 1.0, 5: 1.0}


def test_a_tray_sown_in_the_evening_leaves_the_dark_free_by_day_and_takes_a_quarter_longer_to_sow() -> None:
    (plot,) = plots(farm(order(6, 50), recipes=(recipe(window=1, keeps=0, minutes=(8, 0, 0, 0)),)))
    late = choice(plot, 0, evening=True)
    assert days_of(plot, DARK, late) == {0: 1.0, 1: 1.0}
    assert days_of(plot, DARK_BY_DAY, late) == {1: 1.0, 2: 1.0}
    assert days_of(plot, HANDS, late) == {0: 10.0}


def test_a_tray_takes_hands_when_it_is_sown_looked_after_and_cut() -> None:
    """7 min to sow, 1 to look on each of two rounds a day up to the cut, 10 to cut, 4 to wash."""
    (plot,) = plots(farm(order(5, 50), recipes=(recipe(window=0, keeps=0, minutes=(7, 1, 10, 4)),)))
    assert days_of(plot, HANDS, choice(plot, 0)) == {0: 9.0, 1: 2.0, 2: 2.0, 3: 2.0, 4: 2.0, 5: 14.0}


def test_kit_is_held_from_its_stage_to_being_dry_and_its_washing_takes_hands() -> None:
    """In the dark only: held on days 0 and 1, let go and washed on day 2 (3 min each), dry 30 h later: day 4."""
    covered = recipe(window=0, keeps=0, kit=on_mats(2, stages=("germinate",)))
    mats = PoolState(pool=Pool(name="mat", count=40, dry_hours=30.0, minutes_wash=3.0))
    (plot,) = plots(farm(order(5, 50), recipes=(covered,), kit=(mats,)))
    one = choice(plot, 0)
    assert days_of(plot, OWN_NUMBERS, one) == {0: 2.0, 1: 2.0, 2: 2.0, 3: 2.0}
    assert days_of(plot, HANDS, one) == {2: 6.0}


@pytest.mark.parametrize(
    ("dark", "evening", "dry_hours", "by_day", "by_night"),
    [
        # Morning of day 0 to the morning walk of day 2; washed with the morning's work, dry by the evening's sowing.
        (2.0, False, 6.0, [0, 1, 2], [0, 1]),
        # The same, seen on day 2's evening walk only: washed then, dry by the next morning.
        (2.3, False, 6.0, [0, 1, 2], [0, 1, 2]),
        # Sown in the evening, and seen in the evening.
        (2.0, True, 6.0, [1, 2], [0, 1, 2]),
    ],
)  # fmt: skip
def test_kit_that_dries_within_the_day_is_counted_by_day_and_by_night(
    dark: float, evening: bool, dry_hours: float, by_day: list[int], by_night: list[int]
) -> None:
    """Walks begin at 7 and 19; about 9.5 h lie between the morning's washing and the evening's sowing."""
    covered = recipe(window=1, keeps=0, dark=dark, kit=on_mats(stages=("germinate",)))
    covers = PoolState(pool=Pool(name="mat", count=40, dry_hours=dry_hours))
    due = 6 if evening or dark > 2 else 5
    (plot,) = plots(farm(order(due, 50), recipes=(covered,), kit=(covers,)))
    one = choice(plot, 0, evening=evening)
    assert list(days_of(plot, OWN_NUMBERS + 1, one)) == by_day
    assert list(days_of(plot, OWN_NUMBERS, one)) == by_night


def test_kit_that_dries_longer_than_the_day_is_counted_once() -> None:
    """Washed in the evening of day 2 and dry 16 h later: not for the next morning, nor (counted once) its evening."""
    covered = recipe(window=1, keeps=0, dark=2.3, kit=on_mats(stages=("germinate",)))
    covers = PoolState(pool=Pool(name="mat", count=40, dry_hours=16.0))
    (plot,) = plots(farm(order(6, 50), recipes=(covered,), kit=(covers,)))
    assert list(days_of(plot, OWN_NUMBERS, choice(plot, 0))) == [0, 1, 2, 3]
    assert OWN_NUMBERS + 1 not in plot.uses


def test_kit_of_live_trays_stays_away() -> None:
    mats = recipe(window=0, keeps=0, kit=on_mats())
    lives = order(5, 1, product="live radish", unit="trays", price=12.0)
    (plot,) = plots(farm(lives, recipes=(mats,), products=(LIVE,), kit=(pool("mat", 9),)))
    one = choice(plot, 0, how=LEAVES_LIVE)
    assert set(days_of(plot, OWN_NUMBERS, one)) == set(range(21))


def test_a_stage_that_would_begin_on_a_day_off_takes_no_hands_for_sowing_there() -> None:
    (plot,) = plots(farm(order(9, 50), recipes=(recipe(minutes=(5, 0, 9, 1)),), days_off=(day(3), day(9))))
    assert OFF not in plot.uses or float(plot.uses[OFF].max()) == 0.0
    assert 3 not in plot.choices.sow
