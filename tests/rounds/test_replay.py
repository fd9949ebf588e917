"""One broccoli tray on a mesh mat, from sowing to wash-up. The calendar is common practice, no source."""

from __future__ import annotations

import msgspec

from tests.rounds.loft import DAY_ONE, Loft, lantern_loft, on_day, sow
from trayward.rounds.done import cut_from_row, strip_from_row, wash_from_row
from trayward.rounds.types import RoundRow

MORNING, EVENING = 7.5, 19.5

SHOOT, TALL, CANOPY = "More yellow shoot than brown seed?", "Tall and straight?", "Canopy right to cut?"


def amount(row: RoundRow, what: str) -> float:
    (value,) = [found.value for found in row.amounts if found.what == what]
    return value


def grown_until(day: int, hour: float = 0.0) -> Loft:
    """The tray as a grower brings it up, answered up to and including the last round before a moment."""
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("261125A", "A1.1a"))
    turns = {(4, MORNING): {"cue": "ready", "share_emerged": 0.8}, (5, MORNING): {"cue": "ready", "water_ml": 240.0}}
    turns[9, MORNING] = {"cue": "ready", "height_mm": 60.0}
    for walk_day in range(1, day + 1):
        for walk_hour in (MORNING, EVENING):
            if (1, MORNING) < (walk_day, walk_hour) < (day, hour):
                loft.answer(on_day(walk_day, walk_hour), **turns.get((walk_day, walk_hour), {"moisture": "moist"}))
    return loft


def test_a_tray_just_sown_is_first_looked_at_in_the_next_round():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("261125A", "A1.1a"))
    morning, evening = loft.round(on_day(1, 9)), loft.round(on_day(1, EVENING))
    assert morning.rows == ()
    assert morning.idle == "Nothing is due now. The next round begins Wed 25 Nov, 19:00."
    assert not any("Nothing is due" in note for note in morning.notes)
    assert evening.idle == ""
    assert [row.row for row in evening.rows] == ["look-261125A-A1"]


def test_days_one_and_two_look_and_mist_under_cover_and_weight_and_ask_nothing():
    for day, hour in ((1, EVENING), (2, MORNING), (2, EVENING)):
        row = grown_until(day, hour).row(on_day(day, hour))
        assert (row.kind, row.stage, row.cue) == ("look", "germinate", "")
        assert "mist if dry" in row.words
        assert amount(row, "mist") == 30.0
        assert amount(row, "weight on the cover") == 2300.0


def test_day_four_asks_whether_there_is_more_yellow_shoot_than_brown_seed():
    loft = grown_until(4, MORNING)
    row = loft.row(on_day(4, MORNING))
    assert row.cue == SHOOT
    assert "If yes: turn the cover over" in row.words


def test_yes_on_day_four_turns_the_cover_and_the_tray_stays_on_its_spot():
    loft = grown_until(4, MORNING)
    loft.answer(on_day(4, MORNING), cue="ready")
    tray = loft.state.trays["261125A.1"]
    assert (tray.stage, tray.spot) == ("blackout", "A1.1a")
    assert loft.rows(on_day(4, 8)) == []


def test_after_a_day_of_blackout_day_five_asks_tall_and_straight_and_names_the_lit_spot():
    row = grown_until(5, MORNING).row(on_day(5, MORNING))
    assert (row.stage, row.cue, row.to) == ("blackout", TALL, ("A2.1",))
    assert amount(row, "water below") == 60.0  # only if dry
    assert amount(row, "if yes, water below") == 240.0


def test_from_day_five_the_tray_stands_in_light_and_is_watered_below_with_feed():
    for day, hour in ((5, EVENING), (6, MORNING), (6, EVENING), (7, MORNING)):
        row = grown_until(day, hour).row(on_day(day, hour), "look")
        assert (row.stage, row.spots, row.cue) == ("light", ("A2.1",), "")
        assert "never over the top" in row.words
        assert amount(row, "water below") == 240.0
        (feed,) = [found for found in row.amounts if found.what == "feed pH"]
        assert feed.note.startswith("5.5 to 6.0")
        assert "label" in feed.note


def test_day_nine_asks_for_the_canopy_and_then_to_cut_13_to_25_mm_above_the_mat():
    loft = grown_until(9, MORNING)
    asked = loft.row(on_day(9, MORNING), "look")
    assert asked.cue == CANOPY
    loft.answer(on_day(9, MORNING), row=asked, cue="ready", height_mm=60.0)
    row = loft.row(on_day(9, 8), "cut")
    assert row.row == "cut-261125A-A2"
    assert "13 to 25 mm above the mat" in row.words
    assert amount(row, "cut") == 13.0


def test_the_cut_is_followed_by_strip_wash_and_dry():
    loft = grown_until(9, EVENING)
    at = on_day(9, EVENING)
    row = loft.row(at, "cut")
    assert loft.say(at, *cut_from_row(loft.state, row, harvest="H261203A", grams=95.0, height_mm=20.0)) == []
    loft.say(at, strip_from_row(loft.row(at, "strip")))
    washing = loft.rows(at, "wash")
    assert [(row.pool, row.count) for row in washing] == [
        ("cover", 1), ("mesh mat", 1), ("mesh tray", 1), ("solid tray", 1),
    ]  # fmt: skip
    for row in washing:
        assert "rinse hot" in row.words
        loft.say(at, wash_from_row(row, soap="food-safe soap"))
    assert loft.round(at).rows == ()
    assert loft.state.kit["mesh mat"].still_drying(at) == 1
    assert loft.state.harvests["H261203A"].grams == 95.0


def test_the_round_goes_out_as_json_in_the_promised_form():
    loft = grown_until(4, MORNING)
    told = msgspec.json.decode(msgspec.json.encode(loft.round(on_day(4, MORNING))))
    assert told["round"] == "2026-11-28 morning"
    assert told["at"] == "2026-11-28T07:30:00Z"
    (row,) = told["rows"]
    assert {"row", "place", "crop", "stage", "do", "cue", "amounts", "trays"} <= row.keys()
    assert row["trays"] == ["261125A.1"]
    assert row["amounts"][0] == {"what": "mist", "value": 30.0, "unit": "ml", "each": True, "note": "if dry"}
