"""An hour of readings in a few figures."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.sensors.made import NIGHT, cold_room, readings
from trayward.sensors.hours import mark_of, sum_hour


def test_an_hour_tells_its_mean_its_ends_the_share_outside_and_its_longest_gap():
    told = sum_hour(cold_room(), NIGHT, readings([4.0, 4.0, 6.0, None, None, None, 4.0, 4.5, 4.5, 4.5, 4.5, 4.0]))
    assert told is not None
    assert (told.readings, told.low, told.high, told.impossible) == (9, 4.0, 6.0, 0)
    assert told.mean == pytest.approx(40.0 / 9)
    assert told.outside == pytest.approx(1 / 9)
    assert told.gap_min == 20.0


def test_what_cannot_be_counts_nowhere_but_is_told():
    told = sum_hour(cold_room(), NIGHT, readings([4.0, -127.0, 4.0]))
    assert told is not None
    assert (told.mean, told.low, told.readings, told.impossible) == (4.0, 4.0, 3, 1)
    assert sum_hour(cold_room(), NIGHT, readings([-127.0])) is None


def test_a_mark_is_another_for_every_change():
    told = readings([4.0, 4.1, 4.2])
    marks = {
        mark_of(told), mark_of(told[:2]), mark_of(readings([4.0, 4.1, 4.3])),
        mark_of(readings([4.0, 4.1, 4.2], since=NIGHT + timedelta(microseconds=1))),
    }  # fmt: skip
    assert len(marks) == 4
    assert mark_of(list(told)) == mark_of(told)
