"""The page of the figures cites only sources that are known, and cites them as they are."""

from __future__ import annotations

import re

from tools.pages import ROOT
from trayward.sources import source, source_keys

PAGE = (ROOT / "docs" / "the-figures.md").read_text(encoding="utf-8")
TEXT, LISTED = PAGE.split("## Sources\n")
CITED = set(re.findall(r"\[`([a-z0-9_]+)`\]", TEXT))


def test_every_source_that_is_cited_is_known() -> None:
    assert len(CITED) > 5
    assert sorted(CITED - set(source_keys())) == []


def test_the_sources_listed_are_those_cited_with_their_citation() -> None:
    assert LISTED.strip().splitlines() == [f"- `{key}`: {source(key).citation}" for key in sorted(CITED)]
