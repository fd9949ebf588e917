"""Check digits, element strings, Digital Link addresses and dates against published values; the source beside each."""

from __future__ import annotations

from datetime import date

from trayward.codes import gs1
from trayward.codes.gs1.elements import in_order
from trayward.codes.gs1.keys import is_valid_key


def test_the_check_digit_of_a_gtin_13_is_that_of_gs1s_own_example() -> None:
    # GS1, How to calculate a check digit manually, gs1.org; GS1 General Specifications section 7.9.
    assert gs1.check_digit("629104150021") == 3
    assert gs1.gtin13("629104", "150021") == "6291041500213"


def test_parcels_have_the_numbers_of_the_event_hash_examples() -> None:
    # epcis-event-hash-generator, tests/examples, github.com/RalphTro/epcis-event-hash-generator at commit 5d2f1c3.
    expected = {"111": "040123450000001112", "222": "040123450000002225", "333": "040123450000003338"}
    for serial, number in expected.items():
        assert gs1.sscc("0", "4012345", f"000000{serial}") == number
        assert gs1.element_string([("00", number)]) == f"00{number}"


def test_a_gtin_with_a_wrong_last_figure_is_no_gtin() -> None:
    # The same examples; the wrong one made from it.
    assert is_valid_key("04012345999990")
    assert not is_valid_key("04012345999991")


def test_the_item_of_a_public_gs1_128_example_is_valid() -> None:
    # Public barcode support thread, worked example of (01)60000116030603 in Code 128 set C.
    assert gs1.read_elements("0160000116030603") == (("01", "60000116030603"),)


def test_an_address_has_its_key_first_and_its_marks_escaped() -> None:
    # GS1 Digital Link toolkit, README, github.com/gs1/GS1DigitalLinkToolkit.js.
    held = gs1.read_elements("(3103)000189(01)05412345000013(3923)2172(10)ABC&+123")
    address = "https://id.gs1.org/01/05412345000013/10/ABC%26%2B123?3103=000189&3923=2172"
    assert gs1.digital_link(held) == address
    assert sorted(gs1.read_digital_link(address)) == sorted(held)


def test_the_path_of_an_address_has_its_own_order() -> None:
    # GS1 Barcode Syntax Engine, tests in src/c-lib/dl.c, github.com/gs1/gs1-syntax-engine at commit 50657db.
    held = gs1.read_elements("(21)XYZ(01)12312312312333(10)ABC123(99)XYZ")
    assert gs1.digital_link(held, "https://example.com") == (
        "https://example.com/01/12312312312333/10/ABC123/21/XYZ?99=XYZ"
    )


def test_separators_stand_only_behind_fields_of_no_fixed_length() -> None:
    # GS1 General Specifications section 7.8, from memory.
    held = [("01", "09520123456788"), ("17", "180426"), ("10", "ABC123")]
    assert gs1.element_string(held) == "01095201234567881718042610ABC123"
    assert in_order([("10", "ABC123"), ("17", "180426")]) == "10ABC123\x1d17180426"
    assert gs1.read_elements("10ABC123\x1d17180426") == (("10", "ABC123"), ("17", "180426"))


def test_dates_have_their_century_by_the_window_and_day_00_is_the_months_last() -> None:
    # GS1 General Specifications section 7.12, from memory.
    today = date(2026, 11, 25)
    expected = {"261200": date(2026, 12, 31), "490131": date(2049, 1, 31), "770101": date(1977, 1, 1)}
    assert {field: gs1.read_date(field, today=today) for field in expected} == expected
