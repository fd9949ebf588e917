"""What is new of a record is read on from where it was read to, also where something late made another state."""

from __future__ import annotations

from trayward.farm.fresh import Fresh


def test_what_is_added_is_read_once() -> None:
    fresh, held = Fresh[str](), {"a": "one", "b": "two"}
    assert fresh.of(held) == (True, ["one", "two"])
    assert fresh.of(held) == (False, [])
    held["c"] = "three"
    assert fresh.of(held) == (False, ["three"])


def test_another_record_that_begins_alike_is_read_on() -> None:
    fresh, held = Fresh[str](), ["one", "two"]
    fresh.of(held)
    assert fresh.of(["one", "two", "three"]) == (False, ["three"])
    assert fresh.of({"a": "one", "b": "two", "c": "three", "d": "four"}) == (False, ["four"])


def test_another_record_that_begins_otherwise_is_read_from_its_start() -> None:
    fresh = Fresh[str]()
    fresh.of(["one", "two"])
    assert fresh.of(["one", "late", "two"]) == (True, ["one", "late", "two"])
    assert fresh.of(["one"]) == (True, ["one"])
    assert fresh.of(["one", "two"]) == (False, ["two"])


def test_what_was_taken_out_of_a_record_is_noticed_where_it_is_shorter() -> None:
    fresh, held = Fresh[str](), ["one", "two"]
    fresh.of(held)
    held.pop()
    assert fresh.of(held) == (True, ["one"])
