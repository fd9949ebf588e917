"""Rows of growing trays: grouped, asked once, overdue when a round passed them by."""

from __future__ import annotations

from datetime import timedelta

import msgspec
import pytest

from tests.rounds.loft import BROCCOLI, DAY_ONE, Loft, lantern_loft, on_day, sow
from trayward.errors import BookError
from trayward.farm.entries import (
    KitSet,
    PlaceSet,
    RecipeSet,
    RoundAnswered,
    SeedReceived,
    SeedUsed,
    SowingMade,
    TraySown,
    TroubleCleared,
)
from trayward.farm.kit import Pool
from trayward.farm.places import Shelf
from trayward.farm.recipes import Stage
from trayward.farm.state import FarmState
from trayward.library.recipes import standard_recipe
from trayward.outlook.ahead import look_ahead
from trayward.rounds.make import make_round

EVENING = on_day(1, 19.5)


def test_trays_of_a_sowing_that_stand_together_are_one_row_and_others_are_their_own():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a", "A1.1b", "A1.1c"), sow("T", "A1.2a", crop="radish"))
    loft.say(DAY_ONE, sow("U", "A2.1", "A2.2", stage="light"))
    rows = loft.rows(EVENING)
    assert [(row.row, row.trays) for row in rows] == [
        ("look-S-A1", ("S.1", "S.2", "S.3")),
        ("look-T-A1", ("T.1",)),
        ("look-U-A2", ("U.1", "U.2")),
    ]
    assert [row.number for row in rows] == [1, 2, 3]
    assert rows[0].words.startswith("Look: broccoli, 3 trays.")
    assert rows[0].minutes == pytest.approx(3 * BROCCOLI.minutes_look)


def test_rows_follow_the_walking_order_of_the_shelves_not_their_names():
    first = PlaceSet(shelf=Shelf(name="Z9", rack="Z", room="loft", kind="lit", spots=2, order=0))
    loft = lantern_loft(first)
    loft.say(DAY_ONE, sow("S", "A1.1a"), sow("T", "A2.1", stage="light"), sow("U", "Z9.1", stage="light"))
    assert [row.place for row in loft.rows(EVENING)] == ["Z9", "A1", "A2"]


def test_an_answered_row_is_gone_for_this_round_and_back_in_the_next():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"), sow("T", "A1.2a"))
    loft.answer(EVENING, row=loft.rows(EVENING)[0], moisture="moist")
    present = loft.round(EVENING)
    assert ([row.row for row in present.rows], present.done) == (["look-T-A1"], 1)
    assert [row.row for row in loft.rows(on_day(2, 7.5))] == ["look-T-A1", "look-S-A1"]  # T was missed, so it is first


def test_a_row_answered_in_part_keeps_its_name_and_the_trays_still_to_be_seen():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a", "A1.1b", "A1.2a"))
    at = on_day(4, 7.5)
    row = loft.row(at)
    loft.answer(at, row=row, cue="ready", only=["S.1"])
    assert loft.state.trays["S.1"].stage == "blackout"
    rest = loft.row(at)
    assert (rest.row, rest.trays) == (row.row, ("S.2", "S.3"))


def test_trays_of_a_sowing_in_two_stages_on_one_shelf_are_two_rows_with_names_of_their_own():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a", "A1.2a"))
    loft.answer(on_day(4, 7.5), cue="ready", only=["S.1"])
    assert {row.row: row.trays for row in loft.rows(on_day(4, 19.5))} == {
        "look-S-A1-germinate": ("S.2",),
        "look-S-A1-blackout": ("S.1",),
    }


def test_a_tray_that_a_round_passed_by_is_overdue_since_that_round_and_comes_first():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"), sow("T", "A2.1", stage="light"))
    loft.answer(EVENING, row=loft.rows(EVENING)[0], moisture="moist")
    first, second = loft.rows(on_day(2, 7.5))
    assert (first.row, first.overdue, first.since) == ("look-T-A2", True, on_day(1, 19))
    assert (second.row, second.overdue, second.since) == ("look-S-A1", False, None)
    assert first.why.startswith("Not looked at since Wed 25 Nov.")


def test_overdue_rows_keep_the_walking_order_among_themselves():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"), sow("T", "A2.1", stage="light"))
    loft.answer(EVENING, row=loft.rows(EVENING)[0], moisture="moist")
    rows = loft.rows(on_day(3, 7.5))
    assert [(row.row, row.since) for row in rows] == [("look-S-A1", on_day(2, 7)), ("look-T-A2", on_day(1, 19))]


def test_one_missed_round_is_overdue_and_none_is_not():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"))
    assert not loft.row(EVENING).overdue
    assert loft.row(on_day(2, 7.5)).overdue


def test_a_look_outside_the_rounds_counts_for_the_round_it_falls_in():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"))
    loft.say(on_day(1, 22), RoundAnswered(trays=("S.1",)))
    assert loft.rows(on_day(1, 23)) == []


def test_the_question_waits_until_the_stage_could_end():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"))
    low = look_ahead(loft.state, DAY_ONE).standing(loft.state.trays["S.1"]).stages[0].ends.low
    half_a_day = timedelta(hours=12)
    assert loft.row(low - half_a_day - timedelta(hours=2)).cue == ""
    assert loft.row(low - half_a_day + timedelta(hours=2)).cue == "More yellow shoot than brown seed?"


def test_once_asked_the_question_stays_until_it_is_answered_with_yes():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"))
    loft.answer(on_day(2, 7.5), cue="not yet")  # said early, unasked
    assert loft.row(on_day(2, 19.5)).cue != ""


def soaked_pea(loft: Loft) -> None:
    recipe = standard_recipe("pea")
    used = (SeedUsed(lot="P1", grams=150.0),)
    loft.say(
        on_day(1, 19.2),
        RecipeSet(recipe=recipe),
        SeedReceived(lot="P1", crop="pea", grams=3000.0, germination=0.9),
        SowingMade(sowing="P", recipe=recipe.name, trays=(TraySown(tray="P.1"),), lots=used),
    )


def test_a_stage_that_ends_by_the_clock_says_to_go_on_when_its_time_is_up():
    loft = lantern_loft()
    soaked_pea(loft)
    assert loft.rows(on_day(1, 20)) == []
    row = loft.row(on_day(2, 7.5))
    assert (row.kind, row.row, row.place, row.to) == ("turn", "turn-P-bench", "bench", ("A1.1a",))
    assert row.words.startswith("Begin germinate: pea, 1 tray. Spread the drained seed evenly")
    loft.answer(on_day(2, 7.5), cue="ready")
    tray = loft.state.trays["P.1"]
    assert (tray.stage, tray.spot) == ("germinate", "A1.1a")
    assert loft.rows(on_day(2, 8)) == []


def test_soaked_seed_with_no_spot_says_so_in_its_row_and_goes_where_it_is_said():
    loft = lantern_loft(KitSet(pool=Pool(name="mesh mat", count=1)), dark=1, stack=1)
    loft.say(DAY_ONE, sow("S", "A1.1"))
    soaked_pea(loft)
    row = loft.row(on_day(2, 7.5), "turn")
    no_spot = "There is no free dark spot: turn, cut or move trays first."
    assert (row.to, row.lacks) == ((), f"{no_spot} Mesh mat: 0 clean and dry, 1 needed.")
    assert row.lacks not in row.why
    loft.answer(on_day(2, 7.5), row=row, cue="ready", spots=["A2.3"])
    assert loft.state.trays["P.1"].spot == "A2.3"


def test_a_stage_by_the_clock_that_ends_between_two_rounds_is_due_as_soon_as_it_ends():
    short = Stage(name="rest", days_low=0.1, days_typical=0.125, days_high=0.15, ground="dark", stack=4)
    recipe = msgspec.structs.replace(BROCCOLI, name="rested", stages=(short, *BROCCOLI.stages[1:]))
    loft = lantern_loft(RecipeSet(recipe=recipe))
    sown = msgspec.structs.replace(sow("S", "A1.1a"), recipe="rested")
    loft.say(DAY_ONE, sown)
    assert loft.rows(DAY_ONE + timedelta(hours=2)) == []
    assert loft.row(DAY_ONE + timedelta(hours=4)).kind == "turn"


def test_a_stage_by_the_clock_that_nobody_ended_is_overdue():
    loft = lantern_loft()
    soaked_pea(loft)
    for day, hour in ((2, 7.5), (2, 19.5), (3, 7.5)):
        loft.answer(on_day(day, hour), moisture="moist", cue="not yet")
    row = loft.row(on_day(3, 19.5))
    assert (row.kind, row.overdue) == ("turn", True)
    assert row.since is not None
    assert row.since < on_day(2, 19)


# Mould ----------------------------------------------------------------------------------------------------------------


def test_suspected_mould_asks_to_look_close_and_never_to_cut():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A2.1", "A2.2", stage="ready"))
    at = on_day(1, 19.5)
    loft.answer(at, row=loft.row(at), problem="mould?", only=["S.1"])
    rows = {row.kind: row for row in loft.rows(at)}
    assert rows["discard"].trays == ("S.1",)
    assert rows["discard"].words.startswith("Look close: broccoli, 1 tray, suspected mould.")
    assert "root hairs vanish, mould stays" in rows["discard"].words
    assert "never eat or sell it" in rows["discard"].words
    assert rows["cut"].trays == ("S.2",)


def test_root_hairs_that_vanished_close_the_row_and_the_tray_is_looked_at_as_before():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"))
    loft.answer(EVENING, problem="mould")
    assert loft.row(EVENING).kind == "discard"
    loft.say(EVENING, TroubleCleared(trays=("S.1",), found="root hairs"))
    assert [row.kind for row in loft.rows(EVENING)] != ["discard"]
    assert loft.row(on_day(2, 7.5)).kind == "look"


def test_an_answer_that_says_nothing_of_mould_does_not_clear_a_tray_on_which_somebody_saw_it():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"))
    loft.answer(EVENING, problem="mould")
    loft.answer(EVENING, moisture="moist", note="looks well to me")
    assert loft.row(EVENING).kind == "discard"
    assert loft.row(on_day(2, 7.5)).kind == "discard"


def test_other_trouble_stays_in_the_look_and_is_told_again():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"))
    loft.answer(EVENING, problem="uneven")
    row = loft.row(on_day(2, 7.5))
    assert row.kind == "look"
    assert "Seen before: uneven." in row.why


# Odd farms ------------------------------------------------------------------------------------------------------------


def test_a_tray_whose_stage_the_recipe_has_dropped_is_still_looked_at():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"))
    renamed = tuple(
        msgspec.structs.replace(stage, name="sprout") if stage.name == "germinate" else stage
        for stage in BROCCOLI.stages
    )
    loft.state.recipes[BROCCOLI.name] = msgspec.structs.replace(BROCCOLI, stages=renamed)
    row = loft.row(EVENING)
    assert (row.kind, row.trays, row.cue) == ("look", ("S.1",), "")


def test_a_farm_never_set_up_has_no_round():
    with pytest.raises(BookError, match="no farm in it yet"):
        make_round(FarmState(), look_ahead(FarmState(), DAY_ONE), DAY_ONE)
