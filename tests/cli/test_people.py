"""What people type is understood: names with amounts, rows, spoons."""

from __future__ import annotations

import pytest

from tests.cli.conftest import Typed
from trayward.cli.people import counted, grams_of, names, number, pairs, row_numbers
from trayward.cli.walking import Heard, hear
from trayward.errors import InputError
from trayward.farm.settings import ShownUnits

METRIC, US = ShownUnits(), ShownUnits(mass="oz", volume="cup", temperature="F", length="in")


def test_each_tray_gets_its_grams() -> None:
    found = grams_of(["261125A.1=95g", "261125A.2 = 3.4 oz"], METRIC, "")
    assert found == pytest.approx({"261125A.1": 95.0, "261125A.2": 96.388}, abs=0.001)


def test_a_bare_number_is_in_the_farms_own_unit() -> None:
    assert grams_of(["a=95"], METRIC, "") == {"a": 95.0}
    assert grams_of(["a=2"], US, "") == pytest.approx({"a": 56.699}, abs=0.001)


@pytest.mark.parametrize("word", ["261125A.1", "=95", "261125A.1=", "a b=3"])
def test_what_is_no_pair_is_refused(word: str) -> None:
    with pytest.raises(InputError, match=r"it must be a name, =, and what it gets\. For instance x=1 g\."):
        pairs([word], "x=1 g")


def test_naming_a_tray_twice_is_refused() -> None:
    with pytest.raises(InputError, match=r"a is named twice"):
        pairs(["a=1", "a=2"], "")


@pytest.mark.parametrize(
    ("text", "rows"), [("3", [3]), ("1,2,5-7", [1, 2, 5, 6, 7]), ("all", [1, 2, 3, 4, 5, 6, 7]), ("2, 2-3", [2, 3])]
)
def test_rows_are_named_by_number_span_or_all(text: str, rows: list[int]) -> None:
    assert row_numbers(text, 7) == rows


@pytest.mark.parametrize("text", ["8", "0", "5-9", "three", "", "7-5"])
def test_rows_that_are_not_there_are_refused(text: str) -> None:
    with pytest.raises(InputError, match=r"the round has rows 1 to 7|they must be numbers of rows"):
        row_numbers(text, 7)


def test_a_test_says_how_many_of_how_many() -> None:
    for said in ("43 of 50", "43/50", "43 OUT OF 50", "43 de 50", "43 De 50"):
        assert counted(said) == (43, 50)
    with pytest.raises(InputError, match=r"it must say how many of how many"):
        counted("86 %")
    with pytest.raises(InputError, match=r"it cannot be more than were tested"):
        counted("51 of 50")


def test_numbers_take_a_decimal_comma() -> None:
    assert number("5,8", "pH") == 5.8
    with pytest.raises(InputError, match=r"pH = sour: it must be a number"):
        number("sour", "pH")


def test_names_are_told_apart_by_commas() -> None:
    assert names("A1.1, A1.2,") == ["A1.1", "A1.2"]
    assert names(None) is None


def test_the_words_of_an_answer_are_understood_together() -> None:
    assert hear(["not-yet", "dry", "problem", "mould"]) == Heard(cue="not yet", moisture="dry", problem="mould")
    assert hear(["cut", "95", "101 g"]) == Heard(cut=True, weights=("95", "101 g"))
    with pytest.raises(InputError, match=r"answer = maybe: it is no answer to a row"):
        hear(["maybe"])
    with pytest.raises(InputError, match=r"answer = problem: it is no answer"):
        hear(["problem"])


def seed_taken(typed: Typed, *words: str) -> float:
    """Grams of seed on each tray of what was just sown."""
    [kept] = typed.json("sow", *words)["kept"]
    return float(sum(used["grams"] for used in kept["says"]["lots"]) / len(kept["says"]["trays"]))


def test_two_tablespoons_of_broccoli_seed_are_twenty_grams(shelf: Typed) -> None:
    """Within 10 %, as weighed: common practice, no source. The bulk density is the library's."""
    assert seed_taken(shelf, "broccoli", "--trays", "2", "--grams", "2 tbsp") == pytest.approx(20.0, rel=0.1)


def test_ounces_of_seed_are_grams_in_the_book(shelf: Typed) -> None:
    assert seed_taken(shelf, "broccoli", "--grams", "0.75 oz") == pytest.approx(21.26, abs=0.01)


def test_spoons_of_seed_nobody_weighed_are_refused_with_a_way_out(shelf: Typed) -> None:
    shelf("crop", "set", "broccoli", "bulk_density_g_per_ml", "0.9")
    assert seed_taken(shelf, "broccoli", "--grams", "1 tbsp") == pytest.approx(14.787 * 0.9, abs=0.01)
    shelf("seed", "receive", "C1", "cress", "100 g")
    said = shelf.refused("seed", "receive", "C2", "cilantro", "2 cups", code=2)
    assert "no bulk density is known" in said


def test_people_units_reach_the_book_in_its_own(shelf: Typed) -> None:
    shelf("sow", "broccoli")
    watered = shelf.json("water", "261125A", "1/4 cup", "--below")["kept"][0]["says"]
    assert (watered["ml"], watered["way"]) == (pytest.approx(59.15, abs=0.01), "below")
    read = shelf.json("reading", "temperature", "70 F", "--where", "K1")["kept"][0]["says"]
    assert read["value"] == pytest.approx(21.11, abs=0.01)
    measured = shelf.json("measure", "261125A.1", "height", "2 in")["kept"][0]["says"]
    assert (measured["what"], measured["value"], measured["unit"]) == ("height_mm", pytest.approx(50.8), "mm")
    tested = shelf.json("seed", "test", "K-BRO-1", "--sprouted", "43 of 50", "--days", "4")["kept"][0]["says"]
    assert (tested["sprouted"], tested["tested"], tested["days"]) == (43, 50, 4)
