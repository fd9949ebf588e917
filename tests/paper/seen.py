"""Looking at a finished PDF: its words, its pages as pictures, what a reader of codes finds on them."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

import pypdfium2
import zxingcpp
from PIL import Image

from trayward.paper.page import Page, Text

MM = 25.4 / 72


def text_of(pdf: bytes) -> str:
    """All words of a PDF, blanks and line ends as one blank."""
    return " ".join(" ".join(each.get_textpage().get_text_bounded() for each in pypdfium2.PdfDocument(pdf)).split())


def pictures(pdf: bytes, dots_an_inch: int = 150) -> list[Image.Image]:
    """Every page as a picture in grey."""
    return [each.render(scale=dots_an_inch / 72).to_pil().convert("L") for each in pypdfium2.PdfDocument(pdf)]


def sizes(pdf: bytes) -> list[tuple[float, float]]:
    """Every page's measures. [mm]"""
    return [(each.get_width() * MM, each.get_height() * MM) for each in pypdfium2.PdfDocument(pdf)]


def codes(picture: Image.Image) -> list[zxingcpp.Barcode]:
    """Codes that an independent reader finds."""
    return list(zxingcpp.read_barcodes(picture))


def overflows(pages: Iterable[Page]) -> list[str]:
    """Words that leave the page or their room, or lie upon others."""
    found = []
    for page in pages:
        texts = [mark for mark in page.marks if isinstance(mark, Text)]
        for text in texts:
            if text.left < 0 or text.left + text.wide > page.size.wide or not 0 < text.y < page.size.high:
                found.append(f"off the page: {text.words}")
            if text.room and text.wide > text.room + 0.1:
                found.append(f"wider than its room: {text.words}")
        found += [f"{one.words!r} upon {two.words!r}" for one, two in combinations(texts, 2) if _meet(one, two)]
    return found


def _meet(one: Text, two: Text) -> bool:
    """Whether two lines of words lie on each other: letters reach 0.72 of their size up and 0.2 down."""
    apart = one.left + one.wide <= two.left or two.left + two.wide <= one.left
    above, below = (one, two) if one.y <= two.y else (two, one)
    return not apart and above.y + 0.2 * above.size * MM > below.y - 0.72 * below.size * MM
