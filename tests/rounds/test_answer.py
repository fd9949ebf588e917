"""What the book is told when a row is answered."""

from __future__ import annotations

from contextlib import suppress

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.rounds.loft import BROCCOLI, DAY_ONE, Loft, lantern_loft, on_day, sow
from trayward.errors import InputError, NotFoundError
from trayward.farm.entries import (
    Discarded,
    KitMarked,
    Moved,
    RecipeSet,
    RoundAnswered,
    SeedReceived,
    SeedUsed,
    SowingMade,
    StageChanged,
    TraySown,
    Watered,
)
from trayward.farm.recipes import KitNeed
from trayward.farm.spots import free_spots
from trayward.library.recipes import standard_recipe
from trayward.rounds.answer import answer_row, answer_trays
from trayward.rounds.done import discard_from_row

WALK = "2026-11-28 morning"
AT = on_day(4, 7.5)


def four_stacked() -> Loft:
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a", "A1.1b", "A1.1c", "A1.1d"))
    return loft


def test_only_what_was_said_is_told():
    loft = four_stacked()
    (body,) = answer_row(
        loft.state, loft.row(AT), round_name=WALK, moisture="moist", share_emerged=0.8, height_mm=12.0, note="even"
    )
    assert body == RoundAnswered(
        trays=("S.1", "S.2", "S.3", "S.4"),
        round=WALK,
        moisture="moist",
        share_emerged=0.8,
        height_mm=12.0,
        note="even",
    )


def test_not_yet_changes_no_stage():
    loft = four_stacked()
    (body,) = answer_row(loft.state, loft.row(AT), round_name=WALK, cue="not yet")
    assert isinstance(body, RoundAnswered)


def test_a_dry_tray_got_the_usual_water_of_its_stage_in_the_way_of_its_stage():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"), sow("T", "A1.2a", stage="blackout"), sow("U", "A2.1", stage="light"))
    watered = [
        answer_row(loft.state, row, round_name=WALK, moisture="dry")[1] for row in loft.rows(on_day(1, 19.5), "look")
    ]
    assert watered == [
        Watered(trays=("S.1",), ml=30.0, way="mist"),
        Watered(trays=("T.1",), ml=60.0, way="below"),
        Watered(trays=("U.1",), ml=240.0, way="below"),
    ]


def test_water_that_was_measured_goes_before_the_usual_and_none_is_none():
    loft = four_stacked()
    row = loft.row(AT)
    assert answer_row(loft.state, row, round_name=WALK, moisture="moist", water_ml=45.0)[1].ml == 45.0
    assert len(answer_row(loft.state, row, round_name=WALK, moisture="dry", water_ml=0.0)) == 1


def test_leaving_the_stack_the_lowest_tray_stays_and_the_others_go_to_floors_of_their_own():
    loft = lantern_loft(dark=5)
    loft.say(DAY_ONE, sow("S", "A1.1a", "A1.1b", "A1.1c", "A1.1d"))
    assert loft.row(AT).to == ("", "A1.2a", "A1.3a", "A1.4a")
    assert loft.answer(AT, cue="ready") == []
    assert {tray.tray: tray.spot for tray in loft.state.growing()} == {
        "S.1": "A1.1a", "S.2": "A1.2a", "S.3": "A1.3a", "S.4": "A1.4a",
    }  # fmt: skip


def test_without_room_to_unstack_nothing_is_told_and_the_answer_says_what_makes_room():
    loft = four_stacked()
    loft.say(DAY_ONE, sow("B", "A1.2a", stage="blackout"))
    row = next(row for row in loft.rows(AT) if row.stage == "germinate")
    expected = (
        r"free dark spots = 1: 3 trays must go to a dark shelf: S\.2, S\.3 and S\.4\. "
        r"Cut or move first: B\.1 \(blackout\) on A1\.2a\. Or name spots\."
    )
    with pytest.raises(InputError, match=expected):
        answer_row(loft.state, row, round_name=WALK, cue="ready")


def test_trays_of_one_sowing_may_go_separate_ways():
    loft = four_stacked()
    bodies = answer_row(loft.state, loft.row(AT), round_name=WALK, cue="ready", only=["S.2"])
    assert bodies[1:] == (
        StageChanged(trays=("S.2",), stage="blackout"),
        Moved(moves=(TraySown(tray="S.2", spot="A1.2a"),)),
    )


def test_ready_after_blackout_goes_to_the_light_all_at_once():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a", "A1.2a", stage="blackout"))
    at = on_day(2, 7.5)
    row = loft.row(at)
    assert row.to == ("A2.1", "A2.2")
    assert loft.answer(at, row=row, cue="ready", moisture="dry") == []
    assert [(tray.stage, tray.spot) for tray in loft.state.growing()] == [("light", "A2.1"), ("light", "A2.2")]
    assert loft.entries[-3].body == Watered(trays=("S.1", "S.2"), ml=240.0, way="below")


def test_marked_kit_that_a_later_stage_takes_is_said_with_the_answer_that_begins_it():
    loft = lantern_loft()
    under = KitNeed(pool="solid tray", each=1, stages=("light", "ready"))
    kit = (*(need for need in BROCCOLI.kit if need.pool != "solid tray"), under)
    loft.say(DAY_ONE, RecipeSet(recipe=msgspec.structs.replace(BROCCOLI, kit=kit)))
    loft.say(DAY_ONE, KitMarked(pool="solid tray", marks=("T1", "T2", "T3")))
    loft.say(DAY_ONE, sow("S", "A1.1a", "A1.2a", stage="blackout"))
    at = on_day(2, 7.5)
    row = loft.row(at)
    with pytest.raises(InputError, match="begins with the answer ready"):
        loft.answer(at, row=row, cue="not yet", marks=("T2",))
    with pytest.raises(InputError, match="2 trays take 2 of solid tray"):
        loft.answer(at, row=row, cue="ready", marks=("T1", "T2", "T3"))
    assert loft.answer(at, row=row, cue="ready", marks=("T2", "T3")) == []
    assert loft.state.kit["solid tray"].on == {"S.1": ("T2",), "S.2": ("T3",)}
    assert loft.state.kit["solid tray"].marks["T2"].uses == 1


def test_two_rows_are_promised_different_spots_and_the_answer_keeps_the_promise():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a", stage="blackout"), sow("T", "A1.2a", stage="blackout"))
    first, second = loft.rows(on_day(2, 7.5))
    assert (first.to, second.to) == (("A2.1",), ("A2.2",))
    loft.answer(on_day(2, 7.5), row=second, cue="ready")
    assert loft.state.trays["T.1"].spot == "A2.2"


def test_a_promised_spot_that_was_taken_in_the_meantime_gives_way_to_the_next_free_one():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a", stage="blackout"))
    row = loft.row(on_day(2, 7.5))
    loft.say(on_day(2, 8), sow("U", "A2.1", stage="light"))
    assert loft.answer(on_day(2, 8.1), row=row, cue="ready") == []
    assert loft.state.trays["S.1"].spot == "A2.2"


def test_a_full_lit_shelf_names_the_ready_trays_in_the_way_and_a_named_spot_is_taken_as_said():
    loft = lantern_loft(lit=1)
    loft.say(DAY_ONE, sow("U", "A2.1", stage="ready"), sow("S", "A1.1a", stage="blackout"))
    row = next(row for row in loft.rows(on_day(2, 7.5)) if row.stage == "blackout")
    with pytest.raises(InputError, match=r"free lit spots = 0: .*Cut or move first: U\.1 \(ready\) on A2\.1"):
        answer_row(loft.state, row, round_name=WALK, cue="ready")
    moved = answer_row(loft.state, row, round_name=WALK, cue="ready", spots=["A1.2a"])[-1]
    assert moved == Moved(moves=(TraySown(tray="S.1", spot="A1.2a"),))


def test_the_number_of_spots_named_must_fit_the_trays_that_move():
    loft = four_stacked()
    row = loft.row(AT)
    with pytest.raises(InputError, match=r"spots = A1\.2a and A1\.3a: 3 trays must move: S\.2, S\.3 and S\.4"):
        answer_row(loft.state, row, round_name=WALK, cue="ready", spots=["A1.2a", "A1.3a"])
    every = answer_row(loft.state, row, round_name=WALK, cue="ready", spots=["A1.1a", "A1.2a", "A1.3a", "A2.1"])
    assert len(every[-1].moves) == 4


def test_spots_for_trays_that_need_not_move_are_questioned():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"))
    with pytest.raises(InputError, match=r"none of these trays has to move\. Name none, or one for each of the 1"):
        answer_row(loft.state, loft.row(AT), round_name=WALK, cue="ready", spots=["A1.2a", "A1.3a"])


def test_ready_in_the_last_stage_means_still_good_and_changes_nothing():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A2.1", stage="ready"))
    loft.keep_plan(on_day(1, 8.5))
    row = loft.row(on_day(1, 19.5))
    assert row.kind == "look"
    (body,) = answer_row(loft.state, row, round_name=WALK, cue="ready")
    assert isinstance(body, RoundAnswered)


def test_suspected_mould_and_ready_do_not_go_together():
    loft = four_stacked()
    with pytest.raises(InputError, match="problem = mould: a tray with suspected mould goes no further"):
        answer_row(loft.state, loft.row(AT), round_name=WALK, cue="ready", problem="mould")


def test_a_row_is_not_answered_twice_once_its_trays_have_gone_on():
    loft = four_stacked()
    row = loft.row(AT)
    loft.answer(AT, row=row, cue="ready", only=["S.1"])
    with pytest.raises(InputError, match=r"tray S\.1 is in blackout by now, the row is about germinate"):
        answer_row(loft.state, row, round_name=WALK, cue="ready", only=["S.1"])


def test_trays_of_other_rows_and_trays_that_grow_no_more_are_refused():
    loft = four_stacked()
    row = loft.row(AT)
    with pytest.raises(InputError, match=r"trays = T\.1: row look-S-A1 is about"):
        answer_row(loft.state, row, round_name=WALK, only=["T.1"])
    loft.say(AT, Discarded(trays=("S.1",), reason="dropped"))
    with pytest.raises(InputError, match=r"tray = S\.1: it grows no more: discarded\. Leave it out"):
        answer_row(loft.state, row, round_name=WALK)
    with pytest.raises(NotFoundError, match=r"tray 'X\.1'"):
        answer_trays(loft.state, ["X.1"], round_name=WALK)
    with pytest.raises(InputError, match="at least one tray"):
        answer_trays(loft.state, [], round_name=WALK)


@pytest.mark.parametrize(
    ("said", "message"),
    [
        ({"share_emerged": 80.0}, r"share emerged = 80: must lie in \[0, 1\]"),
        ({"height_mm": -1.0}, r"height = -1 mm: must lie in \[0, 1000\] mm"),
        ({"water_ml": 1e6}, r"water = 1e\+06 ml: must lie in \[0, 20000\] ml"),
        ({"water_ml": float("nan")}, r"water = nan ml"),
    ],
)
def test_figures_that_cannot_be_are_refused_with_their_range(said: dict[str, float], message: str):
    loft = four_stacked()
    with pytest.raises(InputError, match=message):
        answer_row(loft.state, loft.row(AT), round_name=WALK, **said)


def test_a_job_is_not_answered_but_said_to_be_done():
    loft = lantern_loft()
    loft.state.kit["cover"].dirty = 2
    row = loft.row(DAY_ONE, "wash")
    with pytest.raises(InputError, match=r"row = wash-cover: it is done or not done.*Say that it is done\."):
        answer_row(loft.state, row, round_name=WALK, moisture="moist")


def test_trays_in_different_stages_answered_together_each_take_their_own_next_step():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"), sow("T", "A1.2a", stage="blackout"))
    bodies = answer_trays(loft.state, ["S.1", "T.1"], round_name=WALK, cue="ready")
    assert bodies[1:] == (
        StageChanged(trays=("S.1",), stage="blackout"),
        StageChanged(trays=("T.1",), stage="light"),
        Moved(moves=(TraySown(tray="T.1", spot="A2.1"),)),
    )


def test_a_tray_from_a_look_may_be_thrown_away_with_a_reason():
    loft = four_stacked()
    row = loft.row(AT)
    assert discard_from_row(row, reason="mould", only=["S.3"]) == Discarded(trays=("S.3",), reason="mould")
    with pytest.raises(InputError, match="a discarded tray needs one"):
        discard_from_row(row, reason=" ")


# Several stages in one answer -----------------------------------------------------------------------------------------

PEA = standard_recipe("pea")


def with_peas(*, dark: int) -> Loft:
    return lantern_loft(
        RecipeSet(recipe=PEA), SeedReceived(lot="P1", crop="pea", grams=3000.0, germination=0.9), dark=dark
    )


def soaking(name: str, trays: int) -> SowingMade:
    return SowingMade(
        sowing=name,
        recipe=PEA.name,
        trays=tuple(TraySown(tray=f"{name}.{number}") for number in range(1, trays + 1)),
        lots=(SeedUsed(lot="P1", grams=200.0 * trays),),
        stage="soak",
    )


def answered(loft: Loft, *trays: str) -> dict[str, str | None]:
    """Where trays stand once all of them have gone on in one answer; the loft refuses what cannot stand."""
    assert loft.say(AT, *answer_trays(loft.state, trays, round_name=WALK, cue="ready")) == []
    return {name: loft.state.trays[name].spot for name in trays}


def test_nothing_is_put_on_a_tray_that_bears_nothing_from_this_answer_on():
    """It stays where it is, and what was allowed on it before no longer is."""
    loft = with_peas(dark=2)
    loft.say(DAY_ONE, sow("S", "A1.1a"), soaking("P", 2))
    assert answered(loft, "S.1", "P.1", "P.2") == {"S.1": "A1.1a", "P.1": "A1.2a", "P.2": "A1.2b"}


def test_a_place_that_this_answer_frees_is_free_for_its_other_trays():
    loft = lantern_loft(dark=2)
    loft.say(DAY_ONE, sow("U", "A1.1a", stage="blackout"), sow("S", "A1.2a", "A1.2b"))
    assert answered(loft, "U.1", "S.1", "S.2") == {"U.1": "A2.1", "S.1": "A1.2a", "S.2": "A1.1a"}


def test_trays_of_two_stack_heights_may_share_what_the_lower_one_allows():
    """Two peas from soak, which stack, and trays off a stack, which do not, on three floors in all."""
    loft = with_peas(dark=3)
    loft.say(DAY_ONE, sow("S", "A1.1a", "A1.1b"), soaking("P", 3))
    found = answered(loft, "S.1", "S.2", "P.1", "P.2", "P.3")
    assert found == {"S.1": "A1.1a", "S.2": "A1.2a", "P.1": "A1.3a", "P.2": "A1.3b", "P.3": "A1.3c"}


def test_where_there_is_no_room_even_so_the_answer_says_what_makes_room():
    loft = with_peas(dark=1)
    loft.say(DAY_ONE, sow("S", "A1.1a"), soaking("P", 1))
    with pytest.raises(InputError, match=r"free dark spots = 0: 1 tray must go to a dark shelf: P\.1"):
        answer_trays(loft.state, ("S.1", "P.1"), round_name=WALK, cue="ready")


@settings(max_examples=60, deadline=None)
@given(
    dark=st.integers(2, 4),
    laid=st.lists(st.sampled_from(["germinate", "blackout", "soak", "light"]), min_size=1, max_size=8),
    asked=st.integers(1, 255),
)
def test_whatever_goes_on_together_the_places_chosen_are_not_refused(dark: int, laid: list[str], asked: int):
    """Either there is no room, and the answer says so, or everything stands as the book allows: `say` asserts it."""
    loft = with_peas(dark=dark)
    for number, stage in enumerate(laid):
        height = {"germinate": 4, "blackout": 1}.get(stage)
        free = free_spots(loft.state, "dark", height) if height else [f"A2.{number + 1}"]
        if stage == "soak":
            loft.say(DAY_ONE, soaking(f"T{number}", 1))
        elif free:
            loft.say(DAY_ONE, sow(f"T{number}", free[asked % len(free)], stage=stage))
    trays = [tray.tray for number, tray in enumerate(loft.state.growing()) if asked >> number & 1]
    if not trays:
        return
    with suppress(InputError):
        loft.say(AT, *answer_trays(loft.state, trays, round_name=WALK, cue="ready"))
