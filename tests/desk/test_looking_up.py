"""Reading the book back: what names mean in it, who took which entry back, and what a lot went through."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest

from trayward import Farm
from trayward.desk.looking_up import DEEDS, subjects_named
from trayward.errors import NotFoundError
from trayward.farm.entries import KINDS

AT = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)


@pytest.fixture
def farm() -> Iterator[Farm]:
    with Farm.create(":memory:", "shelf", at=AT) as farm:
        yield farm


def test_every_kind_of_entry_stands_under_one_word_of_the_growers() -> None:
    assert sorted(kind for kinds in DEEDS.values() for kind in kinds) == sorted(KINDS)


def test_a_name_means_a_tray_a_spot_or_a_whole_sowing(farm: Farm) -> None:
    sowing, first, second = farm.sow("broccoli", 2, at=AT).names
    state = farm.state(AT)
    spot = state.trays[first].spot
    assert spot is not None
    assert subjects_named(state, first) == subjects_named(state, spot) == [f"tray:{first}"]
    assert farm.subjects_of(sowing, AT) == (f"sowing:{sowing}", f"tray:{first}", f"tray:{second}")
    assert farm.subjects_of(f" {first.lower()} ", AT) == (f"tray:{first}",)
    assert farm.subjects_of("moon cress", AT) == farm.subjects_of("", AT) == ()


def test_a_crop_means_its_recipes_too(farm: Farm) -> None:
    state = farm.state(AT)
    recipe = next(name for name, recipe in state.recipes.items() if recipe.crop == "broccoli")
    assert f"recipe:{recipe}" in farm.subjects_of("broccoli", AT)


def test_what_is_gone_from_the_farm_is_still_a_name_in_the_book(farm: Farm) -> None:
    sowing, tray = farm.sow("broccoli", 1, at=AT).names
    entry = farm.book.about(f"tray:{tray}")[0].entry.id
    farm.strike(entry, "never sown", at=AT + timedelta(minutes=5))
    assert farm.state(AT + timedelta(minutes=5)).tray(tray) is None
    assert farm.subjects_of(tray, AT + timedelta(minutes=5)) == (f"tray:{tray}",)
    assert sowing


def test_a_struck_entry_says_who_struck_it_and_why_until_that_is_struck(farm: Farm) -> None:
    wrong = farm.note("looks well", (), at=AT, by="Ida").kept[0]
    strike = farm.strike(wrong.entry.id, "it did not", at=AT, by="Maren").kept[0]
    (told,) = farm.told([wrong], AT)
    assert told.words == "Note: looks well."
    assert told.taken_back is not None
    assert (told.taken_back.by, told.taken_back.reason) == ("Maren", "it did not")
    assert told.taken_back.entry == strike.entry.id
    (of_strike,) = farm.told([strike], AT)
    assert "took back “note: looks well”" in of_strike.words.lower()
    farm.strike(strike.entry.id, "it did", at=AT, by="Ida")
    assert farm.told([wrong], AT)[0].taken_back is None


def test_a_harvest_lot_nobody_cut_is_not_found(farm: Farm) -> None:
    with pytest.raises(NotFoundError, match="harvest lot 'H1'"):
        farm.harvest_story("H1", AT)


def test_recipes_begin_with_what_the_setup_says_of_them(farm: Farm) -> None:
    lessons = farm.recipes_learned(AT)
    assert {one.recipe for one in lessons} == set(farm.state(AT).recipes)
    for one in lessons:
        assert (one.cut, one.seen) == (0, 0)
        assert one.grams == one.began_grams, "no tray has taught anything"
        assert one.days == one.began_days
        assert one.days.low <= one.days.likely <= one.days.high
