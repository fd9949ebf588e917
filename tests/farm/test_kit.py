"""Kit goes round: in use, dirty, washed, drying, ready."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.farm.told import codes, grown, lantern_loft, sowing
from trayward.farm.entries import (
    Discarded,
    KitCounted,
    KitReturned,
    KitSet,
    Sanitised,
    StageChanged,
    Washed,
)
from trayward.farm.kit import Pool


def test_kit_of_a_stage_is_let_go_dirty_when_the_stage_ends():
    told = lantern_loft()
    told.say(sowing("S", "A1.1a", "A1.1b"))
    cover = told.state.kit["cover"]
    assert (cover.in_use, cover.dirty, cover.uses) == (2, 0, 2)
    told.say(StageChanged(trays=("S.1", "S.2"), stage="blackout"))
    assert (cover.in_use, cover.uses) == (2, 2), "the same cover, turned over"
    told.say(StageChanged(trays=("S.1",), stage="light"))
    assert (cover.in_use, cover.dirty) == (1, 1)
    assert told.state.trays["S.1"].kit == {"mat": 1, "tray": 2}


def test_going_back_under_a_cover_takes_a_ready_one_and_says_so_if_there_is_none():
    told = grown()
    assert codes(told.check(StageChanged(trays=("S.1",), stage="blackout"))) == [("odd", "stage-back")]
    told.say(KitCounted(pool="cover", count=2))
    found = told.say(StageChanged(trays=("S.1",), stage="blackout"))
    assert codes(found) == [("odd", "stage-back"), ("odd", "kit-short")]
    assert told.state.trays["S.1"].kit["cover"] == 1


def test_washed_kit_is_ready_when_it_is_dry():
    told = grown()
    told.say(Discarded(trays=("S.1", "S.2"), reason="mould"))
    told.say(Washed(pool="mat", count=2))
    mat = told.state.kit["mat"]
    assert (mat.dirty, mat.ready(told.now), mat.ready(told.now + timedelta(hours=12))) == (0, 8, 10)


def test_kit_that_is_to_be_sanitised_dries_only_after_that():
    told = grown()
    told.say(Discarded(trays=("S.1", "S.2"), reason="mould"))
    told.say(Washed(pool="tray", count=4))
    tray = told.state.kit["tray"]
    assert (tray.washed, tray.drying) == (4, [])
    told.say(Sanitised(pool="tray", count=3, agent="as the label says"))
    assert (tray.washed, tray.still_drying(told.now)) == (1, 3)
    assert tray.ready(told.now + timedelta(hours=6)) == 19


def test_a_farm_that_no_longer_sanitises_lets_washed_kit_dry():
    told = grown()
    told.say(Discarded(trays=("S.1",), reason="mould"), Washed(pool="tray", count=2))
    told.say(KitSet(pool=Pool(name="tray", count=20, dry_hours=6)))
    tray = told.state.kit["tray"]
    assert (tray.washed, tray.still_drying(told.now)) == (0, 2)


def test_more_washed_than_the_book_has_dirty_is_odd_and_counts_what_there_is():
    told = grown()
    told.say(Discarded(trays=("S.1",), reason="mould"))
    found = told.say(Washed(pool="mat", count=5))
    assert codes(found) == [("odd", "kit-short")]
    assert found[0].message == "kit mat = 5: the book has 1 dirty, so 1 are counted."
    assert told.state.kit["mat"].still_drying(told.now) == 1


def test_counting_sets_what_the_pool_holds():
    told = grown()
    assert told.say(KitCounted(pool="mat", count=7)) == ()
    assert told.state.kit["mat"].ready(told.now) == 5
    found = told.check(KitCounted(pool="mat", count=1))
    assert codes(found) == [("odd", "kit-short")]
    assert codes(told.check(KitCounted(pool="mat", count=-1))) == [("wrong", "amount")]


@pytest.mark.parametrize("kind", [Washed, KitCounted, KitReturned])
def test_an_unknown_pool_is_wrong(kind):
    found = lantern_loft().check(kind(pool="spoons", count=1))
    assert codes(found) == [("wrong", "kit-unknown")]
    assert found[0].remedy == "Pools: mat, tray, cover."


@pytest.mark.parametrize("kind", [Washed, KitReturned])
def test_no_kit_is_wrong(kind):
    assert codes(lantern_loft().check(kind(pool="mat", count=0))) == [("wrong", "amount")]


def test_batches_that_are_dry_are_forgotten():
    told = grown()
    told.say(Discarded(trays=("S.1",), reason="mould"), Washed(pool="mat", count=1))
    told.say(Discarded(trays=("S.2",), reason="mould"), hours=20)
    told.say(Washed(pool="mat", count=1))
    assert len(told.state.kit["mat"].drying) == 1
