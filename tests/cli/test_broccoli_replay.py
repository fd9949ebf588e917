"""One tray of broccoli on a mesh mat, from the morning it is sown to the washed mat, through the command line.

The stages, their cues and their days, the water from below once uncovered, the height of the cut and the 95 g are
common practice, no source.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from tests.cli.conftest import Typed

TRAY = "261125A.1"
MORE_SHOOT = "More yellow shoot than brown seed?"
STRAIGHT = "Tall and straight?"
CANOPY = "Canopy right to cut?"
FIRST_DAY = date(2026, 11, 25)


def go_to(typed: Typed, day: int, walk: str) -> None:
    """Set the clock to a walk of a day of the tray's life; the day it is sown is day 1."""
    clock = {"morning": "07:30", "evening": "19:30"}[walk]
    typed.now = f"{FIRST_DAY + timedelta(days=day - 1)}T{clock}:00+00:00"


def rows_of_tray(typed: Typed) -> list[dict[str, Any]]:
    return [row for row in typed.json("round")["rows"] if TRAY in row["trays"]]


def the_row(typed: Typed, day: int, walk: str) -> dict[str, Any]:
    """The one row that asks about the tray at a walk."""
    go_to(typed, day, walk)
    found = rows_of_tray(typed)
    assert len(found) == 1, f"day {day} {walk}"
    return found[0]


def amounts(row: dict[str, Any]) -> dict[str, float]:
    return {amount["what"]: amount["value"] for amount in row["amounts"]}


def likely_grams(typed: Typed) -> float:
    return float(typed.json("outlook", "--proposed", "broccoli")["trays"][0]["grams"]["likely"])


def test_a_tray_of_broccoli_from_the_seed_to_the_washed_mat(shelf: Typed) -> None:
    go_to(shelf, 1, "morning")
    before = likely_grams(shelf)

    # Day 1: sow, cover and weight.
    sown = shelf.json("sow", "broccoli", "--grams", "20 g")
    assert sown["names"] == ["261125A", TRAY]
    assert rows_of_tray(shelf) == [], "a tray just sown was seen to"
    row = the_row(shelf, 1, "evening")
    assert (row["stage"], row["place"], row["spots"]) == ("germinate", "K1", ["K1.1"])
    assert f"{row['do']}. {row['how']}".startswith(
        "Look: broccoli, 1 tray. Lift cover and weight, mist if dry, cover and weight back on."
    )
    assert amounts(row)["weight on the cover"] > 0
    shelf("round", "answer", row["row"], "dry")
    assert rows_of_tray(shelf) == [], "nothing is asked twice"

    # Day 2: looked at and misted, morning and evening; too early to ask for shoots.
    for walk in ("morning", "evening"):
        row = the_row(shelf, 2, walk)
        assert (row["stage"], row["cue"]) == ("germinate", "")
        assert amounts(row)["mist"] > 0
        shelf("round", "answer", row["row"], "dry")

    # Day 3: it could be early, so the question comes; not yet.
    for walk in ("morning", "evening"):
        row = the_row(shelf, 3, walk)
        assert (row["stage"], row["cue"]) == ("germinate", MORE_SHOOT)
        assert amounts(row)["mist"] > 0
        shelf("round", "answer", row["row"], "not-yet", "moist")

    # Day 4: not yet in the morning; more shoot than seed in the evening, and the cover is turned over.
    row = the_row(shelf, 4, "morning")
    assert row["cue"] == MORE_SHOOT
    shelf("round", "answer", row["row"], "not-yet", "dry")
    row = the_row(shelf, 4, "evening")
    assert row["cue"] == MORE_SHOOT
    assert "turn the cover over" in row["how"]
    said = shelf("round", "answer", row["row"], "ready", "--emerged", "90 %")
    assert f"{TRAY}: now blackout." in said

    # Day 5: in the dark under the turned cover; tall and straight in the evening, and into the light.
    row = the_row(shelf, 5, "morning")
    assert (row["stage"], row["cue"], row["spots"]) == ("blackout", STRAIGHT, ["K1.1"])
    assert "mist" not in amounts(row)
    shelf("round", "answer", row["row"], "not-yet")
    row = the_row(shelf, 5, "evening")
    assert (row["stage"], row["cue"]) == ("blackout", STRAIGHT)
    assert row["to"] == ["K2.1"]
    said = shelf("round", "answer", row["row"], "ready", "--height", "2 in")
    assert f"Moved {TRAY} to K2.1." in said

    # Days 6 to 8: in the light, watered from below and never over the top.
    for day, walk in [(day, walk) for day in (6, 7, 8) for walk in ("morning", "evening")]:
        row = the_row(shelf, day, walk)
        assert (row["stage"], row["place"]) == ("light", "K2")
        assert amounts(row)["water below"] > 0
        assert "mist" not in amounts(row)
        assert "never over the top" in row["how"]
        assert row["cue"] in ("", CANOPY)
        answer = ["not-yet"] if row["cue"] else []
        shelf("round", "answer", row["row"], *answer, "dry" if walk == "morning" else "moist")

    # Day 9: the canopy is right; cut between 1/2 in and 1 in above the mat, 95 g.
    row = the_row(shelf, 9, "morning")
    assert (row["stage"], row["cue"]) == ("light", CANOPY)
    shelf("round", "answer", row["row"], "ready")
    [row] = rows_of_tray(shelf)
    assert f"{row['do']}. {row['how']}".startswith("Cut: broccoli, 1 tray. Cut 13 to 25 mm above the mat")
    said = shelf("round", "answer", row["row"], "cut", "95 g", "--height", "1/2 in")
    assert "H261203A" in said

    # Wash-up: strip, then wash what it stood in; the mat dries a day.
    [row] = rows_of_tray(shelf)
    assert row["do"] == "Strip: broccoli, 1 tray"
    shelf("round", "answer", row["row"], "done")
    assert rows_of_tray(shelf) == []
    to_wash = {row["row"] for row in shelf.json("round")["rows"] if row["do"].startswith("Wash: ")}
    assert {"wash-mesh-mat", "wash-mesh-tray", "wash-cover"} <= to_wash
    for name in to_wash:
        shelf("round", "answer", name, "done")
    mats = {pool["pool"]: pool for pool in shelf.json("kit")["kit"]}["mesh mat"]
    assert (mats["dirty"], mats["drying"], mats["ready"]) == (0, 1, mats["count"] - 1)
    go_to(shelf, 11, "morning")
    mats = {pool["pool"]: pool for pool in shelf.json("kit")["kit"]}["mesh mat"]
    assert mats["ready"] == mats["count"]

    # The book tells it, and the outlook of the next tray has moved toward what this one gave.
    assert_told(shelf)
    after = likely_grams(shelf)
    assert 95 < after < before


def assert_told(shelf: Typed) -> None:
    story = [line["words"] for line in shelf.json("tray", "story", TRAY)["story"]]
    told = "\n".join(story)
    in_order = [
        "Wed 25 Nov, morning, day 1: sown, 20 g of lot K-BRO-1, on K1.1, covered and weighted.",
        "Wed 25 Nov, evening, day 1: misted, 30 ml.",
        "Sat 28 Nov, evening, day 4: blackout begins",
        "Sun 29 Nov, evening, day 5: light begins, uncovered.",
        "Sun 29 Nov, evening, day 5: moved from K1.1 to K2.1.",
        "Mon 30 Nov, morning, day 6: watered below",
        "Thu 3 Dec, morning, day 9: cut at 12.7 mm, 95 g, harvest lot H261203A.",
        "Thu 3 Dec, morning, day 9: stripped",
    ]
    places = [told.find(words) for words in in_order]
    assert -1 not in places, f"not told: {in_order[places.index(-1)]}\n{told}"
    assert places == sorted(places)
