"""Rules on the terminal."""

from __future__ import annotations

from datetime import datetime

import msgspec

from tests.cli.conftest import Typed
from trayward import Farm
from trayward.farm.entries import FarmSet

DEFER = "Defer to local codes and licensed practice."


def test_it_works(shelf: Typed) -> None:
    said = " ".join(shelf("rules", "--country", "US", "--produce", "30000").split())
    assert "May apply: Produce Safety Rule" in said
    assert "Training: none in the last year" in said
    assert said.endswith(DEFER)


def test_without_a_country_it_asks_for_one(shelf: Typed) -> None:
    said = " ".join(shelf("rules").split())
    assert "Say where the farm is" in said
    assert said.endswith(DEFER)


def test_in_json_the_facts_readings_and_thresholds_are_there(shelf: Typed) -> None:
    told = shelf.json(
        "rules", "--country", "US", "--crop", "broccoli", "--listed", "broccoli=no:a brassica shoot",
        "--set", "us_not_covered=33,000", "--produce", "30000", "--near-share", "90", "--food", "30000",
    )  # fmt: skip
    leanings = {each["key"]: each["leaning"] for each in told["readings"]}
    assert leanings["us_produce"] == "does not seem to apply"
    assert leanings["us_qualified"] == "may apply"
    assert {each["key"]: each["value"] for each in told["thresholds"]}["us_not_covered"] == 33000
    assert told["defer"].endswith(DEFER)


def test_what_cannot_be_read_is_refused(shelf: Typed) -> None:
    assert "no recipe of it" in shelf.refused("rules", "--crop", "moss", code=2)
    assert "no amount" in shelf.refused("rules", "--set", "us_small=much", code=2)
    assert "with a reason" in shelf.refused("rules", "--listed", "broccoli=yes", code=2)


def kept(shelf: Typed, answers: str) -> None:
    """The answers kept on the page of rules."""
    with Farm.open(shelf.book) as farm:
        at = datetime.fromisoformat(shelf.now)
        settings = msgspec.structs.replace(farm.settings(at), rules=answers)
        farm.record(FarmSet(settings=settings), at=at)


def test_answers_kept_on_the_page_count_and_what_is_said_here_goes_before_them(shelf: Typed) -> None:
    kept(shelf, "country=US&produce=30000&set-us_not_covered=33000&stage=before+true+leaves")
    told = shelf.json("rules")
    assert {each["key"]: each["leaning"] for each in told["readings"]}["us_produce"] == "does not seem to apply"
    assert {crop["stage"] for crop in told["facts"]["crops"]} == {"before true leaves"}
    assert "By the answers kept on the page of rules: country US; produce 30000" in " ".join(shelf("rules").split())
    more = shelf.json("rules", "--produce", "40000", "--stage", "at true leaves")
    assert {each["key"]: each["leaning"] for each in more["readings"]}["us_produce"] == "may apply"
    assert {crop["stage"] for crop in more["facts"]["crops"]} == {"at true leaves"}
    assert shelf.json("rules", "--anew")["readings"] == []
