"""Calendars as RFC 5545 wants them, read back by another library (icalendar) and expanded by a third (dateutil)."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
from dateutil.rrule import rrulestr
from hypothesis import given
from hypothesis import strategies as st

from trayward.exchange.ics import OCTETS, Event, calendar, fold, text
from trayward.exchange.revised import FORGET, STILL, Versions, revised, versions_in, versions_out
from trayward.exchange.zone import changes

AT = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
BERLIN, NEW_YORK, KOLKATA = ZoneInfo("Europe/Berlin"), ZoneInfo("America/New_York"), ZoneInfo("Asia/Kolkata")
HOUR = timedelta(hours=1)


def whole_days(summary: str = "Sow", **more: object) -> Event:
    told = {"uid": "one", "first": date(2026, 11, 25), "last": date(2026, 11, 27), "changed": AT, **more}
    return Event(summary=summary, **told)  # type: ignore[arg-type]


def walk(first: date, last: date, at: time = time(7)) -> Event:
    return Event(uid="walk", summary="Morning round", first=first, last=last, at=at, changed=AT)


def made(*events: Event, zone: ZoneInfo = BERLIN) -> str:
    return calendar(events, name="Lantern Loft", zone=zone, refresh=HOUR)


def read(told: str) -> list[icalendar.Event]:
    return list(icalendar.Calendar.from_ical(told).walk("VEVENT"))


def test_lines_are_at_most_75_octets_and_end_as_the_rule_wants() -> None:
    # CALF-05: RFC 5545, section 3.1.
    told = made(whole_days(words="d" * 100))
    assert told.endswith("END:VCALENDAR\r\n")
    lines = told.split("\r\n")
    assert all(len(line.encode()) <= OCTETS for line in lines)
    assert "\n" not in told.replace("\r\n", "")
    assert str(read(told)[0]["DESCRIPTION"]) == "d" * 100


def test_folding_counts_octets_and_never_cuts_a_letter() -> None:
    # CALF-06: RFC 5545, section 3.1: 60 u-umlaut behind SUMMARY: come to lines of 74 and 55 octets.
    pieces = fold("SUMMARY:" + "ü" * 60).split("\r\n")
    assert [len(piece.encode()) for piece in pieces] == [74, 55]
    assert "".join([pieces[0], *(piece[1:] for piece in pieces[1:])]) == "SUMMARY:" + "ü" * 60


@given(st.text(max_size=300))
def test_every_line_unfolds_to_what_it_was(line: str) -> None:
    # RFC 5545, section 3.1: unfolding takes away a line's end and the one blank behind it.
    plain = line.replace("\r", "").replace("\n", "")
    folded = fold(plain)
    assert folded.replace("\r\n ", "") == plain or "\r\n " in plain
    assert all(len(piece.encode()) <= OCTETS for piece in folded.split("\r\n"))


def test_marks_that_mean_something_are_escaped() -> None:
    # CALF-07: RFC 5545, section 3.3.11.
    assert text("Sow; water, cover\\ \n weigh") == "Sow\\; water\\, cover\\\\ \\n weigh"


@given(st.text(alphabet=st.characters(exclude_categories=["Cc", "Cs"], include_characters="\n"), max_size=120))
def test_another_library_reads_the_words_as_they_were(words: str) -> None:
    found = read(made(whole_days(summary="x" + words, words="y" + words)))[0]
    assert str(found["SUMMARY"]) == "x" + words
    assert str(found["DESCRIPTION"]) == "y" + words


def test_characters_that_no_text_may_hold_are_left_out() -> None:
    # RFC 5545, section 3.3.11: TEXT holds no control characters but what an escape stands for.
    assert text("a\x00b\x07c\r\nd") == "abc\\nd"


def test_whole_days_end_on_the_day_after_the_last() -> None:
    # CALF-08: RFC 5545, sections 3.6.1 and 3.8.2.2: in the dark from 25 to 27 November.
    told = made(whole_days())
    assert "DTSTART;VALUE=DATE:20261125\r\nDTEND;VALUE=DATE:20261128\r\n" in told
    found = read(told)[0]
    assert (found["DTSTART"].dt, found["DTEND"].dt) == (date(2026, 11, 25), date(2026, 11, 28))


@pytest.mark.parametrize("zone", [BERLIN, NEW_YORK, KOLKATA, ZoneInfo("UTC"), ZoneInfo("Australia/Lord_Howe")])
def test_a_walk_stays_at_its_time_on_the_wall_all_year(zone: ZoneInfo) -> None:
    # CALF-09 and RFC 5545, section 3.3.5: a local time with its zone, not a step of 24 hours. The zone that is used is
    # the one the calendar itself tells, read by icalendar.
    told = made(walk(date(2026, 1, 1), date(2026, 12, 31)), zone=zone)
    read_back = icalendar.Calendar.from_ical(told)
    found = read_back.walk("VEVENT")[0]
    begins = found["DTSTART"].dt
    if zone.key != "UTC":
        begins = begins.replace(tzinfo=read_back.walk("VTIMEZONE")[0].to_tz(lookup_tzid=False))
    days = list(rrulestr(found["RRULE"].to_ical().decode(), dtstart=begins))
    assert len(days) == 365
    expected = [datetime(2026, 1, 1, 7, tzinfo=zone) + timedelta(days=ahead) for ahead in range(365)]
    assert [day.astimezone(UTC) for day in days] == [day.astimezone(UTC) for day in expected]


def test_over_the_change_of_the_clock_a_walk_is_23_hours_after_the_one_before() -> None:
    # CALF-09: IANA time zone database: New York, 7 and 8 March 2026, 14:00 and 13:00 UTC.
    moments = [datetime(2026, 3, day, 9, tzinfo=NEW_YORK).astimezone(UTC) for day in (7, 8)]
    assert [at.hour for at in moments] == [14, 13]
    found = list(changes(NEW_YORK, datetime(2026, 1, 1, tzinfo=UTC), datetime(2026, 12, 31, tzinfo=UTC)))
    assert found == [datetime(2026, 3, 8, 7, tzinfo=UTC), datetime(2026, 11, 1, 6, tzinfo=UTC)]
    told = made(walk(date(2026, 3, 1), date(2026, 3, 31)), zone=NEW_YORK)
    assert "DTSTART:20260308T020000\r\nTZOFFSETFROM:-0500\r\nTZOFFSETTO:-0400\r\n" in told
    assert "DTSTART;TZID=America/New_York:20260301T070000" in told
    assert "UNTIL=20260331T110000Z" in told  # RFC 5545, section 3.3.10: in UTC


def test_a_calendar_of_whole_days_alone_needs_no_zone_and_one_in_utc_neither() -> None:
    assert "VTIMEZONE" not in made(whole_days())
    told = made(walk(date(2026, 1, 1), date(2026, 12, 31)), zone=ZoneInfo("UTC"))
    assert "VTIMEZONE" not in told
    assert "DTSTART:20260101T070000Z" in told


def test_every_event_has_what_it_must_and_no_alarm() -> None:
    # RFC 5545, section 3.6.1: UID and DTSTAMP once each, DTSTART where there is no METHOD; 3.8.7.2: then DTSTAMP is
    # when it was revised last.
    told = made(whole_days(likely=True, sort="Cut"), walk(date(2026, 11, 1), date(2027, 12, 31)))
    whole = icalendar.Calendar.from_ical(told)
    assert (str(whole["VERSION"]), str(whole["CALSCALE"]), "METHOD" in whole) == ("2.0", "GREGORIAN", False)
    for event in whole.walk("VEVENT"):
        assert event["DTSTAMP"].dt == event["LAST-MODIFIED"].dt == AT
        assert event["UID"]
        assert event["SEQUENCE"] == 0
    assert not whole.walk("VALARM")
    assert [str(event["STATUS"]) for event in whole.walk("VEVENT")] == ["TENTATIVE", "CONFIRMED"]
    assert all(not event.errors for event in whole.walk())


# Versions -------------------------------------------------------------------------------------------------------------


def test_what_stays_the_same_keeps_its_number_and_its_moment() -> None:
    # RFC 5545, section 3.8.7.4.
    first, kept = revised([whole_days()], {}, AT)
    again, same = revised([whole_days()], kept, AT + HOUR)
    assert (first[0].sequence, first[0].changed) == (again[0].sequence, again[0].changed) == (0, AT)
    assert same is kept


def test_what_changed_has_the_next_number_and_the_moment_it_was_seen_to() -> None:
    _, kept = revised([whole_days()], {}, AT)
    moved, kept = revised([whole_days(first=date(2026, 11, 26))], kept, AT + HOUR)
    back, _ = revised([whole_days()], kept, AT + 2 * HOUR)
    assert [(each.sequence, each.changed) for each in (*moved, *back)] == [(1, AT + HOUR), (2, AT + 2 * HOUR)]


def test_what_was_away_for_a_while_goes_on_counting_and_after_long_begins_anew() -> None:
    _, kept = revised([whole_days()], {}, AT)
    other = whole_days(uid="two")
    _, kept = revised([other], kept, AT + timedelta(days=10))
    back, _ = revised([whole_days("Cut")], kept, AT + timedelta(days=11))
    assert back[0].sequence == 1
    _, long_after = revised([whole_days(uid="three")], kept, AT + FORGET + timedelta(days=1))
    assert "one" not in long_after


def test_that_it_still_stands_there_is_written_down_now_and_then() -> None:
    _, kept = revised([whole_days()], {}, AT)
    told, later = revised([whole_days()], kept, AT + STILL + HOUR)
    assert later["one"].seen == AT + STILL + HOUR
    assert (told[0].sequence, told[0].changed) == (0, AT)


def test_versions_are_kept_as_they_were_and_a_broken_keep_counts_as_none() -> None:
    kept: Versions = revised([whole_days()], {}, AT)[1]
    assert versions_in(versions_out(kept)) == kept
    assert versions_in(None) == versions_in(b"no json") == {}
