"""The fold as a whole: replay, strikes, and the small kinds."""

from __future__ import annotations

from datetime import timedelta

import msgspec
import pytest

from tests.farm.told import START, Told, codes, entry, grown, lantern_loft, setting_up, sowing
from trayward.farm.codec import decode_entry, decode_state, encode_entry, encode_state
from trayward.farm.entries import KINDS, Cut, Discarded, Entry, Note, PlanKept, ReadingTaken, Struck, TrayCut
from trayward.farm.fold import apply, check, fold
from trayward.farm.state import FarmState
from trayward.farm.transitions.table import TRANSITIONS


def season() -> Told:
    told = grown()
    told.say(Cut(harvest="H261202A", crop="radish", trays=(TrayCut(tray="S.1", grams=200.0),)))
    told.say(Discarded(trays=("S.1",), reason="too late"))
    return told


def test_every_kind_has_a_transition():
    assert set(TRANSITIONS) == set(KINDS.values())


def test_replaying_the_book_gives_the_same_state():
    told = season()
    assert encode_state(told.refold()) == encode_state(told.state)
    again = [decode_entry(encode_entry(said)) for said in told.entries]
    assert encode_state(fold(again)) == encode_state(told.state)


def test_a_fold_may_be_interrupted_anywhere():
    told = season()
    for cut in range(len(told.entries)):
        start = decode_state(encode_state(fold(told.entries[:cut])))
        assert encode_state(fold(told.entries[cut:], start=start)) == encode_state(told.state)


def test_a_fold_goes_on_in_the_state_it_was_given():
    start = fold(grown().entries)
    assert fold([], start=start) is start


def test_checking_changes_nothing():
    told = season()
    before = encode_state(told.state)
    for said in told.entries:
        check(told.state, said)
    assert encode_state(told.state) == before


def test_a_struck_entry_is_as_if_it_had_never_been_said_but_counts_as_read():
    told = grown()
    told.say(Discarded(trays=("S.1",), reason="slip of the thumb"))
    slip = told.entries[-1].id
    told.say(Struck(entry=slip, reason="the other tray"))
    state = told.refold(struck=frozenset({slip}))
    assert state.trays["S.1"].fate == "growing"
    assert state.spots == {"A2.1": "S.1", "A2.2": "S.2"}
    assert (state.entries, state.horizon) == (len(told.entries), told.now)


def test_striking_a_sowing_leaves_what_was_done_to_its_trays_as_findings():
    told = season()
    sown = next(said.id for said in told.entries if said.kind == "sowing made")
    state = told.refold(struck=frozenset({sown}))
    assert state.trays == {}
    assert state.seed["RAD-1"].left_g == 500.0
    assert {finding.code for finding in state.findings} == {"tray-unknown"}


def test_the_horizon_is_the_latest_moment_even_if_an_entry_comes_out_of_order():
    told = grown()
    apply(told.state, entry(900, Note(text="forgot to say"), START))
    assert told.state.horizon == told.now


def test_findings_name_their_entry():
    told = season()
    assert [finding.entries for finding in told.state.findings] == [(told.entries[-1].id,)]
    assert told.state.findings[0].code == "tray-ended"


@pytest.mark.parametrize("name", ["short", "x" * 65, "has space in it", "slash/slash"])
def test_an_id_of_another_form_is_wrong(name):
    said = Entry(id=name, at=START, recorded=START, by="Mo", body=Note(text="hello"))
    assert codes(check(FarmState(), said)) == [("wrong", "entry-id")]


@pytest.mark.parametrize(
    ("what", "value", "expected"),
    [
        ("temperature", 21.0, []),
        ("temperature", 70.0, [("odd", "reading-hot")]),
        ("temperature", 212.0, [("wrong", "amount")]),
        ("humidity", 101.0, [("wrong", "amount")]),
        ("ph", 14.5, [("wrong", "amount")]),
        ("ec", -0.1, [("wrong", "amount")]),
        ("ppfd", 180.0, []),
    ],
)
def test_a_reading_no_instrument_shows_is_wrong_and_stays_out_of_the_state(what, value, expected):
    told = lantern_loft()
    assert codes(told.say(ReadingTaken(what=what, value=value, where="A1"))) == expected
    wrong = ("wrong", "amount") in expected
    assert [(r.at, r.what, r.value, r.where) for r in told.state.readings] == (
        [] if wrong else [(told.now, what, value, "A1")]
    )


def test_the_last_plan_kept_is_in_the_state_as_its_json():
    told = lantern_loft()
    told.say(PlanKept(plan=msgspec.Raw(b'{"sowings": [1]}')), PlanKept(plan=msgspec.Raw(b'{"sowings": [2]}')))
    assert told.state.last_plan == '{"sowings":[2]}'
    assert codes(told.check(PlanKept(plan=msgspec.Raw(b"[1]")))) == [("wrong", "plan")]


def test_a_farm_without_shelves_or_kit_can_still_grow():
    told = Told(*(body for body in setting_up() if body.KIND not in ("place set", "kit set")))
    assert told.say(sowing("S", None, None)) == ()
    assert codes(told.check(sowing("T", "A1.1a"))) == [("wrong", "spot-unknown")]


def test_every_finding_says_thing_value_rule_and_way_out():
    told = season()
    told.say(
        *(sowing("S", "A1.1a"), sowing("T", "A1.1a", "A1.1a", grams=900.0), sowing("U", "Z1")),
        *(Discarded(trays=("X",), reason="?"), Struck(entry="nothing-1", reason="?")),
        hours=1,
    )
    assert len(told.state.findings) >= 6
    for finding in told.state.findings:
        thing, _, rest = finding.message.partition(" = ")
        assert thing
        assert ": " in rest
        assert finding.message.endswith(".")
        assert finding.remedy.endswith((".", "?"))


def test_late_entries_land_on_their_own_time():
    told = grown()
    late = entry(900, ReadingTaken(what="temperature", value=21.0), START + timedelta(hours=5))
    state = fold(sorted([*told.entries, late], key=lambda said: said.at))
    assert state.readings[0].at == START + timedelta(hours=5)
    assert state.horizon == told.now
