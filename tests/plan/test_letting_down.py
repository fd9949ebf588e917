"""What letting an order down costs: as sure as is wished where there is room, else by what brings and matters most."""

from __future__ import annotations

import numpy as np
import pytest

from tests.plan.doubts import Typical, told
from tests.plan.farms import farm, lot, order, recipe
from trayward.farm.state import FarmState
from trayward.plan.letting_down import LettingDown, room_for
from trayward.plan.told import Told

CHEAP = recipe("radish", window=0, keeps=0)
DEAR = recipe("basil", window=0, keeps=0, medium=8.0)
"""Its medium alone costs 8 a tray: to be sure of it in 4 of 5 cases is worth 0.40 a gram, whatever it sells for."""


def rivals(spots: int, *, price: float = 0.12) -> FarmState:
    """A tray of each is wanted on one day: the dear one sells for a little more, and brings less."""
    orders = order(5, 100, price=0.1), order(5, 100, product="basil", price=price)
    return farm(*orders, recipes=(CHEAP, DEAR), lots=(lot(), lot("basil")), dark=spots)


def decided(state: FarmState) -> Told:
    return told(state, biology=Typical(state.recipes))


def sown(found: Told) -> dict[str, float]:
    both = zip(found.decision.plots, found.decision.takes, strict=True)
    return {plot.crop: float(take[plot.choices.way >= 0].sum()) for plot, take in both}


def test_the_last_place_goes_to_who_brings_more_and_not_to_what_is_dear_to_grow() -> None:
    assert sown(decided(rivals(1))) == {"basil": 0.0, "radish": 1.0}


def test_with_room_for_both_both_are_grown() -> None:
    assert sown(decided(rivals(2))) == {"basil": 1.0, "radish": 1.0}


def test_what_is_dear_to_grow_has_the_last_place_where_it_brings_more() -> None:
    assert sown(decided(rivals(1, price=0.25))) == {"basil": 1.0, "radish": 0.0}


def prices(state: FarmState) -> np.ndarray:
    return decided(state).task.prices


def test_an_order_at_a_loss_is_a_promise_where_there_is_room_and_outbids_nobody_where_there_is_none() -> None:
    small = order(5, 20, product="basil", price=0.1)

    def with_spots(spots: int) -> FarmState:
        return farm(order(5, 100, price=0.1), small, recipes=(CHEAP, DEAR), lots=(lot(), lot("basil")), dark=spots)

    assert sown(decided(with_spots(2))) == {"basil": 1.0, "radish": 1.0}
    assert sown(decided(with_spots(1))) == {"basil": 0.0, "radish": 1.0}
    assert prices(with_spots(2)).max() > 1.2 * prices(with_spots(1)).max()


def test_room_is_all_where_places_are_free_and_none_where_two_want_one() -> None:
    for spots, wanted in ((2, 1.0), (1, 0.0)):
        found = decided(rivals(spots))
        amounts = np.array([[want.amount for want in found.task.wants]])
        assert room_for(found.task, found.decision.plots, amounts, 1) == pytest.approx(wanted)


def test_without_room_all_are_raised_alike_and_together_as_much() -> None:
    down = LettingDown(
        account=np.array([0.1, 0.0]),
        promised=np.array([0.0, 3.0]),
        sure=np.array([0.0, 0.7]),
        worth=np.array([0.1, 0.1]),
        amount=np.array([100.0, 50.0]),
    )
    raised = (down.worth + down.without()) / (down.worth + down.account)
    assert raised == pytest.approx([raised[0]] * 2)
    together = down.amount @ (down.worth + np.maximum(down.account, down.sure))
    assert down.amount @ (down.worth + down.without()) == pytest.approx(together)
    assert down.where(np.ones(2)) == pytest.approx([0.1, 3.0])
    assert down.where(np.zeros(2)) == pytest.approx(down.without())
    half = down.where(np.full(2, 0.5))
    assert np.all((half - down.without()) * (half - down.with_room()) <= 0)


def test_nothing_wanted_wants_no_room() -> None:
    assert prices(farm(recipes=(CHEAP,))).shape == (0,)
