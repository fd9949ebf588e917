"""What is said once a row is answered: what was kept, and nothing twice."""

from __future__ import annotations

from tests.web.conftest import Pages, words_of
from tests.web.round.test_round import answered


def test_who_washed_some_is_told_how_many_and_of_what(pages: Pages) -> None:
    assert answered(pages, "wash", "done", count="2").status_code == 303
    said = words_of(pages.get("/round").text)
    # Once as the word after the answer, once among the answers of this round.
    assert said.count("2 x cover washed.") == 2
