"""The place as it is, and as it will be if the plan is followed."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.rounds.loft import BROCCOLI, DAY_ONE, RADISH, Loft, lantern_loft, on_day, sow
from trayward.farm.entries import StageChanged
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.outlook.types import StageEnd, TrayOutlook, When
from trayward.plan.types import CutPlanned, PlannedSowing, StageExpected
from trayward.rounds.kept import kept_plan
from trayward.rounds.place import Place, by_recipe, place_now, place_on

TODAY = DAY_ONE.date()
DAY = timedelta(days=1)


def settings(loft: Loft) -> FarmSettings:
    assert loft.state.settings is not None
    return loft.state.settings


def ahead(loft: Loft, days: int, told: dict[str, TrayOutlook] | None = None) -> Place:
    return place_on(loft.state, settings(loft), DAY_ONE, TODAY + DAY * days, told or {}, kept_plan(loft.state))


def stages(place: Place) -> dict[str, str]:
    return {one.tray: one.stage for one in place.taken.values() if one.tray}


def test_the_place_says_what_stands_where_and_since_when() -> None:
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a", "A1.1b"))
    found = place_now(loft.state, settings(loft), DAY_ONE + DAY, {})
    assert set(found.taken) == {"A1.1a", "A1.1b"}
    one = found.taken["A1.1b"]
    assert (one.tray, one.crop, one.stage, one.since, one.ground) == ("S.2", "broccoli", "germinate", TODAY, "dark")
    assert (one.planned, one.elsewhere) == (False, False)


def test_a_tray_that_is_not_told_of_is_told_by_its_recipe() -> None:
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"))
    ready = place_now(loft.state, settings(loft), DAY_ONE, {}).taken["A1.1a"].ready
    assert ready is not None
    typical = sum(stage.days_typical for stage in BROCCOLI.growing_stages)
    assert ready.likely == DAY_ONE + DAY * typical
    assert ready.low < ready.likely < ready.high


def test_an_outlook_of_an_earlier_stage_is_passed_over() -> None:
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"))
    when = When(low=on_day(30, 0), likely=on_day(31, 0), high=on_day(32, 0))
    old = _told("S.1", StageEnd(stage="soak", ends=when))
    fresh = _told("S.1", StageEnd(stage="germinate", ends=when))
    now = [place_now(loft.state, settings(loft), DAY_ONE, {"S.1": told}).taken["A1.1a"].ready for told in (old, fresh)]
    assert now[0] is not None
    assert now[0].likely < on_day(20, 0)
    assert now[1] == when


def _told(tray: str, *ends: StageEnd) -> TrayOutlook:
    from trayward.outlook.types import Basis

    basis = Basis(own_trays=0, prior_trays=1.0, words="")
    return TrayOutlook(
        recipe=BROCCOLI.name, crop="broccoli", tray=tray, stages=ends, ready=ends[-1].ends, grams=None,
        time_basis=basis, grams_basis=basis,
    )  # fmt: skip


def test_a_recipes_days_never_lie_before_now() -> None:
    late = DAY_ONE + DAY * 40
    ends = by_recipe(BROCCOLI, "germinate", DAY_ONE, late)
    assert [end.stage for end in ends] == [stage.name for stage in BROCCOLI.growing_stages]
    assert all(end.ends.low >= late for end in ends)
    assert by_recipe(BROCCOLI, "no such stage", DAY_ONE, late) == ()


def test_trays_go_on_and_move_to_ground_that_suits_them() -> None:
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a", "A1.1b"))
    dark = sum(stage.days_typical for stage in BROCCOLI.growing_stages if stage.ground == "dark")
    assert stages(ahead(loft, 0)) == {"S.1": "germinate", "S.2": "germinate"}
    then = ahead(loft, round(dark) + 1)
    assert stages(then) == {"S.1": "light", "S.2": "light"}
    assert set(then.taken) == {"A2.1", "A2.2"}
    assert all(one.elsewhere for one in then.taken.values())


def test_a_tray_whose_window_is_over_is_gone_and_one_with_a_day_in_the_plan_leaves_on_it() -> None:
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A2.1", "A2.2", stage="light"))
    loft.say(DAY_ONE, StageChanged(trays=("S.1", "S.2"), stage="ready"))
    window = BROCCOLI.cut_window_days
    assert ahead(loft, window).leaving == 0
    assert ahead(loft, window + 1).leaving == 2
    cut = CutPlanned(cut_on=TODAY + DAY, crop="broccoli", trays=1, grams_expected=200.0, standing=("S.2",))
    loft.keep_plan(DAY_ONE, cuts=[cut])
    assert stages(ahead(loft, 0)) == {"S.1": "ready", "S.2": "ready"}
    assert stages(ahead(loft, 1)) == {"S.1": "ready"}


def planned(trays: int, day: int, *, cut_after: int = 12) -> PlannedSowing:
    begin = TODAY + DAY * day
    return PlannedSowing(
        sow_on=begin, crop="radish", recipe=RADISH.name, trays=trays, seed_g=30.0 * trays,
        cut_on=begin + DAY * cut_after,
        grams_expected=300.0 * trays,
        stages=(
            StageExpected(stage="germinate", first=begin, last=begin + DAY),
            StageExpected(stage="light", first=begin + DAY * 2, last=begin + DAY * 8),
        ),
    )  # fmt: skip


def test_what_the_plan_means_to_sow_stands_there_until_it_is_cut() -> None:
    loft = lantern_loft()
    loft.keep_plan(DAY_ONE, planned(3, 1))
    assert ahead(loft, 0).taken == {}
    found = ahead(loft, 1)
    assert sorted(found.taken) == ["A1.1a", "A1.1b", "A1.1c"]
    assert {(one.crop, one.stage, one.planned) for one in found.taken.values()} == {("radish", "germinate", True)}
    assert {one.stage for one in ahead(loft, 4).taken.values()} == {"light"}
    assert len(ahead(loft, 12).taken) == 3
    assert ahead(loft, 13).taken == {}


def test_a_sowing_that_is_late_is_reckoned_from_today() -> None:
    loft = lantern_loft()
    loft.keep_plan(DAY_ONE - DAY, planned(1, -1))
    found = ahead(loft, 0)
    assert [one.sown_on for one in found.taken.values()] == [TODAY]
    assert len(ahead(loft, 11).taken) == 1
    assert ahead(loft, 12).taken == {}


def test_trays_without_a_spot_of_the_right_kind_are_named() -> None:
    loft = lantern_loft(lit=2)
    loft.say(DAY_ONE, sow("S", "A2.1", "A2.2", stage="light"))
    loft.keep_plan(DAY_ONE, planned(2, 0))
    found = ahead(loft, 3)
    assert [one.crop for one in found.crowded_out] == ["radish", "radish"]
    assert sorted(found.taken) == ["A2.1", "A2.2"]


def test_a_pile_is_no_higher_than_the_stages_in_it_allow() -> None:
    loft = lantern_loft(dark=1, stack=4)
    germinate = RADISH.stage("germinate").stack
    loft.keep_plan(DAY_ONE, planned(6, 0))
    found = ahead(loft, 0)
    assert len(found.taken) == min(4, germinate)
    assert len(found.taken) + len(found.crowded_out) == 6


@pytest.mark.parametrize("days", [0, 3, 9, 30])
def test_no_spot_is_given_twice(days: int) -> None:
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a", "A1.1b", "A1.2a"), sow("R", "A2.3", "A2.4", crop="radish", stage="light"))
    loft.keep_plan(DAY_ONE, planned(4, 1), planned(3, 2))
    found = ahead(loft, days)
    everyone = [*found.taken.values(), *found.crowded_out, *found.bench]
    assert all(spot == one.spot for spot, one in found.taken.items())
    trays = [one.tray for one in everyone if one.tray]
    assert len(trays) == len(set(trays)) == 5 - found.leaving


def test_an_empty_farm_has_an_empty_place() -> None:
    found = place_now(FarmState(), FarmSettings(name="Lantern Loft"), DAY_ONE, {})
    assert (found.taken, found.bench, found.crowded_out) == ({}, (), ())
