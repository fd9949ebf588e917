"""What a tray weighed after its last watering, and since."""

from __future__ import annotations

from datetime import timedelta

from tests.farm.told import START, entry
from trayward.farm.entries import Body, Entry, Fed, Measured, Struck, Watered
from trayward.rounds.weights import tray_weights


def said(*bodies: Body) -> list[Entry]:
    return [entry(number, body, START + timedelta(minutes=number)) for number, body in enumerate(bodies)]


def weighed(grams: float, *trays: str) -> Measured:
    return Measured(trays=trays or ("S.1",), what="weight_g", value=grams, unit="g")


WATER = Watered(trays=("S.1",), ml=400.0)


def test_the_first_weight_after_the_last_watering_is_full_and_the_last_is_now() -> None:
    found = tray_weights("S.1", said(weighed(1900), WATER, weighed(2690), weighed(2500), weighed(2310)))
    assert (found.full_g, found.now_g) == (2690, 2310)
    assert found.watered == START + timedelta(minutes=1)


def test_feed_counts_as_watering_and_earlier_weights_no_longer() -> None:
    found = tray_weights("S.1", said(WATER, weighed(2690), weighed(2310), Fed(trays=("S.1",), ml=300.0), weighed(2650)))
    assert (found.full_g, found.now_g) == (2650, None)


def test_other_trays_and_other_measures_say_nothing() -> None:
    height = Measured(trays=("S.1",), what="height_mm", value=40.0, unit="mm")
    found = tray_weights("S.1", said(WATER, height, weighed(2690, "S.2")))
    assert (found.full_g, found.now_g) == (None, None)


def test_a_weight_before_any_watering_is_not_taken_for_full() -> None:
    assert tray_weights("S.1", said(weighed(1900))).full_g is None


def test_what_was_struck_counts_no_more() -> None:
    told = said(WATER, weighed(269), weighed(2690), weighed(2310))
    told += [entry(9, Struck(entry=told[1].id, reason="a slip"), START + timedelta(minutes=9))]
    found = tray_weights("S.1", told)
    assert (found.full_g, found.now_g) == (2690, 2310)
