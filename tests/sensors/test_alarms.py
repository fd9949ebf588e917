"""When a sensor's trouble is an alarm, and when it is over."""

from __future__ import annotations

from datetime import timedelta

from tests.sensors.made import NIGHT, cold_room, held, readings
from trayward.farm.entries import AlarmOver, AlarmRaised
from trayward.farm.sensors import NEVER_SILENT
from trayward.sensors.alarms import alarm_news, open_alarms, out_of_limits, silences

M = timedelta(minutes=1)


def test_a_cold_room_too_warm_for_half_an_hour_is_an_alarm():
    warm = readings([4.0, 9.0, 9.5, 9.0, 8.0, 8.0, 8.0, 8.0])
    (told,) = alarm_news(cold_room(), warm, (), NIGHT + 36 * M)
    assert isinstance(told, AlarmRaised)
    assert (told.alarm, told.trouble, told.value, told.limit) == ("cold-1.high.20261127T0205", "high", 9.5, 5.0)
    assert told.since == NIGHT + 5 * M


def test_a_door_opened_for_a_short_time_is_none():
    assert alarm_news(cold_room(), readings([4.0, 9.0, 9.5, 9.0, 4.0, 4.0]), (), NIGHT + 26 * M) == []
    assert alarm_news(cold_room(), readings([4.0, 9.0, 9.5, 9.0, 8.0, 8.0, 8.0]), (), NIGHT + 31 * M) == []


def test_it_is_over_only_once_it_is_well_within_the_limit():
    warm = [9.0] * 8
    trembling = out_of_limits(cold_room(), readings([*warm, 4.9, 5.1, 4.9, 5.1, 4.8]))
    assert [(each.since, each.until) for each in trembling] == [(NIGHT, None)]
    (over,) = out_of_limits(cold_room(), readings([*warm, 4.9, 5.1, 4.5, 4.9, 5.0]))
    assert over.until == NIGHT + 50 * M


def test_a_value_that_trembles_on_the_limit_is_one_alarm_and_ends_once():
    first = readings([5.2] * 8)
    (raised,) = alarm_news(cold_room(), first, (), NIGHT + 36 * M)
    known = held(alarm=raised.alarm, since=raised.since)
    more = readings([*[5.2] * 8, *[4.9, 5.1] * 20, 4.0])
    (over,) = alarm_news(cold_room(), more, (known,), more[-1].at)
    assert isinstance(over, AlarmOver)
    assert (over.alarm, over.until) == (raised.alarm, more[-1].at)
    ended = held(alarm=raised.alarm, until=over.until)
    assert alarm_news(cold_room(), more, (ended,), more[-1].at + M) == []


def test_an_alarm_known_already_is_not_told_again_although_a_late_reading_moved_its_beginning():
    assert alarm_news(cold_room(), readings([9.0] * 20, since=NIGHT - 15 * M), (held(),), NIGHT + 82 * M) == []


def test_what_was_warm_in_the_night_and_came_in_late_is_told_with_its_end():
    raised, over = alarm_news(cold_room(), readings([9.0] * 10 + [4.0] * 5), (), NIGHT + 71 * M)
    assert isinstance(raised, AlarmRaised)
    assert isinstance(over, AlarmOver)
    assert over.until - raised.since == 50 * M
    # Of last week it is history, not an alarm.
    assert alarm_news(cold_room(every_min=9999.0), readings([9.0] * 10 + [4.0] * 5), (), NIGHT + 7 * 24 * 60 * M) == []


def test_a_sensor_unheard_of_is_silent_until_it_tells_again():
    (told,) = alarm_news(cold_room(), readings([4.0, 4.0]), (), NIGHT + 21 * M)
    assert isinstance(told, AlarmRaised)
    assert (told.trouble, told.since, told.value) == ("silent", NIGHT + 5 * M, None)
    assert alarm_news(cold_room(), readings([4.0, 4.0]), (), NIGHT + 19 * M) == []
    silent = held("silent", alarm=told.alarm, since=told.since)
    again = readings([4.0, 4.0, None, None, None, None, 4.0])
    (over,) = alarm_news(cold_room(), again, (silent,), NIGHT + 31 * M)
    assert over.until == NIGHT + 30 * M


def test_one_whose_file_is_read_in_by_hand_is_never_silent_but_too_warm_all_the_same():
    logger = cold_room(silent_min=NEVER_SILENT)
    assert alarm_news(logger, readings([4.0, 4.0]), (), NIGHT + timedelta(days=3)) == []
    (told,) = alarm_news(logger, readings([9.0] * 8), (), NIGHT + timedelta(days=3))
    assert isinstance(told, AlarmRaised)
    assert told.trouble == "high"
    # What was told as silent before it was set so is over.
    silent = held("silent", alarm="cold-1.silent.20261127T0205", since=NIGHT + 5 * M)
    (over,) = alarm_news(logger, readings([4.0, 4.0]), (silent,), NIGHT + 60 * M)
    assert isinstance(over, AlarmOver)


def test_a_probe_torn_off_tells_what_cannot_be_and_is_silent():
    """-127 is what a common probe tells when its cable is broken; from memory."""
    (told,) = alarm_news(cold_room(), readings([4.0, 4.0, *[-127.0] * 5]), (), NIGHT + 31 * M)
    assert (told.trouble, told.since) == ("silent", NIGHT + 5 * M)


def test_a_machine_that_was_off_does_not_take_the_sensors_for_silent():
    times = [each.at for each in readings([4.0])]
    assert silences(cold_room(), times, NIGHT + 600 * M, listening=NIGHT + 590 * M) == []
    assert len(silences(cold_room(), times, NIGHT + 606 * M, listening=NIGHT + 590 * M)) == 1


def test_a_gap_within_trouble_leaves_open_what_was_in_between():
    found = out_of_limits(cold_room(), readings([*[9.0] * 8, None, None, None, None, *[9.0] * 8]))
    assert [each.until for each in found] == [NIGHT + 35 * M, None]


def test_limits_that_were_moved_end_an_alarm():
    (over,) = alarm_news(cold_room(high=10.0), readings([9.0] * 8), (held(),), NIGHT + 36 * M)
    assert over.alarm == held().alarm


def test_too_cold_is_told_with_the_coldest():
    (told,) = alarm_news(cold_room(low=1.0), readings([0.0, -1.5, *[-1.0] * 6]), (), NIGHT + 36 * M)
    assert (told.trouble, told.value, told.limit) == ("low", -1.5, 1.0)


def test_a_correction_counts():
    from trayward.farm.sensors import Correction

    mended = cold_room(corrections=(Correction(since=NIGHT, add=-5.0),))
    assert out_of_limits(mended, readings([9.0] * 8)) == []
    assert len(out_of_limits(mended, readings([9.0] * 8, since=NIGHT - 600 * M))) == 1


def test_alarms_wait_until_they_are_over_and_answered():
    going_on, over = held(alarm="a"), held(alarm="b", since=NIGHT - M, until=NIGHT)
    done = held(alarm="c", until=NIGHT, answered=NIGHT)
    answered = held(alarm="d", answered=NIGHT)
    assert [each.alarm for each in open_alarms((over, done, going_on, answered))] == ["a", "d", "b"]
