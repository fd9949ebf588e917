"""The stores in Spanish: one piece of kit is lista, several are listas."""

from __future__ import annotations

import re

from tests.web.conftest import Pages, words_of


def test_several_pieces_of_kit_are_ready_in_the_plural(pages: Pages) -> None:
    pages.get("/about?lang=es")
    said = words_of(pages.get("/stores").text)
    counted = re.findall(r"\b(\d+) (listas?)\b", said)
    assert {number == "1" for number, word in counted if word == "lista"} <= {True}
    assert any(word == "listas" for _, word in counted)
