"""Trays that stand when hands, spots or kit do not suffice for them: the plan comes out, and says what it lacks."""

from __future__ import annotations

import random
from datetime import date

import pytest

from tests.plan.farms import day, farm, line, order, plan, pool, recipe, trays
from tests.plan.test_limits import on_mats, stand
from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState
from trayward.plan.types import Limit, Plan

WASH = recipe(window=1, keeps=1, minutes=(0, 0, 0, 8))
"""Cut on its day or the day after; 8 minutes to wash up whether it is cut or thrown away."""
NEAR = order(3, 300, name="near")
"""What the standing trays are for: they are ready on day 2, and keep a day."""


def pressed(made: Plan) -> dict[str, Limit]:
    """The limits that the standing trays overdraw, by name."""
    return {limit.limit: limit for limit in made.limits if not limit.lines}


def hands_of_new(state: FarmState, made: Plan, on: date) -> float:
    """Minutes of a day that the plan's new sowings take up, added up again from what the plan says. [min]"""
    assert state.settings is not None
    looks, total = len(state.settings.rounds), 0.0
    for sowing in made.sowings:
        one = state.recipes[sowing.recipe]
        total += one.minutes_sow * sowing.trays * (sowing.sow_on == on)
        for cut in sowing.cuts:
            total += one.minutes_look * looks * cut.trays * (sowing.sow_on <= on < cut.cut_on)
            total += (one.minutes_cut + one.minutes_wash) * cut.trays * (cut.cut_on == on)
    return total


def lit_of_new(made: Plan, night: date) -> int:
    """Lit spots of a night that the plan's new sowings take up."""
    return sum(
        cut.trays for sowing in made.sowings for cut in sowing.cuts if sowing.stages[1].first <= night < cut.cut_on
    )


def mats_of_new(made: Plan, on: date) -> int:
    """Mats of a day that new sowings take up, which are washed when cut and dry at once."""
    return sum(cut.trays for sowing in made.sowings for cut in sowing.cuts if sowing.sow_on <= on < cut.cut_on)


def test_hands_too_few_for_the_standing_trays_are_named_and_the_plan_comes_out() -> None:
    """Three trays to leave on day 2 or 3, 8 min each, 10 min a day: one fits each day, the third is 6 min too much."""
    state = stand(farm(NEAR, order(8, 100), recipes=(WASH,), work=(10.0,) * 7), 3)
    made = plan(state)
    limit = pressed(made)["hands"]
    assert (limit.has, limit.short, limit.unit) == (10.0, pytest.approx(6.0), "min")
    assert limit.first == limit.last
    assert limit.first in (day(2), day(3))
    when = {day(2): "Wed 2 Dec", day(3): "Thu 3 Dec"}[limit.first]
    assert limit.message == f"hands: 10 min on {when}, 6 min more needed for the trays that stand."
    assert any("trays that stand need more hands than there is" in note for note in made.notes)
    assert line(made, "radish-8/1").met


def test_nothing_new_is_sown_into_hands_that_the_standing_trays_overdraw() -> None:
    """Wednesday has 10 min, the trays that must be cut then take 24; a sowing of that day waits for the next order."""
    slow = recipe(window=0, keeps=0, minutes=(1, 0, 0, 8))
    work = (60.0, 60.0, 10.0, 60.0, 60.0, 60.0, 60.0)
    state = stand(farm(order(2, 300, name="now"), order(7, 100), order(8, 100), recipes=(slow,), work=work), 3)
    made = plan(state)
    assert pressed(made)["hands"].short == pytest.approx(14.0)
    assert [sowing.sow_on for sowing in made.sowings] == [day(3)]
    assert line(made, "now/1").met
    unmet = next(limit for limit in made.limits if limit.limit == "hands" and limit.lines)
    assert (unmet.lines, unmet.has, unmet.short) == (("radish-7/1",), 10.0, pytest.approx(15.0, abs=0.1))


def test_lit_spots_too_few_for_the_standing_trays_are_named_and_the_plan_comes_out() -> None:
    """Three trays in one lit spot; hands let one go on day 2, so that two are one too many in that night as well."""
    work = (60.0, 60.0, 8.0, 60.0, 60.0, 60.0, 60.0)
    state = stand(farm(NEAR, order(8, 200), recipes=(WASH,), work=work, lit=1), 3)
    made = plan(state)
    limit = pressed(made)["lit spots"]
    assert (limit.first, limit.last, limit.has, limit.short) == (day(0), day(2), 1.0, pytest.approx(2.0))
    assert limit.message == (
        "lit spots: too little for the trays that stand from Mon 30 Nov to Wed 2 Dec; "
        "at worst 1 spot on Mon 30 Nov, 2 spots more needed."
    )
    assert set(pressed(made)) == {"lit spots"}
    assert line(made, "radish-8/1").met_grams == pytest.approx(100.0, abs=0.2)
    assert max(lit_of_new(made, day(night)) for night in range(21)) == 1


def test_kit_too_little_for_the_standing_trays_is_named_and_the_plan_comes_out() -> None:
    """Three trays on record hold a mat each of a pool of two; hands let one go on day 2 and two on day 3."""
    mats = recipe(window=1, keeps=1, minutes=(0, 0, 0, 8), kit=on_mats())
    work = (60.0, 60.0, 8.0, 60.0, 60.0, 60.0, 60.0)
    state = farm(
        NEAR,
        order(6, 100, name="soon"),
        order(9, 300),
        recipes=(mats,),
        work=work,
        kit=(pool("mat", 2, dry_hours=0.0, in_use=3),),
    )
    made = plan(stand(state, 3, kit=1))
    limit = pressed(made)["mat"]
    assert (limit.first, limit.last, limit.has, limit.short) == (day(0), day(1), 2.0, pytest.approx(1.0))
    assert limit.message == "mat: 2 from Mon 30 Nov to Tue 1 Dec, 1 more needed for the trays that stand."
    assert not line(made, "soon/1").met
    assert line(made, "radish-9/1").met_grams == pytest.approx(200.0, abs=0.2)
    assert max(mats_of_new(made, day(number)) for number in range(21)) == 2


def test_a_plan_whose_standing_trays_fit_names_no_such_limit() -> None:
    made = plan(stand(farm(NEAR, recipes=(WASH,), work=(16.0,) * 7), 3))
    assert pressed(made) == {}
    assert not any("trays that stand" in note for note in made.notes)


def _tight_farm(seed: int) -> FarmState:
    """A few trays standing in a farm that is short of nearly everything, a different one for each seed."""
    draw = random.Random(seed)
    mats = draw.randint(1, 4)
    one: Recipe = recipe(
        window=draw.randint(0, 2),
        keeps=draw.randint(0, 3),
        kit=on_mats(),
        minutes=(draw.choice((2.0, 5.0)), draw.choice((0.0, 0.3)), draw.choice((2.0, 10.0)), draw.choice((1.0, 4.0))),
    )
    state = farm(
        *(order(draw.randint(0, 16), draw.randint(3, 40) * 10, name=f"o{number}") for number in range(5)),
        recipes=(one,),
        work=(*(draw.choice((0.0, 2.0, 10.0, 30.0)) for _ in range(6)), 30.0),
        lit=draw.randint(1, 4),
        dark=draw.randint(1, 2),
        kit=(pool("mat", mats, dry_hours=0.0, in_use=draw.randint(0, 6)),),
    )
    stage = draw.choice(("germinate", "light", "ready"))
    return stand(state, draw.randint(1, 7), stage=stage, days_ago=draw.choice((0.0, 1.0)), kit=1)


@pytest.mark.parametrize("seed", range(16))
def test_however_tight_the_farm_a_plan_comes_out_with_new_sowings_within_the_limits(seed: int) -> None:
    state = _tight_farm(seed)
    made = plan(state)
    assert len(made.lines) == 5
    assert state.settings is not None
    count, lit = state.kit["mat"].pool.count, state.shelves["L"].spots
    for number in range(21):
        on = day(number)
        minutes = state.settings.work_minutes[on.weekday()]
        assert not minutes or hands_of_new(state, made, on) <= minutes + 1e-6
        assert lit_of_new(made, on) <= lit
        assert mats_of_new(made, on) <= count
    used = {"hands": lambda on: hands_of_new(state, made, on), "lit spots": lambda on: lit_of_new(made, on)}
    for limit in (one for one in made.limits if not one.lines and one.limit in used):
        for on in (limit.first, limit.last):  # what the standing trays overdraw is not there for sowings
            assert used[limit.limit](on) == pytest.approx(0.0, abs=1e-6)


def test_the_tight_farms_are_tight() -> None:
    """Else the test above would say nothing: the standing trays of most of them overdraw some limit."""
    made = [plan(_tight_farm(seed)) for seed in range(16)]
    assert sum(bool(pressed(one)) for one in made) >= 8
    assert sum(trays(one) > 0 for one in made) >= 4
    assert {name for one in made for name in pressed(one)} >= {"hands", "lit spots", "mat"}


def test_limits_of_several_days_in_a_week_are_told_once() -> None:
    """Four minutes of looks a day for two trays, and 16 of washing on the day they leave, at a minute a day."""
    looked = recipe(window=1, keeps=1, minutes=(0, 1, 0, 8))
    made = plan(stand(farm(order(3, 200), recipes=(looked,), work=(1.0,) * 7), 2))
    (hands,) = [limit for limit in made.limits if limit.limit == "hands" and not limit.lines]
    assert (hands.first, hands.last, hands.short) == (day(0), day(2), pytest.approx(15.0))
    assert "from Mon 30 Nov to Wed 2 Dec; at worst 1 min on Wed 2 Dec, 15 min more needed" in hands.message


def test_standing_trays_that_hands_cannot_cut_are_not_called_unwanted() -> None:
    """20 min to cut a tray, 10 min a day; throwing it away takes 1."""
    heavy = recipe(window=1, keeps=1, minutes=(0, 0, 20, 1))
    notes = plan(stand(farm(NEAR, recipes=(heavy,), work=(10.0,) * 7), 2)).notes
    assert "Not used, though orders are short of radish: 2 standing trays, s.1 and s.2." in notes
    assert not any("No order has a use" in note for note in notes)
