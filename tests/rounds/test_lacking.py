"""What a farm lacks altogether, where its plan sows nothing."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import msgspec
import pytest

from trayward import Farm
from trayward.farm.state import FarmState
from trayward.plan.types import LineOutlook, Plan, PlannedSowing
from trayward.rounds.lacking import lacking

AT = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
DAY = date(2026, 11, 25)
LINE = LineOutlook(
    line="home-wed@2026-12-02/1", customer="home", crop="broccoli", due=DAY + timedelta(days=7), grams=95.0,
    met_grams=0.0,
)  # fmt: skip
EMPTY = Plan(made_at=AT, first=DAY, last=DAY + timedelta(days=20), lines=(LINE,))


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> FarmState:
    with Farm.create(tmp_path_factory.mktemp("lacking") / "shelf.sqlite", "shelf", at=AT) as farm:
        return farm.state(AT)


def told(state: FarmState, plan: Plan = EMPTY) -> list[str]:
    return [lack.what for lack in lacking(state, plan)]


def hands(state: FarmState, minutes: float) -> FarmState:
    assert state.settings is not None
    settings = msgspec.structs.replace(state.settings, work_minutes=(minutes,) * 7)
    return msgspec.structs.replace(state, settings=settings)


def test_a_farm_that_has_all_of_it_lacks_nothing_and_one_that_sows_is_not_asked(shelf: FarmState) -> None:
    assert told(shelf) == []
    sown = PlannedSowing(
        recipe="broccoli on mesh mat",
        crop="broccoli",
        sow_on=DAY,
        trays=1,
        seed_g=19.0,
        cut_on=DAY,
        grams_expected=95.0,
    )
    bare = msgspec.structs.replace(shelf, seed={})
    assert told(bare, msgspec.structs.replace(EMPTY, sowings=(sown,))) == []


def test_no_order_no_recipe_and_no_seed_are_each_said(shelf: FarmState) -> None:
    assert told(shelf, msgspec.structs.replace(EMPTY, lines=())) == ["orders"]
    assert told(msgspec.structs.replace(shelf, recipes={})) == ["recipes"]
    assert told(msgspec.structs.replace(shelf, seed={})) == ["seed"]


@pytest.mark.parametrize("kind", ["dark", "lit"])
def test_a_farm_without_dark_or_without_light_says_which(shelf: FarmState, kind: str) -> None:
    left = {name: each for name, each in shelf.shelves.items() if each.kind != kind}
    assert told(msgspec.structs.replace(shelf, shelves=left)) == [kind]


def test_days_off_all_week_and_hands_too_few_for_one_tray_are_told_apart(shelf: FarmState) -> None:
    (off,) = lacking(hands(shelf, 0.0), EMPTY)
    assert off.message == "Every day of these weeks is off: nobody sows or cuts."
    (few,) = lacking(hands(shelf, 1.0), EMPTY)
    # The shelf's recipes take 6 min to sow a tray: `every_recipe` of its setup.
    assert few.message == "Hands work 1 min a day at most, and to sow one tray takes 6 min."
    assert told(hands(shelf, 6.0)) == []
