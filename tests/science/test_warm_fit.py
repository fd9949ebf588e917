"""Base temperature and thermal time from looks: found again where they can be, and not pretended where they cannot."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest

from trayward.errors import InputError
from trayward.science.counts import counted
from trayward.science.germination_curves import ThermalTime
from trayward.science.time_to_event import fit
from trayward.science.warm_fit import FEWEST, WarmLook, fit_warmth

BASE, THETA, SLOPE = 3.0, 54.0, 14.0


def looks_at(temps: Sequence[float], trays: int, *, seed: int = 3, step: float = 0.5) -> list[WarmLook]:
    """Looks every half day at trays of a known law."""
    rng, found = np.random.default_rng(seed), []
    for temp in temps:
        for _ in range(trays):
            luck = rng.uniform()
            days = THETA / (temp - BASE) * (luck / (1 - luck)) ** (1 / SLOPE)
            high = math.ceil(days / step) * step
            found.append(WarmLook(temp_c=temp, low_d=high - step, high_d=high))
    return found


def test_shelves_well_apart_give_the_base_and_the_thermal_time_back() -> None:
    found = fit_warmth(looks_at((12, 16, 20, 24), 6))
    assert found.told
    assert found.base.low is not None
    assert found.base.high is not None
    assert found.theta.low is not None
    assert found.theta.high is not None
    assert found.base.low < BASE < found.base.high
    assert found.theta.low < THETA < found.theta.high
    assert found.base.high - found.base.low < 5
    assert found.days(18.0) == pytest.approx(THETA / 15, rel=0.05)
    assert found.days(-10.0) == math.inf
    assert found.days(30.0) == found.days(25.0)


def test_one_shelf_tells_nothing_of_a_base_and_says_so() -> None:
    found = fit_warmth(looks_at((20,), 30))
    assert not found.told
    assert found.why == "All trays stood at one temperature: warmth and time cannot be told apart."


def test_shelves_a_degree_apart_do_not_tell_and_say_so() -> None:
    found = fit_warmth(looks_at((20, 20.5, 21), 10))
    assert not found.told
    assert "lie 1.0 °C apart" in found.why


def test_a_few_trays_do_not_tell_however_far_apart() -> None:
    found = fit_warmth(looks_at((10, 15, 20), 1))
    assert not found.told
    assert found.why == f"Only 3 trays were seen to end: it takes {FEWEST} or more."


def test_a_base_that_is_known_leaves_the_thermal_time_to_be_told_from_one_shelf() -> None:
    found = fit_warmth(looks_at((20,), 20), base_c=BASE)
    assert found.told
    assert found.theta.low is not None
    assert found.theta.high is not None
    assert found.theta.low < THETA < found.theta.high


def test_more_trays_narrow_the_interval() -> None:
    few, many = (fit_warmth(looks_at((14, 18, 22), trays), base_c=BASE).theta for trays in (3, 12))
    assert few.high is not None
    assert few.low is not None
    assert many.high is not None
    assert many.low is not None
    assert many.high - many.low < few.high - few.low


def test_trays_that_were_never_seen_to_end_lengthen_the_stage() -> None:
    seen = looks_at((16, 20), 6)
    late = [*seen, *(WarmLook(temp_c=20.0, low_d=4.5, high_d=math.inf) for _ in range(3))]
    assert fit_warmth(late, base_c=BASE).theta.value > fit_warmth(seen, base_c=BASE).theta.value


def test_it_is_the_general_fitter_s_answer() -> None:
    looks = looks_at((12, 18, 24), 6)
    counts = counted(
        [one.low_d for one in looks],
        [one.high_d for one in looks],
        [one.trays for one in looks],
        setting=[one.temp_c for one in looks],
    )
    general = fit(ThermalTime(), counts, fixed={"final": 1.0})
    found = fit_warmth(looks)
    # Both searches stop within 1e-7 of the top; along the ridge that leaves 1e-3 in the figures.
    assert found.base.value == pytest.approx(general.values["base"], abs=1e-3)
    assert found.theta.value == pytest.approx(general.values["theta"], rel=1e-3)


def test_warmth_beyond_25_degrees_counts_as_25() -> None:
    looks = looks_at((12, 18, 25), 4)
    hotter = [msg if msg.temp_c < 25 else WarmLook(temp_c=31.0, low_d=msg.low_d, high_d=msg.high_d) for msg in looks]
    assert fit_warmth(hotter, base_c=BASE).theta.value == pytest.approx(fit_warmth(looks, base_c=BASE).theta.value)


@pytest.mark.slow
def test_eight_in_ten_intervals_hold_the_truth_or_say_that_they_cannot_tell() -> None:
    """30 made-up farms, 12 trays each at 14 to 22 °C. Binomial: of 30 at 0.8, 19 or fewer come once in 40 times."""
    held = 0
    for seed in range(30):
        found = fit_warmth(looks_at((14, 18, 22), 4, seed=seed))
        low = -math.inf if found.base.low is None else found.base.low
        high = math.inf if found.base.high is None else found.base.high
        held += low <= BASE <= high
    assert held >= 20


@pytest.mark.parametrize(
    ("look", "message"),
    [
        (WarmLook(temp_c=20.0, low_d=3.0, high_d=math.inf), "looks = 1: in one at least the stage must have ended"),
        (WarmLook(temp_c=20.0, low_d=3.0, high_d=2.0), r"looks\[0\] = 3 to 2 d: the stage must end after"),
        (WarmLook(temp_c=75.0, low_d=2.0, high_d=3.0), r"temp_c\[0\] = 75 °C: must lie in \[-20, 60\] °C"),
    ],
)
def test_looks_that_cannot_be_are_refused(look: WarmLook, message: str) -> None:
    with pytest.raises(InputError, match=message):
        fit_warmth([look])
