"""Who may do what, where requests may come from, and what pages may load."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, Clock, Pages
from trayward.web.app import ROUTES, create_app
from trayward.web.ask import Ask
from trayward.web.guard import MAY, OnePerson, Right, Role, Who
from trayward.web.routing import act, api, page


class ByHeader:
    """People told apart by a header; for tests alone."""

    def anyone(self) -> bool:
        return True

    def who(self, request: Request) -> Who | None:
        role = request.headers.get("x-role", "")
        return Who(name="Ada", role=role, by_token="x-token" in request.headers) if role in MAY else None  # type: ignore[arg-type]

    def stranger(self, request: Request) -> Response | None:
        return RedirectResponse("/login", status_code=303)

    def answered(self, request: Request, response: Response) -> None:
        response.headers["x-answered"] = "yes"


def said(ask: Ask) -> Response:
    return Response("open")


TRY = (
    page("/t/look", said, may="look"),
    act("/t/answer", said, may="answer"),
    act("/t/run", said, may="run"),
    page("/t/anyone", said, may="anyone"),
    api("POST", "/t/api", said, may="run"),
)


@pytest.fixture
def client(book: Path, clock: Clock) -> Iterator[TestClient]:
    app = create_app(str(book), now=clock, people=ByHeader(), routes=(*ROUTES, *TRY))
    with TestClient(app, base_url=ADDRESS, follow_redirects=False) as opened:
        yield opened


SCRIPT = {"Trayward-Script": "1"}


@pytest.mark.parametrize(
    ("role", "right", "status"),
    [
        ("owner", "look", 200), ("owner", "answer", 200), ("owner", "run", 200),
        ("hand", "look", 200), ("hand", "answer", 200), ("hand", "run", 403),
        ("reader", "look", 200), ("reader", "answer", 403), ("reader", "run", 403),
        ("", "look", 303), ("", "answer", 303), ("", "run", 303),
    ],
)  # fmt: skip
def test_each_role_may_do_what_is_its_own(client: TestClient, role: Role, right: Right, status: int) -> None:
    method = "GET" if right == "look" else "POST"
    answer = client.request(method, f"/t/{right}", headers={"x-role": role, **SCRIPT})
    assert answer.status_code == status


def test_a_stranger_gets_a_401_in_json_from_programs_and_kept_sends(client: TestClient) -> None:
    assert client.post("/t/api", headers=SCRIPT).status_code == 401
    told = client.post("/t/answer", headers={"Accept": "application/json", **SCRIPT})
    assert (told.status_code, told.json()["error"]["kind"]) == (401, "shut")


def test_a_stranger_hears_nothing_of_the_book(client: TestClient) -> None:
    assert client.get("/live").status_code == 401
    assert client.get("/live/now").status_code == 401
    assert "Lantern Loft" not in client.get("/nowhere").text


def test_who_is_known_gets_the_last_touch_of_who_keeps_the_people(client: TestClient) -> None:
    assert client.get("/t/look", headers={"x-role": "reader"}).headers["x-answered"] == "yes"


def test_every_way_in_takes_a_right() -> None:
    assert all(way.may in ("look", "answer", "run", "sense", "anyone") for way in ROUTES)
    with pytest.raises(TypeError, match="may"):
        page("/x", said)  # type: ignore[call-arg]


# Where it comes from --------------------------------------------------------------------------------------------------


def posted(pages: Pages, **headers: str) -> int:
    sent = {name.replace("_", "-"): value for name, value in headers.items()}
    return int(pages.post("/undo", {"entry": "x"}, headers=sent).status_code)


@pytest.mark.parametrize(
    "headers",
    [{}, {"Origin": ADDRESS}, {"Sec_Fetch_Site": "same-origin"}, {"Sec_Fetch_Site": "none", "Origin": ADDRESS}],
)
def test_our_own_forms_are_taken(pages: Pages, headers: dict[str, str]) -> None:
    assert posted(pages, **headers) == 422


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://elsewhere.example"}, {"Origin": "null"}, {"Sec_Fetch_Site": "cross-site"},
        {"Sec_Fetch_Site": "same-site"}, {"Origin": "http://127.0.0.1:9999"},
        {"Origin": "http://elsewhere.example", "Trayward_Id": "0f5c1c3e-7d2b-4a57-9d3f-6a1f0c9b8e11"},
    ],
)  # fmt: skip
def test_what_another_site_sends_is_refused(pages: Pages, headers: dict[str, str]) -> None:
    assert posted(pages, **headers) == 403


def test_a_form_without_its_key_is_refused_and_its_words_are_not_lost(pages: Pages) -> None:
    pages.key()
    told = pages.client.post("/undo", data={"entry": "the words", "_key": "wrong"})
    assert told.status_code == 403
    assert "the words" in told.text


def test_a_phone_sends_what_it_kept_for_days_without_a_key(pages: Pages) -> None:
    assert pages.send("/undo", {"entry": "x"}).status_code == 422


def test_a_token_in_the_request_itself_needs_no_key(client: TestClient) -> None:
    assert client.post("/t/api", headers={"x-role": "owner", "x-token": "1"}).status_code == 200
    assert client.post("/t/api", headers={"x-role": "owner"}).status_code == 403


@pytest.mark.parametrize(
    ("host", "status"),
    [("127.0.0.1:8470", 200), ("localhost:8470", 200), ("[::1]:8470", 200), ("loft.example", 403),
     ("127.0.0.1.loft.example", 403)],
)  # fmt: skip
def test_without_people_only_this_machine_is_answered(pages: Pages, host: str, status: int) -> None:
    assert pages.get("/about", Host=host).status_code == status


# What a page may load -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ["/", "/about", "/nowhere", "/live/now"])
def test_every_answer_shuts_out_what_is_not_ours(pages: Pages, path: str) -> None:
    headers = pages.get(path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "data:" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "same-origin"
    assert headers["cache-control"] in ("private, no-cache", "no-store")


def test_no_template_has_script_or_style_within_it() -> None:
    web = Path(create_app.__code__.co_filename).parent
    for path in web.rglob("*.html"):
        text = path.read_text(encoding="utf-8")
        for bad in (
            "style=",
            "<style",
            "onclick=",
            "onload=",
            "onsubmit=",
            "javascript:",
            "http://",
            "https://",
            "|safe",
        ):
            assert bad not in text.replace("| safe", "|safe"), f"{path.name} has {bad}"
        named = [f'<script {how} src="{{{{ static(' for how in ('type="module"', "async")]
        assert text.count("<script") == sum(map(text.count, named)), path.name


def test_cookies_are_out_of_reach_of_scripts_and_other_sites(pages: Pages) -> None:
    pages.client.cookies.clear()
    page_with_form = pages.get("/about?lang=es")
    cookies = page_with_form.headers.get_list("set-cookie")
    assert cookies
    assert all("HttpOnly" in each and "SameSite=lax" in each for each in cookies)


def test_one_person_at_this_machine_owns_all() -> None:
    assert OnePerson("Maren").who(None) == Who(name="Maren", role="owner")  # type: ignore[arg-type]
