"""Trouble seen on trays; and that nothing of a suspected one comes into a pack, by any way there is."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

import pytest

from trayward.bootstrap import Farm
from trayward.errors import DoubtError, InputError, NotFoundError, RefusedError
from trayward.farm.entries import Delivered, LineDelivered, LotGrams, PackCount, TroubleCleared, TroubleSeen
from trayward.farm.holds import hold_of, lot_held, pack_held
from trayward.farm.orders import LineAsked
from trayward.library.trouble import trouble_guide
from trayward.plan.decide import Effort
from trayward.rounds.cold_room import cold_room
from trayward.rounds.told import RowSaid, told_of
from trayward.rounds.trouble_cues import cues_of
from trayward.rounds.trouble_rank import rank_causes
from trayward.web.harvest.view import ready_trays

TUESDAY = datetime(2026, 11, 24, 8, 0, tzinfo=UTC)
DAY, HOUR = timedelta(days=1), timedelta(hours=1)
TODAY = TUESDAY.date()
SUSPECTED = "suspected mould"
FEW = Effort(scenarios=8, checked=8, proof_seconds=0, reasons=False)
"""A plan for which trays it counts on, not for how good it is or why."""


@pytest.fixture
def farm() -> Iterator[Farm]:
    with Farm.create(":memory:", "loft", at=TUESDAY - DAY) as made:
        yield made


def ready(farm: Farm, trays: int = 1, crop: str = "broccoli", at: datetime = TUESDAY) -> tuple[str, ...]:
    names = farm.sow(crop, trays, at=at).names[1:]
    farm.begin(names, "ready", at=at)
    return names


def order(farm: Farm, product: str, quantity: float, unit: str, due: date = TODAY) -> str:
    asked = [LineAsked(line="1", product=product, quantity=quantity, unit=unit)]
    return farm.place_order("Upside Ladle", due, asked, at=TUESDAY).names[0]


# Saying it ------------------------------------------------------------------------------------------------------------


def test_trouble_is_kept_with_what_was_seen_and_the_tray_tells_it(farm: Farm) -> None:
    (tray,) = ready(farm)
    farm.see_trouble(
        [tray], "white fuzz", cause="mould", where="edge", share=0.2, looks={"gone when misted": False},
        note="smells musty", at=TUESDAY + HOUR, by="Maren",
    )  # fmt: skip
    held = farm.state(TUESDAY + HOUR).trays[tray]
    (trouble,) = held.troubles
    assert (trouble.sign, trouble.cause, trouble.share, trouble.by) == ("white fuzz", "mould", 0.2, "Maren")
    assert (hold_of(held), held.problem) == (SUSPECTED, SUSPECTED)
    story = " ".join(line.words for line in farm.story(tray, at=TUESDAY + HOUR))
    assert "trouble seen: white fuzz, likely mould, at edge, 20 % of the tray, held back, suspected mould" in story


def test_trouble_that_spoils_nothing_holds_nothing(farm: Farm) -> None:
    (tray,) = ready(farm)
    farm.see_trouble([tray], "they are leggy", at=TUESDAY + HOUR)
    after = farm.state(TUESDAY + HOUR).trays[tray]
    assert (hold_of(after), after.problem, after.troubles[0].sign) == ("", "leggy", "leggy")


def test_white_fuzz_that_nobody_has_named_yet_is_held_until_somebody_misted_it(farm: Farm) -> None:
    first, second = ready(farm, 2)
    farm.see_trouble([first], "white fuzz", at=TUESDAY + HOUR)
    farm.see_trouble([second], "white fuzz", cause="root hairs", at=TUESDAY + HOUR)
    state = farm.state(TUESDAY + HOUR)
    assert [hold_of(state.trays[name]) for name in (first, second)] == [SUSPECTED, ""]


def test_a_cause_of_ones_own_does_not_free_what_the_sign_holds(farm: Farm) -> None:
    (tray,) = ready(farm)
    with pytest.raises(NotFoundError, match="cause of trouble 'dust'"):
        farm.see_trouble([tray], "white fuzz", cause="dust", at=TUESDAY + HOUR)


@pytest.mark.parametrize("share", [-0.1, 1.5, float("nan")])
def test_a_share_beyond_the_tray_is_refused(farm: Farm, share: float) -> None:
    (tray,) = ready(farm)
    with pytest.raises(InputError, match="share"):
        farm.see_trouble([tray], "yellow", share=share, at=TUESDAY + HOUR)


def test_no_sign_is_no_trouble(farm: Farm) -> None:
    (tray,) = ready(farm)
    with pytest.raises(InputError, match="trouble has a sign"):
        farm.see_trouble([tray], "  ", at=TUESDAY + HOUR)


# Clearing -------------------------------------------------------------------------------------------------------------


def test_only_a_clearing_by_name_or_striking_lifts_a_hold(farm: Farm) -> None:
    (tray,) = ready(farm)
    kept = farm.see_trouble([tray], "mould", at=TUESDAY + HOUR, by="Ada").kept[0]
    farm.answer([tray], moisture="moist", at=TUESDAY + 2 * HOUR)
    farm.answer([tray], problem="uneven", at=TUESDAY + 3 * HOUR)
    assert hold_of(farm.state(TUESDAY + 3 * HOUR).trays[tray]) == SUSPECTED
    farm.clear_trouble([tray], "root hairs", at=TUESDAY + 4 * HOUR, by="Maren")
    after = farm.state(TUESDAY + 4 * HOUR).trays[tray]
    assert (hold_of(after), after.problem) == ("", "")
    assert (after.troubles[0].cleared_by, after.troubles[0].found) == ("Maren", "root hairs")
    assert hold_of(farm.state(TUESDAY + 3 * HOUR).trays[tray]) == SUSPECTED, "the past stays as it was"
    farm.strike(kept.entry.id, "wrong tray", at=TUESDAY + 5 * HOUR)
    assert [each.sign for each in farm.state(TUESDAY + 5 * HOUR).trays[tray].troubles] == ["uneven"]


def test_a_tray_is_not_cleared_of_mould_by_calling_it_mould(farm: Farm) -> None:
    (tray,) = ready(farm)
    farm.see_trouble([tray], "mould", at=TUESDAY + HOUR)
    for words in ("mould after all", "rot", " Rot"):
        with pytest.raises(InputError, match="not cleared"):
            farm.clear_trouble([tray], words, at=TUESDAY + 2 * HOUR)
    with pytest.raises(InputError, match="says what it was"):
        farm.clear_trouble([tray], "", at=TUESDAY + 2 * HOUR)


def test_a_tray_that_is_not_held_cannot_be_cleared(farm: Farm) -> None:
    (tray,) = ready(farm)
    with pytest.raises(InputError, match="none of them is held back"):
        farm.clear_trouble([tray], "root hairs", at=TUESDAY + HOUR)


def test_the_row_that_looks_close_clears_with_root_hairs_and_throws_away_with_mould(farm: Farm) -> None:
    first, second = ready(farm, 2)
    farm.answer([first, second], problem="mould", at=TUESDAY + HOUR)
    at = TUESDAY + 2 * HOUR
    now = farm.round(at)
    row = told_of(next(row for row in now.rows if row.kind == "discard"), now.round, at, farm.settings(at))
    kept = farm.answer_told(row, RowSaid(cleared="root hairs", only=(first,)), at=at, by="Ada").receipt.kept
    assert kept[0].entry.body == TroubleCleared(trays=(first,), found="root hairs")
    farm.answer_told(row, RowSaid(done=True, only=(second,)), at=at, by="Ada")
    state = farm.state(at)
    assert (hold_of(state.tray(first)), state.tray(first).fate) == ("", "growing")
    assert (state.tray(second).fate, state.tray(second).reason) == ("discarded", "mould")


# Every way into a pack ------------------------------------------------------------------------------------------------


def test_a_suspected_tray_is_not_proposed_for_its_cut_nor_for_a_live_delivery(farm: Farm) -> None:
    name = order(farm, "broccoli", 2, "trays")
    bad, good = ready(farm, 2)
    farm.see_trouble([bad], "mould", at=TUESDAY + HOUR)
    at = TUESDAY + 2 * HOUR
    rows = farm.round(at).rows
    assert [row.kind for row in rows if bad in row.trays] == ["discard"]
    assert {good} == {tray for row in rows if row.kind == "deliver" for tray in row.trays} or not name
    assert [tray.tray for tray in ready_trays(farm.state(at))] == [good]


def test_a_suspected_tray_goes_to_no_next_stage(farm: Farm) -> None:
    tray = farm.sow("broccoli", 1, at=TUESDAY).names[1]
    farm.see_trouble([tray], "mould", at=TUESDAY + HOUR)
    with pytest.raises(InputError, match="held back, suspected mould, and goes no further"):
        farm.answer([tray], cue="ready", at=TUESDAY + 2 * HOUR)


def test_a_suspected_tray_is_cut_only_by_who_says_so_twice_and_its_crop_stays_held(farm: Farm) -> None:
    (tray,) = ready(farm)
    farm.see_trouble([tray], "mould", at=TUESDAY + HOUR)
    at = TUESDAY + 2 * HOUR
    with pytest.raises(DoubtError, match="held back: not to be eaten or sold"):
        farm.cut({tray: 150.0}, at=at)
    receipt = farm.cut({tray: 150.0}, at=at, sure=True)
    assert [finding.code for finding in receipt.findings][:1] == ["cut-held"]
    state = farm.state(at)
    lot = state.harvests[receipt.names[0]]
    assert lot_held(state, lot) == {tray: SUSPECTED}
    with pytest.raises(InputError, match="is held back for suspected trouble"):
        farm.pack("broccoli", 1, pack_g=50.0, at=at)
    with pytest.raises(RefusedError, match=f"crop of {tray}, suspected mould: it cannot be packed"):
        farm.pack("broccoli", 1, pack_g=50.0, parts={lot.harvest: 50.0}, at=at, sure=True)


def test_a_mixed_lot_is_held_for_the_sake_of_one_tray(farm: Farm) -> None:
    bad, good = ready(farm, 2)
    lot = farm.cut({bad: 150.0, good: 150.0}, at=TUESDAY + HOUR, sure=True).names[0]
    receipt = farm.see_trouble([bad], "mould", note="web in the crate", at=TUESDAY + 2 * HOUR)
    assert [finding.code for finding in receipt.findings] == ["held-cut"]
    with pytest.raises(RefusedError, match="cannot be packed"):
        farm.pack("broccoli", 1, pack_g=50.0, parts={lot: 50.0}, at=TUESDAY + 3 * HOUR, sure=True)
    farm.clear_trouble([bad], "root hairs", at=TUESDAY + 4 * HOUR)
    assert farm.pack("broccoli", 1, pack_g=50.0, parts={lot: 50.0}, at=TUESDAY + 5 * HOUR).names


def test_stripping_or_discarding_the_tray_frees_none_of_its_crop(farm: Farm) -> None:
    (tray,) = ready(farm)
    lot = farm.cut({tray: 150.0}, regrow=True, at=TUESDAY + HOUR, sure=True).names[0]
    farm.discard([tray], "mould", at=TUESDAY + 2 * HOUR)
    state = farm.state(TUESDAY + 2 * HOUR)
    assert lot_held(state, state.harvests[lot]) == {tray: SUSPECTED}


def packed(farm: Farm) -> tuple[str, str, str]:
    """A tray, its lot and packs of it, before anybody suspected anything."""
    (tray,) = ready(farm)
    lot = farm.cut({tray: 150.0}, at=TUESDAY + HOUR, sure=True).names[0]
    pack = farm.pack("broccoli", 2, pack_g=50.0, at=TUESDAY + HOUR).names[0]
    return tray, lot, pack


def test_packs_filled_before_the_suspicion_go_nowhere_and_are_offered_to_nobody(farm: Farm) -> None:
    name = order(farm, "broccoli", 150, "g")
    tray, lot, pack = packed(farm)
    farm.see_trouble([tray], "mould", at=TUESDAY + 2 * HOUR)
    at = TUESDAY + 3 * HOUR
    state = farm.state(at)
    assert pack_held(state, state.packs[pack].parts) == {tray: SUSPECTED}
    line = f"{name}/1"
    for part in (
        LineDelivered(line=line, packs=(PackCount(pack=pack, packs=1),)),
        LineDelivered(line=line, loose=(LotGrams(harvest=lot, grams=20.0),)),
    ):
        with pytest.raises(RefusedError, match="suspected mould: it cannot"):
            farm.deliver("Upside Ladle", [part], at=at, sure=True)
    with pytest.raises(InputError, match="nothing cut or packed"):
        farm.deliver_due("Upside Ladle", TODAY, at=at)
    rows = [row for row in farm.round(at).rows if row.kind in ("pack", "deliver")]
    assert not [row for row in rows if lot in str(row.amounts) or pack in str(row.amounts)]
    assert [row for row in rows if row.kind == "deliver" and row.customer == "Upside Ladle"] == []


def test_a_suspected_live_tray_is_not_delivered(farm: Farm) -> None:
    name = order(farm, "broccoli", 1, "trays")
    (tray,) = ready(farm)
    farm.see_trouble([tray], "slime", at=TUESDAY + HOUR)
    with pytest.raises(RefusedError, match="suspected rot: it cannot be delivered"):
        farm.deliver("Upside Ladle", [LineDelivered(line=f"{name}/1", trays=(tray,))], at=TUESDAY + 2 * HOUR, sure=True)


def test_a_pack_said_late_from_a_phone_is_kept_as_what_happened_but_goes_nowhere(farm: Farm) -> None:
    """It may really have been filled: the book keeps it with a finding, and the packs are held."""
    (tray,) = ready(farm)
    farm.see_trouble([tray], "mould", at=TUESDAY + HOUR)
    lot = farm.cut({tray: 150.0}, at=TUESDAY + 2 * HOUR, sure=True).names[0]
    farm.answer([ready(farm, at=TUESDAY + 4 * HOUR)[0]], moisture="moist", at=TUESDAY + 5 * HOUR)
    receipt = farm.pack(
        "broccoli", 1, pack_g=50.0, parts={lot: 50.0}, at=TUESDAY + 3 * HOUR, recorded=TUESDAY + 9 * HOUR, sure=True
    )
    assert [finding.code for finding in receipt.findings] == ["harvest-held"]
    state = farm.state(TUESDAY + 9 * HOUR)
    assert pack_held(state, state.packs[receipt.names[0]].parts) == {tray: SUSPECTED}
    assert "harvest-held" in {finding.code for finding in state.findings}


def test_a_delivery_said_late_is_kept_and_told_as_wrong(farm: Farm) -> None:
    name = order(farm, "broccoli", 50, "g")
    tray, _, pack = packed(farm)
    farm.see_trouble([tray], "mould", at=TUESDAY + 2 * HOUR)
    line = LineDelivered(line=f"{name}/1", packs=(PackCount(pack=pack, packs=1),))
    farm.record(
        Delivered(delivery="D1", customer="Upside Ladle", lines=(line,)),
        at=TUESDAY + HOUR + timedelta(minutes=30), recorded=TUESDAY + 3 * HOUR,
    )  # fmt: skip
    receipt = farm.see_trouble([tray], "mould", at=TUESDAY + 4 * HOUR)
    assert "held-cut" in {finding.code for finding in receipt.findings}, "sister packs are looked for"


def test_the_plan_counts_a_suspected_tray_and_its_crop_as_lost_until_it_is_cleared(farm: Farm) -> None:
    order(farm, "broccoli", 300, "g", due=TODAY + DAY)
    bad, good = ready(farm, 2)
    at = TUESDAY + 2 * HOUR
    before = farm.plan(at, weeks=3, effort=FEW)
    farm.see_trouble([bad], "mould", at=TUESDAY + HOUR)
    after = farm.plan(at, weeks=3, effort=FEW)
    used = {tray for cut in after.cuts for tray in cut.standing}
    assert bad in {tray for cut in before.cuts for tray in cut.standing}
    assert bad not in used
    assert good in used
    farm.clear_trouble([bad], "root hairs", at=at)
    assert bad in {tray for cut in farm.plan(at, weeks=3, effort=FEW).cuts for tray in cut.standing}


def test_the_outlook_says_that_a_suspected_tray_is_lost_and_its_sisters_are_not(farm: Farm) -> None:
    bad, good = ready(farm, 2)
    farm.see_trouble([bad], "mould", at=TUESDAY + HOUR)
    at = TUESDAY + 2 * HOUR
    ahead, state = farm.outlook(at), farm.state(at)
    assert ahead.standing(state.trays[bad]).loss == 1.0
    assert ahead.standing(state.trays[good]).loss < 0.5


def test_what_is_held_stands_in_the_list_with_its_reason_as_long_as_any_of_it_is_here(farm: Farm) -> None:
    tray, lot, pack = packed(farm)
    other = ready(farm)[0]
    farm.see_trouble([tray, other], "mould", at=TUESDAY + 2 * HOUR)
    assert farm.held_back(TUESDAY + 3 * HOUR) == {other: SUSPECTED, tray: SUSPECTED}
    farm.throw_away({lot: 50.0}, "mould", packs={pack: 2}, at=TUESDAY + 3 * HOUR)
    assert farm.held_back(TUESDAY + 4 * HOUR) == {other: SUSPECTED}


def test_the_cold_room_means_held_crop_for_nobody(farm: Farm) -> None:
    order(farm, "broccoli", 150, "g")
    tray, lot, _ = packed(farm)
    farm.see_trouble([tray], "mould", at=TUESDAY + 2 * HOUR)
    at = TUESDAY + 3 * HOUR
    room = cold_room(farm.state(at), farm.settings(at), TODAY)
    assert [each.meant_for for each in room.lots if each.harvest == lot] == [()]
    assert [each.held for each in room.lots if each.harvest == lot] == [SUSPECTED]
    assert [each.held for each in room.packs] == [SUSPECTED]


# What is likely -------------------------------------------------------------------------------------------------------


def test_fuzz_that_is_gone_when_misted_is_likely_root_hairs_and_the_reason_says_so(farm: Farm) -> None:
    (tray,) = ready(farm)
    ranked = farm.likely_causes(tray, "white fuzz", looks={"gone when misted": True}, at=TUESDAY + HOUR)
    assert ranked[0].cause == "root hairs"
    assert ranked[0].chance > 0.8
    said = "Mist it and wait a minute: is it gone? Yes."
    assert any(each.words == said and each.speaks_for for each in ranked[0].evidence)
    stays = farm.likely_causes(tray, "white fuzz", looks={"gone when misted": False, "smells": True}, at=TUESDAY + HOUR)
    assert stays[0].cause == "mould"
    assert sum(each.chance for each in stays) == pytest.approx(1.0)


def test_a_note_of_trouble_is_an_entry_of_its_own_kind(farm: Farm) -> None:
    (tray,) = ready(farm)
    body = farm.see_trouble([tray], "yellow", at=TUESDAY + HOUR).kept[0].entry.body
    assert body == TroubleSeen(trays=(tray,), sign="yellow")


def test_causes_follow_sisters_that_are_stripped_troubled_later_and_struck(farm: Farm) -> None:
    """What was read of trays that are done with is let go when the book is folded again, and goes on when it is not."""
    at = TUESDAY + 3 * DAY
    one, other = ready(farm), ready(farm, 3)

    def words(now: datetime) -> str:
        kept = farm.likely_causes(one[0], "mould", at=now)
        assert kept == rank_causes(farm.state(now), farm.state(now).tray(one[0]), trouble_guide().sign("mould"), now)
        cues = cues_of(farm.state(now), farm.state(now).trays[one[0]], "mould", now, sisters=farm._sisters)
        return cues["same lot"].words if "same lot" in cues else ""

    assert words(TUESDAY).startswith("none of 3 other trays")
    farm.cut({other[0]: 90.0}, at=TUESDAY + HOUR)
    farm.strip([other[0]], at=TUESDAY + 2 * HOUR)
    assert words(TUESDAY + 2 * HOUR).startswith("none of 3 other trays")
    seen = farm.see_trouble([other[0]], "mould", at=TUESDAY + 3 * HOUR)
    assert words(TUESDAY + 3 * HOUR).startswith("1 of 3 other trays")
    farm.strike(seen.kept[0].entry.id, "it was dust", at=TUESDAY + 4 * HOUR)
    assert words(TUESDAY + 4 * HOUR).startswith("none of 3 other trays")
    farm.discard([other[1]], "mould", at=TUESDAY + 3 * HOUR)
    assert words(at).startswith("none of 3 other trays")
    assert farm.state(at).ended.keys() >= {other[0]}
