"""How often something is written down: plain words to days and times of day, and back."""

from __future__ import annotations

import doctest
from datetime import UTC, date, datetime, time, timedelta

import pytest

from trayward.errors import InputError
from trayward.farm import often
from trayward.farm.often import clock_words, due_moments, early, often_from_words, often_words
from trayward.farm.settings import FarmSettings, RoundTime

LOFT = FarmSettings(name="Lantern Loft", timezone="Europe/Madrid")
ONE_WALK = FarmSettings(name="Lantern Loft", rounds=(RoundTime(name="morning", at=time(6, 30)),))


@pytest.mark.parametrize(
    ("words", "rule", "times"),
    [
        ("daily", "FREQ=DAILY", ""),
        ("once a day", "FREQ=DAILY", ""),
        ("2 a day", "FREQ=DAILY", "07:00 and 19:00"),
        ("Twice daily", "FREQ=DAILY", "07:00 and 19:00"),
        ("3 times a day", "FREQ=DAILY", "07:00, 13:00 and 19:00"),
        ("every 12 h", "FREQ=DAILY", "07:00 and 19:00"),
        ("every 8 hours", "FREQ=DAILY", "07:00, 15:00 and 23:00"),
        ("every round", "FREQ=DAILY", "07:00 and 19:00"),
        ("at 7 am and 7:30 pm", "FREQ=DAILY", "07:00 and 19:30"),
        ("every Mon and Thu at 16:30, 8:00", "FREQ=WEEKLY;BYDAY=MO,TH", "08:00 and 16:30"),
        ("every weekday, 2 a day", "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR", "07:00 and 19:00"),
        ("2 a day until 2027-03-31", "FREQ=DAILY;UNTIL=20270331", "07:00 and 19:00"),
        ("FREQ=WEEKLY;BYDAY=TU at 9:00", "FREQ=WEEKLY;BYDAY=TU", "09:00"),
        ("every Tue and Fri", "FREQ=WEEKLY;BYDAY=TU,FR", ""),
        ("", "", ""),
    ],
)
def test_words_mean_days_and_times(words: str, rule: str, times: str) -> None:
    found = often_from_words(words, LOFT)
    assert (found.rule, clock_words(found.times)) == (rule, times)


def test_a_farm_with_one_walk_spreads_a_day_over_12_hours_from_it() -> None:
    assert clock_words(often_from_words("2 a day", ONE_WALK).times) == "06:30 and 18:30"
    assert clock_words(often_from_words("every 6 h", ONE_WALK).times) == "00:30, 06:30, 12:30 and 18:30"


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ("every 5 h", "so many hours do not go into a day.* 1, 2, 3, 4, 6, 8, 12 or 24 h"),
        ("25 a day", "must be 1 to 24 times a day"),
        ("0 a day", "must be 1 to 24 times a day"),
        ("at 25:00", "there is no such time of the day.* Say it as 7:00"),
        ("at 13 pm", "there is no such time of the day"),
        ("now and then", "these words are not understood.*2 a day"),
        ("some a day", "these words are not understood"),
        ("10 times", "these words are not understood"),
    ],
)
def test_what_is_not_understood_is_said_with_what_would_be(words: str, why: str) -> None:
    with pytest.raises(InputError, match=why):
        often_from_words(words, LOFT)


def test_what_was_understood_is_said_back() -> None:
    found = often_from_words("every Mon at 8:00 and 16:00", LOFT)
    assert often_words(found.rule, found.times) == "every Monday at 08:00 and 16:00"
    assert often_words("", ()) == "whenever it happens"


def test_times_are_those_of_the_wall_when_summer_time_ends() -> None:
    # In Madrid the clock goes back on Sunday 25 October 2026: 07:00 is 05:00 UTC on Saturday and 06:00 UTC on Sunday.
    found = due_moments(
        often_from_words("at 7:00", LOFT), date(2026, 10, 1), date(2026, 10, 24), date(2026, 10, 25), LOFT
    )
    assert found == [datetime(2026, 10, 24, 5, tzinfo=UTC), datetime(2026, 10, 25, 6, tzinfo=UTC)]


def test_a_reading_counts_two_hours_before_its_time_at_most_and_a_quarter_of_the_gap_where_that_is_less() -> None:
    assert early((time(7), time(19))) == timedelta(hours=2)
    # The gap over midnight counts too: 23:00 to 00:00.
    assert early((time(0), time(23))) == timedelta(minutes=15)
    assert early((time(8),)) == timedelta(hours=2)


def test_its_examples_are_so() -> None:
    assert doctest.testmod(often).failed == 0
