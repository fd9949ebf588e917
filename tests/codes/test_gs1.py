"""GS1 keys, fields, dates and addresses: what is refused, and that all that is built reads back."""

from __future__ import annotations

from datetime import date

import pytest

from trayward.codes import gs1
from trayward.errors import InputError


def test_a_label_of_the_farm_reads_back_with_and_without_brackets() -> None:
    item = gs1.gtin14(gs1.gtin13("9521234", "17"))
    held = [("01", item), ("10", "H261125A-J"), ("15", "261209"), gs1.weight_element(50.0), ("21", "A+B/7")]
    assert sorted(gs1.read_elements(gs1.element_string(held))) == sorted(held)
    assert list(gs1.read_elements(gs1.bracketed(held))) == held
    assert sorted(gs1.read_digital_link(gs1.digital_link(held, "https://loft.example"))) == sorted(held)


def test_a_bracket_in_a_value_is_no_field() -> None:
    assert gs1.read_elements("(10)ABC(7)(21)9") == (("10", "ABC(7)"), ("21", "9"))


def test_a_reader_may_say_what_kind_of_code_it_read() -> None:
    assert gs1.read_elements("]C110ABC") == (gs1.Element("10", "ABC"),)
    assert gs1.read_elements(f"{gs1.GS}10ABC") == (gs1.Element("10", "ABC"),)


def test_no_company_prefix_is_said_so_with_the_way_out() -> None:
    with pytest.raises(InputError, match=r"GS1 company prefix = none.*own codes"):
        gs1.gtin13("", "17")


@pytest.mark.parametrize("prefix", ["123", "1234567890123", "12a4567", "952 1234", "١٢٣٤"])
def test_a_company_prefix_that_cannot_be_is_refused(prefix: str) -> None:
    with pytest.raises(InputError, match="GS1 company prefix"):
        gs1.require_prefix(prefix)


def test_an_item_reference_too_long_for_the_prefix_is_refused() -> None:
    with pytest.raises(InputError, match="room for 3 figures"):
        gs1.gtin13("952123456", "1234")


def test_a_number_with_a_wrong_figure_names_the_right_one() -> None:
    with pytest.raises(InputError, match="would end in 0"):
        gs1.require_key("GTIN-14", "04012345999991")
    with pytest.raises(InputError, match="has 13 figures, not 12"):
        gs1.require_key("GLN", "401234599999")


def test_every_figure_mistaken_is_caught_but_not_every_swap() -> None:
    # The weights 3 and 1 let neighbours that differ by 5 change places unseen (5 x 2 = 10): known of the scheme, and
    # why our own lot codes use another.
    key = gs1.gtin13("9521234", "16")
    assert all(
        not gs1.is_valid_key(f"{key[:place]}{figure}{key[place + 1 :]}")
        for place in range(13)
        for figure in "0123456789"
        if figure != key[place]
    )
    assert key[10:12] == "16"
    assert gs1.is_valid_key(f"{key[:10]}61{key[12]}")


def test_a_case_has_a_number_of_its_own() -> None:
    item = gs1.gtin13("9521234", "17")
    case = gs1.gtin14(item, "1")
    assert case[:13] == f"1{item[:12]}"
    assert gs1.is_valid_key(case)
    with pytest.raises(InputError, match="one figure from 1 to 9"):
        gs1.gtin14(item, "x")


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("", "must hold a field"),
        ("01095201234567", "has 14 characters, not 12"),
        ("0109520123456789", "would end in 8"),
        ("88ABC", "no application identifier"),
        ("10" + "A" * 21, "1 to 20 characters"),
        ("10AB CD", "cannot stand in a GS1 field"),
        ("17261301", "no such day"),
        ("17260132", "no such day"),
        ("10AB\x1d10CD", "the code says AB there too"),
        ("0209520123456788", "go together"),
        ("0109520123456788020952012345678837" + "5", "cannot stand beside"),
    ],
)
def test_an_element_string_that_cannot_be_is_refused(text: str, match: str) -> None:
    with pytest.raises(InputError, match=match):
        gs1.read_elements(text)


@pytest.mark.parametrize(
    "address",
    ["", "https://loft.example/", "ftp://id.gs1.org/01/09520123456788", "https://id.gs1.org/01/09520123456789",
     "https://id.gs1.org/01/09520123456788/10", "https://id.gs1.org/01/09520123456788/37/4"],
)  # fmt: skip
def test_an_address_that_is_no_digital_link_is_refused(address: str) -> None:
    with pytest.raises(InputError, match="Scan the code again"):
        gs1.read_digital_link(address)


def test_an_address_may_have_folders_before_its_key_and_other_words_in_its_query() -> None:
    found = gs1.read_digital_link("https://loft.example/what/is/01/9520123456788/10/ABC?utm=x&15=261209")
    assert found == (("01", "09520123456788"), ("10", "ABC"), ("15", "261209"))


def test_an_address_needs_a_key() -> None:
    with pytest.raises(InputError, match="begins with a GTIN"):
        gs1.digital_link([("10", "ABC")])


def test_weights_are_kept_to_the_gram() -> None:
    assert gs1.read_weight(gs1.weight_element(1234.4)) == pytest.approx(1234.0)
    assert gs1.read_weight(("3202", "000100")) == pytest.approx(453.59237)
    for grams in (0.0, -1.0, 1e6, float("nan")):
        with pytest.raises(InputError, match="net weight"):
            gs1.weight_element(grams)


def test_days_read_back_over_the_whole_window() -> None:
    today = date(2026, 11, 25)
    for year in range(1977, 2077):
        day = date(year, 2, 28)
        assert gs1.read_date(gs1.date_field(day), today=today) == day
    assert gs1.read_date("280200", today=today) == date(2028, 2, 29)


@pytest.mark.parametrize("field", ["", "26111", "2611a1", "261301", "260230", "260001"])
def test_a_date_field_without_a_day_is_refused(field: str) -> None:
    with pytest.raises(InputError, match="date field"):
        gs1.read_date(field, today=date(2026, 11, 25))
