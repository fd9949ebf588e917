"""The demo's stores, sensors and records: nothing somebody opens for the first time is empty."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from trayward.bootstrap import Farm, setup_bodies
from trayward.farm.entries import FarmSet
from trayward.study.demo import PERSON, live_through
from trayward.study.demo_rooms import COLD, GAP_BACK, REVIEWER, WARM
from trayward.study.demo_stores import FEED, MISSED, STOCK

NOW = datetime(2026, 11, 27, 6, 0, tzinfo=ZoneInfo("Europe/Dublin"))
TODAY = date(2026, 11, 27)
DAYS = 14


@pytest.fixture(scope="module")
def loft() -> Iterator[Farm]:
    """Two weeks are enough for the count, the sensors, the alarm and two Saturdays."""
    bodies = setup_bodies("loft")
    settings = next(body.settings for body in bodies if isinstance(body, FarmSet))
    start = datetime(2026, 11, 13, 5, 0, tzinfo=NOW.tzinfo)
    with Farm.create(":memory:", bodies, at=start, by=PERSON) as farm:
        live_through(farm, settings, TODAY, days=DAYS, tell=lambda _: None, careful=True)
        yield farm


def test_supplies_came_were_used_and_were_counted_once(loft: Farm) -> None:
    held = loft.state(NOW).supplies
    assert set(held) == {each.supply.name for each in STOCK}
    assert all(kept.here and len(kept.counts) == 1 for kept in held.values())
    # In its first two weeks nothing is packed yet.
    assert {name for name, kept in held.items() if not kept.used_on} <= {"pack box"}
    missed = {name: kept.counts[0].unexplained for name, kept in held.items()}
    # Counts are in whole millilitres and pieces.
    assert missed == {name: pytest.approx(MISSED.get(name, 0.0), abs=0.5) for name in held}
    assert [lot.expected_on for lot in held["pack box"].coming] == [TODAY + timedelta(days=3)]
    assert held[FEED].prices


def test_there_is_advice_for_supplies_and_for_seed(loft: Farm) -> None:
    advice = loft.order_advice(NOW)
    assert {each.seed for each in advice if each.order_by is not None} == {True, False}


def test_the_door_left_open_is_an_alarm_that_was_answered_and_looked_at(loft: Farm) -> None:
    (alarm,) = loft.state(NOW).alarms.values()
    assert (alarm.sensor, alarm.trouble, alarm.open) == (COLD, "high", False)
    assert alarm.limit is not None
    assert alarm.value is not None
    assert alarm.value > alarm.limit
    record = next(each for each in loft.records(TODAY - timedelta(days=DAYS), TODAY, at=NOW) if each.outside)
    assert record.record.kind == "cold room"
    assert record.review is not None
    assert record.review.by == REVIEWER


def test_the_night_without_a_signal_is_a_gap_and_no_alarm(loft: Farm) -> None:
    until = NOW - timedelta(days=GAP_BACK - 1)
    faults = loft.sensor_faults(WARM, until - timedelta(days=2), until, at=NOW)
    assert [fault.kind for fault in faults] == ["gap"]
    assert [each.last is not None for each in loft.sensors(NOW)] == [True, True]


def test_the_inspection_pack_has_records_of_several_kinds_and_nothing_was_missed(loft: Farm) -> None:
    pack = loft.inspection(TODAY - timedelta(days=DAYS), TODAY, at=NOW)
    assert {"cold room", "cleaning", "water test", "training"} <= set(pack.kinds())
    assert pack.missed == ()


def test_the_book_goes_forward_in_time_but_for_the_slip_that_was_struck(loft: Farm) -> None:
    """An entry before others has the whole farm worked out anew: the demo would take minutes."""
    times = [(kept.entry.at, kept.entry.kind) for kept in loft.book.entries()]
    back = [kind for (before, _), (at, kind) in pairwise(times) if at < before]
    assert len(back) == 1
