"""What parts of mixes are worth by themselves: a bound never above the best plan, and nearer it than by weight."""

from __future__ import annotations

import numpy as np
import pytest

from tests.plan.plain_model import Farm, mixed_farm, plain, with_highs
from trayward.plan.crop_model import CropModel
from trayward.plan.mix_worths import MixWorths
from trayward.plan.prices import charge_of, find_prices

SAME = 1e-5


def _farm(seed: int) -> Farm:
    return mixed_farm(np.random.default_rng(seed), crops=3, scenarios=4, dues=4, choices=6)


def _models(farm: Farm) -> list[CropModel]:
    return [CropModel(plot, asked, farm.disposal) for plot, asked in zip(farm.plots, farm.asked, strict=True)]


def _free(farm: Farm) -> Farm:
    """As much of every limit as anybody may want."""
    return farm._replace(shared=farm.shared._replace(has=np.full(farm.shared.has.shape, 1e9)))


def _shared_out(models: list[CropModel], *, late: bool = False) -> float:
    """What the crops cost together, asked one by one once the worth of mixes was shared out. [currency]"""
    mixes = MixWorths(models)
    mixes.share_out([np.zeros(model.count) for model in mixes.models], lambda: late)
    return sum(model.ask(np.zeros(model.count)).cost for model in models)


@pytest.mark.parametrize("seed", range(6))
def test_crops_asked_one_by_one_never_cost_more_than_the_best_plan_and_come_nearer_it_than_by_weight(seed: int) -> None:
    farm = _free(_farm(seed))
    best = with_highs(plain(farm)).cost
    by_weight = sum(model.ask(np.zeros(model.count)).cost for model in _models(farm))
    shared = _shared_out(_models(farm))
    assert by_weight - SAME <= shared <= best + SAME
    assert _shared_out(_models(farm), late=True) <= best + SAME


def test_on_the_whole_much_of_what_shares_by_weight_leave_open_is_closed() -> None:
    """Over farms without sense; 0.84 of it as measured."""
    left, closed = 0.0, 0.0
    for seed in range(6):
        farm = _free(_farm(seed))
        by_weight = sum(model.ask(np.zeros(model.count)).cost for model in _models(farm))
        left += with_highs(plain(farm)).cost - by_weight
        closed += _shared_out(_models(farm)) - by_weight
    assert closed > 0.7 * left > 0.0


@pytest.mark.parametrize("seed", range(3))
def test_shares_of_a_mix_come_to_its_worth_in_every_scenario(seed: int) -> None:
    farm = _farm(seed)
    mixes = MixWorths(_models(farm))
    mixes._solve(lambda: False)
    total: dict[int, np.ndarray] = {}
    whole: dict[int, float] = {}
    for model, worths in zip(mixes.models, mixes._worths(), strict=True):
        for tier, worth in worths.items():
            mix, share = int(model.cut.mix[tier]), float(model.cut.share[tier])
            total[mix] = total.get(mix, np.zeros(model.scenarios)) + worth * share
            whole[mix] = whole.get(mix, 0.0) + float(model.cut.worth[tier]) * share
    assert len(total) > 1
    for mix, found in total.items():
        assert found == pytest.approx(whole[mix])


def test_begun_where_the_crops_ended_the_answer_is_the_same_and_found_in_fewer_steps() -> None:
    steps = []
    for begun in (False, True):
        models = _models(_free(_farm(1)))
        for model in models:
            model.ask(np.zeros(model.count))
        mixes = MixWorths(models)
        if begun:
            mixes._begin()
        _, cost = mixes._solver.solve()
        steps.append((cost, mixes._solver._solver.getInfo().simplex_iteration_count))
    assert steps[0][0] == pytest.approx(steps[1][0])
    assert steps[1][1] < steps[0][1]


def test_where_a_crop_was_not_asked_yet_the_model_begins_by_itself() -> None:
    models = _models(_free(_farm(1)))
    mixes = MixWorths(models)
    mixes._begin()
    assert mixes._solver.solve()[1] <= with_highs(plain(_free(_farm(1)))).cost + SAME


def test_shares_heed_what_limits_cost() -> None:
    """At the prices of short limits, too, together with what they are paid, no plan is cheaper than what is proven."""
    for seed in range(4):
        farm = _farm(seed)
        models, shared = _models(farm), farm.shared
        price = np.full((len(shared.numbers), shared.scenarios, shared.has.shape[1]), 0.01)
        price = np.minimum(price, (shared.beyond / shared.scenarios)[:, None, None])
        charges = [charge_of(shared, model, price) for model in models]
        mixes = MixWorths(models)
        mixes.share_out([charges[models.index(model)] for model in mixes.models], lambda: False)
        cost = sum(model.ask(charge).cost for model, charge in zip(models, charges, strict=True))
        assert cost - float((price * shared.has[:, None, :]).sum()) <= with_highs(plain(farm)).cost + SAME


@pytest.mark.parametrize("seed", range(4))
def test_the_proof_with_mixes_holds_and_is_nearer_than_one_that_counts_parts_by_themselves(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    farm = _farm(seed)
    best = with_highs(plain(farm)).cost
    bound = find_prices(farm.shared, _models(farm), enough=0.0).bound
    monkeypatch.setattr("trayward.plan.prices._Pricing._share_mixes", lambda *_: None)
    apart = find_prices(farm.shared, _models(farm), enough=0.0).bound
    assert apart - SAME <= bound <= best + SAME
