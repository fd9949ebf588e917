"""From sowing to the cut at the desk: seed out of lots, trays on spots, answers, cuts; what is said late or twice."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest

from trayward.bootstrap import Farm
from trayward.errors import BookError, InputError, NotFoundError, RefusedError
from trayward.farm.codec import encode_state
from trayward.farm.entries import Cut, Moved, RoundAnswered, StageChanged, Watered

MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


@pytest.fixture
def farm() -> Iterator[Farm]:
    """Kitchen Shelf: dark shelf K1, lit shelves K2 and K3, four spots each."""
    with Farm.create(":memory:", "shelf", at=MORNING) as made:
        yield made


def sown(farm: Farm, trays: int = 1, *, at: datetime = MORNING, crop: str = "broccoli") -> tuple[str, ...]:
    return farm.sow(crop, trays, grams_per_tray=20.0, at=at).names


def ready(farm: Farm, trays: int = 1, *, at: datetime = MORNING) -> tuple[str, ...]:
    names = sown(farm, trays, at=at)
    farm.begin([names[0]], "ready", at=at)
    return names


# Sowing ---------------------------------------------------------------------------------------------------------------


def test_a_sowing_and_its_trays_are_named_after_the_day(farm: Farm) -> None:
    assert sown(farm, 2) == ("261125A", "261125A.1", "261125A.2")
    assert sown(farm)[0] == "261125B"


def test_a_day_of_more_than_26_sowings_goes_on_with_two_letters(farm: Farm) -> None:
    names = []
    for hour in range(28):
        names.append(
            farm.sow("radish", 1, grams_per_tray=5.0, at=MORNING + hour * timedelta(minutes=10), sure=True).names[0]
        )
        farm.discard([names[-1]], "a trial", at=MORNING + hour * timedelta(minutes=10))
        farm.count_kit("mesh tray", 40 + hour, at=MORNING + hour * timedelta(minutes=10))
    assert names[25:] == ["261125Z", "261125AA", "261125AB"]


@pytest.mark.parametrize(("hour", "day"), [(22, "261024"), (23, "261025")])
def test_the_day_is_the_one_on_the_farms_wall(farm: Farm, hour: int, day: str) -> None:
    """Dublin is an hour ahead of UTC until 25 October 2026; its Sunday began at 23:00 UTC on Saturday."""
    with Farm.create(":memory:", "shelf", at=datetime(2026, 10, 1, tzinfo=UTC)) as autumn:
        at = datetime(2026, 10, 24, hour, 30, tzinfo=UTC)
        assert autumn.sow("broccoli", 1, at=at).names[0] == f"{day}A"


def test_seed_comes_out_of_the_oldest_lot_first(farm: Farm) -> None:
    farm.receive_seed("K-BRO-2", "broccoli", 500.0, germination=0.92, at=MORNING + HOUR)
    farm.sow("broccoli", 2, grams_per_tray=20.0, at=MORNING + HOUR)
    held = farm.state(MORNING + HOUR).seed
    assert (held["K-BRO-1"].left_g, held["K-BRO-2"].left_g) == (210.0, 500.0)


def test_seed_is_shared_over_two_lots_where_one_does_not_hold_enough(farm: Farm) -> None:
    farm.weigh_seed("K-BRO-1", 30.0006, at=MORNING)
    farm.receive_seed("K-BRO-2", "broccoli", 500.0, germination=0.92, at=MORNING + HOUR)
    receipt = farm.sow("broccoli", 2, grams_per_tray=20.0, at=MORNING + HOUR)
    state = farm.state(MORNING + HOUR)
    assert state.seed["K-BRO-1"].left_g == 0.0, "no crumb is left behind"
    assert state.seed["K-BRO-2"].left_g == pytest.approx(490.0, abs=0.001)
    assert state.trays[receipt.names[1]].lots == ("K-BRO-1", "K-BRO-2")
    assert state.trays[receipt.names[1]].seed_g == pytest.approx(20.0, abs=0.001)


def test_the_last_of_a_lot_can_be_sown_whatever_its_decimals(farm: Farm) -> None:
    """Rounded to a thousandth, 10.0006 g would be 10.001 g: more than there is."""
    farm.weigh_seed("K-BRO-1", 10.0006, at=MORNING)
    farm.sow("broccoli", 1, grams_per_tray=10.001, at=MORNING)
    assert farm.state(MORNING).seed["K-BRO-1"].left_g == 0.0


def test_too_little_seed_is_refused_with_what_there_is_and_what_is_needed(farm: Farm) -> None:
    farm.weigh_seed("K-BRO-1", 30.0, at=MORNING)
    with pytest.raises(InputError, match=r"seed of broccoli = 30 g: this sowing needs 40 g\. Sow fewer trays"):
        sown(farm, 2)
    farm.weigh_seed("K-BRO-1", 0.0, at=MORNING)
    with pytest.raises(InputError, match=r"seed of broccoli = 0 g: there is none in stock"):
        sown(farm)


def test_seed_on_order_cannot_be_sown(farm: Farm) -> None:
    farm.receive_seed("K-BRO-2", "broccoli", 500.0, expected_on=MORNING.date() + DAY, at=MORNING)
    with pytest.raises(InputError, match=r"seed lot = K-BRO-2: it is on order for 2026-11-26 and not here yet"):
        farm.sow("broccoli", 1, lot="K-BRO-2", at=MORNING)
    with pytest.raises(NotFoundError, match=r"seed lot 'K-BRO-9'.* Known: K-BRO-1, K-BRO-2"):
        farm.sow("broccoli", 1, lot="K-BRO-9", at=MORNING)


@pytest.mark.parametrize("grams", [0.0, -5.0, float("nan"), float("inf")])
def test_no_tray_is_sown_with_no_seed(farm: Farm, grams: float) -> None:
    before = farm.book.head()
    with pytest.raises(InputError, match=r"seed on a tray = .* g: must be more than 0 g"):
        farm.sow("broccoli", 1, grams_per_tray=grams, at=MORNING)
    with pytest.raises(InputError, match=r"trays = 0: at least 1 is sown"):
        farm.sow("broccoli", 0, at=MORNING)
    assert farm.book.head() == before


def test_grams_follow_from_the_recipe_and_the_lot_where_nobody_says_them(farm: Farm) -> None:
    """The same number of live seeds, whatever the lot germinates: a label of 92 % and 46 of 100 make 56.6 %."""
    first = farm.state(MORNING).trays[farm.sow("broccoli", 1, at=MORNING).names[1]]
    farm.test_seed("K-BRO-1", sprouted=46, tested=100, at=MORNING)
    weaker = farm.state(MORNING).trays[farm.sow("broccoli", 1, at=MORNING).names[1]]
    assert weaker.seed_g == pytest.approx(first.seed_g * 0.92 / ((0.92 * 30 + 46) / 130), rel=0.001)
    assert weaker.live_seeds_per_cm2 == pytest.approx(first.live_seeds_per_cm2, rel=0.001)


def test_trays_go_to_the_spots_that_are_named(farm: Farm) -> None:
    names = farm.sow("broccoli", 2, spots=["K1.4", "K1.2"], at=MORNING).names
    assert [farm.state(MORNING).trays[name].spot for name in names[1:]] == ["K1.4", "K1.2"]
    with pytest.raises(RefusedError, match=r"spot K1\.4 = tray 261125A\.1: a spot holds one tray"):
        farm.sow("broccoli", 1, spots=["K1.4"], at=MORNING)
    with pytest.raises(InputError, match=r"spots = 1: each of the 2 trays needs one"):
        farm.sow("broccoli", 2, spots=["K1.1"], at=MORNING)


def test_a_tray_that_soaks_needs_no_spot_and_gets_the_one_that_is_named(farm: Farm) -> None:
    assert farm.state(MORNING).trays[farm.sow("pea", 1, at=MORNING).names[1]].spot is None
    assert farm.state(MORNING).trays[farm.sow("pea", 1, spots=["K1.3"], at=MORNING).names[1]].spot == "K1.3"


def test_a_full_shelf_refuses_another_sowing(farm: Farm) -> None:
    sown(farm, 3)
    with pytest.raises(InputError, match=r"free dark spots = 1: 2 trays need one each\. Move, cut or discard"):
        sown(farm, 2)


def test_a_sowing_with_too_little_clean_kit_is_kept_and_odd(farm: Farm) -> None:
    farm.count_kit("cover", 1, at=MORNING)
    receipt = farm.sow("broccoli", 2, at=MORNING)
    assert [(found.code, found.severity) for found in receipt.findings] == [("kit-short", "odd")]
    assert len(receipt.kept) == 1


# Said late or twice ---------------------------------------------------------------------------------------------------


def test_a_sowing_told_late_takes_no_name_spot_or_seed_of_a_later_one(farm: Farm) -> None:
    """At 8:00 all that the sowing of 9:00 took was still free; taking it would make that true sowing wrong."""
    farm.weigh_seed("K-BRO-1", 25.0, at=MORNING, sure=True)
    farm.receive_seed("K-BRO-2", "broccoli", 100.0, germination=0.92, at=MORNING)
    nine = sown(farm, at=MORNING + 2 * HOUR)
    eight = farm.sow("broccoli", 1, grams_per_tray=20.0, at=MORNING + HOUR, recorded=MORNING + 3 * HOUR)
    state = farm.state(MORNING + 3 * HOUR)
    assert eight.findings == ()
    assert eight.names[0] != nine[0]
    assert {state.trays[nine[1]].spot, state.trays[eight.names[1]].spot} == {"K1.1", "K1.2"}
    assert (state.seed["K-BRO-1"].left_g, state.seed["K-BRO-2"].left_g) == (0.0, 85.0)


def test_an_answer_told_late_sends_no_tray_to_a_spot_that_was_taken_since(farm: Farm) -> None:
    names = sown(farm, 2)
    farm.begin([names[1]], "light", at=MORNING + 2 * HOUR)
    farm.begin([names[2]], "blackout", at=MORNING, recorded=MORNING + 3 * HOUR)
    receipt = farm.answer([names[2]], cue="ready", at=MORNING + HOUR, recorded=MORNING + 3 * HOUR)
    assert receipt.findings == ()
    state = farm.state(MORNING + 3 * HOUR)
    assert [state.trays[name].spot for name in names[1:]] == ["K2.1", "K2.2"]


def test_the_name_of_a_struck_sowing_is_not_given_again(farm: Farm) -> None:
    first = farm.sow("broccoli", 1, at=MORNING)
    farm.strike(first.kept[0].entry.id, "that was kale", at=MORNING)
    assert sown(farm, crop="kale")[0] == "261125B"


def test_a_sowing_sent_again_with_its_id_is_one_sowing(farm: Farm) -> None:
    """The phone heard no answer and sends again; by now the next free name and spot are others."""
    first = farm.sow("broccoli", 2, at=MORNING, ids=["phone-0001"])
    farm.note("something else", at=MORNING + HOUR)
    again = farm.sow("broccoli", 2, at=MORNING, ids=["phone-0001"])
    assert (again.kept, again.names) == (first.kept, first.names)
    assert len(farm.state(MORNING + HOUR).trays) == 2


def test_one_id_does_for_an_answer_that_makes_several_entries(farm: Farm) -> None:
    name = sown(farm)[1]
    farm.begin([name], "blackout", at=MORNING)
    at = MORNING + HOUR
    first = farm.answer([name], cue="ready", moisture="dry", at=at, ids=["phone-0002"])
    assert [kept.entry.id for kept in first.kept] == ["phone-0002", "phone-0002-2", "phone-0002-3", "phone-0002-4"]
    assert [type(kept.entry.body) for kept in first.kept] == [RoundAnswered, Watered, StageChanged, Moved]
    before = encode_state(farm.state(at))
    assert farm.answer([name], cue="ready", moisture="dry", at=at, ids=["phone-0002"]).kept == first.kept
    assert encode_state(farm.state(at)) == before


def test_ids_must_be_one_for_all_or_one_for_each(farm: Farm) -> None:
    name = sown(farm)[1]
    with pytest.raises(InputError, match=r"ids = 3: there must be one for all, or one for each of the 2 entries"):
        farm.answer([name], cue="ready", at=MORNING, ids=["phone-01", "phone-02", "phone-03"])


def test_an_id_used_for_something_else_is_refused(farm: Farm) -> None:
    name = sown(farm)[1]
    farm.water([name], 100.0, at=MORNING, ids=["phone-0001"])
    before = farm.book.head()
    with pytest.raises(BookError, match="phone-0001"):
        farm.water([name], 100.0, at=MORNING + HOUR, ids=["phone-0001"])
    with pytest.raises(BookError, match="phone-0001"):
        farm.discard([name], "mould", at=MORNING, ids=["phone-0001"])
    assert farm.book.head() == before
    assert farm.state(MORNING + HOUR).trays[name].fate == "growing", "the state was not touched either"


# Looking, watering, moving --------------------------------------------------------------------------------------------


def test_ready_moves_a_tray_to_a_free_lit_spot(farm: Farm) -> None:
    name = sown(farm)[1]
    farm.answer([name], cue="ready", at=MORNING + 3 * DAY)
    assert (farm.state(MORNING + 3 * DAY).trays[name].stage, farm.state(MORNING + 3 * DAY).spots) == (
        "blackout",
        {"K1.1": name},
    )
    farm.answer([name], cue="ready", at=MORNING + 4 * DAY)
    tray = farm.state(MORNING + 4 * DAY).trays[name]
    assert (tray.stage, tray.spot) == ("light", "K2.1")


def test_trays_of_one_sowing_go_separate_ways(farm: Farm) -> None:
    _, one, two, three = sown(farm, 3)
    farm.answer([one], cue="ready", at=MORNING + 3 * DAY)
    farm.answer([two], cue="not yet", at=MORNING + 3 * DAY)
    farm.discard([three], "mould", at=MORNING + 3 * DAY)
    state = farm.state(MORNING + 3 * DAY)
    fates = [(state.tray(name).stage, state.tray(name).fate) for name in (one, two, three)]
    assert fates == [("blackout", "growing"), ("germinate", "growing"), ("germinate", "discarded")]
    assert state.trays[two].steps[-1].last_not_yet == MORNING + 3 * DAY


def test_a_sowings_name_means_its_trays_that_still_grow(farm: Farm) -> None:
    names = sown(farm, 3)
    farm.discard([names[1]], "mould", at=MORNING)
    body = farm.water([names[0]], 200.0, at=MORNING + HOUR).kept[0].entry.body
    assert body.subjects() == (f"tray:{names[2]}", f"tray:{names[3]}")


def test_dry_trays_get_the_usual_water_or_what_is_said(farm: Farm) -> None:
    name = sown(farm)[1]
    usual = farm.answer([name], moisture="dry", at=MORNING + HOUR).kept
    said = farm.answer([name], moisture="dry", water_ml=75.0, at=MORNING + 2 * HOUR).kept
    assert isinstance(usual[1].entry.body, Watered)
    assert isinstance(said[1].entry.body, Watered)
    assert (usual[1].entry.body.ml > 0, said[1].entry.body.ml) == (True, 75.0)


@pytest.mark.parametrize("trays", [[], ()])
def test_an_answer_names_at_least_one_tray(farm: Farm, trays: list[str]) -> None:
    with pytest.raises(InputError, match=r"trays = none: at least one must be named"):
        farm.answer(trays, moisture="moist", at=MORNING)


def test_a_tray_that_was_never_sown_is_not_found(farm: Farm) -> None:
    sown(farm)
    with pytest.raises(NotFoundError, match=r"tray '261125Z\.1'.*Known: 261125A\.1"):
        farm.answer(["261125Z.1"], moisture="moist", at=MORNING)
    with pytest.raises(NotFoundError, match=r"Nothing stands on shelf K3"):
        farm.answer(["K3"], moisture="moist", at=MORNING)


def test_a_tray_that_is_done_with_begins_no_stage(farm: Farm) -> None:
    names = sown(farm, 2)
    farm.discard([names[1]], "mould", at=MORNING)
    with pytest.raises(InputError, match=r"tray = 261125A\.1: it grows no more: discarded\. Leave it out"):
        farm.begin([names[1], names[2]], "blackout", at=MORNING + HOUR)
    assert farm.state(MORNING + HOUR).trays[names[2]].stage == "germinate", "nothing was done to the other"


def test_two_trays_may_swap_their_spots(farm: Farm) -> None:
    _, one, two = sown(farm, 2)
    farm.move({one: "K1.2", two: "K1.1"}, at=MORNING)
    assert farm.state(MORNING).spots == {"K1.1": two, "K1.2": one}
    with pytest.raises(RefusedError, match="a spot holds one tray"):
        farm.move({"261125A": "K1.3"}, at=MORNING)
    with pytest.raises(RefusedError, match="at least one must be named"):
        farm.move({}, at=MORNING)


def test_feed_water_and_measures_that_cannot_be_are_refused(farm: Farm) -> None:
    name = sown(farm)[1]
    with pytest.raises(RefusedError, match=r"water = 0 ml: must be more than 0 ml"):
        farm.water([name], 0.0, at=MORNING)
    with pytest.raises(RefusedError, match=r"feed, pH = 58: must lie in \[0, 14\]"):
        farm.feed([name], 300.0, ph=58.0, at=MORNING)
    with pytest.raises(InputError, match="must be a number that can be measured"):
        farm.measure([name], "height_mm", float("nan"), at=MORNING)
    farm.feed([name], 300.0, ph=5.8, ec=1.2, at=MORNING)
    farm.measure([name], "height_mm", 42.0, "mm", at=MORNING)
    assert farm.state(MORNING).trays[name].height_mm == 42.0
    with pytest.raises(InputError, match="a discarded tray needs one"):
        farm.discard([name], "  ", at=MORNING)


# Cutting and stripping ------------------------------------------------------------------------------------------------


def test_trays_are_cut_into_one_harvest_lot_with_the_grams_of_each(farm: Farm) -> None:
    _, one, two = ready(farm, 2)
    receipt = farm.cut({one: 95.0, two: 101.0}, height_mm=15.0, at=MORNING + 9 * DAY)
    assert receipt.names == ("H261204A",)
    lot = farm.state(MORNING + 9 * DAY).harvests["H261204A"]
    assert (lot.crop, lot.grams, lot.left_g, lot.trays) == ("broccoli", 196.0, 196.0, (one, two))


def test_the_weight_of_a_sowing_is_shared_evenly_over_its_trays(farm: Farm) -> None:
    names = ready(farm, 3)
    farm.discard([names[3]], "mould", at=MORNING)
    body = farm.cut({names[0]: 190.5}, at=MORNING + 9 * DAY).kept[0].entry.body
    assert isinstance(body, Cut)
    assert [(cut.tray, cut.grams) for cut in body.trays] == [(names[1], 95.25), (names[2], 95.25)]


def test_a_harvest_lot_is_of_one_crop(farm: Farm) -> None:
    names, radish = ready(farm), sown(farm, crop="radish")
    with pytest.raises(InputError, match=r"trays = broccoli, radish: a harvest lot is of one crop"):
        farm.cut({names[1]: 95.0, radish[1]: 120.0}, at=MORNING)
    with pytest.raises(InputError, match="at least one tray is cut"):
        farm.cut({}, at=MORNING)


def test_a_tray_is_cut_once_and_named_once(farm: Farm) -> None:
    _, one, two = ready(farm, 2)
    with pytest.raises(RefusedError, match=r"tray 261125A\.1 = twice: it can be named once"):
        farm.cut({"261125A": 190.0, one: 95.0}, at=MORNING)
    farm.cut({one: 95.0}, at=MORNING)
    with pytest.raises(RefusedError, match=r"tray 261125A\.1 = cut 2026-11-25: only a growing tray can be cut"):
        farm.cut({one: 95.0}, at=MORNING + HOUR)
    assert farm.cut({"261125A": 90.0}, at=MORNING + HOUR).names == ("H261125B",), "the sowing now means the other tray"
    assert farm.state(MORNING + HOUR).trays[two].grams == 90.0


def test_a_cut_told_late_gets_a_lot_of_its_own(farm: Farm) -> None:
    _, one, two = ready(farm, 2)
    later = farm.cut({two: 101.0}, at=MORNING + 2 * HOUR)
    late = farm.cut({one: 95.0}, at=MORNING + HOUR, recorded=MORNING + 3 * HOUR)
    lots = farm.state(MORNING + 3 * HOUR).harvests
    assert {later.names[0]: 101.0, late.names[0]: 95.0} == {name: lot.grams for name, lot in lots.items()}


def test_a_tray_may_grow_again_after_a_cut(farm: Farm) -> None:
    name = ready(farm)[1]
    farm.cut({name: 95.0}, regrow=True, at=MORNING)
    farm.cut({name: 40.0}, at=MORNING + 5 * DAY)
    tray = farm.state(MORNING + 5 * DAY).trays[name]
    assert (tray.cuts, tray.grams, tray.fate) == (2, 135.0, "cut")


def test_stripping_makes_the_kit_dirty_and_only_after_the_cut(farm: Farm) -> None:
    name = ready(farm)[1]
    with pytest.raises(RefusedError, match="only a tray that was cut or discarded can be stripped"):
        farm.strip([name], at=MORNING)
    farm.cut({name: 95.0}, at=MORNING)
    held = dict(farm.state(MORNING).trays[name].kit)
    farm.strip([name], at=MORNING)
    state = farm.state(MORNING)
    assert held
    assert all(state.kit[pool].dirty >= count and state.kit[pool].in_use == 0 for pool, count in held.items())
    with pytest.raises(RefusedError, match="only a tray that was cut or discarded can be stripped"):
        farm.strip([name], at=MORNING)


# When something breaks ------------------------------------------------------------------------------------------------


def test_a_mistake_in_the_code_below_leaves_the_state_in_memory_whole(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The state is changed entry by entry while the call is rehearsed; whatever stops that, nothing of it may stay."""
    name = sown(farm)[1]
    before = encode_state(farm.state(MORNING))

    def fails(state: object, entry: object) -> None:
        raise ZeroDivisionError("a mistake in a check")

    farm.state(MORNING).trays[name].moisture = "dry"  # as if half of a call had been applied
    monkeypatch.setattr("trayward.desk.core.check", fails)
    with pytest.raises(ZeroDivisionError, match="a mistake"):
        farm.water([name], 100.0, at=MORNING)
    assert encode_state(farm.state(MORNING)) == before
