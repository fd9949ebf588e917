"""Entries and states as bytes."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta, timezone

import msgspec
import numpy as np
import pytest

from tests.farm.told import grown, lantern_loft, setting_up, sowing
from trayward.errors import BookError, InputError
from trayward.farm import codec
from trayward.farm.codec import decode_entry, decode_state, encode_entry, encode_state, normal
from trayward.farm.entries import KINDS, Cut, Entry, Fed, Note, PlanKept, RecipeSet, TrayCut, Watered

AT = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)


def said(body, at=AT):
    return Entry(id="entry-000001", at=at, recorded=at, by="Mo", body=body)


def test_an_entry_is_written_with_sorted_keys_and_times_in_utc():
    berlin = datetime(2026, 11, 25, 8, 0, tzinfo=timezone(timedelta(hours=1)))
    assert encode_entry(said(Watered(trays=("S.1",), ml=30), at=berlin)) == (
        b'{"at":"2026-11-25T07:00:00Z","body":{"ml":30.0,"trays":["S.1"],"way":"below"},"by":"Mo",'
        b'"id":"entry-000001","kind":"watered","recorded":"2026-11-25T07:00:00Z","version":1}'
    )


def test_every_entry_of_a_season_comes_back_as_it_was():
    told = grown()
    for entry in told.entries:
        data = encode_entry(entry)
        assert decode_entry(data) == entry
        assert encode_entry(decode_entry(data)) == data


def test_whole_numbers_in_amounts_do_not_change_the_bytes_when_read_again():
    """A phone may send 200, a desk 200.0; the hash of the book must not notice."""
    body = Cut(harvest="H261204A", crop="radish", trays=(TrayCut(tray="S.1", grams=200),), height_mm=13)
    data = encode_entry(said(body))
    assert data == encode_entry(said(msgspec.structs.replace(body, trays=(TrayCut(tray="S.1", grams=200.0),))))
    assert encode_entry(decode_entry(data)) == data
    assert isinstance(normal(said(body)).body.trays[0].grams, float)


def test_a_kept_plan_is_written_with_sorted_keys_whatever_order_it_came_in():
    plan = PlanKept(plan=msgspec.Raw(b'{"lines": [], "gap": 0.0}'))
    data = encode_entry(said(plan))
    assert b'"plan":{"gap":0.0,"lines":[]}' in data
    assert encode_entry(decode_entry(data)) == data


def test_every_kind_has_a_decoder_and_no_kind_has_two_classes():
    assert set(codec._BODIES) == set(KINDS)
    assert all(kind == body.KIND for kind, body in KINDS.items())


def test_an_older_version_is_lifted_one_step_at_a_time(monkeypatch):
    """Versions 1 and 2 of a note are made up here; version 3 is today's shape."""
    monkeypatch.setattr(Note, "VERSION", 3)
    monkeypatch.setitem(codec.LIFTS, ("note", 1), lambda body: {"word": body["words"]})
    monkeypatch.setitem(codec.LIFTS, ("note", 2), lambda body: {"text": body["word"], "about": ["tray:S.1"]})
    written = {"id": "entry-000001", "at": "2026-11-25T07:00:00Z", "recorded": "2026-11-25T07:00:00Z", "by": "Mo"}
    old = json.dumps({**written, "kind": "note", "version": 1, "body": {"words": "looks pale"}}).encode()
    assert decode_entry(old).body == Note(text="looks pale", about=("tray:S.1",))
    assert b'"version":3' in encode_entry(decode_entry(old))


def test_a_made_up_version_0_is_lifted_to_today(monkeypatch):
    monkeypatch.setitem(codec.LIFTS, ("fed", 0), lambda body: {"trays": body["trays"], "ml": body["litres"] * 1000})
    data = encode_entry(said(Fed(trays=("S.1",), ml=450.0)))
    old = data.replace(b'"version":1', b'"version":0').replace(
        b'{"ec":null,"feed":"","ml":450.0,"ph":null,"trays":["S.1"]}', b'{"litres":0.45,"trays":["S.1"]}'
    )
    assert old != data
    assert decode_entry(old) == decode_entry(data)


def test_a_version_nothing_lifts_is_named():
    data = encode_entry(said(Note(text="hello"))).replace(b'"version":1', b'"version":0')
    with pytest.raises(BookError, match="entry-000001 = 'note' version 0: nothing lifts it from version 0"):
        decode_entry(data)


def test_a_newer_version_asks_for_a_newer_trayward():
    data = encode_entry(said(Note(text="hello"))).replace(b'"version":1', b'"version":2')
    with pytest.raises(BookError, match=r"knows up to version 1\. Use a newer Trayward"):
        decode_entry(data)


def test_an_unknown_kind_asks_for_a_newer_trayward():
    data = encode_entry(said(Note(text="hello"))).replace(b'"kind":"note"', b'"kind":"sung"')
    with pytest.raises(BookError, match=r"kind 'sung': this Trayward does not know it\. Use a newer Trayward"):
        decode_entry(data)


@pytest.mark.parametrize("data", [b"", b"not json", b"[]", b'{"id":"entry-000001"}', b"\xff\xfe"])
def test_bytes_that_are_no_entry_are_refused(data):
    with pytest.raises(BookError, match="cannot be read"):
        decode_entry(data)


def test_a_body_with_a_field_too_many_is_refused():
    data = encode_entry(said(Note(text="hello"))).replace(b'"text"', b'"mood":"good","text"')
    with pytest.raises(BookError, match="mood"):
        decode_entry(data)


def test_a_time_without_offset_is_refused():
    with pytest.raises(InputError, match="a time needs its offset"):
        encode_entry(said(Note(text="hello"), at=datetime(2026, 11, 25, 7, 0)))  # noqa: DTZ001


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_a_number_that_is_none_is_refused_instead_of_coming_back_as_a_blank(value):
    with pytest.raises(InputError, match=r"ph = .*must be a number that can be measured"):
        encode_entry(said(Fed(trays=("S.1",), ml=30.0, ph=value)))
    with pytest.raises(InputError, match=r"grams = .*must be a number"):
        encode_entry(said(Cut(harvest="H", crop="radish", trays=(TrayCut(tray="S.1", grams=value),))))


@pytest.mark.parametrize("made", [np.float64, np.float32, np.int64, int])
def test_a_number_of_another_library_is_written_as_any_other(made):
    """Whoever works a weight out in numpy may say it as it came."""
    plain = encode_entry(said(Watered(trays=("S.1",), ml=20.0)))
    assert encode_entry(said(Watered(trays=("S.1",), ml=made(20)))) == plain


@pytest.mark.parametrize(
    ("value", "rule"), [("20 C", "Expected `float`, got `str`"), (object(), "object is neither text nor a number")]
)
def test_a_value_of_no_kind_the_book_knows_is_refused_by_its_place_and_kind(value, rule):
    with pytest.raises(InputError, match=f"entry = watered, .*the book cannot keep it: .*{rule}"):
        encode_entry(said(Watered(trays=("S.1",), ml=value)))


def test_text_that_is_no_text_is_refused():
    with pytest.raises(InputError, match="the book cannot keep it"):
        encode_entry(said(Note(text="\ud800")))


def test_a_state_comes_back_as_it_was_with_its_trays_in_the_order_they_were_sown():
    told = lantern_loft()
    told.say(*(sowing(name, None, None) for name in ("B", "A", "C")))
    data = encode_state(told.state)
    again = decode_state(data)
    assert again == told.state
    assert [tray.tray for tray in again.growing()] == ["B.1", "B.2", "A.1", "A.2", "C.1", "C.2"]
    assert encode_state(again) == data


def test_sets_in_a_state_are_written_sorted():
    told = lantern_loft()
    recipes = [body.recipe for body in setting_up() if isinstance(body, RecipeSet)]
    for name in ("pea", "beet", "kale"):
        told.say(RecipeSet(recipe=msgspec.structs.replace(recipes[0], name=name), dropped=True))
    assert b'"dropped_recipes":["beet","kale","pea"]' in encode_state(told.state)


def test_bytes_that_are_no_state_are_refused():
    with pytest.raises(BookError, match="Rebuild it from the book"):
        decode_state(b'{"trays": 3}')
