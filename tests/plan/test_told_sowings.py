"""What the plan says of its sowings, cuts and racks."""

from __future__ import annotations

import pytest

from tests.plan.doubts import certain, doubtful, unsure_recipe
from tests.plan.farms import day, farm, lot, order, plan, recipe
from tests.plan.test_rules import some_farm
from tests.plan.test_under_doubt import EXACT, stand

# Sowings and cuts -----------------------------------------------------------------------------------------------------


def test_a_sowing_says_whom_it_serves_when_it_is_cut_and_its_seed() -> None:
    made = certain(farm(order(5, 150), recipes=(EXACT,), lots=(lot(grams=15, name="old"), lot(grams=500, name="new"))))
    (sown,) = made.sowings
    assert (sown.sow_on, sown.cut_on, sown.trays, sown.grams_expected) == (day(0), day(5), 2, 200.0)
    assert [(one.customer, one.due, one.grams) for one in sown.serves] == [("Copper Ladle", day(5), 150.0)]
    assert sum(taken.grams for taken in sown.lots) == sown.seed_g == 20.0
    assert [(one.stage, one.first, one.last) for one in sown.stages] == [
        ("germinate", day(0), day(1)), ("light", day(2), day(4)), ("ready", day(5), day(5))
    ]  # fmt: skip


def test_what_is_served_by_sowings_adds_up_to_what_lines_get() -> None:
    made = doubtful(some_farm(1))
    for one in made.lines:
        given = sum(serve.grams for sown in made.sowings for serve in sown.serves if serve.line == one.line)
        assert given == pytest.approx(one.met_grams, abs=1.0 + 0.2 * len(made.sowings))


def test_as_many_trays_are_cut_a_day_as_what_is_due_takes() -> None:
    """Four trays of 100 g, ready on day 2 with two days to stand: two for 150 g on day 2, two for 200 g on day 4."""
    state = stand(farm(order(2, 150), order(4, 200), recipes=(recipe(window=2, keeps=0),)), 4)
    made = certain(state)
    assert [(cut.cut_on, cut.trays) for cut in made.cuts] == [(day(2), 2), (day(4), 2)]
    names = [name for cut in made.cuts for name in cut.standing]
    assert sorted(names) == ["s.1", "s.2", "s.3", "s.4"]


# For a picture of it --------------------------------------------------------------------------------------------------


def test_the_racks_are_as_full_each_night_as_the_trays_that_stand_on_them() -> None:
    """Two trays due on day 8, where all is typical: sown on day 3, two nights in the dark and three in the light."""
    state = farm(order(8, 200.0), recipes=(recipe(window=0, keeps=0),), dark=3, lit=5)
    dark, lit = certain(state).racks
    assert (dark.limit, lit.limit) == ("dark spots", "lit spots")
    assert (set(dark.has), set(lit.has)) == ({3.0}, {5.0})
    for rack, nights in ((dark, (3, 4)), (lit, (5, 6, 7))):
        expected = tuple(2.0 if night in nights else 0.0 for night in range(21))
        assert rack.likely == rack.low == rack.high == expected


def test_where_days_are_in_doubt_the_racks_and_the_cut_have_a_range() -> None:
    state = farm(order(12, 300.0), order(15, 300.0), recipes=(unsure_recipe(),))
    made = doubtful(state)
    for rack in made.racks:
        assert all(low - 1e-9 <= high for low, high in zip(rack.low, rack.high, strict=True))
        assert any(low < high for low, high in zip(rack.low, rack.high, strict=True))
    between = [sowing.cut_between for sowing in made.sowings]
    assert all(one is not None and one[0] <= sowing.cut_on <= one[1]
               for one, sowing in zip(between, made.sowings, strict=True))  # fmt: skip
    assert any(one is not None and one[0] < one[1] for one in between)


def test_a_plan_over_one_future_has_no_ranges_to_show() -> None:
    made = plan(farm(order(8, 200.0)))
    assert made.racks == ()
    assert {sowing.cut_between for sowing in made.sowings} == {None}
