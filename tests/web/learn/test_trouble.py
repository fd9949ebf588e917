"""Learn of trouble: what it came with, by sowing."""

from __future__ import annotations

from tests.web.conftest import Pages, words_of


def test_it_works(pages: Pages) -> None:
    with pages.farm() as farm:
        at = pages.clock.at
        trays = [tray.tray for tray in farm.state(at).growing()][:3]
        farm.see_trouble(trays, "mould", at=at, by="Maren", sure=True)
    words = words_of(pages.get("/learn/trouble"))
    assert "Trouble was written down in" in words
    assert "mould" in words
