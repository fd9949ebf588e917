"""The life of a tray, as sentences."""

from __future__ import annotations

from datetime import timedelta

import msgspec
import pytest

from tests.farm.told import codes, entry, grown, lantern_loft, recipe, sowing
from trayward.farm.entries import (
    Cut,
    Discarded,
    Fed,
    Measured,
    Moved,
    RecipeSet,
    RoundAnswered,
    SeedReceived,
    SeedUsed,
    StageChanged,
    Stripped,
    TrayCut,
    TraySown,
    Watered,
)
from trayward.farm.fold import fold


def cut(*grams, harvest="H261204A", trays=("S.1", "S.2"), **changed):
    weights = tuple(TrayCut(tray=tray, grams=weight) for tray, weight in zip(trays, grams, strict=False))
    return Cut(harvest=harvest, crop="radish", trays=weights, **changed)


def moved(**to):
    return Moved(moves=tuple(TraySown(tray=f"S.{name[1:]}", spot=spot) for name, spot in to.items()))


# Sowing ---------------------------------------------------------------------------------------------------------------


def test_a_sowing_shares_its_seed_over_its_trays_and_takes_it_out_of_the_lot():
    told = lantern_loft()
    assert told.say(sowing("S", "A1.1a", "A1.1b", "A1.2a", grams=60.0)) == ()
    assert told.state.seed["RAD-1"].left_g == 440.0
    assert [tray.seed_g for tray in told.state.growing()] == [20.0, 20.0, 20.0]
    assert told.state.spots == {"A1.1a": "S.1", "A1.1b": "S.2", "A1.2a": "S.3"}
    assert told.state.trays["S.1"].stage == "germinate"


def test_density_as_sown_follows_from_the_lot_and_the_tray():
    """20 g a tray at 10 g per 1000 seeds, 90 % of them live, on 50.8 x 25.4 cm: 1800 / 1290.32 = 1.395 per cm2."""
    told = lantern_loft()
    told.say(sowing("S", "A1.1a", grams=20.0))
    assert told.state.trays["S.1"].live_seeds_per_cm2 == pytest.approx(1800 / 1290.32)


def test_density_stays_blank_where_a_figure_of_a_lot_is_blank():
    told = lantern_loft()
    told.say(SeedReceived(lot="RAD-2", crop="radish", grams=100.0, tsw_g=10.0))
    lots = (SeedUsed(lot="RAD-1", grams=10.0), SeedUsed(lot="RAD-2", grams=10.0))
    told.say(sowing("S", "A1.1a", lots=lots))
    assert told.state.trays["S.1"].live_seeds_per_cm2 is None
    assert told.state.trays["S.1"].lots == ("RAD-1", "RAD-2")


def test_more_seed_than_the_lot_holds_cannot_be_sown():
    told = lantern_loft()
    found = told.check(sowing("S", "A1.1a", grams=500.5))
    assert codes(found) == [("wrong", "seed-short")]
    assert found[0].message == "seed of lot RAD-1 = 500.5 g: the lot holds 500 g."
    told.say(sowing("S", "A1.1a", grams=500.5))
    assert told.state.seed["RAD-1"].left_g == -0.5
    assert codes(told.state.findings) == [("wrong", "seed-short")]
    assert told.state.findings[0].entries == (told.entries[-1].id,)


def test_ten_times_the_seed_a_recipe_wants_is_odd():
    """2 live seeds on a cm2 of a 1290 cm2 tray are 28.7 g of this lot: 10 g a thousand, 9 of 10 alive."""
    told = lantern_loft()
    assert codes(told.check(sowing("S", "A1.1a", grams=28.7))) == []
    assert codes(told.check(sowing("S", "A1.1a", grams=57.4))) == [], "twice as dense is a trial, not a slip"
    for grams in (287.0, 2.87):
        found = told.check(sowing("S", "A1.1a", grams=grams))
        assert codes(found) == [("odd", "sown-weight")]
        assert f"seed on each tray = {grams:g} g: the recipe radish on mat wants 28.7 g" in found[0].message


def test_the_last_gram_can_be_sown_however_the_sums_round():
    told = lantern_loft()
    told.say(SeedReceived(lot="RAD-2", crop="radish", grams=0.3))
    for number in range(3):
        told.say(sowing(f"S{number}", f"A1.{number + 1}a", lots=(SeedUsed(lot="RAD-2", grams=0.1),)))
    assert told.state.seed["RAD-2"].left_g == 0.0
    assert told.state.findings == []


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"recipe": "moonflower"}, "recipe-unknown"),
        ({"stage": "fly"}, "stage-unknown"),
        ({"lots": (SeedUsed(lot="RAD-9", grams=10.0),)}, "lot-unknown"),
        ({"lots": (SeedUsed(lot="RAD-1", grams=0.0),)}, "amount"),
    ],
)
def test_a_sowing_of_what_the_farm_does_not_have_is_wrong(changed, code):
    assert ("wrong", code) in codes(lantern_loft().check(sowing("S", "A1.1a", **changed)))


def test_names_of_sowings_and_trays_are_used_once():
    told = lantern_loft()
    told.say(sowing("S", "A1.1a"))
    assert codes(told.say(sowing("S", "A1.2a"))) == [("wrong", "sowing-twice")]
    assert told.state.spots == {"A1.1a": "S.1"}
    assert told.state.seed["RAD-1"].left_g == 470.0
    other = sowing("T", "A1.2a")
    renamed = (TraySown(tray="S.1", spot="A1.2a"),)
    found = told.check(type(other)(sowing="T", recipe=other.recipe, trays=renamed, lots=other.lots))
    assert codes(found) == [("wrong", "tray-twice")]


def test_two_trays_on_one_spot_are_refused():
    told = lantern_loft()
    told.say(sowing("S", "A1.1a"))
    assert codes(told.check(sowing("T", "A1.1a"))) == [("wrong", "spot-taken")]
    assert codes(told.check(sowing("T", "A1.2a", "A1.2a"))) == [("wrong", "spot-taken")]


def test_a_late_sowing_on_a_taken_spot_stands_nowhere_and_is_a_finding():
    told = lantern_loft()
    told.say(sowing("S", "A1.1a"))
    told.say(sowing("T", "A1.1a", "A1.2a"))
    assert codes(told.state.findings) == [("wrong", "spot-taken")]
    assert told.state.spots == {"A1.1a": "S.1", "A1.2a": "T.2"}
    assert told.state.trays["T.1"].spot is None


def test_a_tray_on_no_spot_is_odd_only_where_its_stage_needs_one():
    assert codes(lantern_loft().check(sowing("S", None))) == [("odd", "no-spot")]


def test_treated_seed_is_odd_and_defers_to_the_label():
    told = lantern_loft()
    told.say(SeedReceived(lot="RAD-T", crop="radish", grams=100.0, treated=True))
    found = told.check(sowing("S", "A1.1a", lots=(SeedUsed(lot="RAD-T", grams=10.0),)))
    assert codes(found) == [("odd", "seed-treated")]
    assert "not for eating fresh" in found[0].message
    assert "label" in found[0].remedy


def test_seed_of_another_crop_and_seed_of_no_lot_are_odd():
    told = lantern_loft()
    told.say(SeedReceived(lot="PEA-1", crop="pea", grams=100.0))
    assert codes(told.check(sowing("S", "A1.1a", lots=(SeedUsed(lot="PEA-1", grams=10.0),)))) == [("odd", "lot-crop")]
    assert codes(told.check(sowing("S", "A1.1a", lots=()))) == [("odd", "seed-unnamed")]


def test_a_dropped_recipe_is_odd_to_sow():
    told = lantern_loft()
    told.say(RecipeSet(recipe=recipe(), dropped=True))
    assert codes(told.check(sowing("S", "A1.1a"))) == [("odd", "recipe-dropped")]


def test_short_kit_is_odd_with_what_is_ready():
    told = lantern_loft()
    told.say(sowing("S", "A1.1a", "A1.1b", "A1.1c", "A1.2a", "A1.2b", "A1.2c"))
    found = told.check(sowing("T", "A1.3a"))
    assert codes(found) == [("odd", "kit-short")]
    assert found[0].message == "kit cover = 0 ready: 1 wanted."


# Looks, water, feed, stages -------------------------------------------------------------------------------------------


def test_a_round_sets_only_what_was_said():
    told = grown()
    told.say(RoundAnswered(trays=("S.1",), round="2026-12-02 morning", moisture="dry", height_mm=30.0))
    told.say(RoundAnswered(trays=("S.1",), round="2026-12-02 evening", problem="mould"))
    tray = told.state.trays["S.1"]
    assert (tray.moisture, tray.height_mm, tray.problem) == ("dry", 30.0, "mould")
    assert (tray.last_look, tray.last_round) == (told.now, "2026-12-02 evening")
    assert told.state.trays["S.2"].last_look is None


def test_not_yet_is_kept_as_the_last_moment_before_the_change():
    told = lantern_loft()
    told.say(sowing("S", "A1.1a"))
    told.say(RoundAnswered(trays=("S.1",), cue="not yet"), hours=12)
    seen = told.now
    told.say(RoundAnswered(trays=("S.1",), cue="ready"), hours=12)
    assert told.state.trays["S.1"].stage == "germinate", "ready alone changes no stage"
    told.say(StageChanged(trays=("S.1",), stage="blackout"))
    first, second = told.state.trays["S.1"].steps
    assert (first.last_not_yet, first.until, second.since, second.until) == (seen, told.now, told.now, None)


def test_a_look_that_leaves_the_cue_open_is_kept_until_one_says_not_yet():
    told = lantern_loft()
    told.say(sowing("S", "A1.1a"))
    told.say(RoundAnswered(trays=("S.1",), moisture="moist"), hours=12)
    open_look = told.now
    step = told.state.trays["S.1"].steps[0]
    assert (step.last_silent, step.last_not_yet) == (open_look, None)
    told.say(RoundAnswered(trays=("S.1",), cue="not yet"), hours=12)
    said = told.now
    assert (step.last_silent, step.last_not_yet) == (None, said)
    told.say(RoundAnswered(trays=("S.1",), moisture="dry"), hours=12)
    told.say(RoundAnswered(trays=("S.1",), cue="ready"), hours=12)
    assert (step.last_silent, step.last_not_yet) == (None, said)


def test_a_look_at_a_ready_tray_leaves_no_cue_open():
    told = grown()
    told.say(RoundAnswered(trays=("S.1",), moisture="moist"))
    assert told.state.trays["S.1"].steps[-1].last_silent is None


def test_water_settles_what_was_seen_dry():
    told = grown()
    told.say(RoundAnswered(trays=("S.1", "S.2"), moisture="dry"), Watered(trays=("S.1",), ml=400.0))
    assert told.state.trays["S.1"].moisture is None
    assert told.state.trays["S.1"].last_water == told.now
    assert told.state.trays["S.2"].moisture == "dry"


@pytest.mark.parametrize("ml", [0.0, -5.0])
def test_water_must_be_some(ml):
    assert codes(grown().check(Watered(trays=("S.1",), ml=ml))) == [("wrong", "amount")]


USUAL = {"germinate": ("mist", 30.0), "blackout": ("none", 40.0), "light": ("below", 240.0), "ready": ("below", 240.0)}
"""How the stages of a recipe are watered, and how much a tray takes. [ml]"""


def watered_in(stage):
    """A tray in some stage of a recipe that says how much its stages take."""
    told, stages = lantern_loft(), []
    for each in recipe().stages:
        way, ml = USUAL[each.name]
        stages.append(msgspec.structs.replace(each, water=way, water_ml=ml))
    told.say(RecipeSet(recipe=recipe(stages=tuple(stages))), sowing("S", "A1.1a"))
    if stage != "germinate":
        told.say(StageChanged(trays=("S.1",), stage=stage))
    return told


@pytest.mark.parametrize(
    ("stage", "ml", "odd"),
    [
        ("germinate", 150.0, False),  # 30 ml is usual in the dark, misted
        ("germinate", 151.0, True),
        ("blackout", 240.0, False),  # the first water of the light that follows
        ("light", 1200.0, False),
        ("light", 1201.0, True),
    ],
)
def test_more_than_five_times_the_usual_water_or_feed_is_odd(stage, ml, odd):
    told = watered_in(stage)
    wanted = [("odd", "water-much")] if odd else []
    assert codes(told.check(Watered(trays=("S.1",), ml=ml))) == wanted
    assert codes(told.check(Fed(trays=("S.1",), ml=ml))) == wanted


def test_too_much_water_says_what_is_usual_and_what_to_do():
    (found,) = watered_in("germinate").check(Watered(trays=("S.1",), ml=300.0))
    assert found.message == ("tray S.1, water = 300 ml: more than 5 times the 30 ml that germinate usually takes.")
    assert "strike this entry" in found.remedy


def test_feed_far_outside_the_recipes_ph_is_odd_and_an_impossible_ph_is_wrong():
    told = grown()
    assert told.check(Fed(trays=("S.1",), ml=400.0, ph=5.8, ec=1.2)) == ()
    assert codes(told.check(Fed(trays=("S.1",), ml=400.0, ph=7.2))) == [("odd", "feed-ph")]
    assert codes(told.check(Fed(trays=("S.1",), ml=400.0, ph=58.0))) == [("wrong", "amount")]


def test_a_stage_the_recipe_lacks_is_wrong_and_a_stage_it_is_past_is_odd():
    told = grown()
    found = told.check(StageChanged(trays=("S.1",), stage="fly"))
    assert codes(found) == [("wrong", "stage-unknown")]
    assert found[0].remedy == "Stages: germinate, blackout, light, ready."
    assert codes(told.check(StageChanged(trays=("S.1",), stage="light"))) == [("odd", "stage-back")]
    assert codes(told.say(StageChanged(trays=("S.1",), stage="ready"))) == [("odd", "stage-back")]
    assert [step.stage for step in told.state.trays["S.1"].steps] == ["germinate", "light", "ready"]


def test_trays_of_one_sowing_may_go_separate_ways():
    told = lantern_loft()
    told.say(sowing("S", "A1.1a", "A1.1b", "A1.1c"))
    told.say(StageChanged(trays=("S.1",), stage="light"), Moved(moves=(TraySown(tray="S.1", spot="A2.1"),)), hours=48)
    told.say(Discarded(trays=("S.2",), reason="mould"))
    told.say(StageChanged(trays=("S.3",), stage="blackout"), hours=24)
    state = told.state
    assert state.findings == []
    assert (state.trays["S.1"].stage, state.trays["S.3"].stage) == ("light", "blackout")
    assert state.ended["S.2"].fate == "discarded"
    assert state.spots == {"A1.1c": "S.3", "A2.1": "S.1"}
    assert state.sowings["S"].trays == ("S.1", "S.2", "S.3")


def test_a_measured_height_is_kept_and_a_tray_may_be_weighed_after_the_cut():
    told = grown()
    told.say(Measured(trays=("S.1",), what="height_mm", value=42.0, unit="mm"))
    assert told.state.trays["S.1"].height_mm == 42.0
    told.say(cut(200.0, 210.0))
    assert told.check(Measured(trays=("S.1",), what="weight_g", value=40.0)) == ()
    assert codes(told.check(Measured(trays=("S.9",), what="weight_g", value=40.0))) == [("wrong", "tray-unknown")]


# Moving ---------------------------------------------------------------------------------------------------------------


def test_two_trays_swap_in_one_move():
    told = grown()
    assert told.say(moved(t1="A2.2", t2="A2.1")) == ()
    assert told.state.spots == {"A2.2": "S.1", "A2.1": "S.2"}
    assert (told.state.trays["S.1"].spot, told.state.trays["S.2"].spot) == ("A2.2", "A2.1")


def test_a_move_to_a_taken_spot_is_refused_and_late_leaves_the_tray_nowhere():
    told = grown()
    assert codes(told.check(moved(t1="A2.2"))) == [("wrong", "spot-taken")]
    assert codes(told.check(moved(t1="A2.3", t2="A2.3"))) == [("wrong", "spot-taken")]
    told.say(moved(t1="A2.2"))
    assert told.state.spots == {"A2.2": "S.2"}
    assert told.state.trays["S.1"].spot is None
    assert codes(told.state.findings) == [("wrong", "spot-taken")]


def test_a_move_to_the_same_spot_changes_nothing():
    told = grown()
    assert told.say(moved(t1="A2.1")) == ()
    assert told.state.spots == {"A2.1": "S.1", "A2.2": "S.2"}


def test_a_move_to_no_spot_frees_it():
    told = grown()
    assert told.say(moved(t1=None)) == ()
    assert told.state.spots == {"A2.2": "S.2"}


def test_each_stage_keeps_the_spot_it_was_in_even_when_the_tray_is_gone():
    told = grown()
    told.say(moved(S1="A2.3"))
    told.say(Discarded(trays=("S.1",), reason="mould"))
    told.say(cut(200.0, trays=("S.2",)), Stripped(trays=("S.2",)))
    kept = {tray.tray: [(step.stage, step.spot) for step in tray.steps] for tray in told.state.ended.values()}
    assert kept == {
        "S.1": [("germinate", "A1.1a"), ("light", "A2.1"), ("ready", "A2.3")],
        "S.2": [("germinate", "A1.1b"), ("light", "A2.2"), ("ready", "A2.2")],
    }


def test_a_stage_keeps_the_last_spot_known_when_the_tray_is_put_nowhere():
    told = grown()
    told.say(moved(S1=None))
    assert told.state.trays["S.1"].steps[-1].spot == "A2.1"


def test_a_tray_can_be_named_once_in_a_move():
    told = grown()
    twice = Moved(moves=(TraySown(tray="S.1", spot="A2.3"), TraySown(tray="S.1", spot="A2.4")))
    assert codes(told.check(twice)) == [("wrong", "named-twice")]


def test_a_move_to_the_wrong_kind_of_shelf_is_odd():
    assert codes(grown().check(moved(t1="A1.1a"))) == [("odd", "spot-ground")]


# The end of a tray ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "deed",
    [
        cut(200.0),
        Watered(trays=("S.1",), ml=100.0),
        Fed(trays=("S.1",), ml=100.0),
        RoundAnswered(trays=("S.1",), cue="ready"),
        StageChanged(trays=("S.1",), stage="ready"),
        moved(t1="A2.3"),
        Discarded(trays=("S.1",), reason="again"),
    ],
    ids=lambda deed: deed.KIND,
)
def test_a_discarded_tray_cannot_be_touched_any_more(deed):
    told = grown()
    told.say(Discarded(trays=("S.1",), reason="mould"))
    before = told.refold()
    found = told.check(deed)
    assert codes(found) == [("wrong", "tray-ended")]
    assert found[0].message.startswith("tray S.1 = discarded 2026-12-02: only a growing tray can be ")
    told.say(deed)
    assert told.state.ended["S.1"] == before.ended["S.1"]
    assert told.state.harvests == {}


def test_a_discarded_tray_cannot_be_cut():
    told = grown()
    told.say(Discarded(trays=("S.1",), reason="mould"))
    assert "only a growing tray can be cut" in told.check(cut(200.0))[0].message


@pytest.mark.parametrize("deed", [Watered(trays=("S.9",), ml=100.0), cut(200.0, trays=("S.9",)), moved(t9="A2.3")])
def test_an_unknown_tray_is_wrong(deed):
    assert codes(grown().check(deed)) == [("wrong", "tray-unknown")]


def test_no_tray_named_is_wrong():
    assert codes(grown().check(Watered(trays=(), ml=100.0))) == [("wrong", "nothing-named")]


def test_a_discarded_tray_frees_its_spot_and_dirties_its_kit_at_once():
    told = grown()
    told.say(Discarded(trays=("S.1",), reason="mould"))
    tray = told.state.ended["S.1"]
    assert (tray.fate, tray.reason, tray.ended_at, tray.spot, tray.kit) == ("discarded", "mould", told.now, None, {})
    assert told.state.spots == {"A2.2": "S.2"}
    assert (told.state.kit["mat"].in_use, told.state.kit["mat"].dirty) == (1, 1)


def test_a_cut_tray_frees_its_spot_but_holds_its_kit_until_it_is_stripped():
    told = grown()
    assert told.say(cut(200.0, 150.0)) == ()
    state = told.state
    assert state.spots == {}
    assert (state.trays["S.1"].fate, state.trays["S.1"].grams, state.kit["mat"].in_use) == ("cut", 200.0, 2)
    lot = state.harvests["H261204A"]
    assert (lot.grams, lot.left_g, lot.trays, lot.cold_room_days) == (350.0, 350.0, ("S.1", "S.2"), 5)
    assert told.say(Stripped(trays=("S.1",)), hours=2) == ()
    assert state.ended["S.1"].stripped
    assert list(state.trays) == ["S.2"]
    assert (state.kit["mat"].in_use, state.kit["mat"].dirty) == (1, 1)
    assert (state.kit["tray"].in_use, state.kit["tray"].dirty) == (2, 2)


def test_a_growing_tray_cannot_be_stripped_and_no_tray_twice():
    told = grown()
    assert codes(told.check(Stripped(trays=("S.1",)))) == [("wrong", "tray-not-cut")]
    told.say(cut(200.0, 200.0), Stripped(trays=("S.1",)))
    assert codes(told.check(Stripped(trays=("S.1",)))) == [("wrong", "tray-not-cut")]
    assert codes(told.check(Stripped(trays=("S.9",)))) == [("wrong", "tray-unknown")]


def test_stripping_a_discarded_tray_says_nothing_new():
    told = grown()
    told.say(Discarded(trays=("S.1",), reason="mould"))
    assert told.say(Stripped(trays=("S.1",))) == ()
    assert told.state.kit["mat"].dirty == 1


def test_a_tray_that_regrows_stays_on_its_spot_and_adds_up():
    told = grown()
    told.say(cut(200.0, 200.0, regrow=True))
    told.say(cut(15.0, 90.0, harvest="H261211A"), hours=7 * 24)
    tray = told.state.trays["S.2"]
    assert (tray.fate, tray.cuts, tray.grams) == ("cut", 2, 290.0)
    assert told.state.findings == [], "a second cut may well be light"


def test_a_tray_named_twice_in_one_cut_counts_once():
    told = grown()
    assert codes(told.say(cut(200.0, 200.0, trays=("S.1", "S.1"), regrow=True))) == [("wrong", "named-twice")]
    assert (told.state.trays["S.1"].grams, told.state.trays["S.1"].cuts) == (200.0, 1)
    assert told.state.harvests["H261204A"].grams == 200.0


def test_cutting_before_ready_is_odd():
    told = lantern_loft()
    told.say(sowing("S", "A1.1a"))
    assert codes(told.check(cut(200.0))) == [("odd", "cut-early")]


@pytest.mark.parametrize(
    ("grams", "expected"),
    [
        (19.9, [("odd", "cut-weight")]),
        (20.0, []),
        (900.0, []),
        (900.1, [("odd", "cut-weight")]),
        (-1.0, [("wrong", "amount")]),
    ],
)
def test_a_weight_mistyped_by_far_is_odd(grams, expected):
    """The recipe reckons with 100 to 300 g: less than a fifth of the low or more than thrice the high."""
    assert codes(grown().check(cut(grams))) == expected


def test_a_harvest_lots_name_is_used_once_but_the_other_trays_grams_are_not_lost():
    told = grown()
    told.say(cut(200.0))
    late = cut(180.0, 190.0)
    assert codes(told.check(late)) == [("wrong", "tray-ended"), ("wrong", "harvest-twice")]
    told.say(late)
    assert told.state.harvests["H261204A"].grams == 390.0, "S.1 counts once, S.2 is added"


def test_a_cut_of_another_crop_is_odd():
    told = grown()
    other = Cut(harvest="H261204B", crop="pea", trays=(TrayCut(tray="S.1", grams=200.0),))
    assert codes(told.check(other)) == [("odd", "cut-crop")]


def test_a_late_cut_of_a_tray_that_was_discarded_meanwhile_is_kept_as_a_finding():
    """The phone comes back with a cut from noon; the desk had it discarded at eleven."""
    told = grown()
    discarded = told.now + timedelta(hours=1)
    entries = [
        *told.entries,
        entry(900, Discarded(trays=("S.1",), reason="mould"), discarded),
        entry(901, cut(200.0, 210.0), discarded + timedelta(hours=1)),
    ]
    state = fold(entries)
    assert codes(state.findings) == [("wrong", "tray-ended")]
    assert state.findings[0].entries == ("entry-000901",)
    assert state.ended["S.1"].fate == "discarded"
    assert state.harvests["H261204A"].trays == ("S.2",), "what could be cut is cut"


def test_a_late_cut_lands_on_its_own_time_and_makes_the_discard_the_finding():
    told = grown()
    noon = told.now + timedelta(hours=1)
    late = entry(901, cut(200.0), noon)
    discard = entry(900, Discarded(trays=("S.1",), reason="mould"), noon + timedelta(hours=1))
    state = fold([*told.entries, late, discard])
    assert state.trays["S.1"].fate == "cut"
    assert state.findings[0].message == "tray S.1 = cut 2026-12-02: only a growing tray can be discarded."
