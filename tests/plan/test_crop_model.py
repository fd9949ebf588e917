"""One crop alone: its linear model, the rows that whole trays keep, and what a choice of trays is worth."""

from __future__ import annotations

import numpy as np
import pytest

from tests.plan.plain_model import Farm, plain, random_farm, random_takes, with_highs
from trayward.plan.crop_model import CropModel, asked_of
from trayward.plan.crop_search import CropWorth
from trayward.plan.crop_whole import WholeTrays
from trayward.plan.days import Floats
from trayward.plan.demand import Want
from trayward.plan.plots import Plot
from trayward.plan.uses import CUT

SAME = 1e-5


def _alone(seed: int, *, choices: int = 6, tiers: int = 2, most: int = 2) -> tuple[Farm, CropModel]:
    """One crop, and no limit that binds."""
    farm = random_farm(
        np.random.default_rng(seed), crops=1, scenarios=4, dues=5, choices=choices, tiers=tiers, most=most
    )
    farm = farm._replace(shared=farm.shared._replace(has=np.full(farm.shared.has.shape, np.inf)))
    return farm, CropModel(farm.plots[0], farm.asked[0], farm.disposal)


def _served_best(farm: Farm, take: Floats) -> float:
    """Cost of trays when every scenario is served as well as can be."""
    return with_highs(plain(farm, fixed=[take]), whole=False).cost


def _fixed(model: CropModel, take: Floats) -> float:
    """Cost of trays by the crop's own model, with the rows it has by now."""
    model.solver.set_costs(model.take, model.plot.choices.cost)
    model.solver.set_bounds(model.take, take, take)
    _, cost = model.solver.solve()
    model.solver.set_bounds(model.take, np.zeros(model.count), model.plot.choices.upper)
    return cost


def _asked_often(model: CropModel, rng: np.random.Generator) -> int:
    """Ask at many charges, so that it collects rows; how many."""
    before = model.solver.rows
    for _ in range(8):
        model.ask(rng.uniform(-0.5, 2.0, model.count), deep=True)
    return model.solver.rows - before


def _in_turn(plot: Plot) -> Plot:
    choices = plot.choices
    serves = (choices.first <= choices.last) & (choices.how == CUT)[None, :]
    last = np.where(serves, np.minimum(choices.first + 1, len(plot.demand.days) - 1), choices.first - 1)
    return plot._replace(choices=choices._replace(last=last))


# Rows that whole trays keep -------------------------------------------------------------------------------------------


def test_rows_that_whole_trays_keep_make_no_whole_trays_dearer_than_they_are() -> None:
    """On ten farms. Where the model's running totals flatter trays, a row may put that right; beyond it none goes."""
    rows = 0
    for seed in range(10):
        farm, model = _alone(seed)
        rng = np.random.default_rng(100 + seed)
        rows += _asked_often(model, rng)
        for take in (random_takes(rng, farm)[0] for _ in range(12)):
            assert _fixed(model, take) <= _served_best(farm, take) + SAME
    assert rows > 100


@pytest.mark.parametrize("seed", range(10))
def test_rows_that_whole_trays_keep_leave_the_cost_of_whole_trays_alone_where_the_model_is_exact(seed: int) -> None:
    farm, _ = _alone(seed)
    model = CropModel(_in_turn(farm.plots[0])._replace(stock=[]), farm.asked[0], farm.disposal)
    rng = np.random.default_rng(150 + seed)
    takes = [random_takes(rng, farm)[0] for _ in range(12)]
    before = [_fixed(model, take) for take in takes]
    _asked_often(model, rng)
    assert [_fixed(model, take) for take in takes] == pytest.approx(before, abs=SAME)


def test_such_rows_prove_more_than_the_model_without_them() -> None:
    """One order of 50 g and trays of 100 g: half a tray would do for 1.00, a whole one costs 2.00."""
    farm, _ = _alone(1)
    plot = farm.plots[0]
    one, wide = np.ones(1), np.full((4, 1), 100.0)
    choices = plot.choices._replace(
        **{name: getattr(plot.choices, name)[:1] for name in ("sow", "stand")},
        way=np.zeros(1, dtype=np.int64), group=np.full(1, -1), how=np.array([CUT]), due=np.full(1, -1),
        upper=one, cost=2 * one, seed_g=0 * one, grams=wide, first=np.zeros((4, 1), dtype=np.int64),
        last=np.zeros((4, 1), dtype=np.int64), leave=wide, ready=wide,
    )  # fmt: skip
    asked = farm.asked[0]._replace(
        due=np.zeros(1, dtype=np.int64), amount=np.full((4, 1), 50.0), worth=one, live=np.zeros(1, dtype=np.int64)
    )
    model = CropModel(plot._replace(choices=choices, groups=[], stock=[]), asked, 0.0)
    assert model.ask(np.zeros(1), rounds=0).cost == pytest.approx(1.0)
    assert model.ask(np.zeros(1)).cost == pytest.approx(2.0)


# Its cost against the plain form --------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(10))
def test_the_model_never_makes_trays_dearer_than_they_are(seed: int) -> None:
    """Its running totals let a tray that keeps long help out one that spoils within its days; never the other way."""
    farm, model = _alone(seed)
    rng = np.random.default_rng(200 + seed)
    for take in (random_takes(rng, farm)[0] for _ in range(8)):
        assert _fixed(model, take) <= _served_best(farm, take) + SAME


@pytest.mark.parametrize("seed", range(10))
def test_it_costs_trays_rightly_where_what_comes_first_spoils_first(seed: int) -> None:
    farm, _ = _alone(seed)
    farm = farm._replace(plots=[_in_turn(farm.plots[0])._replace(stock=[])])
    model, rng = CropModel(farm.plots[0], farm.asked[0], farm.disposal), np.random.default_rng(300 + seed)
    for take in (random_takes(rng, farm)[0] for _ in range(8)):
        assert _fixed(model, take) == pytest.approx(_served_best(farm, take), abs=SAME)


@pytest.mark.parametrize("seed", range(10))
def test_branching_ends_at_the_best_whole_trays(seed: int) -> None:
    """As the plain form finds them, at charges by chance; a tray that is paid for is taken too."""
    farm, _ = _alone(seed)
    plot = _in_turn(farm.plots[0])._replace(stock=[])
    charge = np.random.default_rng(400 + seed).uniform(-1.0, 2.0, len(plot.choices.upper))
    charged = plot._replace(choices=plot.choices._replace(cost=plot.choices.cost + charge))
    best = with_highs(plain(farm._replace(plots=[charged]))).cost
    crop = WholeTrays(CropModel(plot, farm.asked[0], farm.disposal), charge)
    seen = [crop.bound]
    while not crop.done:
        crop.work()
        seen.append(crop.bound)
    assert crop.bound == pytest.approx(best, abs=1e-3)
    assert seen == sorted(seen)
    assert max(seen) <= best + SAME


@pytest.mark.parametrize("seed", range(4))
def test_after_branching_a_model_answers_as_before(seed: int) -> None:
    _, model = _alone(seed)
    charge = np.zeros(model.count)
    for _ in range(4):
        before = model.ask(charge, deep=True).cost
    crop = WholeTrays(model, charge + 0.3)
    while not crop.done:
        crop.work()
    # Rows found while branching hold for all branches and may raise it.
    assert before - SAME <= model.ask(charge, rounds=0).cost <= with_least(model) + SAME


def with_least(model: CropModel) -> float:
    """The least cost of whole trays without charges, by branching."""
    crop = WholeTrays(model, np.zeros(model.count))
    while not crop.done:
        crop.work()
    return crop.bound


# What trays are worth -------------------------------------------------------------------------------------------------


def _worth_cost(farm: Farm, take: Floats) -> float:
    model = CropModel(farm.plots[0], farm.asked[0], farm.disposal)
    worth = CropWorth(model)
    return model.forgone - worth.of(take) + float(model.plot.choices.cost @ take)


@pytest.mark.parametrize("seed", range(10))
def test_serving_what_spoils_first_is_best_of_all_where_all_grams_are_worth_the_same(seed: int) -> None:
    farm, _ = _alone(seed, tiers=1)
    rng = np.random.default_rng(500 + seed)
    for take in (random_takes(rng, farm)[0] for _ in range(8)):
        assert _worth_cost(farm, take) == pytest.approx(_served_best(farm, take), abs=SAME)


@pytest.mark.parametrize("seed", range(10))
def test_serving_day_by_day_never_beats_the_best_service(seed: int) -> None:
    """Where some days pay more than others, what was sold today may be missing tomorrow."""
    farm, _ = _alone(seed, tiers=3)
    rng = np.random.default_rng(600 + seed)
    for take in (random_takes(rng, farm)[0] for _ in range(8)):
        assert _worth_cost(farm, take) >= _served_best(farm, take) - SAME


def test_scenarios_chosen_from_a_plot_cost_what_they_cost_alone() -> None:
    farm, _ = _alone(7)
    plot, asked, some = farm.plots[0], farm.asked[0], np.array([2])
    picked = CropModel(plot, asked, farm.disposal, some)
    choices = plot.choices
    alone = plot._replace(
        choices=choices._replace(**{name: getattr(choices, name)[some] for name in ("grams", "first", "last")})
    )
    single = CropModel(alone, asked._replace(amount=asked.amount[some]), farm.disposal)
    charge = np.linspace(-1, 1, picked.count)
    assert picked.ask(charge).cost == pytest.approx(single.ask(charge).cost, abs=SAME)


def test_letting_all_down_costs_the_same_by_a_model_of_a_few_scenarios_as_by_one_of_all() -> None:
    """Or a search over few and a proof over all would be held against each other by different marks."""
    farm, _ = _alone(7)
    asked = farm.asked[0]._replace(amount=farm.asked[0].amount * np.array([[0.0], [1.0], [1.0], [2.0]]))
    few = CropModel(farm.plots[0], asked, farm.disposal, np.array([3]))
    assert few.forgone == pytest.approx(float((asked.amount * asked.worth).sum(axis=1).mean()))
    assert few.own_forgone == pytest.approx(float(asked.amount[3] @ asked.worth))
    assert few.own_forgone > few.forgone > 0.0


def test_a_mix_asks_each_of_its_crops_for_its_share_at_the_mix_s_worth() -> None:
    farm, _ = _alone(3)
    plot = farm.plots[0]
    day = int(plot.demand.days[1])
    mix = Want(product="mix", parts=((plot.crop, 0.25), ("other", 0.75)), day=day, live=False, amount=80.0, worth=0.1,
               regret=0.0, lines=(0,))  # fmt: skip
    asked = asked_of(plot, [mix], np.array([0.05]), np.full((4, 1), 80.0))
    assert asked.due.tolist() == [1]
    assert asked.amount[:, 0].tolist() == [20.0] * 4
    assert asked.worth.tolist() == pytest.approx([0.15])
