"""How often hygiene records are kept, in a setup file: read, refused, and written back to the same farm."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

import msgspec
import pytest

from trayward import Farm
from trayward.desk.setup.file import read_setup, ready_setup_text, setup_changes
from trayward.desk.setup.written import setup_text
from trayward.errors import SetupError
from trayward.farm.entries import FarmSet, RecordHabitSet

AT = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
RECORD = """
[[record]]
kind = "cold room"
area = "Cold room 1"
every = "at 7:00 and 19:00"
start = 2026-11-23
review_within = 3

[[record.limit]]
field = "temperature"
high = "41 F"
"""


def with_records(text: str = RECORD) -> str:
    return ready_setup_text("shelf") + text


def test_a_room_read_twice_a_day_is_read_from_the_file_and_written_back() -> None:
    bodies = read_setup(with_records(), name="loft.toml")
    (habit,) = [body.habit for body in bodies if isinstance(body, RecordHabitSet)]
    assert (habit.rule, habit.times, habit.start) == ("FREQ=DAILY", (time(7), time(19)), date(2026, 11, 23))
    assert [(limit.field, limit.low, limit.high) for limit in habit.limits] == [("temperature", None, 5.0)]
    with Farm.create(":memory:", bodies, at=AT) as farm:
        again = read_setup(setup_text(farm.state(AT)), name="again.toml")
        assert [body.habit for body in again if isinstance(body, RecordHabitSet)] == [habit]
        assert [body for body in setup_changes(farm.state(AT), again) if isinstance(body, RecordHabitSet)] == []


@pytest.mark.parametrize(
    ("before", "after", "why"),
    [
        ("cold room", "warm room", "there is no such kind of record"),
        ("at 7:00 and 19:00", "every 5 h", "so many hours do not go into a day"),
        ("41 F", "41 mm", "high"),
        ('"temperature"', '"thermometer"', "words have no limit"),
        ('"temperature"', '"weather"', "has no such field"),
        ("start = 2026-11-23\n", "", "start"),
    ],
)
def test_what_cannot_be_is_refused_with_its_line(before: str, after: str, why: str) -> None:
    with pytest.raises(SetupError, match=f"line .*{why}"):
        read_setup(with_records(RECORD.replace(before, after, 1)), name="loft.toml")


def test_a_file_that_says_nothing_of_rules_leaves_the_answers_that_are_kept() -> None:
    answers = "country=US&roots=cut+off"
    with Farm.create(":memory:", read_setup(ready_setup_text("shelf"), name="shelf.toml"), at=AT) as farm:
        farm.record(FarmSet(settings=msgspec.structs.replace(farm.settings(AT), rules=answers)), at=AT)
        plain = read_setup(ready_setup_text("shelf"), name="shelf.toml")
        # Applied as it is, the file says nothing new; with another name of the farm, the answers stay.
        assert [body for body in setup_changes(farm.state(AT), plain) if isinstance(body, FarmSet)] == []
        settings = msgspec.structs.replace(farm.settings(AT), rules="", sells=not farm.settings(AT).sells)
        (change,) = setup_changes(farm.state(AT), [FarmSet(settings=settings)])
        assert isinstance(change, FarmSet)
        assert (change.settings.rules, change.settings.sells) == (answers, settings.sells)
        # One that answers them anew does so.
        other = FarmSet(settings=msgspec.structs.replace(settings, rules="country=EU"))
        assert setup_changes(farm.state(AT), [other]) == (other,)
