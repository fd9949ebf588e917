"""The round's page: rows to walk along, answers with one tap, photos, and taking back."""

from __future__ import annotations

import gzip
import html
import re
import uuid
from datetime import timedelta
from io import BytesIO
from typing import Any
from urllib.parse import unquote

import msgspec
import pytest
from PIL import Image
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, Clock, Pages, words_of
from tests.web.test_guard import SCRIPT, ByHeader
from trayward.farm.due import lines_due
from trayward.farm.entries import (
    Cut,
    Discarded,
    Note,
    Photo,
    PlanKept,
    RoundAnswered,
    StageChanged,
    Struck,
    Washed,
    Watered,
)
from trayward.plan.types import Plan
from trayward.rounds.told import RowSaid, read_told
from trayward.web.app import create_app


def rows_of(page: str) -> dict[str, str]:
    """What the form of each row carries, by the row's name."""
    found = re.findall(r'data-row="([^"]+)">.*?name="row" value="([^"]*)"', page, re.DOTALL)
    return {html.unescape(name): html.unescape(told) for name, told in found}


def row_of(pages: Pages, kind: str, nth: int = 0) -> tuple[str, str]:
    """A row of a kind and what its form carries."""
    rows = rows_of(pages.get("/round").text)
    name = [name for name in rows if name.startswith(kind)][nth]
    return name, rows[name]


def answered(pages: Pages, kind: str, answer: str, *, nth: int = 0, **fields: Any) -> Any:
    """Answer a row of a kind as its form does."""
    name, told = row_of(pages, kind, nth)
    return pages.post("/round/answer", {"_form": name, "row": told, "answer": answer, **fields}, page="/round")


def newest(pages: Pages, count: int) -> list[Any]:
    with pages.farm() as farm:
        return [kept.entry.body for kept in farm.book.entries(after=farm.book.head().seq - count)]


def word(response: Any) -> str:
    """The short word that an answer gives to the next page."""
    return unquote(response.headers["set-cookie"])


# Looking --------------------------------------------------------------------------------------------------------------


def test_it_works(pages: Pages) -> None:
    found = pages.get("/")
    assert found.url.path == "/round"
    with pages.farm() as farm:
        now = farm.round(pages.clock.at)
    assert list(rows_of(found.text)) == [row.row for row in now.rows]
    words = words_of(found)
    for row in now.rows:
        assert html.escape(row.do, quote=False) in words
    assert f"0 of {len(now.rows)} done, about {round(now.minutes)} min left" in words


def test_overdue_comes_first_then_the_racks_in_walking_order(pages: Pages) -> None:
    titles = re.findall(r'<h2 id="group-[^"]*">([^<]*)</h2>', pages.get("/round").text)
    assert titles[0] == "Overdue"
    assert titles[1:6] == ["Rack D", "Rack E", "Rack F", "Rack G", "Rack H"]


def test_a_row_says_what_where_how_much_and_why(pages: Pages) -> None:
    page = pages.get("/round").text
    row = re.search(r'<li class="row" id="row-look-261121A-D1".*?</li>\s*<li class="row"', page, re.DOTALL)
    assert row is not None
    words = words_of(row[0])
    told = ["Look: broccoli, 2 trays", "D1.1b, D1.4a", "Tall and straight?", "60 ml a tray", "E4.1, E4.4", "Day 5"]
    for said in [*told, "Yes, ready", "Not yet"]:
        assert said in words


def test_the_first_page_is_light_enough_for_one_bar_of_signal(pages: Pages) -> None:
    """Issue 6: under 150 kB compressed."""
    assert len(gzip.compress(pages.get("/round").content, 5)) < 40_000


def test_the_other_rounds_of_the_day_are_a_link_away(pages: Pages) -> None:
    assert "/round/walk?of=2026-11-25%20evening" in pages.get("/round").text
    words = words_of(pages.get("/round/walk?of=2026-11-25 evening"))
    assert "It begins at" in words
    assert "Can be done early" in words
    assert pages.get("/round/walk?of=2026-11-25 morning").url.path == "/round"


def test_a_round_that_is_over_shows_what_was_said_on_it(pages: Pages, clock: Clock) -> None:
    answered(pages, "look", "ready")
    clock.forward(hours=11)
    words = words_of(pages.get("/round/walk?of=2026-11-25 morning"))
    assert "1 answer" in words
    assert "looked at: ready" in words


def test_a_round_that_does_not_exist_is_not_found(pages: Pages) -> None:
    assert pages.get("/round/walk?of=never").status_code == 404


# Answering ------------------------------------------------------------------------------------------------------------


def test_ready_begins_the_next_stage_and_can_be_undone(pages: Pages) -> None:
    before = len(rows_of(pages.get("/round").text))
    response = answered(pages, "look-261121A", "ready")
    assert response.status_code == 303
    assert "now light, to E4.1 and E4.4" in word(response)
    assert [type(body) for body in newest(pages, 3)][:2] == [RoundAnswered, StageChanged]
    page = pages.get("/round")
    assert len(rows_of(page.text)) == before - 1
    assert "1 of" in words_of(page)
    undo = re.findall(
        r'name="entry" value="([^"]+)"', page.text[: page.text.index("</div>", page.text.index('class="said"'))]
    )
    assert len(undo) == 3
    pages.post("/undo", {"entry": undo}, page="/round")
    assert len(rows_of(pages.get("/round").text)) == before


def test_a_tray_thrown_away_where_it_was_only_to_be_looked_at_is_said_to_be_so(pages: Pages) -> None:
    response = answered(pages, "look-261121A", "throw", problem="fallen over")
    assert [type(body) for body in newest(pages, 1)] == [Discarded]
    assert "kept as a note" not in word(response)
    assert "kept." in word(response)


def test_a_ready_tray_that_nobody_asked_for_is_cut_where_it_is_looked_at(pages: Pages) -> None:
    with pages.farm() as farm:
        first = pages.clock.at.date()
        plan = Plan(made_at=pages.clock.at, first=first, last=first + timedelta(days=42))
        kept = PlanKept(plan=msgspec.Raw(msgspec.json.encode(plan)))
        ready = StageChanged(trays=("261121A.1",), stage="ready")
        farm.record(kept, ready, at=pages.clock.at, by="Ada")
    pages.clock.forward(hours=12)
    name = next(row for row in rows_of(pages.get("/round").text) if row.startswith("look-261121A") and "ready" in row)
    told = rows_of(pages.get("/round").text)[name]
    assert f'id="cut-row-{name}"' in pages.get("/round").text
    form = {"_form": name, "row": told, "answer": "cut", "height": "90"}
    asked = pages.post("/round/answer", {**form, "grams-261121A.1": "2100"}, page="/round")
    assert asked.status_code == 422
    assert "Did you mean 210 g?" in words_of(asked)
    response = pages.post("/round/answer", {**form, "grams-261121A.1": "210"}, page="/round")
    (cut,) = newest(pages, 1)
    assert isinstance(cut, Cut)
    assert (cut.trays[0].grams, cut.height_mm) == (210.0, None), "the height of the stand is not that of the cut"
    assert "kept as a note" not in word(response)


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        ("ready", {"cue": "ready"}),
        ("not yet", {"cue": "not yet"}),
        ("not yet, dry", {"cue": "not yet", "moisture": "dry"}),
        ("moist", {"moisture": "moist"}),
        ("seen", {}),
    ],
)
def test_each_answer_of_a_look_says_what_it_means(pages: Pages, answer: str, said: dict[str, str]) -> None:
    answered(pages, "look-261121A", answer)
    body = next(body for body in newest(pages, 3) if isinstance(body, RoundAnswered))
    assert {"cue": body.cue, "moisture": body.moisture} == {"cue": None, "moisture": None, **said}


def test_all_there_is_to_say_of_a_look_is_kept(pages: Pages) -> None:
    fields = {
        "height": "4 cm",
        "share_emerged": "80 %",
        "water": "50 ml",
        "note": "front corner thin",
        "only": ["261121A.1"],
    }
    answered(pages, "look-261121A", "not yet", **fields)
    look, water = newest(pages, 2)
    assert look == RoundAnswered(
        trays=("261121A.1",), round="2026-11-25 morning", cue="not yet", share_emerged=0.8, height_mm=40.0,
        note="front corner thin",
    )  # fmt: skip
    assert water == Watered(trays=("261121A.1",), ml=50.0, way="below")


def test_a_problem_is_said_in_a_word(pages: Pages) -> None:
    assert answered(pages, "look-261121A", "problem", problem="fallen").status_code == 303
    body = newest(pages, 1)[0]
    assert (body.problem, body.cue) == ("fallen", None)
    refused = answered(pages, "look-261123A", "problem")
    assert refused.status_code == 422
    assert "say what is wrong" in words_of(refused)


def test_what_was_typed_stays_where_something_is_wrong_with_it(pages: Pages) -> None:
    refused = answered(pages, "look-261121A", "not yet", height="tall", note="front corner thin")
    assert refused.status_code == 422
    assert 'value="tall"' in refused.text
    assert 'value="front corner thin"' in refused.text
    assert 'id="more-row-look-261121A-D1" open' in refused.text
    assert re.search(r'id="height-row-look-261121A-D1-wrong">height = [^<]*tall', refused.text)


def test_a_form_without_its_row_is_refused(pages: Pages) -> None:
    assert pages.post("/round/answer", {"answer": "ready"}, page="/round").status_code == 422
    assert pages.post("/round/answer", {"row": "{}", "answer": "ready"}, page="/round").status_code == 422


def test_a_job_is_done_as_it_stands(pages: Pages) -> None:
    assert answered(pages, "wash", "done", count="2").status_code == 303
    assert newest(pages, 1) == [Washed(pool="cover", count=2)]


def test_a_delivery_says_what_did_not_go_along(pages: Pages) -> None:
    for name, row in rows_of(pages.get("/round").text).items():
        if name.startswith("pack-"):
            pages.post("/round/answer", {"_form": name, "row": row, "answer": "done"}, page="/round")
    page = pages.get("/round").text
    short = re.search(r'data-row="(deliver-[^"]+)">(?:(?!<details).)*is short by', page, re.DOTALL)
    assert short is not None, "before the fold, for who loads the crates"
    row = rows_of(page)[short[1]]
    told = read_told(row)
    answer = pages.post("/round/answer", {"_form": short[1], "row": row, "answer": "done"}, page="/round")
    assert answer.status_code == 303, words_of(answer)
    went, _, owed = html.unescape(word(answer)).partition("Still owed: ")
    assert f"Kept what went out to {told.customer}. " in went
    assert told.due is not None
    with pages.farm() as farm:
        lines = lines_due(farm.state(pages.clock.at), told.due, told.due)
    for line in (each for each in lines if each.customer == told.customer):
        open_still = line.done_trays < line.trays if line.live else line.grams - line.done_g > 1
        assert (line.product in owed) == open_still, line.product


def test_a_cut_takes_the_weight_of_each_tray(pages: Pages) -> None:
    response = answered(pages, "cut", "cut", **{"grams-261113A.1": "6 oz", "height": "20"})
    assert "170 g of kale" in word(response)
    body = newest(pages, 1)[0]
    assert isinstance(body, Cut)
    assert body.height_mm == 20.0
    assert body.trays[0].grams == pytest.approx(170.1, abs=0.1)  # 6 oz of 28.35 g


def test_a_weight_that_looks_mistyped_is_asked_about_and_can_be_kept(pages: Pages) -> None:
    doubted = answered(pages, "cut", "cut", **{"grams-261113A.1": "1660"})
    assert doubted.status_code == 422
    assert "Did you mean 166 g?" in words_of(doubted)
    assert 'value="1660"' in doubted.text
    assert answered(pages, "cut", "cut", **{"grams-261113A.1": "1660", "sure": "1"}).status_code == 303


def test_a_cut_without_any_weight_is_refused(pages: Pages) -> None:
    refused = answered(pages, "cut", "cut")
    assert refused.status_code == 422
    assert "a cut wants the weight of each tray" in words_of(refused)


# Two phones -----------------------------------------------------------------------------------------------------------


def test_two_answer_the_same_row_both_land_and_the_page_says_so(pages: Pages, clock: Clock) -> None:
    name, told = row_of(pages, "look-261121A")
    with pages.farm() as farm:
        farm.answer_told(read_told(told), RowSaid(cue="ready"), at=clock.at, by="Ada")
    clock.forward(minutes=12)
    response = pages.post("/round/answer", {"_form": name, "row": told, "answer": "not yet"}, page="/round")
    assert "Ada answered this row at 07:30, too: " in word(response)
    words = words_of(pages.get("/round"))
    assert "Answered twice Both are in the book" in words


def test_the_other_answer_is_taken_back_with_all_that_it_brought_along(pages: Pages, clock: Clock) -> None:
    name, told = row_of(pages, "look-261121A")
    early = clock.at
    clock.forward(minutes=20)
    with pages.farm() as farm:
        farm.answer_told(read_told(told), RowSaid(cue="ready"), at=clock.at, by="Mira")
        assert farm.state(clock.at).trays["261121A.1"].stage == "light"
    clock.forward(hours=1)
    form = {"_form": name, "row": told, "answer": "not yet"}
    landed = pages.send("/round/answer", form, said=early, name=str(uuid.uuid4())).json()
    (finding,) = [each for each in landed["findings"] if each["code"] == "answered-too"]
    assert len(finding["entries"]) > 1
    pages.post("/undo", {"entry": finding["entries"]}, page="/round")
    with pages.farm() as farm:
        tray = farm.state(clock.at).trays["261121A.1"]
        assert (tray.stage, len(tray.steps)) == ("blackout", 2)


def test_an_answer_from_a_phone_that_had_no_signal_lands_at_its_own_time(pages: Pages, clock: Clock) -> None:
    name, told = row_of(pages, "look-261121A")
    early, key = clock.at, str(uuid.uuid4())
    clock.forward(minutes=20)
    with pages.farm() as farm:
        farm.answer_told(read_told(told), RowSaid(cue="ready"), at=clock.at, by="Ada")
    clock.forward(hours=3)
    form = {"_form": name, "row": told, "answer": "ready", "note": "tall"}
    landed = pages.send("/round/answer", form, said=early, name=key).json()
    assert landed["landed"]
    assert any("Ada answered this row at 07:50, too: " in each["sentence"] for each in landed["findings"])
    with pages.farm() as farm:
        kept = farm.book.get(key)
        assert kept is not None
        assert kept.entry.at == early
        assert len(farm.state(clock.at).trays["261121A.1"].steps) == 3
    again = pages.send("/round/answer", form, said=early, name=key).json()
    assert again["landed"]
    assert newest(pages, 1)[0].note == "tall"


# Photos ---------------------------------------------------------------------------------------------------------------


def picture(width: int = 400, height: int = 300, kind: str = "JPEG") -> bytes:
    made = BytesIO()
    Image.new("RGB", (width, height), (40, 160, 60)).save(made, kind)
    return made.getvalue()


def test_a_photo_goes_with_an_answer_and_is_shown(pages: Pages) -> None:
    name, told = row_of(pages, "look-261121A")
    form = {"_form": name, "row": told, "answer": "not yet", "note": "pale"}
    pages.post("/round/answer", form, page="/round", files={"photo": ("a.jpg", picture(), "image/jpeg")})
    photo, look = newest(pages, 2)
    assert isinstance(photo, Photo)
    assert photo.about == ("tray:261121A.2", "tray:261121A.1")
    assert (photo.note, look.note) == ("pale", "pale")
    shown = pages.get(f"/photo/{photo.sha256}")
    assert shown.headers["content-type"] == "image/jpeg"
    assert Image.open(BytesIO(shown.content)).size == (400, 300)
    assert f'src="/photo/{photo.sha256}"' in pages.get("/round").text


def test_a_photo_sent_twice_by_a_phone_is_kept_once(pages: Pages) -> None:
    name, told = row_of(pages, "look-261121A")
    headers = {
        "Trayward-Id": str(uuid.uuid4()), "Trayward-Said": pages.clock.at.isoformat(), "Accept": "application/json"
    }  # fmt: skip
    form = {"_form": name, "row": told, "answer": "not yet"}
    for _ in range(2):
        files = {"photo": ("a.jpg", picture(), "image/jpeg")}
        landed = pages.client.post("/round/answer", data=form, files=files, headers=headers)
        assert landed.json()["landed"]
    with pages.farm() as farm:
        kinds = [kept.entry.kind for kept in farm.book.about("tray:261121A.1")]
    assert kinds.count("photo") == 1


def test_a_photo_may_come_alone(pages: Pages) -> None:
    name, told = row_of(pages, "wash")
    files = {"photo": ("a.png", picture(kind="PNG"), "image/png")}
    form = {"_form": name, "row": told, "answer": "photo", "note": "cracked"}
    assert pages.post("/round/answer", form, page="/round", files=files).status_code == 303
    assert newest(pages, 1)[0].about == ("kit:cover",)


def test_what_is_no_picture_is_refused_and_nothing_is_kept(pages: Pages) -> None:
    name, told = row_of(pages, "look-261121A")
    form = {"_form": name, "row": told, "answer": "not yet"}
    files = {"photo": ("a.jpg", b"GIF89a<script>", "image/jpeg")}
    before = newest(pages, 1)
    refused = pages.post("/round/answer", form, page="/round", files=files)
    assert refused.status_code == 422
    assert "it is no picture that can be read here" in words_of(refused)
    assert newest(pages, 1) == before


def test_a_photo_too_large_to_send_is_refused(pages: Pages) -> None:
    name, told = row_of(pages, "look-261121A")
    files = {"photo": ("a.jpg", b"\xff\xd8\xff" + bytes(13 * 1024 * 1024), "image/jpeg")}
    refused = pages.post("/round/answer", {"_form": name, "row": told, "answer": "seen"}, page="/round", files=files)
    assert refused.status_code == 413


def test_a_photo_that_is_not_there_is_not_found(pages: Pages) -> None:
    assert pages.get(f"/photo/{'0' * 64}").status_code == 404


# Taking back, and who may ---------------------------------------------------------------------------------------------


def test_an_answer_is_taken_back_with_all_that_came_with_it(pages: Pages, clock: Clock) -> None:
    before = rows_of(pages.get("/round").text)
    answered(pages, "look-261121A", "ready")
    clock.forward(minutes=30)
    page = pages.get("/round").text
    done = re.search(r'action="/round/take-back".*?</form>', page[page.index('id="done-list"') :], re.DOTALL)
    assert done is not None
    names = re.findall(r'name="entry" value="([^"]+)"', done[0])
    assert pages.post("/round/take-back", {"entry": names}, page="/round").status_code == 303
    assert [type(body) for body in newest(pages, 3)] == [Struck] * 3
    page = pages.get("/round").text
    assert list(rows_of(page)) == list(before)
    assert "<s>" in page
    assert pages.post("/round/take-back", {"entry": names}, page="/round").status_code == 422


@pytest.mark.parametrize(("role", "status"), [("owner", 303), ("hand", 303), ("reader", 403)])
def test_hands_answer_and_readers_look(pages: Pages, clock: Clock, role: str, status: int) -> None:
    name, told = row_of(pages, "look-261121A")
    form = {"_form": name, "row": told, "answer": "not yet"}
    with TestClient(create_app(str(pages.book), now=clock, people=ByHeader()), base_url=ADDRESS) as client:
        shown = client.get("/round", headers={"x-role": role})
        assert shown.status_code == 200
        assert ('action="/round/answer"' in shown.text) == (status == 303)
        answer = client.post("/round/answer", data=form, headers={"x-role": role, **SCRIPT}, follow_redirects=False)
        assert answer.status_code == status
        assert client.get("/round", follow_redirects=False).status_code == 303  # a stranger: to the log-in
        assert client.get(f"/photo/{'0' * 64}", follow_redirects=False).status_code == 303


def test_a_hand_takes_back_only_what_is_its_own(pages: Pages, clock: Clock) -> None:
    answered(pages, "look-261121A", "not yet")
    with pages.farm() as farm:
        (kept,) = farm.book.entries(after=farm.book.head().seq - 1)
    with TestClient(create_app(str(pages.book), now=clock, people=ByHeader()), base_url=ADDRESS) as client:
        form = {"entry": kept.entry.id, "_from": "/round"}
        hand = client.post("/round/take-back", data=form, headers={"x-role": "hand", **SCRIPT}, follow_redirects=False)
        assert hand.status_code == 422
        owner = client.post(
            "/round/take-back", data=form, headers={"x-role": "owner", **SCRIPT}, follow_redirects=False
        )
        assert owner.status_code == 303


def test_when_all_is_done_the_page_says_when_the_next_round_is(pages: Pages, clock: Clock) -> None:
    with pages.farm() as farm:
        for row in farm.round(clock.at).rows:
            if row.kind in ("look", "cut"):
                farm.discard(row.trays, "dropped", at=clock.at, sure=True)
    page = words_of(pages.get("/round"))
    assert "done" in page
    clock.at += timedelta(minutes=1)
    with pages.farm() as farm:
        rows = farm.round(clock.at).rows
        assert all(row.kind not in ("look", "cut") for row in rows)


def test_words_with_a_job_are_kept_too(pages: Pages) -> None:
    answered(pages, "wash", "done", count="2", note="one is cracked")
    assert Note(text="One is cracked.", about=("kit:cover",)) in newest(pages, 2)


# The rest of a rack at once -------------------------------------------------------------------------------------------


def rests_of(page: str) -> list[dict[str, str]]:
    """The fields of each form that answers the looks left of a group."""
    forms = re.findall(r'<form class="rest".*?</form>', page, re.DOTALL)
    return [dict(re.findall(r'name="(waiting|others)" value="([^"]*)"', form)) for form in forms]


def test_the_looks_left_of_a_rack_are_answered_at_once(pages: Pages) -> None:
    fields = rests_of(pages.get("/round").text)[0]
    before = len(rows_of(pages.get("/round").text))
    found = pages.post("/round/rest", {**fields, "answer": "moist"}, page="/round")
    trays = [name for field in ("waiting", "others") for name in fields[field].split(",") if name]
    assert found.status_code == 303
    assert f"{len(trays)} trays looked at, none ready." in word(found)
    said = [body for body in newest(pages, 2) if isinstance(body, RoundAnswered)]
    assert {tray for body in said for tray in body.trays} == set(trays)
    assert {(body.cue, body.moisture) for body in said} <= {("not yet", "moist"), (None, "moist")}
    assert len(rows_of(pages.get("/round").text)) < before


def test_the_rest_said_twice_by_a_phone_is_kept_once(pages: Pages) -> None:
    fields, name = rests_of(pages.get("/round").text)[0], str(uuid.uuid4())
    first = pages.send("/round/rest", {**fields, "answer": "moist"}, name=name)
    with pages.farm() as farm:
        kept = farm.book.head().seq
    again = pages.send("/round/rest", {**fields, "answer": "moist"}, name=name)
    with pages.farm() as farm:
        assert farm.book.head().seq == kept
    assert first.json()["landed"] is again.json()["landed"] is True


def test_trays_that_went_since_are_left_out_of_the_rest(pages: Pages) -> None:
    fields = rests_of(pages.get("/round").text)[0]
    gone, *left = [name for field in ("waiting", "others") for name in fields[field].split(",") if name]
    with pages.farm() as farm:
        farm.discard([gone], "fell off the shelf", at=pages.clock.at)
        before = farm.book.head().seq
    pages.post("/round/rest", {**fields, "answer": "dry"}, page="/round")
    with pages.farm() as farm:
        said = [kept.entry.body for kept in farm.book.entries(after=before)]
    seen = {tray for body in said if isinstance(body, RoundAnswered) for tray in body.trays}
    assert seen == set(left)
    assert any(isinstance(body, Watered) for body in said)


def test_the_rest_of_trays_that_are_all_gone_is_refused_plainly(pages: Pages) -> None:
    found = pages.post("/round/rest", {"waiting": "250101A.1", "others": "", "answer": "moist"}, page="/round")
    assert found.status_code == 422
    assert "none of them grows any more" in words_of(found)


def test_a_long_round_shows_its_newest_answers_and_the_others_on_pages_of_their_own(pages: Pages, clock: Clock) -> None:
    with pages.farm() as farm:
        tray = farm.state(clock()).growing()[0].tray
        for number in range(90):
            said = RoundAnswered(trays=(tray,), round="2026-11-25 morning", moisture="moist")
            farm.record(said, at=clock() + timedelta(seconds=number))
    clock.forward(minutes=5)
    page = pages.get("/round").text
    assert "90 answers in this round" in page
    assert page.count('id="list-done-') == 40
    assert page.count('id="twice-done-') == 20
    assert "The newest 20 of 90; the others stand below." in page
    last = pages.get("/round?said=3").text
    assert last.count('id="list-done-') == 10
    assert '<details id="done-list" class="done-list" open>' in last
