"""Whole trays of one crop, changed one by one."""

from __future__ import annotations

import numpy as np
import pytest

from tests.plan.doubts import simple_plot
from tests.plan.plain_model import Farm, plain, random_farm, random_takes, with_highs
from trayward.plan.crop_model import Asked, CropModel
from trayward.plan.crop_search import (
    CropWorth,
    Moves,
    one_tray_moves,
    rounded,
    seed_suffices,
    standing_moves,
)
from trayward.plan.days import Floats, Ints
from trayward.plan.farm_search import FarmSearch
from trayward.plan.followed import Course, Follower
from trayward.plan.uses import DISCARD


def _alone(seed: int, *, most: int = 3) -> tuple[Farm, CropModel, CropWorth]:
    farm = random_farm(np.random.default_rng(seed), crops=1, scenarios=4, dues=5, choices=7, most=most)
    farm = farm._replace(shared=farm.shared._replace(has=np.full(farm.shared.has.shape, np.inf)))
    model = CropModel(farm.plots[0], farm.asked[0], farm.disposal)
    return farm, model, CropWorth(model)


def _moved(take: Floats, moves: Moves, at: int) -> Floats:
    found = take.copy()
    for which, sign in ((moves.off, -1.0), (moves.on, 1.0)):
        if which[at] >= 0:
            found[which[at]] += sign
    return found


@pytest.mark.parametrize("seed", range(8))
def test_changes_weighed_together_are_worth_what_each_is_alone(seed: int) -> None:
    farm, model, worth = _alone(seed)
    rng = np.random.default_rng(50 + seed)
    for take in (random_takes(rng, farm)[0] for _ in range(3)):
        for moves in (one_tray_moves(model, take), standing_moves(model, take)):
            each = [worth.of(_moved(take, moves, at)) for at in range(len(moves.on))]
            assert worth.of(take) + worth.more(take, moves) == pytest.approx(np.array(each), abs=1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_trays_are_worth_the_same_whatever_was_asked_before(seed: int) -> None:
    """What is known of the trays before is used for those that follow."""
    farm, model, worth = _alone(seed)
    rng = np.random.default_rng(80 + seed)
    for take in (random_takes(rng, farm)[0] for _ in range(12)):
        assert worth.of(take) == pytest.approx(CropWorth(model).of(take), abs=1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_changes_keep_the_number_of_standing_trays_and_no_count_falls_below_none(seed: int) -> None:
    farm, model, _ = _alone(seed)
    rng = np.random.default_rng(60 + seed)
    for take in (random_takes(rng, farm)[0] for _ in range(5)):
        for moves in (one_tray_moves(model, take), standing_moves(model, take)):
            for at in range(len(moves.on)):
                after = _moved(take, moves, at)
                assert after.min() >= 0
                assert (after <= model.plot.choices.upper).all()
                assert all(after[own].sum() == size for _, own, size in model.plot.groups)


@pytest.mark.parametrize("seed", range(10))
def test_rounding_keeps_seed_groups_and_bounds_and_gives_whole_trays(seed: int) -> None:
    _, model, _ = _alone(seed, most=5)
    take = rounded(model, model.ask(np.zeros(model.count)).take)
    assert (take == np.rint(take)).all()
    assert seed_suffices(model, take[None]).all()
    assert ((take >= 0) & (take <= model.plot.choices.upper)).all()
    assert all(take[own].sum() == size for _, own, size in model.plot.groups)


def test_seed_that_comes_later_serves_only_what_is_sown_then() -> None:
    """30 g are there on day 0, which is three trays of 10 g; what comes with the second lot is for later days."""
    _, model, _ = _alone(2)
    choices, seed = model.plot.choices, model.plot.seed
    assert seed is not None
    comes = seed.lots[1]
    before = np.flatnonzero((choices.way >= 0) & (choices.sow < comes.day))
    take = np.zeros(model.count)
    take[before[0]] = 3
    assert seed_suffices(model, take[None])[0]
    take[before[0]] = 4
    assert not seed_suffices(model, take[None])[0]


@pytest.mark.parametrize("seed", range(10))
def test_changing_trays_one_by_one_never_makes_them_worse_and_never_beats_the_best(seed: int) -> None:
    farm, model, worth = _alone(seed)
    start = random_takes(np.random.default_rng(70 + seed), farm)[0]
    search = FarmSearch(farm.shared, [worth], [start])
    search.run(lambda: False)
    (after,) = search.takes
    costs = [model.forgone - worth.of(take) + float(model.plot.choices.cost @ take) for take in (start, after)]
    assert costs[1] <= costs[0] + 1e-9
    assert costs[1] >= with_highs(plain(farm)).cost - 1e-5
    assert seed_suffices(model, after[None])[0]


def test_nothing_is_sown_in_place_of_a_tray_that_stands_there_unused() -> None:
    """To sow one more is worth it; to use the one that stands is worth more, and then the other is not."""
    roomy, _, _ = _alone(0)
    plot = simple_plot("radish", np.full((4, 3), 95.0), np.zeros((4, 3)), np.zeros((4, 3)), [5])
    choices = plot.choices
    discard = np.array([False, False, True])
    choices = choices._replace(
        way=np.array([0, -1, -1]),
        group=np.array([-1, 0, 0]),
        how=np.where(discard, DISCARD, choices.how),
        upper=np.array([5.0, 1.0, 1.0]),
        cost=np.array([8.0, 1.0, 0.0]),
        grams=np.where(discard, 0.0, choices.grams),
        last=np.where(discard, -1, choices.last),
    )
    plot = plot._replace(choices=choices, groups=[(0, np.array([1, 2]), 1.0)])
    asked = Asked(np.array([0]), np.full((4, 1), 90.0), np.array([0.3]), np.array([0]))
    worth = CropWorth(CropModel(plot, asked, 0.0))
    search = FarmSearch(roomy.shared, [worth], [np.array([0.0, 0.0, 1.0])])
    search.run(lambda: False)
    assert search.takes[0].tolist() == [0.0, 1.0, 0.0]


@pytest.mark.parametrize("seed", range(8))
def test_what_is_remembered_of_changes_is_what_they_bring_as_trays_come_and_go(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """They bring what a worth that remembers nothing says; and fewer are followed than are asked for."""
    farm, model, worth = _alone(seed)
    rng = np.random.default_rng(90 + seed)
    take, asked, followed = random_takes(rng, farm)[0], 0, 0
    for _ in range(20):
        moves = one_tray_moves(model, take)
        fresh = CropWorth(model).more(take, moves)
        with monkeypatch.context() as patched:
            counted = _counting(patched)
            assert worth.more(take, moves) == pytest.approx(fresh, abs=1e-9)
        asked, followed = asked + len(moves.on), followed + sum(counted)
        take = _moved(take, moves, int(rng.integers(len(moves.on))))
    assert 0 < followed < asked


def _counting(patched: pytest.MonkeyPatch) -> list[int]:
    """How many changes are followed, each time."""
    found, follow = list[int](), Follower._follow

    def counted(self: Follower, course: Course, off: Ints, *others: Ints) -> tuple[Floats, Ints]:
        found.append(len(off))
        return follow(self, course, off, *others)

    patched.setattr(Follower, "_follow", counted)
    return found
