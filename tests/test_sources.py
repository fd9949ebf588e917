"""Every key stands for one citation that says whether anyone saw it."""

from __future__ import annotations

import pytest

from trayward.errors import NotFoundError
from trayward.sources import Source, source, source_keys


def test_a_key_gives_its_citation() -> None:
    found = source("harrington1954")
    assert found.citation == (
        "Harrington, J. F. and Minges, P. A. Vegetable Seed Germination. 1954. "
        "California Agricultural Extension mimeo leaflet."
    )
    assert not found.from_memory


def test_an_unknown_key_is_refused_by_name() -> None:
    with pytest.raises(NotFoundError, match="source 'nobody1900'"):
        source("nobody1900")


def test_what_is_from_memory_says_so_in_its_citation() -> None:
    assert source("nist_hb44").from_memory
    assert source("nist_hb44").citation.endswith("(from memory).")
    assert source("practice").citation == "Common practice, no source."


@pytest.mark.parametrize("key", source_keys())
def test_every_source_says_what_it_is_and_how_much_of_it_was_seen(key: str) -> None:
    found = source(key)
    assert isinstance(found, Source)
    assert found.title
    assert found.seen
    assert not found.link or found.link.startswith("http")
    assert ("from memory" in found.citation.lower()) == found.from_memory or key == "memory"
