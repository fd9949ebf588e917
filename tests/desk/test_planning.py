"""The plan kept, the round's rows found, and what happened to a tray and a seed lot, in words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import msgspec
import pytest

from trayward.bootstrap import Farm
from trayward.errors import BookError, NotFoundError
from trayward.farm.entries import FarmSet
from trayward.plan.decide import Effort
from trayward.store import open_book

MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


@pytest.fixture
def farm() -> Iterator[Farm]:
    with Farm.create(":memory:", "shelf", at=MORNING) as made:
        yield made


def test_a_kept_plan_is_found_again_and_an_unkept_one_is_not(farm: Farm) -> None:
    plan = farm.plan(MORNING)
    assert farm.kept_plan(MORNING) is None
    farm.keep_plan(plan, at=MORNING + HOUR)
    assert farm.kept_plan(MORNING + HOUR) == plan
    assert farm.kept_plan(MORNING) is None, "an hour earlier nobody had kept it"


def test_planning_and_walking_record_nothing(farm: Farm) -> None:
    before = farm.book.head()
    farm.plan(MORNING)
    farm.round(MORNING)
    farm.outlook(MORNING)
    assert farm.book.head() == before


def test_a_row_is_found_by_its_number_or_its_name(farm: Farm) -> None:
    farm.sow("broccoli", 1, at=MORNING)
    farm.sow("radish", 1, at=MORNING)
    at = MORNING + DAY
    rows = farm.round(at).rows
    assert len(rows) >= 2
    for row in rows:
        assert farm.row(str(row.number), at) == farm.row(row.row, at) == row
    for name in ("0", "99", "look-nothing", ""):
        with pytest.raises(NotFoundError, match=rf"row '{name}'"):
            farm.row(name, at)


def test_a_trays_story_is_told_in_the_order_of_happening(farm: Farm) -> None:
    name = farm.sow("broccoli", 1, at=MORNING).names[1]
    farm.answer([name], moisture="moist", at=MORNING + 2 * DAY)
    farm.answer([name], moisture="dry", at=MORNING + DAY, recorded=MORNING + 2 * DAY)
    story = farm.story(name, MORNING + 2 * DAY)
    assert [line.at for line in story] == sorted(line.at for line in story)
    assert [line.words.partition(",")[0] for line in story] == ["Wed 25 Nov", "Thu 26 Nov", "Thu 26 Nov", "Fri 27 Nov"]
    assert len(farm.story(name, MORNING + DAY)) == 3, "what happened later is not told yet"


def test_a_struck_line_stays_in_the_story_and_is_marked(farm: Farm) -> None:
    name = farm.sow("broccoli", 1, at=MORNING).names[1]
    wrong = farm.discard([name], "mould", at=MORNING + HOUR).kept[0].entry.id
    strike = farm.strike(wrong, "it was root hairs", at=MORNING + 2 * HOUR).kept[0].entry.id
    story = {line.entry: line for line in farm.story(name, MORNING + 2 * HOUR)}
    assert (story[wrong].struck, story[strike].struck) == (True, False)
    assert "it was root hairs" in story[strike].words


def test_a_strike_that_was_struck_itself_no_longer_marks_the_line(farm: Farm) -> None:
    name = farm.sow("broccoli", 1, at=MORNING).names[1]
    right = farm.discard([name], "mould", at=MORNING + HOUR).kept[0].entry.id
    strike = farm.strike(right, "it was root hairs", at=MORNING + 2 * HOUR).kept[0].entry.id
    farm.strike(strike, "it was mould", at=MORNING + 3 * HOUR)
    assert farm.state(MORNING + 3 * HOUR).ended[name].fate == "discarded"
    story = {line.entry: line.struck for line in farm.story(name, MORNING + 3 * HOUR)}
    assert (story[right], story[strike]) == (False, True)


def test_a_tray_whose_sowing_was_struck_still_has_its_story(farm: Farm) -> None:
    receipt = farm.sow("broccoli", 1, at=MORNING)
    farm.strike(receipt.kept[0].entry.id, "that was kale", at=MORNING + HOUR)
    assert farm.state(MORNING + HOUR).tray(receipt.names[1]) is None
    assert [line.struck for line in farm.story(receipt.names[1], MORNING + HOUR)] == [True, False]


def test_a_story_may_be_asked_by_the_trays_spot(farm: Farm) -> None:
    name = farm.sow("broccoli", 1, at=MORNING).names[1]
    assert farm.story("K1.1", MORNING) == farm.story(name, MORNING)
    with pytest.raises(NotFoundError, match=r"tray '261125B\.1'"):
        farm.story("261125B.1", MORNING)


def test_a_seed_lots_story_marks_the_sowing_that_was_struck(farm: Farm) -> None:
    receipt = farm.sow("broccoli", 1, grams_per_tray=20.0, at=MORNING)
    farm.strike(receipt.kept[0].entry.id, "that was kale", at=MORNING + HOUR)
    story = farm.lot_story("K-BRO-1", MORNING + HOUR)
    assert [line.struck for line in story] == [False, True, False]
    assert "that was kale" in story[-1].words
    assert farm.state(MORNING + HOUR).seed["K-BRO-1"].left_g == 250.0
    with pytest.raises(NotFoundError, match="seed lot 'K-BRO-9'"):
        farm.lot_story("K-BRO-9", MORNING)


def test_a_book_without_a_farm_says_how_to_set_one_up() -> None:
    with Farm(open_book(":memory:", create=True)) as bare:
        for call in (bare.plan, bare.round, bare.settings):
            with pytest.raises(BookError, match="trayward init --setup loft"):
                call(MORNING)


# In the farm's own units ----------------------------------------------------------------------------------------------

IN_GRAMS = re.compile(r"\d k?g\b")


def on_ounces(name: str) -> Farm:
    farm = Farm.create(":memory:", name, at=MORNING)
    settings = farm.settings(MORNING)
    units = msgspec.structs.replace(settings.units, mass="oz")
    farm.record(FarmSet(settings=msgspec.structs.replace(settings, units=units)), at=MORNING)
    return farm


def sentences(told: object) -> list[str]:
    """Every word or sentence somewhere inside."""
    if isinstance(told, str):
        return [told]
    parts = told.values() if isinstance(told, dict) else told if isinstance(told, list | tuple) else ()
    return [words for part in parts for words in sentences(part)]


def test_on_a_farm_of_ounces_the_plan_says_ounces_in_every_sentence() -> None:
    quick = Effort(proof_seconds=0)
    with on_ounces("loft") as farm:
        told = sentences(msgspec.to_builtins(farm.plan(MORNING, weeks=3, effort=quick)))
    assert [words for words in told if IN_GRAMS.search(words)] == []
    assert any(re.search(r"\d oz\b", words) for words in told)


def test_what_if_is_told_in_ounces_there_too() -> None:
    with on_ounces("shelf") as farm:
        told = farm.what_if("200 g more radish seed on 10 Dec", at=MORNING, weeks=3)
    assert [words for words in told.what_if if "7.1 oz" in words] == list(told.what_if)
    assert [words for words in sentences(msgspec.to_builtins(told)) if IN_GRAMS.search(words)] == []


def test_the_unit_of_one_farm_is_not_that_of_the_next() -> None:
    with on_ounces("shelf") as farm, Farm.create(":memory:", "shelf", at=MORNING) as other:
        farm.plan(MORNING, weeks=3)
        told = sentences(msgspec.to_builtins(other.plan(MORNING, weeks=3)))
    assert any(IN_GRAMS.search(words) for words in told)
