"""Mats with marks: under trays, through the wash, cleared or not, retired and replaced."""

from __future__ import annotations

from datetime import timedelta

import msgspec
import pytest

from tests.farm.told import Told, codes, lantern_loft, sowing
from trayward.errors import InputError
from trayward.farm.codec import decode_entry, decode_state, encode_entry, encode_state
from trayward.farm.entries import (
    Cut,
    Discarded,
    Entry,
    KitMarked,
    KitRetired,
    KitSet,
    KitUsed,
    MarksOn,
    Note,
    Sanitised,
    SowingMade,
    Stripped,
    TrayCut,
    Washed,
)
from trayward.farm.kit import Clearing, Owner, Pool, PoolState
from trayward.farm.kit_marks import dealt, marks_words, proposed, read_marks, rested

HOURS = timedelta(hours=1)


def marked(clearing: Clearing | None = None) -> Told:
    """Lantern Loft with ten marked mats."""
    told = lantern_loft()
    if clearing is not None:
        told.say(KitSet(pool=msgspec.structs.replace(mats(told).pool, clearing=clearing)))
    told.say(KitMarked(pool="mat", marks=tuple(f"M{number}" for number in range(1, 11))))
    return told


def mats(told: Told) -> PoolState:
    return told.state.kit["mat"]


def sown_on(name: str, *marks: str) -> SowingMade:
    """Two trays on two marked mats."""
    given = tuple(MarksOn(tray=f"{name}.{number}", marks=(mark,)) for number, mark in enumerate(marks, start=1))
    spots = {"S": ("A1.1a", "A1.1b"), "R": ("A1.2a", "A1.2b")}[name]
    return msgspec.structs.replace(sowing(name, *spots), marks=given)


def test_a_mat_goes_under_a_tray_into_the_wash_and_dries():
    told = marked()
    assert told.say(sown_on("S", "M3", "M7")) == ()
    m7 = mats(told).marks["M7"]
    assert (m7.where, m7.tray, m7.uses) == ("in use", "S.2", 1)
    assert mats(told).on == {"S.1": ("M3",), "S.2": ("M7",)}
    told.say(Discarded(trays=("S.1", "S.2"), reason="too thin"))
    assert (m7.where, m7.tray, mats(told).on) == ("dirty", "S.2", {})
    told.say(Washed(pool="mat", count=1, marks=("M7",)))
    assert (m7.where, m7.since) == ("ready", told.now + 12 * HOURS)
    assert mats(told).marks["M3"].where == "dirty"
    assert (mats(told).dirty, mats(told).still_drying(told.now)) == (1, 1)


def test_the_longest_rested_mats_are_proposed_and_one_that_still_dries_is_not():
    told = marked()
    told.say(sown_on("S", "M1", "M2"))
    told.say(Discarded(trays=("S.1",), reason="too thin"))
    told.say(Washed(pool="mat", count=1, marks=("M1",)))
    assert "M1" not in rested(mats(told), told.now)
    later = told.now + 13 * HOURS
    assert rested(mats(told), later)[-1] == "M1", "it rested least"
    assert rested(mats(told), later)[0] == "M3"
    assert proposed(told.state, {"mat": 1, "tray": 2}, 2, later) == ("M3", "M4"), "trays carry no marks"
    assert proposed(told.state, {"mat": 1}, 10, later) == (), "two of the ten are not cleared"
    assert proposed(told.state, {"mat": 1}, 2, later, {"M3"}) == ("M4", "M5")


def test_marks_are_dealt_out_to_trays_in_order():
    told = marked()
    told.say(KitMarked(pool="tray", marks=("T1", "T2", "T3", "T4")))
    found = dealt(told.state, ["M1", "T1", "T2", "M2", "T3", "T4"], {"mat": 1, "tray": 2}, ["S.1", "S.2"])
    assert found == (MarksOn(tray="S.1", marks=("M1", "T1", "T2")), MarksOn(tray="S.2", marks=("M2", "T3", "T4")))
    with pytest.raises(InputError, match="marks = M99: the farm has no kit of that mark"):
        dealt(told.state, ["M99"], {"mat": 1}, ["S.1"])
    with pytest.raises(InputError, match=r"marks = M1, M2: 1 tray takes 1 of mat"):
        dealt(told.state, ["M1", "M2"], {"mat": 1}, ["S.1"])


def test_a_washing_of_all_that_is_dirty_takes_every_mark_along_and_one_of_some_takes_none():
    told = marked()
    told.say(sown_on("S", "M1", "M2"))
    told.say(Discarded(trays=("S.1", "S.2"), reason="too thin"))
    told.say(Washed(pool="mat", count=1))
    assert [mats(told).marks[name].where for name in ("M1", "M2")] == ["dirty", "dirty"], "nobody said which"
    told.say(Washed(pool="mat", count=1))
    assert [mats(told).marks[name].where for name in ("M1", "M2")] == ["ready", "ready"]


def test_a_washing_of_named_mats_is_of_the_trays_these_were_under_and_not_of_the_first_in_line():
    told = marked()
    told.say(sown_on("S", "M1", "M2"))
    told.say(Discarded(trays=("S.1",), reason="too thin"))
    told.say(Discarded(trays=("S.2",), reason="too thin"))
    told.say(Washed(pool="mat", count=1, marks=("M2",)))
    assert mats(told).cleaned == [Owner("S.2", 1)]
    # What is left in line is the other one's.
    told.say(Washed(pool="mat", count=1))
    assert mats(told).cleaned == [Owner("S.1", 1)]


def test_named_mats_that_wait_to_be_sanitised_stay_their_trays_own():
    told = marked(Clearing(after_mould=True))
    told.say(KitSet(pool=msgspec.structs.replace(mats(told).pool, sanitise=True)))
    told.say(sown_on("S", "M1", "M2"))
    told.say(Discarded(trays=("S.1", "S.2"), reason="too thin"))
    told.say(Washed(pool="mat", count=1, marks=("M2",)))
    assert mats(told).owners["washed"] == [Owner("S.2", 1)]
    told.say(Washed(pool="mat", count=1, marks=("M1",)))
    told.say(Sanitised(pool="mat", count=1, agent="as labelled", marks=("M1",)))
    assert mats(told).owners["washed"] == [Owner("S.2", 1)]


# Cleared --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("refuse", "severity"), [(False, "odd"), (True, "wrong")])
def test_sowing_on_a_mat_that_is_not_cleared_is_said_or_refused_as_the_farm_chose(refuse, severity):
    told = marked(Clearing(refuse=refuse))
    told.say(sown_on("S", "M1", "M2"))
    told.say(Cut(harvest="H1", crop="radish", trays=(TrayCut(tray="S.1", grams=90.0),)))
    found = told.check(sown_on("R", "M1", "M3"))
    assert codes(found) == [(severity, "kit-uncleared")]
    assert found[0].message == "mat M1 = not cleared: under tray S.1."
    told.say(Stripped(trays=("S.1",)))
    found = told.check(sown_on("R", "M1", "M3"))
    assert (found[0].severity, found[0].message) == (
        severity, "mat M1 = not cleared: dirty, and not washed since its last use.",
    )  # fmt: skip
    assert found[0].remedy == "Wash it, let it dry 12 h; or take another."
    told.say(Washed(pool="mat", count=1, marks=("M1",)))
    found = told.check(sown_on("R", "M1", "M3"))
    assert found[0].message.startswith("mat M1 = not cleared: not dry before 20")
    told.say(Note(text="the next morning"), hours=13)
    assert told.check(sown_on("R", "M1", "M3")) == ()


def test_a_pool_without_marks_is_refused_too_and_says_what_to_do():
    told = lantern_loft()
    pool = msgspec.structs.replace(mats(told).pool, count=2, clearing=Clearing(refuse=True))
    told.say(KitSet(pool=pool))
    told.say(sowing("S", "A1.1a", "A1.1b"))
    told.say(Discarded(trays=("S.1",), reason="too thin"))
    found = told.check(sowing("R", "A1.2a"))
    assert codes(found) == [("wrong", "kit-short")]
    assert found[0].remedy == "Wash 1 first, and let them dry 12 h."


def test_a_late_sowing_on_a_mat_that_was_not_cleared_is_kept_with_a_finding():
    """The book must not lose what was done; that it should not have been stands beside it."""
    told = marked(Clearing(refuse=True))
    told.say(sown_on("S", "M1", "M2"))
    told.say(sown_on("R", "M1", "M3"))
    assert mats(told).marks["M1"].tray == "R.1"
    assert mats(told).on == {"S.2": ("M2",), "R.1": ("M1",), "R.2": ("M3",)}
    assert [finding.code for finding in told.state.findings if finding.severity == "wrong"] == ["kit-uncleared"]


LIMITS = Clearing(ppm_least=80.0, ppm_most=200.0, contact_min=2.0, water_least_c=18.0, water_most_c=30.0)
GOOD = {"strength_ppm": 100.0, "contact_min": 2.0, "water_c": 20.0}


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({**GOOD, "strength_ppm": 60.0}, "strength = 60 ppm: this farm wants 80 to 200 ppm"),
        ({**GOOD, "strength_ppm": 400.0}, "strength = 400 ppm: this farm wants 80 to 200 ppm"),
        ({**GOOD, "strength_ppm": None}, "strength = not written down: this farm wants 80 to 200 ppm"),
        ({**GOOD, "contact_min": 1.0}, "contact time = 1 min: this farm wants at least 2 min"),
        ({**GOOD, "water_c": 10.0}, "water = 10 C: this farm wants 18 to 30 C"),
    ],
)
def test_a_sanitising_outside_the_farms_limits_clears_nothing(said, words):
    told = marked(LIMITS)
    told.say(KitSet(pool=msgspec.structs.replace(mats(told).pool, sanitise=True)))
    told.say(sown_on("S", "M1", "M2"))
    told.say(Discarded(trays=("S.1", "S.2"), reason="too thin"))
    told.say(Washed(pool="mat", count=2))
    found = told.say(Sanitised(pool="mat", count=2, agent="as the label says", **said))
    assert [(finding.severity, finding.code) for finding in found] == [("odd", "kit-uncleared")]
    assert words in found[0].message
    assert (mats(told).washed, mats(told).marks["M1"].where) == (2, "washed")
    told.say(Sanitised(pool="mat", count=2, agent="as the label says", **GOOD))
    assert (mats(told).washed, mats(told).marks["M1"].where) == (0, "ready")


def test_a_step_left_out_or_a_rinse_too_cold_leaves_the_kit_dirty():
    told = marked(Clearing(steps=("scrape", "soap", "rinse hot"), rinse_c=60.0))
    told.say(sown_on("S", "M1", "M2"))
    told.say(Discarded(trays=("S.1", "S.2"), reason="too thin"))
    left = Washed(pool="mat", count=2, rinse_c=65.0, left_out=("soap",))
    assert "left out = soap" in told.say(left)[0].message
    assert (
        "rinse = 40 C: this farm wants at least 60 C" in told.say(Washed(pool="mat", count=2, rinse_c=40.0))[0].message
    )
    assert "rinse = not written down" in told.say(Washed(pool="mat", count=2))[0].message
    assert mats(told).dirty == 2
    assert told.say(Washed(pool="mat", count=2, rinse_c=65.0)) == ()
    assert mats(told).dirty == 0


# Suspected mould ------------------------------------------------------------------------------------------------------


def test_a_mat_of_a_mouldy_tray_waits_to_be_sanitised_where_the_farm_says_so():
    """The pool only washes as a rule."""
    told = marked(Clearing(after_mould=True))
    told.say(sown_on("S", "M1", "M2"))
    told.say(Discarded(trays=("S.1",), reason="white mould"))
    told.say(Discarded(trays=("S.2",), reason="too thin"))
    assert (mats(told).dirty, mats(told).suspect, mats(told).marks["M1"].suspect) == (2, 1, True)
    told.say(Washed(pool="mat", count=2))
    assert (mats(told).washed, mats(told).still_drying(told.now), mats(told).suspect) == (1, 1, 0)
    assert [mats(told).marks[name].where for name in ("M1", "M2")] == ["washed", "ready"]
    found = told.check(sown_on("R", "M1", "M3"))
    assert found[0].message == "mat M1 = not cleared: washed, and not sanitised after suspected mould."
    told.say(Sanitised(pool="mat", count=1, agent="as the label says"))
    assert (mats(told).washed, mats(told).marks["M1"].where, mats(told).marks["M1"].suspect) == (0, "ready", False)


def test_without_marks_as_many_wait_as_held_mouldy_trays():
    told = lantern_loft()
    told.say(KitSet(pool=msgspec.structs.replace(mats(told).pool, clearing=Clearing(after_mould=True))))
    told.say(sowing("S", "A1.1a", "A1.1b"))
    told.say(Discarded(trays=("S.1",), reason="mould"))
    told.say(Discarded(trays=("S.2",), reason="too thin"))
    told.say(Washed(pool="mat", count=1))
    assert (mats(told).dirty, mats(told).washed, mats(told).suspect) == (1, 1, 0)


def test_where_the_farm_does_not_say_so_a_mouldy_mat_is_washed_like_any_other():
    told = marked()
    told.say(sown_on("S", "M1", "M2"))
    told.say(Discarded(trays=("S.1", "S.2"), reason="mould"))
    told.say(Washed(pool="mat", count=2))
    assert (mats(told).washed, mats(told).marks["M1"].where) == (0, "ready")


# Marking, correcting, retiring ----------------------------------------------------------------------------------------


def test_a_mark_is_used_once_on_a_farm_and_looks_like_one():
    told = marked()
    assert codes(told.check(KitMarked(pool="tray", marks=("M1",)))) == [("wrong", "mark-twice")]
    assert codes(told.check(KitMarked(pool="mat", marks=("no mark",)))) == [("wrong", "mark-name")]
    assert codes(told.check(KitMarked(pool="mat", marks=()))) == [("wrong", "nothing-named")]
    assert codes(told.check(KitMarked(pool="none", marks=("M20",)))) == [("wrong", "kit-unknown")]
    assert codes(told.check(KitMarked(pool="mat", marks=("M11",)))) == [("odd", "marks-many")], "there are ten"


def test_which_mat_a_tray_is_on_can_be_said_later_and_put_right():
    told = marked()
    told.say(sowing("S", "A1.1a", "A1.1b"))
    assert told.say(KitUsed(tray="S.1", marks=("M4",))) == ()
    assert told.say(KitUsed(tray="S.1", marks=("M5",))) == ()
    assert mats(told).on == {"S.1": ("M5",)}
    assert [(mats(told).marks[name].where, mats(told).marks[name].uses) for name in ("M4", "M5")] == [
        ("ready", 0), ("in use", 1),
    ]  # fmt: skip
    assert mats(told).in_use == 2, "the count was right before"
    assert codes(told.check(KitUsed(tray="S.2", marks=("M5",)))) == [("odd", "kit-uncleared")]
    assert codes(told.check(KitUsed(tray="S.2", marks=("M99",)))) == [("wrong", "mark-unknown")]


def test_a_torn_mat_is_retired_and_a_new_one_takes_its_place():
    told = marked()
    told.say(sown_on("S", "M1", "M2"))
    assert codes(told.check(KitRetired(pool="mat", marks=("M1",)))) == [("wrong", "mark-in-use")]
    told.say(Discarded(trays=("S.1", "S.2"), reason="too thin"))
    told.say(KitRetired(pool="mat", marks=("M1",), reason="torn", replaced_by=("M11",)))
    held = mats(told)
    assert (held.pool.count, held.dirty, held.ready(told.now)) == (10, 1, 9)
    assert (held.marks["M1"].where, held.marks["M11"].replaces) == ("retired", "M1")
    found = told.check(sown_on("R", "M1", "M3"))
    assert found[0].message == "mat M1 = retired, torn: it is used no more."
    told.say(KitRetired(pool="mat", marks=("M3",), fate="lost"))
    assert (held.pool.count, held.ready(told.now)) == (9, 8)
    assert codes(told.check(KitRetired(pool="mat", marks=("M3",)))) == [("wrong", "mark-gone")]


def test_a_mat_that_dries_can_be_retired_and_the_count_still_holds():
    told = marked()
    told.say(sown_on("S", "M1", "M2"))
    told.say(Discarded(trays=("S.1", "S.2"), reason="too thin"))
    told.say(Washed(pool="mat", count=2))
    told.say(KitRetired(pool="mat", marks=("M1",)))
    held = mats(told)
    assert (held.pool.count, held.still_drying(told.now), held.ready(told.now)) == (9, 1, 8)


# Words and bytes ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "marks"),
    [
        ("M1-M3", ("M1", "M2", "M3")),
        ("m1 - 3", ("m1", "m2", "m3")),
        ("M08-M10, C7;C9", ("M08", "M09", "M10", "C7", "C9")),
        ("M1 M1", ("M1",)),
        ("", ()),
    ],
)
def test_marks_are_read_as_people_write_them(words, marks):
    assert read_marks(words) == marks


@pytest.mark.parametrize("words", ["7", "M1-M9999", "M9-M2", "M#1"])
def test_what_is_no_mark_is_refused(words):
    with pytest.raises(InputError, match="marks ="):
        read_marks(words)


def test_marks_are_said_in_runs():
    assert marks_words(["M10", "M9", "M8", "M2", "T1"]) == "M2, M8-M10, T1"


def test_the_state_with_marks_comes_back_from_its_bytes():
    told = marked(LIMITS)
    told.say(sown_on("S", "M1", "M2"))
    assert decode_state(encode_state(told.state)) == told.state


def test_a_book_from_before_marks_reads_as_before():
    """Bytes as version 1 of these kinds wrote them."""
    front = '{"at":"2026-11-25T07:00:00Z","body":'
    back = ',"by":"Mo","id":"entry-000001","kind":"%s","recorded":"2026-11-25T07:00:00Z","version":1}'
    old = {
        "washed": '{"count":2,"note":"","pool":"mat","rinse_c":null,"soap":"mild"}',
        "sanitised": '{"agent":"x","contact_min":null,"count":2,"note":"","pool":"mat","strength_ppm":null,'
        '"water_c":null}',
        "kit returned": '{"count":2,"pool":"mat"}',
        "sowing made": '{"lots":[],"recipe":"r","sowing":"S","stage":"","trays":[{"spot":null,"tray":"S.1"}],'
        '"trial":""}',
        "kit set": '{"pool":{"count":3,"dry_hours":12.0,"lasts_uses":0,"minutes_wash":0.0,"name":"mat",'
        '"sanitise":false,"wear":0.0}}',
    }  # fmt: skip
    for kind, body in old.items():
        entry = decode_entry((front + body + back % kind).encode())
        assert kind == entry.body.KIND
        assert decode_entry(encode_entry(entry)) == entry, "written anew it says the same"
    pool = decode_entry((front + old["kit set"] + back % "kit set").encode()).body
    assert pool == KitSet(pool=Pool(name="mat", count=3))
    assert isinstance(entry, Entry)


def test_the_marks_are_subjects_of_what_was_done_with_them():
    assert "mark:M1" in sown_on("S", "M1", "M2").subjects()
    assert Washed(pool="mat", count=1, marks=("M1",)).subjects() == ("kit:mat", "mark:M1")
    assert KitRetired(pool="mat", marks=("M1",), replaced_by=("M2",)).subjects() == ("kit:mat", "mark:M1", "mark:M2")
