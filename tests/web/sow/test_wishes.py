"""A grower's own wish in the plan."""

from __future__ import annotations

import msgspec
import pytest

from tests.web.sow.conftest import TODAY, day, sowing
from trayward.errors import InputError
from trayward.plan.types import Plan
from trayward.web.sow.wishes import (
    by_hand,
    moved,
    on_day,
    plan_mark,
    resized,
    same_plan,
    with_own,
    with_trays,
    without,
)  # fmt: skip


def test_more_trays_take_more_seed_and_bring_more_grams(plan: Plan) -> None:
    broccoli = with_trays(plan, 0, 3).sowings[0]
    assert (broccoli.trays, broccoli.seed_g, broccoli.lots[0].grams) == (3, 60.0, 60.0)
    assert broccoli.grams_expected == 300.0
    assert [cut.trays for cut in broccoli.cuts] == [3]
    assert broccoli.serves == plan.sowings[0].serves  # nobody asked for the other two


def test_of_fewer_trays_the_live_one_stays_promised(plan: Plan) -> None:
    radish = with_trays(plan, 1, 1).sowings[1]
    assert radish.cuts == ()
    assert radish.grams_expected == 0.0
    assert [(serve.customer, serve.trays) for serve in radish.serves] == [("Quay Kitchen", 1)]


def test_fewer_trays_serve_the_first_days_as_far_as_they_reach(plan: Plan) -> None:
    pea = with_trays(plan, 2, 2).sowings[2]
    assert pea.grams_expected == 200.0
    assert sum(serve.grams for serve in pea.serves) == 200.0  # of the 240 g that three trays were to serve


def test_on_another_day_all_of_its_days_move_along(plan: Plan) -> None:
    changed = on_day(plan, 0, day(2), TODAY)
    moved = next(one for one in changed.sowings if one.crop == "broccoli")
    assert (moved.sow_on, moved.cut_on, moved.cut_between) == (day(2), day(12), (day(11), day(14)))
    assert [stage.first for stage in moved.stages] == [day(2), day(5), day(7), day(12)]
    assert [one.sow_on for one in changed.sowings] == sorted(one.sow_on for one in changed.sowings)


def test_as_many_trays_wait_for_the_evening_as_there_are_and_none_on_another_day(plan: Plan) -> None:
    late = msgspec.structs.replace(plan.sowings[0], trays=3, evening=2)
    assert (resized(late, 1).evening, resized(late, 5).evening, moved(late, day(2)).evening) == (1, 2, 0)


def test_every_wish_is_told_and_the_chances_stay_those_of_before(plan: Plan) -> None:
    changed = with_own(without(with_trays(plan, 0, 2), 1), sowing("kale", 3, 1), TODAY)
    hand, notes = by_hand(changed)
    assert hand == (
        "kale on mesh mat on Sat 28 Nov, 1 tray, added.",
        "radish on mesh mat on Wed 25 Nov, 2 trays, left out.",
        "broccoli on mesh mat on Wed 25 Nov, 2 trays instead of 1.",
    )
    assert notes == plan.notes
    assert (changed.lines, changed.money, changed.made_at) == (plan.lines, plan.money, plan.made_at)


@pytest.mark.parametrize(("trays", "sown"), [(0, 0), (1, 2), (501, 0)])
def test_trays_that_cannot_be_are_refused(plan: Plan, trays: int, sown: int) -> None:
    with pytest.raises(InputError, match=r"trays = \d+: must lie in"):
        with_trays(plan, 2, trays, sown)


@pytest.mark.parametrize("number", [-1, 21])
def test_a_day_outside_the_plan_is_refused(plan: Plan, number: int) -> None:
    with pytest.raises(InputError, match="the days of the plan"):
        on_day(plan, 0, day(number), TODAY)


def test_a_form_filled_in_against_another_plan_is_refused(plan: Plan) -> None:
    mark = plan_mark(plan)
    assert same_plan(plan, mark) is plan
    with pytest.raises(InputError, match="changed since this page was opened"):
        same_plan(without(plan, 0), mark)
