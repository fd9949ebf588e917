"""Which lots an alarm of the cold room was about: those that lay there while it was too warm, not those of today."""

from __future__ import annotations

from datetime import datetime, timedelta

from tests.money.small import CAFE, MONDAY, farm_made, grown, on, ordered
from trayward import Farm
from trayward.farm.sensors import AlarmHeld
from trayward.sensors.words import lots_held


def sold(farm: Farm, grams: float, day: int) -> None:
    ordered(farm, CAFE, "pea", grams, due=day)
    farm.deliver_due(CAFE, MONDAY + timedelta(days=day), at=on(day, 10), sure=True)


def warm(since: datetime, until: datetime | None) -> AlarmHeld:
    return AlarmHeld(
        alarm="cold-1.high", sensor="cold-1", place="cold room", what="cold room temperature", trouble="high",
        since=since, raised=since, value=9.0, limit=5.0, until=until,
    )  # fmt: skip


def test_lots_of_the_time_of_the_alarm_are_named_also_those_sold_since_and_none_that_came_later() -> None:
    farm = farm_made()
    early = grown(farm, "pea", 1, 300.0)
    sold(farm, 300.0, 7)
    went = grown(farm, "pea", 1, 280.0, cut_on=8, sown_on=1)
    there = grown(farm, "radish", 1, 200.0, cut_on=8, sown_on=1)
    sold(farm, 280.0, 10)
    packed = farm.pack("radish", 2, at=on(10, 12), sure=True).names[0]
    later = grown(farm, "pea", 1, 310.0, cut_on=11, sown_on=4)
    state = farm.state(on(12))
    assert (state.harvests[early].left_g, state.harvests[went].left_g) == (0.0, 0.0), "as the test means it"
    over = warm(on(9, 2), on(9, 8))
    assert lots_held(state, over, on(12)) == (f"harvest:{went}", f"harvest:{there}"), (
        "packed after it: no pack was there"
    )
    goes_on = lots_held(state, warm(on(9, 2), None), on(12))
    assert set(goes_on) == {f"harvest:{went}", f"harvest:{there}", f"harvest:{later}", f"pack:{packed}"}


def test_an_alarm_of_the_grow_room_is_about_no_lot() -> None:
    farm = farm_made()
    grown(farm, "pea", 1, 300.0)
    alarm = AlarmHeld(
        alarm="a", sensor="air-1", place="loft", what="air temperature", trouble="high", since=on(6), raised=on(6),
        value=35.0, limit=28.0,
    )  # fmt: skip
    assert lots_held(farm.state(on(8)), alarm, on(8)) == ()
