"""What may come: days and grams of what is sown and of what stands, drawn or told by somebody who knows."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import msgspec
import numpy as np
import pytest

from tests.plan.doubts import QUICK, Typical, by_the_first_walk, certain, told, unsure_recipe
from tests.plan.farms import NOW, ROUNDS, day, farm, line, order, recipe, trays
from tests.plan.test_under_doubt import SOON, stand
from trayward.errors import InputError
from trayward.farm.calendar import local_day
from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState, Tray
from trayward.outlook.ahead import look_ahead
from trayward.plan.days import Days
from trayward.plan.futures import Future, Futures, draw_futures, known_futures
from trayward.plan.make import make_plan
from trayward.plan.ways import Ways, find_ways


class Knows:
    """Somebody who knows what the test says: by the day sown, and by the tray."""

    certain, foresees = True, True

    def __init__(self, sown: dict[date, Future], standing: dict[str, Future] | None = None) -> None:
        self.days, self.trays = sown, standing or {}
        self.usual = Future(stage_days=(2.0, 3.0), grams=100.0)

    def sees(self, state: FarmState, at: datetime) -> None:
        """Whatever the farm is like."""

    def sown(self, recipe: Recipe, day: date, scenario: int, *, evening: bool = False) -> Future:
        """As said of the day; else as usual."""
        told = self.days.get(day, self.usual)
        return msgspec.structs.replace(told, stage_days=by_the_first_walk(told.stage_days))

    def standing(self, tray: Tray, scenario: int) -> Future:
        """As said of the tray."""
        told = self.trays[tray.tray]
        return msgspec.structs.replace(told, stage_days=by_the_first_walk(told.stage_days))


def ways_of(state: FarmState, at: datetime = NOW) -> tuple[Ways, Days]:
    assert state.settings is not None
    days = Days(state.settings, local_day(at, state.settings), 21)
    return find_ways(state, look_ahead(state, at), at, ["radish"], days), days


def known(state: FarmState, biology: Knows, at: datetime = NOW, scenarios: int = 1) -> Futures:
    ways, days = ways_of(state, at)
    return known_futures(state, at, ways.ways, days, biology, scenarios)


# Somebody who knows ---------------------------------------------------------------------------------------------------


def test_who_knows_is_believed_to_the_day_and_the_gram() -> None:
    told_days = {day(0): Future(stage_days=(3.0, 4.0), grams=77.0), day(2): Future(stage_days=(1.0, 2.0), grams=140.0)}
    (sown,) = known(farm(), Knows(told_days)).sown
    assert sown.begins[0, 0].tolist() == [0, 3, 7]
    assert sown.begins[0, 1].tolist() == [1, 3, 6]
    assert sown.begins[0, 2].tolist() == [2, 3, 5]
    assert sown.grams[0, :3].tolist() == [77.0, 100.0, 140.0]


def test_what_is_ready_late_in_a_day_is_cut_the_next() -> None:
    """Ready before the first walk, at seven, it is cut that day; an hour after, it is seen in the evening."""
    told_days = {day(0): Future(stage_days=(2.0, 3.0), grams=1.0), day(1): Future(stage_days=(2.0, 3.08), grams=1.0)}
    (sown,) = known(farm(), Knows(told_days)).sown
    assert (sown.begins[0, 0, -1], sown.begins[0, 1, -1]) == (5, 7)


def test_a_window_runs_from_the_evening_on_which_a_tray_is_seen_to_be_ready() -> None:
    """Sown towards ten; ready in the afternoon it is seen at seven in the evening, at night on the next morning."""
    afternoon, night = Future(stage_days=(2.0, 3.2), grams=1.0), Future(stage_days=(2.0, 3.6), grams=1.0)
    (sown,) = known(farm(), Knows({day(0): afternoon, day(1): night})).sown
    assert (sown.begins[0, 0, -1], sown.since[0, 0]) == (6, 5)
    assert (sown.begins[0, 1, -1], sown.since[0, 1]) == (7, 7)


def test_a_farm_that_walks_once_a_day_sees_it_on_the_next_morning() -> None:
    once = farm()
    assert once.settings is not None
    once.settings = msgspec.structs.replace(once.settings, rounds=ROUNDS[:1])
    (sown,) = known(once, Knows({day(0): Future(stage_days=(2.0, 3.2), grams=1.0)})).sown
    assert (sown.begins[0, 0, -1], sown.since[0, 0]) == (6, 6)


def test_a_tray_known_to_be_lost_gives_nothing() -> None:
    told_days = {day(0): Future(stage_days=(2.0, 3.0), grams=90.0, lost=True)}
    (sown,) = known(farm(), Knows(told_days)).sown
    assert sown.grams[0, 0] == 0.0


def test_a_standing_trays_stage_counts_from_when_it_began() -> None:
    """In the light since a day and a half; that stage takes four days in all: ready in two and a half, so on day 3."""
    state = stand(farm(), 2, days_ago=1.5)
    futures = known(state, Knows({}, dict.fromkeys(("s.1", "s.2"), Future(stage_days=(4.0,), grams=88.0))))
    (group,) = futures.stood
    assert group.trays == ("s.1", "s.2")
    assert group.begins[0].tolist() == [0, 3]
    assert group.grams.tolist() == [88.0]


def test_a_lost_tray_among_standing_ones_lowers_what_one_of_them_gives() -> None:
    state = stand(farm(), 2)
    one, other = Future(stage_days=(3.0,), grams=90.0), Future(stage_days=(3.0,), grams=90.0, lost=True)
    (group,) = known(state, Knows({}, {"s.1": one, "s.2": other})).stood
    assert group.grams.tolist() == [45.0]


def test_a_ready_tray_has_been_ready_since_it_came_to_be() -> None:
    state = stand(farm(), 1, stage="ready", days_ago=2.0)
    (group,) = known(state, Knows({}, {"s.1": Future(stage_days=(), grams=50.0)})).stood
    assert group.begins[0].tolist() == [-2]


def test_a_tray_seen_ready_on_this_mornings_walk_is_ready_since_today() -> None:
    """At eight: seen at seven this morning it is of today, at seven last evening of yesterday; known or drawn."""
    for hours, since in ((1.0, 0), (13.0, -1), (25.0, -1)):
        state = stand(farm(), 1, stage="ready", days_ago=hours / 24)
        (knows,) = known(state, Knows({}, {"s.1": Future(stage_days=(), grams=50.0)})).stood
        (draws,) = drawn(state, 4).stood
        assert (knows.since[0], draws.since[0]) == (since, since)


def test_what_is_sown_in_the_evening_takes_its_place_by_day_from_the_next_day_on() -> None:
    futures = known(farm(), Knows({}))
    (morning,), (evening,) = futures.sown, futures.evening
    assert evening is not None
    assert (morning.late[0, :, 0].max(), evening.late[0, :, 0].min()) == (0, 1)
    assert (evening.since >= morning.since).all()


def test_where_nobody_walks_in_the_evening_nothing_is_sown_then() -> None:
    once = farm()
    assert once.settings is not None
    once.settings = msgspec.structs.replace(once.settings, rounds=ROUNDS[:1])
    assert known(once, Knows({})).evening == [None]


def test_who_does_not_speak_of_every_stage_is_asked_to() -> None:
    with pytest.raises(InputError, match="one for each growing stage"):
        known(farm(), Knows({day(0): Future(stage_days=(2.0,), grams=1.0)}))


def test_one_known_future_may_stand_in_for_many() -> None:
    futures = known(farm(), Knows({day(0): Future(stage_days=(3.0, 4.0), grams=77.0)}), scenarios=4)
    assert futures.scenarios == 4
    assert futures.sown[0].grams[:, 0].tolist() == [77.0] * 4
    assert futures.sown[0].begins.shape == (4, 21, 3)


class Lucky(Knows):
    """Somebody who knows all but the luck of trays not sown yet: each scenario brings a day and 10 g more."""

    certain = False

    def sown(self, recipe: Recipe, day: date, scenario: int, *, evening: bool = False) -> Future:
        """Later and heavier from scenario to scenario."""
        return Future(stage_days=by_the_first_walk((2.0, 3.0 + scenario)), grams=50.0 + 10.0 * scenario)


def test_what_is_left_to_luck_differs_from_scenario_to_scenario_and_what_stands_does_not() -> None:
    state = stand(farm(), 1)
    futures = known(state, Lucky({}, {"s.1": Future(stage_days=(3.0,), grams=90.0)}), scenarios=3)
    (sown,), (group,) = futures.sown, futures.stood
    assert sown.begins[:, 0, -1].tolist() == [5, 6, 7]
    assert sown.grams[:, 0].tolist() == [50.0, 60.0, 70.0]
    assert (group.grams.tolist(), len(group.begins)) == ([90.0] * 3, 3)


class Guesses(Lucky):
    """Somebody who foresees nothing of what stands either: each tray a day later in each scenario, the first lost."""

    foresees = False

    def standing(self, tray: Tray, scenario: int) -> Future:
        """The second of two sisters goes on two days longer than the first, and they are planned together."""
        later = 2.0 * (tray.tray == "s.2")
        return Future(stage_days=(3.0 + scenario + later,), grams=90.0, lost=tray.tray == "s.1" and scenario == 2)


def test_what_stands_and_is_not_foreseen_differs_from_scenario_to_scenario_and_sisters_stay_together() -> None:
    """Half a day in the light: ready in 2.5 and 4.5 days, a day more in each scenario; the middle is cut on day 4."""
    (group,) = known(stand(farm(), 2, days_ago=0.5), Guesses({}), scenarios=3).stood
    assert group.trays == ("s.1", "s.2")
    assert group.begins.tolist() == [[0, 4], [0, 5], [0, 6]]
    assert group.grams.tolist() == [90.0, 90.0, 45.0]


def test_standing_trays_known_to_part_ways_are_counted_apart() -> None:
    state = stand(farm(), 2)
    soon, late = Future(stage_days=(3.0,), grams=90.0), Future(stage_days=(5.0,), grams=90.0)
    groups = known(state, Knows({}, {"s.1": soon, "s.2": late})).stood
    assert [(one.trays, one.begins[0, -1]) for one in groups] == [(("s.1",), 2), (("s.2",), 4)]


def test_a_plan_told_the_truth_sows_for_the_very_day_and_weight() -> None:
    """Heavy on day 1, light on the others: one tray of day 1 is enough for 150 g, two of any other day are needed."""
    truth = Knows({day(1): Future(stage_days=(2.0, 3.0), grams=150.0)})
    state = farm(order(6, 150), recipes=(recipe(window=0, keeps=0),))
    made = make_plan(state, look_ahead(state, NOW), NOW, weeks=3, effort=QUICK, biology=truth)
    assert [(one.sow_on, one.trays) for one in made.sowings] == [(day(1), 1)]
    assert (line(made, "radish-6/1").chance, line(made, "radish-6/1").short) == (1.0, 0.0)


def test_a_plan_told_of_slow_days_sows_sooner() -> None:
    slow = {day(number): Future(stage_days=(3.0, 5.0), grams=100.0) for number in range(21)}
    state = farm(order(9, 100), order(7, 100), recipes=(recipe(window=0, keeps=0),))
    made = make_plan(state, look_ahead(state, NOW), NOW, weeks=3, effort=QUICK, biology=Knows(slow))
    assert [(one.sow_on, one.trays) for one in made.sowings] == [(day(1), 1)]
    late = line(made, "radish-7/1")
    assert late.chance == 0.0
    assert "it takes 8 days, so it had to be sown by Sun 29 Nov" in late.why


def test_a_plan_told_the_truth_of_standing_trays_counts_on_just_that() -> None:
    state = stand(farm(order(3, 120), recipes=(SOON,)), 2)
    truth = Knows({}, {"s.1": Future(stage_days=(3.0,), grams=70.0), "s.2": Future(stage_days=(3.0,), grams=60.0)})
    made = make_plan(state, look_ahead(state, NOW), NOW, weeks=3, effort=QUICK, biology=truth)
    assert line(made, "radish-3/1").met_grams == 120.0
    assert trays(made) == 0
    assert sum(cut.grams_expected for cut in made.cuts) == pytest.approx(130.0)


def test_a_plan_told_the_truth_meets_all_there_is_time_and_room_for() -> None:
    orders = [order(number, 40.0 * number, name=f"o{number}") for number in range(5, 18)]
    made = certain(farm(*orders))
    assert all(one.chance == 1.0 for one in made.lines)
    assert made.full == len(orders)


# Drawn from the outlook -----------------------------------------------------------------------------------------------


def drawn(state: FarmState, count: int = 400, seed: int = 3) -> Futures:
    ways, days = ways_of(state)
    return draw_futures(state, look_ahead(state, NOW), ways.ways, days, count, np.random.default_rng(seed))


def test_drawn_days_and_weights_are_those_the_outlook_promises() -> None:
    """The share of scenarios as light, or as slow, as the outlook's low and high ends is what those ends say: 1 in 10.

    400 draws: 0.1 is seen within 0.05 in all but 1 of 1000 (binomial, three standard deviations).
    """
    grower = unsure_recipe()
    state = farm(recipes=(grower,))
    ahead = look_ahead(state, NOW).proposed(grower, NOW)
    (sown,) = drawn(state).sown
    assert ahead.grams is not None
    alive = sown.grams[:, 0] > 0
    assert (sown.grams[alive, 0] <= ahead.grams.low).mean() == pytest.approx(0.1, abs=0.05)
    assert (sown.grams[alive, 0] >= ahead.grams.high).mean() == pytest.approx(0.1, abs=0.05)
    likely = (ahead.stages[-1].ends.likely - NOW) / timedelta(days=1)
    assert np.median(sown.begins[:, 0, -1]) == pytest.approx(likely, abs=1.0)


def test_drawn_stages_follow_one_another() -> None:
    (sown,) = drawn(farm(recipes=(unsure_recipe(),))).sown
    assert (np.diff(sown.begins, axis=-1) >= 0).all()
    assert (sown.begins[:, :, 0] == np.arange(21)).all()


def test_a_good_seed_lot_is_good_for_all_that_is_sown_of_it() -> None:
    """What sowings share they share within a scenario: heavy on Monday, heavier than usual on Friday too."""
    (sown,) = drawn(farm(recipes=(unsure_recipe(),))).sown
    alive = (sown.grams[:, 0] > 0) & (sown.grams[:, 4] > 0)
    assert np.corrcoef(np.log(sown.grams[alive, 0]), np.log(sown.grams[alive, 4]))[0, 1] > 0.2


def test_standing_trays_of_one_sowing_are_one_group_and_hold_what_they_hold() -> None:
    state = stand(farm(recipes=(unsure_recipe(),)), 3, kit=1)
    (group,) = drawn(state).stood
    assert group.trays == ("s.1", "s.2", "s.3")
    assert group.held == (("mat", 1),)
    assert [stage.name for stage in group.stages] == ["light", "ready"]
    assert (group.begins[:, 0] == 0).all()
    assert (group.begins[:, 1] >= 0).all()


def test_the_same_seed_draws_the_same_futures() -> None:
    one, other = (drawn(farm(recipes=(unsure_recipe(),)), 20, seed=9) for _ in range(2))
    assert np.array_equal(one.sown[0].grams, other.sown[0].grams)
    assert np.array_equal(one.sown[0].begins, other.sown[0].begins)


def test_who_knows_leaves_no_doubt_in_the_plan() -> None:
    state = farm(order(8, 300), recipes=(unsure_recipe(),))
    made = told(state, biology=Typical(state.recipes))
    assert made.futures.scenarios == 1
    assert (made.decision.plots[0].choices.grams.std(axis=0) == 0).all()
