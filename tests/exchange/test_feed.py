"""What stands in the calendar of Lantern Loft, read back by another library."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import icalendar
import pytest

import trayward
from trayward.errors import InputError
from trayward.exchange.feed import WEEKS
from trayward.farm import entries as said
from trayward.farm.orders import Customer, LineAsked, Order
from trayward.farm.records import Habit
from trayward.farm.settings import FarmSettings
from trayward.plan.decide import Effort

AT = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
TODAY = AT.date()
QUICK = Effort(scenarios=8, checked=16, proof_seconds=0, reasons=False)


@pytest.fixture
def farm(tmp_path: Path) -> Iterator[trayward.Farm]:
    with trayward.Farm.create(tmp_path / "loft.sqlite", "loft", at=AT - timedelta(days=20)) as farm:
        farm.sow("radish", 2, at=AT - timedelta(days=3), sure=True)
        yield farm


def read(told: str, sort: str = "") -> list[icalendar.Event]:
    found = icalendar.Calendar.from_ical(told).walk("VEVENT")
    return [event for event in found if not sort or event["CATEGORIES"].to_ical().decode() == sort]


def words(event: icalendar.Event) -> str:
    return f"{event['SUMMARY']}\n{event.get('DESCRIPTION', '')}"


def trays_of(event: icalendar.Event) -> int:
    return int(str(event["SUMMARY"]).split()[1])


def test_a_kept_plans_sowings_and_cuts_stand_on_their_days(farm: trayward.Farm) -> None:
    farm.keep_plan(farm.plan(AT, weeks=3, effort=QUICK), at=AT)
    plan = farm.kept_plan(AT)
    assert plan is not None
    told = farm.calendar(AT)
    sown = {event["DTSTART"].dt: str(event["SUMMARY"]) for event in read(told, "Sow")}
    planned = Counter[date]()
    for each in plan.sowings:
        planned[each.sow_on] += each.trays
    assert planned
    assert set(sown) == set(planned)
    assert all(sown[day].startswith(f"Sow {trays} tray") for day, trays in planned.items())
    cut_days = {event["DTSTART"].dt for event in read(told, "Cut")}
    assert {cut.cut_on for each in plan.sowings for cut in each.cuts} <= cut_days


def test_what_was_sown_leaves_the_plan_of_the_calendar(farm: trayward.Farm) -> None:
    farm.keep_plan(farm.plan(AT, weeks=3, effort=QUICK), at=AT)
    before = read(farm.calendar(AT), "Sow")
    plan = farm.kept_plan(AT)
    assert plan is not None
    first = min(plan.sowings, key=lambda each: each.sow_on)
    later = AT + timedelta(days=(first.sow_on - TODAY).days, hours=1)
    farm.sow(first.recipe, first.trays, at=later, sure=True)
    after = read(farm.calendar(later), "Sow")
    assert first.crop in words(before[0])
    assert sum(map(trays_of, after)) == sum(map(trays_of, before)) - first.trays


def test_a_tray_that_was_cut_and_still_stands_is_not_to_be_cut_again(farm: trayward.Farm) -> None:
    farm.keep_plan(farm.plan(AT, weeks=3, effort=QUICK), at=AT)
    plan = farm.kept_plan(AT)
    assert plan is not None
    standing = next(cut for cut in plan.cuts if cut.standing)
    later = AT + timedelta(days=(standing.cut_on - TODAY).days, hours=1)
    farm.cut(dict.fromkeys(standing.standing, 150.0), at=later, sure=True)
    state = farm.state(later)
    assert [state.trays[name].fate for name in standing.standing] == ["cut"] * len(standing.standing)
    told = " ".join(words(event) for event in read(farm.calendar(later), "Cut"))
    assert not [name for name in standing.standing if name in told]


def test_a_standing_trays_cut_says_when_it_is_likely_and_its_range(farm: trayward.Farm) -> None:
    cut = read(farm.calendar(AT), "Cut")[0]
    ready = farm.outlook(AT).standing(farm.state(AT).growing()[0]).ready
    assert cut["DTSTART"].dt == ready.likely.date()
    assert str(cut["STATUS"]) == "TENTATIVE"
    assert "8 in 10" in words(cut)
    assert "Cut 2 trays: radish" in words(cut)


def test_turns_stand_on_the_likely_day_of_the_next_stage(farm: trayward.Farm) -> None:
    tray = farm.state(AT).growing()[0]
    told = farm.outlook(AT).standing(tray)
    turns = read(farm.calendar(AT), "Turn")
    recipe = farm.state(AT).recipe_of(tray)
    following = [recipe.next_stage(end.stage) for end in told.stages[:-1]]
    assert following
    told_words = " ".join(words(event) for event in turns)
    assert all(f"to {stage.name};" in told_words for stage in following if stage is not None)
    likely = [end.ends.likely.date() for end in told.stages[:-1]]
    assert {event["DTSTART"].dt for event in turns} == {max(TODAY, day) for day in likely}


def test_a_delivery_keeps_its_id_when_it_moves_and_counts_the_change(farm: trayward.Farm) -> None:
    farm.record(said.CustomerSet(customer=Customer(name="Corner Cafe")), at=AT)
    order = Order(
        order="O1", customer="Corner Cafe", due=date(2026, 12, 4),
        lines=(LineAsked(line="1", product="radish", quantity=200.0),),
    )  # fmt: skip
    farm.record(said.OrderPlaced(order=order), at=AT)
    before = next(event for event in read(farm.calendar(AT), "Deliver") if "O1" in words(event))
    from msgspec.structs import replace

    later = AT + timedelta(hours=2)
    farm.record(said.OrderChanged(order=replace(order, due=date(2026, 12, 5))), at=later)
    after = next(event for event in read(farm.calendar(later), "Deliver") if "O1" in words(event))
    assert str(before["SUMMARY"]) == "Deliver to Corner Cafe"
    assert "radish: 200 g" in words(before)
    assert (before["UID"], before["SEQUENCE"]) == (after["UID"], 0)
    assert (after["SEQUENCE"], after["DTSTART"].dt, after["DTSTAMP"].dt) == (1, date(2026, 12, 5), later)


def test_a_calendar_in_which_nothing_changed_is_the_same_to_the_letter(farm: trayward.Farm) -> None:
    assert farm.calendar(AT) == farm.calendar(AT)


def test_an_event_has_the_same_id_and_version_in_every_language(farm: trayward.Farm) -> None:
    ours, loud = read(farm.calendar(at=AT)), read(farm.calendar(at=AT, said=str.upper))
    marks = [(event["UID"], event["SEQUENCE"], event["DTSTAMP"].dt) for event in ours]
    assert [(event["UID"], event["SEQUENCE"], event["DTSTAMP"].dt) for event in loud] == marks
    assert [str(event["SUMMARY"]) for event in loud] == [str(event["SUMMARY"]).upper() for event in ours]


def test_it_can_be_written_when_others_have_the_farm(tmp_path: Path) -> None:
    with trayward.Farm.create(tmp_path / "loft.sqlite", "loft", at=AT - timedelta(days=20)) as farm:
        whole, later = farm.calendar(AT), farm.calendar_told(AT)
    assert later() == whole
    assert later() is later()


def test_the_next_process_knows_which_version_an_event_is(farm: trayward.Farm, tmp_path: Path) -> None:
    first = farm.calendar(AT)
    with trayward.Farm.open(tmp_path / "loft.sqlite") as again:
        assert again.calendar(AT) == first


def test_it_looks_six_weeks_ahead_and_not_back(farm: trayward.Farm) -> None:
    days = [event["DTSTART"].dt for event in read(farm.calendar(AT)) if "RRULE" not in event]
    assert days
    assert min(days) >= TODAY
    assert max(days) <= TODAY + timedelta(weeks=WEEKS)


def test_the_walks_come_every_day_at_their_time(farm: trayward.Farm) -> None:
    walks = read(farm.calendar(AT), "Round")
    expected = [(walk.name, walk.at) for walk in farm.settings(AT).rounds]
    assert [(str(event["SUMMARY"]).split()[0].lower(), event["DTSTART"].dt.time()) for event in walks] == expected
    assert all(event["RRULE"]["FREQ"] == ["DAILY"] for event in walks)


def test_a_record_kept_weekly_comes_again_by_its_own_rule(farm: trayward.Farm) -> None:
    kind = next(iter(_kinds()))
    weekly = Habit(kind=kind, area="cold room", rule="FREQ=WEEKLY;BYDAY=TU", start=date(2026, 11, 20))
    daily = Habit(kind=kind, area="sink", rule="FREQ=DAILY", start=date(2026, 11, 20))
    farm.record(said.RecordHabitSet(habit=weekly), said.RecordHabitSet(habit=daily), at=AT)
    found = [event for event in read(farm.calendar(AT), "Record") if "cold room" in words(event)]
    # 20 November 2026 is a Friday; the first Tuesday after it is the 24th.
    assert [(event["DTSTART"].dt, event["RRULE"]["BYDAY"]) for event in found] == [(date(2026, 11, 24), ["TU"])]
    assert not [event for event in read(farm.calendar(AT), "Record") if "sink" in words(event)]


def test_sorts_can_be_left_out_and_a_wrong_word_is_refused(farm: trayward.Farm) -> None:
    told = farm.calendar(AT, without=("round", "cut"))
    assert read(told, "Cut") == read(told, "Round") == []
    with pytest.raises(InputError, match="is none of the sorts"):
        farm.calendar(AT, without=("walks",))


def test_washes_stand_on_the_days_of_the_cuts(farm: trayward.Farm) -> None:
    told = farm.calendar(AT)
    cuts = {event["DTSTART"].dt for event in read(told, "Cut")}
    washes = {event["DTSTART"].dt for event in read(told, "Wash")}
    assert washes
    assert washes <= cuts | {TODAY}


def test_an_empty_farm_has_its_walks_alone() -> None:
    with trayward.Farm.create(":memory:", [said.FarmSet(settings=FarmSettings(name="Lantern Loft"))], at=AT) as farm:
        found = read(farm.calendar(AT))
    assert [str(event["SUMMARY"]) for event in found] == ["Morning round", "Evening round"]


def test_two_farms_never_share_an_id() -> None:
    both = []
    for _ in range(2):
        settings = FarmSettings(name="Lantern Loft")
        with trayward.Farm.create(":memory:", [said.FarmSet(settings=settings)], at=AT) as farm:
            both.append({str(event["UID"]) for event in read(farm.calendar(AT))})
    assert both[0].isdisjoint(both[1])


def _kinds() -> dict[str, object]:
    from trayward.hygiene.kinds import KINDS

    return dict(KINDS) if isinstance(KINDS, dict) else {kind.name: kind for kind in KINDS}
