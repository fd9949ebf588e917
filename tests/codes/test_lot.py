"""Lot codes: short, protected and readable aloud."""

from __future__ import annotations

from itertools import pairwise

import pytest

from trayward.codes.lot import ALPHABET, LOOK_ALIKE, check_character, coded, is_code, read, slips, spoken
from trayward.desk.naming import next_name
from trayward.errors import InputError

NAMES = ("H261125A", "P261204B", "261125A.12", "D261127A", "B1", "H261231ZZ", "radish lot 7")
FOLDED = {**{letter: letter for letter in ALPHABET}, **LOOK_ALIKE}


def test_a_name_of_every_kind_is_coded_and_read_back() -> None:
    for name in NAMES:
        assert read(coded(name)) == name
        assert coded(name).startswith(name)
        assert len(coded(name)) == len(name) + 2


def test_what_the_farm_names_today_stays_as_it_is() -> None:
    from datetime import date

    name = next_name(date(2026, 11, 25), (), "H")
    assert read(coded(name)) == name == "H261125A"


@pytest.mark.parametrize("name", NAMES)
def test_any_character_mistaken_for_another_is_caught(name: str) -> None:
    # All 36 characters at every place, the check character's too; only characters that look alike count as one.
    code = coded(name)
    for place, right in enumerate(code):
        for wrong in FOLDED:
            if right.upper() in FOLDED and FOLDED[wrong] != FOLDED[right.upper()]:
                assert not is_code(f"{code[:place]}{wrong}{code[place + 1 :]}"), (code, place, wrong)


def test_any_two_neighbours_that_change_places_are_caught() -> None:
    # Every pair of different characters at every place of a name of eight, with what stands before and behind changing.
    for place in range(7):
        for one in ALPHABET:
            for other in ALPHABET:
                name = list("H261125A")
                name[place : place + 2] = [one, other]
                swapped = [*name[:place], other, one, *name[place + 2 :]]
                if one != other:
                    assert check_character("".join(name)) != check_character("".join(swapped))


def test_the_check_character_changing_places_with_the_last_is_caught() -> None:
    for last in ALPHABET:
        name = f"H261125{last}"
        check = check_character(name)
        if check != last:
            assert not is_code(f"H261125{check}{last}")


def test_characters_that_change_places_over_one_between_are_caught_too() -> None:
    for one in ALPHABET:
        for other in ALPHABET:
            if one != other:
                assert check_character(f"H{one}6{other}") != check_character(f"H{other}6{one}")


def test_characters_that_look_alike_are_one() -> None:
    for written, seen in (("H261125I", "H2611251"), ("H261125O", "H2611250"), ("H261125L", "H2611251"), ("U1", "V1")):
        assert check_character(written) == check_character(seen)


def test_no_check_character_looks_like_another() -> None:
    assert not set(ALPHABET) & set("ILOU")
    assert len(set(ALPHABET)) == 32


def test_the_check_characters_are_spread_over_all_of_them() -> None:
    from datetime import date, timedelta

    days = [date(2026, 1, 1) + timedelta(days=days) for days in range(365)]
    found = [check_character(next_name(day, (), "H")) for day in days]
    assert len(set(found)) == 32
    assert not any(before == after for before, after in pairwise(found))


def test_blanks_small_letters_and_a_missing_dash_are_forgiven() -> None:
    code = coded("H261125A")
    for typed in (f"  {code} ", code.lower(), code.replace("-", ""), code.replace("-", "–"), code.replace("-", " - ")):
        assert read(typed).upper() == "H261125A"


def test_a_name_with_marks_on_its_letters_is_coded_as_if_without() -> None:
    assert check_character("Frühe Kresse 2") == check_character("FRUHE KRESSE 2")


def test_a_wrong_check_character_is_refused_and_the_likely_slip_named() -> None:
    check = check_character("H261125A")
    with pytest.raises(InputError, match=r"2 and 5 likely changed places|5 and 2 likely changed places: H261125A-"):
        read(f"H261152A-{check}")
    with pytest.raises(InputError, match=rf"8 was likely B: H261125B-{check_character('H261125B')}"):
        read(f"H2611258-{check_character('H261125B')}")


def test_only_slips_to_names_the_farm_has_are_offered() -> None:
    check = check_character("H261125A")
    with pytest.raises(InputError, match="Read it off the label again"):
        read(f"H261152A-{check}", known=frozenset[str]().__contains__)
    with pytest.raises(InputError, match=f"likely changed places: H261125A-{check}"):
        read(f"H261152A-{check}", known=lambda name: name == "H261125A")


def test_a_code_that_fits_has_no_slips() -> None:
    assert list(slips(coded("H261125A"))) == []
    assert list(slips("")) == []


@pytest.mark.parametrize("text", ["", " ", "-", "A", "A-", "--", "é", "x" * 90])
def test_what_is_no_code_is_refused(text: str) -> None:
    with pytest.raises(InputError, match=r"a lot code is a name, a dash and a check character|does not fit"):
        read(text)


def test_a_name_without_letters_or_figures_cannot_be_coded() -> None:
    with pytest.raises(InputError, match="no letter and no figure"):
        coded("...")


def test_a_code_is_spelt_for_the_telephone() -> None:
    # Letters' words: ICAO Annex 10 volume II, and ITU Radio Regulations appendix 14 (from memory).
    assert spoken("H26.1-K") == "Hotel two six point one dash Kilo"
    assert spoken("o/z") == "Oscar stroke Zulu"
