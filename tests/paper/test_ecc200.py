"""Data Matrix codes of ours, read by another's reader."""

from __future__ import annotations

import pytest
import zxingcpp
from PIL import Image

from trayward.errors import InputError
from trayward.paper.ecc200 import SIZES, corrections, data_matrix


def read(rows: list[list[bool]]) -> zxingcpp.Barcode:
    each, edge = 5, 3
    side = (len(rows) + 2 * edge) * each
    picture = Image.new("L", (side, side), 255)
    for y, row in enumerate(rows):
        for x, dark in enumerate(row):
            if dark:
                picture.paste(0, ((x + edge) * each, (y + edge) * each, (x + edge + 1) * each, (y + edge + 1) * each))
    (found,) = zxingcpp.read_barcodes(picture)
    return found


def test_the_words_of_correction_of_the_standards_own_example() -> None:
    # "123456": data words 142 164 186, corrections 114 25 5 88 102 (ISO/IEC 16022 annex O, from memory).
    assert corrections([142, 164, 186], 5) == [114, 25, 5, 88, 102]


@pytest.mark.parametrize("length", range(1, 175, 4))
def test_a_text_of_any_length_is_read_back(length: int) -> None:
    text = ("Lot-" * 50)[:length]
    found = read(data_matrix(text))
    assert found.text == text
    assert found.symbology_identifier == "]d1"


def test_every_size_occurs_and_is_read_back() -> None:
    seen = set()
    for size in SIZES:
        rows = data_matrix("x" * size.data)
        seen.add(len(rows))
        assert read(rows).text == "x" * size.data
    assert seen == {size.side for size in SIZES}


def test_gs1_fields_come_back_with_their_separators() -> None:
    # GS1 General Specifications 7.8: FNC1 (here GS) ends a field of no fixed length that others follow.
    text = "0109521234500018" + "10P261127A-W\x1d" + "3103000050"
    found = read(data_matrix(text, gs1=True))
    assert found.symbology_identifier == "]d2"
    assert found.text == "(01)09521234500018(10)P261127A-W(3103)000050"


def test_letters_with_marks_are_read_back() -> None:
    assert read(data_matrix("Ñandú groß")).bytes == "Ñandú groß".encode("latin-1")


def test_what_does_not_fit_is_refused() -> None:
    with pytest.raises(InputError, match="Shorten what it holds"):
        data_matrix("x" * 175)
    with pytest.raises(InputError, match="Latin-1"):
        data_matrix("€")
