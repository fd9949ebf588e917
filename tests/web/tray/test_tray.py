"""The page of one tray: what it shows, what can be said and done, what is taken back."""

from __future__ import annotations

from datetime import timedelta
from html import unescape
from io import BytesIO

import pytest
from PIL import Image
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, Clock, Pages, words_of
from tests.web.test_guard import SCRIPT, ByHeader
from trayward.farm.entries import Entry, Note
from trayward.farm.state import FarmState, Tray
from trayward.rounds.story import StoryLine
from trayward.web.app import create_app
from trayward.web.tray.view import told_of


def state_of(pages: Pages) -> FarmState:
    with pages.farm() as farm:
        return farm.state(pages.clock.at)


def tray_of(pages: Pages, name: str) -> Tray:
    found = state_of(pages).tray(name)
    assert found is not None
    return found


def one_in(pages: Pages, stage: str) -> Tray:
    return next(tray for tray in state_of(pages).growing() if tray.stage == stage and tray.spot)


def post(pages: Pages, act: str, tray: Tray, **form: str) -> int:
    """Send a form of the tray's page; gives the status."""
    words = {"tray": tray.tray, "_form": f"{act}-{tray.tray}", **form}
    return int(pages.post(f"/tray/{act}", words, page=f"/tray/{tray.tray}").status_code)


def test_it_works(pages: Pages) -> None:
    tray = one_in(pages, "light")
    words = words_of(pages.get(f"/tray/{tray.tray}"))
    for told in (tray.crop, tray.tray, f"on {tray.spot}, lit shelf", "What is likely", "Its story", tray.recipe):
        assert told in words


def test_weight_and_basis_come_once_they_are_worked_out(pages: Pages) -> None:
    tray = one_in(pages, "light")
    assert "By the recipe" in words_of(pages.get(f"/tray/{tray.tray}"))
    assert pages.client.app.state.house.work.wait(120)  # type: ignore[attr-defined]
    words = unescape(words_of(pages.get(f"/tray/{tray.tray}")))
    with pages.farm() as farm:
        told = farm.outlook(pages.clock.at).standing(tray)
    assert told.time_basis.words in words
    assert "By the recipe" not in words
    assert "likely" in words


def test_a_tray_that_is_done_with_has_its_page_too(pages: Pages) -> None:
    tray = next(tray for tray in state_of(pages).ended.values() if tray.fate == "cut")
    words = words_of(pages.get(f"/tray/{tray.tray}"))
    assert "Cut" in words
    assert "Throw it away" not in words
    assert "Add a note" in words


def test_there_is_no_page_of_a_tray_that_nobody_knows(pages: Pages) -> None:
    assert pages.get("/tray/nobody").status_code == 404


# Saying ---------------------------------------------------------------------------------------------------------------


def test_a_height_and_a_note_are_kept_together(pages: Pages) -> None:
    tray = one_in(pages, "light")
    assert post(pages, "say", tray, height="45 mm", note="front corner thin") == 303
    assert tray_of(pages, tray.tray).height_mm == 45.0
    words = words_of(pages.get(f"/tray/{tray.tray}"))
    assert "front corner thin" in words
    assert "Kept." in words


def test_trouble_shows_on_the_tray_and_on_the_racks(pages: Pages) -> None:
    tray = one_in(pages, "light")
    assert post(pages, "say", tray, problem="fallen") == 303
    assert tray_of(pages, tray.tray).problem == "fallen"
    assert "fallen" in words_of(pages.get(f"/tray/{tray.tray}"))
    assert "1 in trouble" in words_of(pages.get("/racks"))


def test_a_note_alone_is_no_look(pages: Pages) -> None:
    tray = one_in(pages, "light")
    assert post(pages, "say", tray, note="label is loose") == 303
    assert tray_of(pages, tray.tray).last_look == tray.last_look
    assert "label is loose" in words_of(pages.get(f"/tray/{tray.tray}"))


def test_water_alone_is_water(pages: Pages) -> None:
    tray = one_in(pages, "light")
    assert post(pages, "say", tray, water="300 ml") == 303
    after = tray_of(pages, tray.tray)
    assert (after.last_water, after.last_look) == (pages.clock.at, tray.last_look)


def test_a_photo_is_kept_and_shown_in_the_story(pages: Pages) -> None:
    tray = one_in(pages, "light")
    picture = BytesIO()
    Image.new("RGB", (40, 30), "green").save(picture, "PNG")
    files = {"photo": ("tray.png", picture.getvalue(), "image/png")}
    form = {"tray": tray.tray, "note": "the front corner"}
    page = f"/tray/{tray.tray}"
    assert pages.post("/tray/photo", form, page=page, files=files).status_code == 303
    found = pages.get(page).text
    address = found.partition('<img class="story-photo" src="')[2].partition('"')[0]
    assert pages.get(address).headers["content-type"] == "image/jpeg"
    assert "the front corner" in found
    assert pages.post("/tray/photo", form, page=page).status_code == 422
    bad = {"photo": ("tray.png", b"no picture", "image/png")}
    assert pages.post("/tray/photo", form, page=page, files=bad).status_code == 422


def test_feed_is_kept_with_its_figures(pages: Pages) -> None:
    tray = one_in(pages, "light")
    assert post(pages, "feed", tray, ml="300 ml", ph="5.8", ec="1.2") == 303
    assert "5.8" in words_of(pages.get(f"/tray/{tray.tray}"))


@pytest.mark.parametrize(
    ("act", "form", "field"),
    [
        ("say", {"height": "tall", "note": "kept words"}, "height"),
        ("say", {"share": "140 %", "note": "kept words"}, "share"),
        ("say", {"water": "-5 ml", "note": "kept words"}, "water"),
        ("feed", {"ml": "much", "feed": "kept words"}, "ml"),
        ("feed", {"ml": "300 ml", "ph": "15", "feed": "kept words"}, "ph"),
    ],
)
def test_bad_input_is_said_beside_its_field_and_what_was_typed_stays(
    pages: Pages, act: str, form: dict[str, str], field: str
) -> None:
    tray = one_in(pages, "light")
    words = {"tray": tray.tray, "_form": f"{act}-{tray.tray}", **form}
    found = pages.post(f"/tray/{act}", words, page=f"/tray/{tray.tray}")
    assert found.status_code == 422
    assert f'id="{act}-{tray.tray}-{field}-wrong"' in found.text
    assert "kept words" in found.text
    assert form[field] in found.text


def test_saying_nothing_is_refused(pages: Pages) -> None:
    assert post(pages, "say", one_in(pages, "light")) == 422


def test_a_height_that_looks_mistyped_is_asked_about_and_can_be_kept(pages: Pages) -> None:
    tray = one_in(pages, "light")
    words = {"tray": tray.tray, "_form": f"say-{tray.tray}", "height": "900 mm"}
    found = pages.post("/tray/say", words, page=f"/tray/{tray.tray}")
    assert found.status_code == 422
    assert "Keep it as it is" in found.text
    assert post(pages, "say", tray, height="900 mm", sure="1") == 303
    assert tray_of(pages, tray.tray).height_mm == 900.0


# Doing ----------------------------------------------------------------------------------------------------------------


def test_the_next_stage_begins_on_ground_that_suits_it(pages: Pages) -> None:
    tray = one_in(pages, "blackout")
    assert post(pages, "begin", tray, stage="light") == 303
    after = tray_of(pages, tray.tray)
    assert after.stage == "light"
    assert after.spot is not None
    assert after.spot[0] in "EFGH"  # Lantern Loft's lit racks
    assert f"on {after.spot}" in words_of(pages.get(f"/tray/{tray.tray}"))


def test_a_stage_that_the_recipe_does_not_have_is_refused(pages: Pages) -> None:
    assert post(pages, "begin", one_in(pages, "light"), stage="dozing") in (404, 422)


def test_a_tray_is_thrown_away_with_a_reason_only(pages: Pages) -> None:
    tray = one_in(pages, "light")
    assert post(pages, "discard", tray, reason="") == 422
    assert post(pages, "discard", tray, reason="mould") == 303
    after = tray_of(pages, tray.tray)
    assert (after.fate, after.reason) == ("discarded", "mould")


def test_a_line_is_struck_with_a_reason_and_stays_readable(pages: Pages) -> None:
    tray = one_in(pages, "light")
    post(pages, "say", tray, note="wrong tray entirely")
    with pages.farm() as farm:
        entry = farm.book.about(f"tray:{tray.tray}")[-1].entry.id
    page = f"/tray/{tray.tray}"
    assert pages.post("/tray/strike", {"entry": entry, "reason": ""}, page=page).status_code == 422
    struck = pages.post("/tray/strike", {"entry": entry, "reason": "said of the wrong tray"}, page=page)
    assert (struck.status_code, struck.headers["location"]) == (303, page)
    assert "<s>" in pages.get(page).text
    with pages.farm() as farm:
        assert entry in farm.book.struck()


@pytest.mark.parametrize(
    ("role", "act", "status"),
    [
        ("hand", "say", 303), ("reader", "say", 403), ("reader", "begin", 403), ("reader", "discard", 403),
        ("reader", "feed", 403), ("reader", "strike", 403), ("", "say", 303),
    ],
)  # fmt: skip
def test_who_may_do_what(pages: Pages, clock: Clock, role: str, act: str, status: int) -> None:
    tray = one_in(pages, "light")
    with TestClient(create_app(str(pages.book), now=clock, people=ByHeader()), base_url=ADDRESS) as client:
        answer = client.post(
            f"/tray/{act}", data={"tray": tray.tray, "note": "seen"}, headers={"x-role": role, **SCRIPT},
            follow_redirects=False,
        )  # fmt: skip
    assert answer.status_code == status
    kept = "seen" in words_of(pages.get(f"/tray/{tray.tray}"))
    assert kept == (role == "hand")


def test_hands_strike_their_own_lines_and_nobody_elses(pages: Pages, clock: Clock) -> None:
    tray = one_in(pages, "light")
    with TestClient(create_app(str(pages.book), now=clock, people=ByHeader()), base_url=ADDRESS) as client:
        headers = {"x-role": "hand", **SCRIPT}
        client.post("/tray/say", data={"tray": tray.tray, "note": "mine"}, headers=headers, follow_redirects=False)
        with pages.farm() as farm:
            said = farm.book.about(f"tray:{tray.tray}")
        own = next(kept.entry.id for kept in said if kept.entry.by == "Ada")
        others = next(kept.entry.id for kept in said if kept.entry.by != "Ada")

        def strike(entry: str) -> int:
            form = {"entry": entry, "reason": "wrong"}
            return client.post("/tray/strike", data=form, headers=headers, follow_redirects=False).status_code

        assert (strike(others), strike(own)) == (422, 303)


def test_a_tray_seen_on_two_phones_takes_both_looks(pages: Pages) -> None:
    tray = one_in(pages, "light")
    form = {"tray": tray.tray, "height": "50 mm"}
    for number in (1, 2):
        name = f"00000000-0000-4000-8000-00000000000{number}"
        said = pages.clock.at - timedelta(minutes=5 * number)
        assert pages.send("/tray/say", form, said=said, name=name).json()["landed"]
    with pages.farm() as farm:
        assert sum("50 mm" in line.words for line in farm.story(tray.tray, pages.clock.at)) == 2


# Pure -----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("who", "run", "answer", "may"),
    [("Ada", False, True, [True, False]), ("Ada", True, True, [True, True]), ("Ada", False, False, [False, False])],
)
def test_what_was_struck_cannot_be_struck_again(
    who: str, run: bool, answer: bool, may: list[bool], clock: Clock
) -> None:
    lines = [
        StoryLine(at=clock.at, words="sown", entry="a"),
        StoryLine(at=clock.at, words="moved", entry="b"),
        StoryLine(at=clock.at, words="cut", entry="c", struck=True),
    ]
    said = {
        name: Entry(id=name * 8, at=clock.at, recorded=clock.at, by=by, body=Note(text="words"))
        for name, by in (("a", "Maren"), ("b", "Ada"), ("c", "Ada"))
    }
    told = told_of(lines, said, who, run=run, answer=answer)
    assert [line.words for line in told] == ["cut", "moved", "sown"]
    assert [line.may_strike for line in told] == [False, *may]
