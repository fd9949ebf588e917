"""Mixes are worth something only as far as their scarcest part goes: against the whole problem, and by hand."""

from __future__ import annotations

import numpy as np
import pytest

from tests.plan.doubts import Typical, told
from tests.plan.farms import farm, lot, order, recipe
from tests.plan.plain_model import Farm, mixed_farm, plain, random_takes, with_highs
from trayward.farm.orders import Part, Product
from trayward.farm.state import FarmState
from trayward.plan.crop_model import CropModel
from trayward.plan.crop_search import CropWorth, Tied, one_tray_moves, rounded
from trayward.plan.farm_search import FarmSearch
from trayward.plan.joint import begin
from trayward.plan.prices import find_prices

SAME = 1e-5
FARMS = 6
LOST = 0.045
"""The search may be so much dearer than the best plan served as well as can be; 0.031 as measured. [-]"""


def _models(farm: Farm) -> list[CropModel]:
    return [CropModel(plot, asked, farm.disposal) for plot, asked in zip(farm.plots, farm.asked, strict=True)]


def _search(farm: Farm, *, tied: bool = True) -> FarmSearch:
    models = _models(farm)
    starts = [rounded(model, part) for model, part in zip(models, begin(farm.shared, models).parts, strict=True)]
    search = FarmSearch(farm.shared, [CropWorth(model) for model in models], starts)
    if tied:
        search.settle(lambda: False)
    else:
        search.tie = 0.0
        search.run(lambda: False)
    return search


def _any(seed: int) -> Farm:
    return mixed_farm(np.random.default_rng(seed), crops=3, scenarios=4, dues=4, choices=6)


# Against the whole problem --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(4))
def test_what_a_plan_with_mixes_is_said_to_cost_can_be_had(seed: int) -> None:
    """No less than the same trays served as well as can be, mixes whole; nor than the bound, that knows no mixes."""
    farm = _any(seed)
    bound = find_prices(farm.shared, _models(farm), enough=0.0).bound
    rng = np.random.default_rng(seed)
    for takes in (random_takes(rng, farm) for _ in range(5)):
        cost = FarmSearch(farm.shared, [CropWorth(model) for model in _models(farm)], takes).cost()
        assert cost >= with_highs(plain(farm, fixed=takes), whole=False).cost - SAME
        assert cost >= bound - SAME


def test_the_search_comes_near_the_best_where_there_are_mixes_and_nearer_than_part_by_part() -> None:
    """Over farms without sense; searched part by part, as if each were worth something alone, more is lost."""
    lost, apart, asked = 0.0, 0.0, 0.0
    for seed in range(FARMS):
        farm = _any(seed)
        best = with_highs(plain(farm)).cost
        lost += _search(farm).cost() - best
        apart += _search(farm, tied=False).cost() - best
        asked += sum(float((one.amount * one.worth).sum(axis=1).mean()) for one in farm.asked)
    assert 0.0 <= lost < apart
    assert lost / asked < LOST


def test_the_linear_model_meets_no_more_of_one_part_than_of_another() -> None:
    """One crop of the mixes cannot be grown, and the others are wanted for nothing else: nothing is sown of them."""
    farm = _any(3)
    none = farm.plots[0].choices._replace(grams=np.zeros_like(farm.plots[0].choices.grams))
    plots = [farm.plots[0]._replace(choices=none, stock=[]), *farm.plots[1:]]
    asked = [one._replace(amount=one.amount * (one.mix >= 0)) for one in farm.asked]
    farm = farm._replace(plots=plots, asked=asked)
    parts = begin(farm.shared, _models(farm)).parts
    for plot, part in zip(farm.plots, parts, strict=True):
        assert part[plot.choices.way >= 0] == pytest.approx(0.0, abs=1e-6)
    free = [one._replace(mix=np.full(len(one.mix), -1)) for one in asked]
    assert sum(float(part.sum()) for part in begin(farm.shared, _models(farm._replace(asked=free))).parts) > 0.5


def test_the_search_can_go_back_to_where_it_was_with_what_mixes_were_worth_then() -> None:
    search = _search(_any(1))
    before, gains = search.state(), [search._raw(number, None)[1] for number in range(3)]
    cost = search.cost()
    for number, take in enumerate(search.takes):
        for one in np.flatnonzero((take > 0) & (search.worths[number].choices.way >= 0)).tolist():
            search.make(number, one, -1)
    search.run(lambda: False, sweeps=1)
    search.back_to(before)
    assert search.cost() == pytest.approx(cost, abs=1e-9)
    for number, gain in enumerate(gains):
        assert search._raw(number, None)[1] == pytest.approx(gain, abs=1e-9)


# One crop -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("weight", [0.25, 0.5, 0.9, 1.0])
def test_what_changes_of_a_tray_bring_is_what_the_trays_bring_after_them(weight: float) -> None:
    """Whatever the other parts allow."""
    rng = np.random.default_rng(5)
    farm = _any(5)
    worth = CropWorth(_models(farm)[1])
    worth = worth.tie(Tied(weight, {mix: rng.random(4) for mix in worth.mixes}))
    take = random_takes(rng, farm)[1]
    search = FarmSearch(farm.shared, [worth.alone], [take])
    moves = search._moves(0, -1)
    after = worth.of(take) + worth.more(take, moves)
    for number, (off, on) in enumerate(zip(moves.off, moves.on, strict=True)):
        other = take.copy()
        other[[one for one in (off,) if one >= 0]] -= 1
        other[[one for one in (on,) if one >= 0]] += 1
        assert after[number] == pytest.approx(worth.of(other), abs=1e-9)


def test_what_is_remembered_of_a_part_is_not_taken_for_that_of_one_tied_otherwise() -> None:
    """Two of the same crop that differ in what the other parts allow are asked in turn, as trays come and go."""
    rng = np.random.default_rng(5)
    farm = _any(5)
    model = _models(farm)[1]
    take, some = random_takes(rng, farm)[1], [
        Tied(0.75, {mix: rng.random(4) for mix in CropWorth(model).mixes}) for _ in range(2)
    ]  # fmt: skip
    one = CropWorth(model).tie(some[0])
    one.more(take, one_tray_moves(model, take))
    both = [one, one.tie(some[1])]
    for turn in range(8):
        moves = one_tray_moves(model, take)
        fresh = CropWorth(model).tie(some[turn % 2])
        assert both[turn % 2].more(take, moves) == pytest.approx(fresh.more(take, moves), abs=1e-9)
        if turn % 3 == 2:
            at = int(rng.integers(len(moves.on)))
            take = take.copy()
            take[moves.off[at] if moves.off[at] >= 0 else moves.on[at]] += -1.0 if moves.off[at] >= 0 else 1.0


# By hand --------------------------------------------------------------------------------------------------------------


def _mix_and_one(spots: int) -> FarmState:
    """A mix of two crops for 12, of which each takes a tray, and an order of radish for 5; sown on one day only."""
    return farm(
        order(9, 200.0, product="duet", price=0.06),
        order(9, 100.0, product="radish", price=0.05, customer="Tin Kettle"),
        recipes=(recipe("radish", window=0, keeps=0), recipe("pea", window=0, keeps=0)),
        lots=(lot("radish"), lot("pea")),
        products=(Product(name="duet", parts=(Part(crop="radish", share=0.5), Part(crop="pea", share=0.5))),),
        dark=spots,
    )


@pytest.mark.parametrize(
    ("spots", "sown"),
    [(3, {"radish": 2, "pea": 1}), (2, {"radish": 1, "pea": 1}), (1, {"radish": 1, "pea": 0})],
    ids=["room for all", "for the mix", "for a part of it"],
)
def test_a_mix_is_grown_whole_or_not_at_all(spots: int, sown: dict[str, int]) -> None:
    """Where there is room for one tray, half of the mix is worth more by the gram, and would bring nothing."""
    state = _mix_and_one(spots)
    decided = told(state, biology=Typical(state.recipes)).decision
    assert {
        plot.crop: round(float(take[plot.choices.way >= 0].sum()))
        for plot, take in zip(decided.plots, decided.takes, strict=True)
    } == sown
