"""Supplies at a terminal: set up, received, counted, thrown away; what to order, of seed too."""

from __future__ import annotations

import pytest

from tests.cli.conftest import Typed


@pytest.fixture
def coir(shelf: Typed) -> Typed:
    """A farm that grows on coir, 100 g a tray of any, and has 2 kg of it."""
    shelf("stores", "set", "coir", "--kind", "medium", "--unit", "g", "--takes", "tray 100 g", "--keep", "500 g")
    shelf("stores", "receive", "coir", "2 kg", "--cost", "3.00", "--lot", "C1", "--best-before", "2027-06-01")
    return shelf


def test_it_works(coir: Typed) -> None:
    said = coir("stores")
    assert "coir" in said
    assert "2 kg" in said
    assert "broccoli seed" in said


def test_a_sowing_takes_its_medium_and_a_count_corrects_the_record(coir: Typed) -> None:
    coir("sow", "broccoli", "--trays", "2")
    assert coir.json("stores", "show", "coir")["lots"]["C1"]["left"] == 1800
    said = coir("stores", "count", "coir", "1.5 kg")
    assert "Counted coir: 1.5 kg." in said
    assert "300 g went unexplained" in said
    shown = coir("stores", "show", "coir")
    assert "C1: 1.5 kg, best before" in shown
    assert "use first" in shown
    assert "300 g unexplained" in shown


def test_used_and_thrown_away_are_taken_off(coir: Typed) -> None:
    coir("stores", "use", "coir", "200 g", "--reason", "potting up")
    coir("stores", "throw", "coir", "300 g", "--reason", "got wet")
    assert coir.json("stores", "show", "coir")["lots"]["C1"]["left"] == 1500
    assert "has one" in coir.refused("stores", "throw", "coir", "300 g", "--reason", " ", code=2)


def test_a_count_with_a_figure_too_many_is_asked_about(coir: Typed) -> None:
    assert "the book expects 2 kg" in coir.refused("stores", "count", "coir", "20 kg", code=1)
    coir("stores", "count", "coir", "20 kg", "--sure")


def test_what_is_short_is_ordered_with_reasons(coir: Typed) -> None:
    coir("stores", "offer", "coir", "Quay Supplies", "--pack", "5 kg 6.00", "--pack", "25 kg 21.00", "--lead", "6")
    coir("stores", "count", "coir", "400 g", "--sure")
    coir("stores", "use", "coir", "300 g")
    said = " ".join(coir("stores", "order").split())
    assert "coir: 100 g" in said
    assert "Order now: it takes 6 days to come." in said
    assert "of Quay Supplies" in said
    assert "dearer over two years" in said
    found = coir.json("stores", "order", "--all")["order"]
    advice = next(each for each in found if each["thing"] == "coir")
    assert advice["order"]["cost"] in ("6.00", "12.00", "21.00")


def test_seed_is_ordered_by_what_suppliers_ask(shelf: Typed) -> None:
    shelf("stores", "offer", "broccoli", "Hillside Seeds", "--seed", "--pack", "250 g 8.00", "--pack", "1 kg 24.00")
    assert "Hillside Seeds" in shelf("book", "show", "--last", "3")
    refused = shelf.refused("stores", "offer", "turnip", "Hillside Seeds", "--seed", "--pack", "1 kg 9", code=2)
    assert "grows nothing of that name" in refused


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("count", "none", "3"), "supply"),
        (("receive", "coir", "3 apples"), "amount"),
        (("set", "coir", "--takes", "box 3"), "begins with one of"),
        (("offer", "coir", "Quay Supplies", "--pack", "5 kg"), "what a pack holds and its price"),
        (("receive", "coir", "1 kg", "--lot", "C1"), "received once"),
    ],
)
def test_what_cannot_be_is_refused_with_the_way_out(coir: Typed, words: tuple[str, ...], told: str) -> None:
    result = coir.run("stores", *words)
    assert result.exit_code != 0
    assert told in result.stderr
