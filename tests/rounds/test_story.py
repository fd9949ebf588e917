"""A tray's and a lot's history in plain words."""

from __future__ import annotations

from datetime import date

from tests.rounds.loft import DAY_ONE, Loft, lantern_loft, on_day, sow
from tests.rounds.test_replay import EVENING, grown_until
from trayward.farm.entries import (
    KINDS,
    Body,
    Cut,
    Delivered,
    Discarded,
    Fed,
    LineDelivered,
    LotGrams,
    Measured,
    Moved,
    Note,
    Packed,
    RoundAnswered,
    SeedReceived,
    SeedTested,
    SeedWeighed,
    Struck,
    ThrownAway,
    TrayCut,
    TraySown,
    Watered,
)
from trayward.farm.settings import FarmSettings, ShownUnits
from trayward.rounds.done import cut_from_row, strip_from_row
from trayward.rounds.sayings import Life, lot_words, tray_words
from trayward.rounds.story import harvest_story, lot_story, tray_story


def told(loft: Loft, tray: str = "S.1") -> list[str]:
    assert loft.state.settings is not None
    return [line.words for line in tray_story(tray, loft.entries, loft.state, loft.state.settings)]


def test_nine_days_of_broccoli_read_like_a_diary():
    loft = grown_until(9, EVENING)
    at = on_day(9, EVENING)
    loft.say(at, *cut_from_row(loft.state, loft.row(at, "cut"), harvest="H261203A", grams=95.0, height_mm=20.0))
    loft.say(at, strip_from_row(loft.row(at, "strip")))
    story = told(loft, "261125A.1")
    assert story[0] == "Wed 25 Nov, morning, day 1: sown, 20 g of lot B1, on A1.1a, covered and weighted."
    assert story[1] == "Wed 25 Nov, evening, day 1: looked at: moist."
    for sentence in (
        "Sat 28 Nov, morning, day 4: looked at: 80 % up, “More yellow shoot than brown seed?” yes.",
        "Sat 28 Nov, morning, day 4: blackout begins, under the blackout cover.",
        "Sun 29 Nov, morning, day 5: watered below, 240 ml.",
        "Sun 29 Nov, morning, day 5: light begins, uncovered.",
        "Sun 29 Nov, morning, day 5: moved from A1.1a to A2.1.",
        "Thu 3 Dec, morning, day 9: looked at: 60 mm tall, “Canopy right to cut?” yes.",
        "Thu 3 Dec, morning, day 9: ready, waits to be cut.",
    ):
        assert sentence in story
    assert story[-2:] == [
        "Thu 3 Dec, evening, day 9: cut at 20 mm, 95 g, harvest lot H261203A.",
        "Thu 3 Dec, evening, day 9: stripped, its kit is to be washed.",
    ]
    assert len(story) == sum("tray:261125A.1" in entry.body.subjects() for entry in loft.entries)


def test_a_struck_entry_stays_in_the_story_and_is_marked_with_the_reason():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"))
    loft.say(on_day(1, 20), Watered(trays=("S.1",), ml=300.0, way="mist"))
    wrong = loft.entries[-1].id
    loft.say(on_day(1, 21), Struck(entry=wrong, reason="30, not 300"))
    lines = tray_story("S.1", loft.entries, loft.state, FarmSettings(name="Lantern Loft"))
    assert [(line.words, line.struck) for line in lines[1:]] == [
        ("Wed 25 Nov, evening, day 1: misted, 300 ml.", True),
        ("Wed 25 Nov, evening, day 1: taken back what was said of Wed 25 Nov, evening: 30, not 300.", False),
    ]
    assert lines[1].entry == wrong


def test_a_strike_that_is_struck_itself_strikes_nothing():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"))
    loft.say(on_day(1, 20), Watered(trays=("S.1",), ml=30.0, way="mist"))
    watered = loft.entries[-1].id
    loft.say(on_day(1, 21), Struck(entry=watered, reason="slip"))
    loft.say(on_day(1, 22), Struck(entry=loft.entries[-1].id, reason="no slip"))
    lines = tray_story("S.1", loft.entries, loft.state, FarmSettings(name="Lantern Loft"))
    assert {line.entry: line.struck for line in lines}[watered] is False


def test_what_a_struck_move_said_is_not_believed_later():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"), Moved(moves=(TraySown(tray="S.1", spot="A1.2a"),)))
    slip = loft.entries[-1].id
    loft.say(on_day(1, 9), Moved(moves=(TraySown(tray="S.1", spot="A1.3a"),)), Struck(entry=slip, reason="slip"))
    assert told(loft)[2].endswith("moved from A1.1a to A1.3a.")


def test_other_trays_and_other_things_stay_out_of_the_story():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"), sow("T", "A1.2a"))
    loft.say(on_day(1, 20), Discarded(trays=("T.1",), reason="dropped"))
    assert len(told(loft)) == 1
    assert told(loft, "T.1")[-1].endswith("thrown away: dropped.")


def test_a_moment_before_the_first_round_of_a_day_is_early():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"))
    loft.say(on_day(2, 5), Note(text="power cut", about=("tray:S.1",)))
    assert told(loft)[-1] == "Thu 26 Nov, early, day 2: note: power cut."


def test_the_story_is_told_in_the_farms_own_units():
    settings = FarmSettings(name="Lantern Loft", units=ShownUnits(mass="oz", volume="cup", length="in"))
    loft = lantern_loft(settings=settings)
    loft.say(DAY_ONE, sow("S", "A2.1", stage="light"))
    loft.say(on_day(1, 20), Watered(trays=("S.1",), ml=236.6))
    loft.say(on_day(1, 20), Measured(trays=("S.1",), what="height_mm", value=25.4, unit="mm"))
    assert "sown, 0.705 oz of lot B1" in told(loft)[0]
    assert told(loft)[1].endswith("watered below, 1 cup.")
    assert told(loft)[2].endswith("measured: 1 in tall.")


def test_feed_trouble_and_live_delivery_are_told():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A2.1", stage="ready"))
    loft.say(on_day(1, 20), Fed(trays=("S.1",), ml=240.0, ph=5.8, ec=1.2, feed="half strength"))
    loft.say(on_day(2, 7), RoundAnswered(trays=("S.1",), moisture="dry", problem="fallen", note="far corner"))
    out = LineDelivered(line="O1/1", trays=("S.1",))
    loft.say(on_day(2, 8), Delivered(delivery="D1", customer="Kite Cafe", lines=(out,)))
    assert [line.partition(": ")[2] for line in told(loft)[1:]] == [
        "fed below, 240 ml of half strength, pH 5.8, EC 1.2 dS/m.",
        "looked at: dry, trouble seen: fallen, far corner.",
        "gone out live to Kite Cafe, for O1/1.",
    ]


def test_a_seed_lot_tells_where_it_came_from_and_where_it_went():
    loft = lantern_loft()
    received = SeedReceived(
        lot="B9",
        crop="broccoli",
        grams=500.0,
        supplier="Harbour Seeds",
        germination=0.9,
        expected_on=date(2026, 11, 27),
    )
    loft.say(DAY_ONE, received)
    loft.say(on_day(3, 9), SeedReceived(lot="B9", crop="broccoli", grams=500.0, germination=0.9, tsw_g=3.2))
    loft.say(on_day(8, 9), SeedTested(lot="B9", sprouted=46, tested=50, days=4.0), SeedWeighed(lot="B9", grams=480.0))
    loft.say(on_day(8, 10), sow("S", "A1.1a"))
    assert loft.state.settings is not None
    words = [line.words for line in lot_story("B9", loft.entries, loft.state, loft.state.settings)]
    assert words == [
        "Wed 25 Nov, morning: on order, 500 g of broccoli seed, from Harbour Seeds, its label says 90 % sprout, "
        "expected Fri 27 Nov.",
        "Fri 27 Nov, morning: received, 500 g of broccoli seed, its label says 90 % sprout, 3.2 g a thousand seeds.",
        "Wed 2 Dec, morning: tested: 46 of 50 sprouted (92 %) in 4 days.",
        "Wed 2 Dec, morning: weighed, 480 g left.",
    ]
    sown = lot_story("B1", loft.entries, loft.state, loft.state.settings)[-1].words
    assert sown == "Wed 2 Dec, morning: sown, 20 g on 1 tray of S, broccoli on mesh mat."


def test_a_harvest_lot_tells_what_became_of_it():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A2.1", stage="ready"))
    loft.say(on_day(1, 9), Cut(harvest="H1", crop="broccoli", trays=(TrayCut(tray="S.1", grams=200.0),)))
    parts = (LotGrams(harvest="H1", grams=100.0),)
    packed = Packed(pack="P1", product="broccoli", packs=2, pack_g=50.0, parts=parts, best_before=date(2026, 12, 5))
    out = LineDelivered(line="O1/1", loose=(LotGrams(harvest="H1", grams=60.0),))
    gone = ThrownAway(parts=(LotGrams(harvest="H1", grams=40.0),), reason="left over")
    loft.say(on_day(1, 10), packed, Delivered(delivery="D1", customer="Kite Cafe", lines=(out,)), gone)
    assert loft.state.settings is not None
    story = harvest_story("H1", loft.entries, loft.state, loft.state.settings)
    assert [line.words.partition(": ")[2] for line in story] == [
        "cut, 200 g of broccoli from S.1.",
        "packed, 100 g into 2 packs of 50 g broccoli, pack lot P1, best before Sat 5 Dec.",
        "gone out loose to Kite Cafe, 60 g.",
        "thrown away, 40 g: left over.",
    ]


def test_every_kind_of_entry_that_can_be_about_a_tray_or_a_lot_has_a_sentence():
    """A new kind of entry about trays or lots must not fall back on its bare name."""
    of_tray = {"sowing made", "round answered", "watered", "fed", "moved", "stage changed", "measured", "discarded"}
    of_tray |= {"trouble seen", "trouble cleared", "cut", "stripped", "delivered", "note", "photo"}
    of_lot = {"seed received", "seed tested", "seed weighed", "sowing made", "cut", "packed", "delivered", "note"}
    of_lot |= {"thrown away", "photo", "recall kept", "record written"}
    for kind, body in KINDS.items():
        assert (tray_words.dispatch(body) is not tray_words.dispatch(Body)) == (kind in of_tray), kind
        assert (lot_words.dispatch(body) is not lot_words.dispatch(Body)) == (kind in of_lot), kind


def test_a_life_without_its_recipe_still_tells_what_was_said():
    loft = lantern_loft()
    life = Life(name="S.1", state=loft.state, units=ShownUnits())
    assert tray_words(RoundAnswered(trays=("S.1",), cue="ready"), life) == "looked at: “Ready?” yes"
    assert tray_words(Moved(moves=(TraySown(tray="S.1", spot=None),)), life) == "taken off the shelf"
