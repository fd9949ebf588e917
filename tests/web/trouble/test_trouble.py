"""The pages of trouble: the guide, what was seen with a photo, and clearing what was held back."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from tests.web.conftest import Pages, words_of
from trayward.farm.entries import Photo, TroubleCleared, TroubleSeen
from trayward.farm.holds import hold_of
from trayward.library.trouble import trouble_guide


def a_tray(pages: Pages) -> str:
    """A tray that grows and is not held."""
    with pages.farm() as farm:
        return next(tray.tray for tray in farm.state(pages.clock.at).growing() if not hold_of(tray))


def held(pages: Pages, tray: str) -> str:
    with pages.farm() as farm:
        return hold_of(farm.state(pages.clock.at).tray(tray))


def newest(pages: Pages, count: int) -> list[object]:
    with pages.farm() as farm:
        return [kept.entry.body for kept in farm.book.entries()][-count:]


def test_it_works(pages: Pages) -> None:
    """From a tray to a sign, what it may be, and back with the trouble kept and the tray held."""
    tray = a_tray(pages)
    assert f"/trouble?tray={tray}" in pages.get(f"/tray/{tray}").text
    page = pages.get(f"/trouble?tray={tray}").text
    assert f"/trouble/white%20fuzz?tray={tray}" in page
    sign = f"/trouble/white%20fuzz?tray={tray}&look-gone+when+misted=no&look-smells=yes"
    words = words_of(pages.get(sign))
    assert words.index("Mould on seed") < words.index("Root hairs: a good sign")
    assert "never eat it, never sell it" in words
    form = {"sign": "white fuzz", "tray": tray, "look-gone when misted": "no", "where": "edge", "share": "20 %"}
    kept = pages.post("/trouble/seen", form, page=sign)
    assert (kept.status_code, kept.headers["location"].partition("?")[0]) == (303, f"/tray/{tray}")
    assert held(pages, tray) == "suspected mould"
    assert newest(pages, 1) == [
        TroubleSeen(
            trays=(tray,), sign="white fuzz", where="edge", share=0.2, looks={"gone when misted": False},
            hold="suspected mould",
        )
    ]  # fmt: skip
    assert f'href="/tray/{tray}"' in pages.get("/trouble").text


def test_a_held_tray_is_cleared_by_saying_what_it_was(pages: Pages) -> None:
    tray = a_tray(pages)
    pages.post("/trouble/seen", {"sign": "white fuzz", "tray": tray}, page="/trouble/white%20fuzz")
    again = pages.post("/trouble/clear", {"tray": tray, "found": "", "_form": f"clear-{tray}"}, page="/trouble")
    assert again.status_code == 422
    assert held(pages, tray)
    assert pages.post("/trouble/clear", {"tray": tray, "found": "root hairs"}, page="/trouble").status_code == 303
    assert newest(pages, 1) == [TroubleCleared(trays=(tray,), found="root hairs")]
    assert held(pages, tray) == ""


def test_a_photo_goes_with_it_and_is_kept_once(pages: Pages) -> None:
    tray, file = a_tray(pages), io.BytesIO()
    Image.new("RGB", (40, 30), "white").save(file, "JPEG")
    picture = {"photo": ("fuzz.jpg", file.getvalue(), "image/jpeg")}
    said = {"sign": "white fuzz", "tray": tray, "note": "by the fan"}
    kept = pages.post("/trouble/seen", said, page="/trouble/white%20fuzz", files=picture)
    assert kept.status_code == 303
    assert [type(body) for body in newest(pages, 2)] == [Photo, TroubleSeen]


def test_the_same_sending_from_a_phone_twice_changes_nothing(pages: Pages) -> None:
    tray, name = a_tray(pages), "6b9a2f6e-6f0f-4d53-9d3b-1f0a2f6e6f0f"
    form = {"sign": "yellow", "tray": tray}
    for _ in range(2):
        assert pages.send("/trouble/seen", form, name=name).status_code in (200, 303)
    with pages.farm() as farm:
        assert len(farm.state(pages.clock.at).tray(tray).troubles) == 1


@pytest.mark.parametrize("sign", [sign.name for sign in trouble_guide().signs])
def test_every_sign_has_a_page_that_stands_without_a_tray(pages: Pages, sign: str) -> None:
    assert pages.get(f"/trouble/{sign}").status_code == 200


def test_a_sign_nobody_listed_and_a_tray_nobody_sowed_are_not_found(pages: Pages) -> None:
    assert pages.get("/trouble/gremlins").status_code == 404
    assert pages.get("/trouble?tray=Z.1").status_code == 404


def test_everyday_words_find_the_sign(pages: Pages) -> None:
    page = pages.get("/trouble?words=they+fell+over").text
    assert "/trouble/fallen" in page
    assert "/trouble/yellow" not in page
    assert '<a href="/trouble">All signs</a>' in page
    assert "No sign is called like that" in words_of(pages.get("/trouble?words=zzz"))


def test_bad_input_keeps_what_was_typed(pages: Pages) -> None:
    form = {"sign": "yellow", "tray": a_tray(pages), "share": "300 %", "note": "pale", "_form": "trouble-seen"}
    again = pages.post("/trouble/seen", form, page="/trouble/yellow")
    assert again.status_code == 422
    assert "pale" in again.text
    assert 'value="300 %"' in again.text
