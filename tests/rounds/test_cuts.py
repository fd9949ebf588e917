"""When a tray is to be cut, and what the row says."""

from __future__ import annotations

from datetime import date, timedelta

import msgspec

from tests.rounds.loft import BROCCOLI, DAY_ONE, Loft, lantern_loft, on_day, sow
from trayward.farm.entries import OrderPlaced, StageChanged
from trayward.farm.orders import LineAsked, Order
from trayward.plan.types import CutAdvice, CutPlanned, PlannedSowing, Serve

WED = date(2026, 11, 25)


def order(name: str, due: date, grams: float, product: str = "broccoli", unit: str = "g") -> OrderPlaced:
    line = LineAsked(line="1", product=product, quantity=grams, unit=unit)
    return OrderPlaced(order=Order(order=name, customer="Kite Cafe", due=due, lines=(line,)))


def planned_cut(on: date, *trays: str) -> CutPlanned:
    return CutPlanned(cut_on=on, crop="broccoli", trays=len(trays), grams_expected=200.0 * len(trays), standing=trays)


def ready_since_wednesday(*spots: str) -> Loft:
    """Trays S.1, S.2, ... ready on Wednesday, and a kept plan that knows nothing of them."""
    loft = lantern_loft()
    loft.say(on_day(0, 8), sow("S", *spots, stage="light"))
    loft.say(DAY_ONE, StageChanged(trays=loft.state.sowings["S"].trays, stage="ready"))
    loft.keep_plan(on_day(1, 8.5))
    return loft


def looked_at(loft: Loft, *walks: tuple[int, float]) -> None:
    for day, hour in walks:
        loft.answer(on_day(day, hour), moisture="moist")


def test_a_ready_tray_waits_with_a_look_until_the_last_day_of_its_window():
    loft = ready_since_wednesday("A2.1")
    row = loft.row(on_day(2, 7.5))
    assert (row.kind, row.cue) == ("look", "Still good: upright, fresh and clean?")
    assert "to be cut by Fri 27 Nov" in row.why
    looked_at(loft, (1, 19.5), (2, 7.5), (2, 19.5))
    last = loft.row(on_day(3, 7.5))
    assert (last.kind, last.overdue) == ("cut", False)
    assert last.why.startswith("Last day of its cut window.")


def test_past_its_window_the_cut_is_overdue_and_says_so():
    loft = ready_since_wednesday("A2.1")
    looked_at(loft, (1, 19.5), (2, 7.5), (2, 19.5), (3, 7.5), (3, 19.5))
    row = loft.row(on_day(4, 7.5))
    assert (row.kind, row.overdue, row.since) == ("cut", True, on_day(4, 0))
    assert "Past its cut window: taste and look before it is eaten or sold" in row.why


def test_the_plan_says_which_standing_trays_are_cut_when_and_the_others_wait():
    loft = ready_since_wednesday("A2.1", "A2.2")
    loft.keep_plan(on_day(1, 9), cuts=[planned_cut(WED + timedelta(days=1), "S.2")])
    rows = {row.kind: row.trays for row in loft.rows(on_day(2, 7.5))}
    assert rows == {"look": ("S.1",), "cut": ("S.2",)}


def test_a_planned_cut_not_done_on_its_day_is_overdue():
    loft = ready_since_wednesday("A2.1")
    loft.keep_plan(on_day(1, 9), cuts=[planned_cut(WED, "S.1")])
    looked_at(loft, (1, 19.5))
    row = loft.row(on_day(2, 7.5))
    assert (row.kind, row.overdue, row.since) == ("cut", True, on_day(2, 0))
    assert row.why.startswith("Planned for Wed 25 Nov.")


def advised(do: str, tray: str, *serves: Serve) -> CutAdvice:
    return CutAdvice(do=do, crop="broccoli", trays=(tray,), until=WED + timedelta(days=1), serves=serves)


def test_a_ready_tray_is_cut_for_those_the_plan_cuts_it_for_and_not_for_whoever_comes_first():
    loft = ready_since_wednesday("A2.1")
    loft.say(on_day(1, 8.6), order("O1", WED + timedelta(days=2), 90.0), order("O2", WED + timedelta(days=3), 90.0))
    cut = planned_cut(WED + timedelta(days=1), "S.1")
    serve = Serve(line="O2/1", customer="Kite Cafe", due=WED + timedelta(days=3), grams=90.0)
    loft.keep_plan(on_day(1, 9), cuts=[cut], advice=[advised("cut", "S.1", serve)])
    assert loft.row(on_day(2, 7.5)).lines == ("O2/1",)
    loft.keep_plan(on_day(1, 9.5), cuts=[cut])
    assert loft.row(on_day(2, 7.5)).lines == ("O1/1", "O2/1"), "a plan that does not say: all that are due soon"


def test_a_tray_the_plan_holds_is_looked_at_until_its_window_ends_and_is_not_called_unneeded_then():
    """Held whole, to go out live: the plan names no day to cut it."""
    loft = ready_since_wednesday("A2.1", "A2.2")
    live = Serve(line="O1/1", customer="Kite Cafe", due=WED + timedelta(days=1), trays=1)
    loft.keep_plan(on_day(1, 9), advice=[advised("hold", "S.1", live), advised("let go", "S.2")])
    assert [row.kind for row in loft.rows(on_day(2, 7.5))] == ["look"]
    looked_at(loft, (1, 19.5), (2, 7.5), (2, 19.5))
    said = {row.trays: row.words for row in loft.rows(on_day(3, 7.5))}
    assert list(said) == [("S.1", "S.2")], "one sowing on one shelf is one row"
    assert "no order needs it" not in said["S.1", "S.2"].lower()


def test_a_tray_the_plan_lets_go_says_on_its_last_day_that_no_order_needs_it():
    loft = ready_since_wednesday("A2.1")
    loft.keep_plan(on_day(1, 9), advice=[advised("let go", "S.1")])
    looked_at(loft, (1, 19.5), (2, 7.5), (2, 19.5))
    assert "No order needs it: sell it, eat it or give it away." in loft.row(on_day(3, 7.5)).words


def test_without_any_plan_a_ready_tray_is_there_to_be_cut():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A2.1", stage="ready"))
    assert loft.row(on_day(1, 19.5)).kind == "cut"


def test_looking_at_a_tray_to_be_cut_does_not_take_the_cut_off_the_list_but_not_yet_does():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A2.1", stage="ready"))
    at = on_day(1, 19.5)
    loft.answer(at, moisture="moist")
    assert loft.row(at).kind == "cut"
    loft.answer(at, cue="not yet")
    assert loft.rows(at) == []
    assert loft.row(on_day(2, 7.5)).kind == "cut"


def test_on_its_planned_day_a_tray_not_yet_called_ready_is_asked_for_in_the_cut_row():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A2.1", stage="light"))
    loft.keep_plan(on_day(1, 8.5), cuts=[planned_cut(WED + timedelta(days=4), "S.1")])
    row = loft.row(on_day(5, 7.5))
    assert (row.kind, row.row, row.cue) == ("cut", "cut-S-A2-light", "Canopy right to cut?")
    assert "If yes: cut 13 to 25 mm above the mat" in row.words
    loft.answer(on_day(5, 7.5), cue="not yet")
    assert loft.rows(on_day(5, 7.5)) == []


def test_a_tray_far_from_ready_is_not_cut_because_a_plan_once_said_so():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"))
    loft.keep_plan(on_day(1, 8.5), cuts=[planned_cut(WED, "S.1")])
    row = loft.row(on_day(1, 19.5))
    assert row.kind == "look"
    assert "The plan counts on it: planned for today." in row.why


def test_trays_sown_from_the_plan_are_cut_on_the_days_planned_for_them():
    loft = lantern_loft()
    cuts = (CutPlanned(cut_on=WED + timedelta(days=8), crop="broccoli", trays=1, grams_expected=200.0),)
    cuts += (CutPlanned(cut_on=WED + timedelta(days=9), crop="broccoli", trays=1, grams_expected=200.0),)
    serve = Serve(line="O1/1", customer="Kite Cafe", due=WED + timedelta(days=9), grams=300.0)
    loft.keep_plan(DAY_ONE, planned(cuts=cuts, serves=(serve,)))
    loft.say(on_day(1, 9), order("O1", WED + timedelta(days=9), 300.0), sow("S", "A2.1", "A2.2", stage="light"))
    loft.say(on_day(9, 5), StageChanged(trays=("S.1", "S.2"), stage="ready"))
    rows = {row.kind: row for row in loft.rows(on_day(9, 7.5))}
    assert (rows["look"].trays, rows["cut"].trays) == (("S.2",), ("S.1",))
    assert rows["cut"].lines == ("O1/1",)
    assert "For Kite Cafe on Fri 4 Dec." in rows["cut"].words


def planned(trays: int = 2, cuts: tuple[CutPlanned, ...] = (), serves: tuple[Serve, ...] = ()) -> PlannedSowing:
    return PlannedSowing(
        sow_on=WED,
        crop="broccoli",
        recipe=BROCCOLI.name,
        trays=trays,
        seed_g=20.0 * trays,
        cut_on=WED + timedelta(days=8),
        grams_expected=200.0 * trays,
        serves=serves,
        cuts=cuts,
    )


def test_trays_of_a_planned_sowing_that_are_sold_live_are_never_cut():
    loft = lantern_loft()
    live = Serve(line="O1/1", customer="Kite Cafe", due=WED + timedelta(days=8), trays=1)
    loft.keep_plan(DAY_ONE, planned(serves=(live,)))
    loft.say(on_day(1, 9), sow("S", "A2.1", "A2.2", stage="light"))
    loft.say(on_day(9, 5), StageChanged(trays=("S.1", "S.2"), stage="ready"))
    assert [row.trays for row in loft.rows(on_day(9, 7.5), "cut")] == [("S.1",)]


def test_a_tray_grown_live_in_case_it_is_asked_for_is_not_cut_either():
    """No order is sure of it, but the plan named no day to cut it on."""
    loft = lantern_loft()
    loft.keep_plan(DAY_ONE, msgspec.structs.replace(planned(), grams_expected=0.0))
    loft.say(on_day(1, 9), sow("S", "A2.1", "A2.2", stage="light"))
    loft.say(on_day(9, 5), StageChanged(trays=("S.1", "S.2"), stage="ready"))
    assert loft.rows(on_day(9, 7.5), "cut") == []


def test_a_cut_row_says_what_to_expect_by_the_outlook():
    loft = ready_since_wednesday("A2.1", "A2.2")
    loft.keep_plan(on_day(1, 9), cuts=[planned_cut(WED, "S.1", "S.2")])
    row = loft.row(on_day(1, 19.5))
    amounts = {amount.what: amount for amount in row.amounts}
    assert (amounts["expect"].value, amounts["expect"].each) == (207.0, True)  # the library's middle for broccoli
    assert amounts["expect"].note.endswith("0 g in 8 of 10")
    assert (amounts["expect together"].value, amounts["expect together"].each) == (414.0, False)
    assert row.minutes == 20.0


def test_a_cut_names_the_open_lines_of_its_crop_where_the_plan_names_none():
    loft = ready_since_wednesday("A2.1")
    loft.say(on_day(1, 9), order("O7", WED + timedelta(days=1), 60.0))
    loft.say(on_day(1, 9), order("O8", WED + timedelta(days=1), 60.0, product="radish"))
    loft.keep_plan(on_day(1, 9), cuts=[planned_cut(WED, "S.1")])
    assert loft.row(on_day(1, 19.5), "cut").lines == ("O7/1",)


def test_live_trays_that_are_still_owed_are_named_before_the_scissors_come_out():
    loft = ready_since_wednesday("A2.1")
    loft.say(on_day(1, 9), order("O7", WED + timedelta(days=1), 1, unit="trays"))
    loft.keep_plan(on_day(1, 9), cuts=[planned_cut(WED, "S.1")])
    assert "Live trays are owed: 1 tray for Kite Cafe on Thu 26 Nov." in loft.row(on_day(1, 19.5), "cut").words


def test_a_tray_sown_beside_the_plan_is_cut_when_it_is_ready():
    loft = lantern_loft()
    loft.keep_plan(DAY_ONE)
    loft.say(on_day(1, 9), sow("S", "A2.1", stage="light"))
    loft.say(on_day(9, 4), StageChanged(trays=("S.1",), stage="ready"))
    row = loft.row(on_day(9, 7.5))
    assert (row.kind, row.trays) == ("cut", ("S.1",))
    assert "sown beside the plan" in row.why


def test_a_tray_sown_days_before_the_planned_day_is_not_that_sowing():
    loft = lantern_loft()
    later = planned()
    loft.keep_plan(DAY_ONE, msgspec.structs.replace(later, sow_on=WED + timedelta(days=5)))
    loft.say(on_day(1, 9), sow("S", "A1.1a"))
    rows = [row for row in loft.rows(on_day(6, 7.5)) if row.kind == "sow"]
    assert [row.count for row in rows] == [later.trays]
