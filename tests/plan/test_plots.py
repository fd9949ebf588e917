"""Trays that stand where there is too little room for them."""

from __future__ import annotations

import numpy as np
import pytest

from tests.plan.doubts import Typical, told
from tests.plan.farms import farm, order
from tests.plan.test_plot_uses import days_of
from tests.plan.test_under_doubt import SOON, stand
from trayward.plan.limits import LIT
from trayward.plan.plots import relieved
from trayward.plan.uses import CUT


def test_standing_trays_that_overdraw_spots_are_counted_as_taking_all_of_them() -> None:
    """Three trays, two spots: each is counted as two thirds of one on the nights they stand, one more is missing."""
    state = stand(farm(order(3, 250), recipes=(SOON,), lit=2), 3)
    made = told(state, biology=Typical(state.recipes))
    (plot,) = made.decision.plots
    own = int(np.flatnonzero((plot.choices.way < 0) & (plot.choices.how == CUT))[0])
    assert days_of(plot, LIT, own)[0] == pytest.approx(2 / 3, abs=1e-4)
    assert made.task.press[LIT, :3].tolist() == [1.0, 1.0, 1.0]


def test_standing_trays_that_fit_are_left_as_they_are() -> None:
    state = stand(farm(order(3, 250), recipes=(SOON,), lit=5), 3)
    made = told(state, biology=Typical(state.recipes))
    same, press = relieved(made.decision.plots, made.task.limits)
    assert press.max() == 0.0
    assert all((one.uses[LIT] == other.uses[LIT]).all() for one, other in zip(same, made.decision.plots, strict=True))
