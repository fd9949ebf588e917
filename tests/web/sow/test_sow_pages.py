"""The pages of the plan: looked at, made anew and kept, done, wished otherwise, wondered about."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from urllib.parse import quote

import pytest
from msgspec.structs import replace
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, MORNING, Clock, Pages, words_of
from tests.web.sow.conftest import ByHeader
from trayward import Farm
from trayward.plan.types import Plan
from trayward.web.app import create_app
from trayward.web.sow.wishes import by_hand, plan_mark


@pytest.fixture(scope="module")
def made(lantern_loft: Path, tmp_path_factory: pytest.TempPathFactory) -> Plan:
    """A plan of the morning, made once over what comes; its first sowing is for today."""
    from trayward.plan.decide import Effort

    copied = tmp_path_factory.mktemp("plan") / "lantern-loft.sqlite"
    shutil.copyfile(lantern_loft, copied)
    with Farm.open(str(copied)) as farm:
        plan = farm.plan(MORNING, weeks=3, effort=Effort(proof_seconds=0, reasons=False))
    first = replace(plan.sowings[0], sow_on=MORNING.date())
    return replace(plan, sowings=(first, *plan.sowings[1:]))


@pytest.fixture
def kept(made: Plan, book: Path, clock: Clock) -> Plan:
    """That plan, kept ten minutes ago."""
    with Farm.open(str(book)) as farm:
        farm.keep_plan(made, at=clock.at, by="Ada")
    clock.forward(minutes=10)
    return made


def test_it_works(kept: Plan, pages: Pages) -> None:
    page = pages.get("/sow")
    assert page.status_code == 200
    told = words_of(page)
    assert "Today:" in told
    assert kept.sowings[0].recipe in told
    assert "nothing has happened since" in told
    assert not re.search(r"</span>\s*\.", page.text), "a full stop behind a box of its own may begin a line"


@pytest.mark.parametrize(
    "path", ["/sow", "/sow/picture", "/sow/mix", "/sow/what-if", "/sow/anew", "/sow/sowing/0", "/sow/add"]
)
def test_every_page_opens(kept: Plan, pages: Pages, path: str) -> None:
    assert pages.get(path).status_code == 200


@pytest.mark.parametrize("path", ["/sow/sowing/9999", "/sow/sowing/-1", "/sow/sowing/x"])
def test_a_sowing_that_is_not_in_the_plan_is_not_found(kept: Plan, pages: Pages, path: str) -> None:
    assert pages.get(path).status_code == 404


def test_it_says_how_far_the_book_has_moved_on(kept: Plan, pages: Pages) -> None:
    with pages.farm() as farm:
        farm.note("Door left open", at=pages.clock.at, by="Ada")
    pages.clock.forward(minutes=1)
    assert "The book has moved on since, by 1 entry." in words_of(pages.get("/sow"))


def test_a_sowing_is_done_with_one_tap_as_the_round_would(kept: Plan, pages: Pages) -> None:
    first = kept.sowings[0]
    form = {"recipe": first.recipe, "day": first.sow_on.isoformat(), "trays": first.trays}
    with pages.farm() as farm:
        before = set(farm.state(pages.clock.at).sowings)
    answer = pages.post("/sow/accept", form, page="/sow")
    assert answer.status_code == 303, words_of(answer)
    pages.clock.forward(minutes=1)
    with pages.farm() as farm:
        state = farm.state(pages.clock.at)
    (made,) = [one for name, one in state.sowings.items() if name not in before]
    assert (made.recipe, len(made.trays)) == (first.recipe, first.trays)
    assert sum(made.lots.values()) == pytest.approx(first.seed_g, abs=0.2)


def marked(pages: Pages, recipe: str) -> str:
    """Forty marks on what a tray of a recipe stands on; the pool."""
    with pages.farm() as farm:
        pool = farm.state(pages.clock.at).recipes[recipe].kit[0].pool
        farm.mark_kit(pool, [f"M{number}" for number in range(1, 41)], at=pages.clock.at, by="Ada")
    pages.clock.forward(minutes=1)
    return pool


def test_a_sowing_says_which_mat_by_its_mark(kept: Plan, pages: Pages) -> None:
    first = kept.sowings[0]
    assert 'name="marks"' not in pages.get("/sow/sowing/0").text, "nothing carries marks yet"
    pool = marked(pages, first.recipe)
    assert "Empty: M1" in words_of(pages.get("/sow/sowing/0"))
    last = [f"M{40 - number}" for number in range(first.trays)]
    form = {"recipe": first.recipe, "day": first.sow_on.isoformat(), "trays": first.trays, "marks": ", ".join(last)}
    with pages.farm() as farm:
        before = set(farm.state(pages.clock.at).sowings)
    answer = pages.post("/sow/accept", form, page="/sow/sowing/0")
    assert answer.status_code == 303, words_of(answer)
    pages.clock.forward(minutes=1)
    with pages.farm() as farm:
        state = farm.state(pages.clock.at)
    (made,) = [one for name, one in state.sowings.items() if name not in before]
    assert {mark for tray in made.trays for mark in state.kit[pool].on[tray]} == set(last)


def test_a_mark_that_nothing_carries_is_refused_at_its_field(kept: Plan, pages: Pages) -> None:
    first = kept.sowings[0]
    marked(pages, first.recipe)
    form = {
        "recipe": first.recipe, "day": first.sow_on.isoformat(), "trays": first.trays, "marks": "Z7", "_form": "done",
    }  # fmt: skip
    answer = pages.post("/sow/accept", form, page="/sow/sowing/0")
    assert answer.status_code == 422
    assert 'value="Z7"' in answer.text


def test_the_same_sending_twice_sows_once(kept: Plan, pages: Pages) -> None:
    first = kept.sowings[0]
    form = {"recipe": first.recipe, "day": first.sow_on.isoformat(), "trays": str(first.trays)}
    name = "7f3f86a2-5c43-4df0-a3f5-0d5c2b1f0c11"
    assert pages.send("/sow/accept", form, name=name).status_code == 200
    assert pages.send("/sow/accept", form, name=name).status_code == 200
    pages.clock.forward(minutes=1)
    with pages.farm() as farm:
        sown = farm.state(pages.clock.at).sowings.values()
    assert sum(one.recipe == first.recipe and one.sown_at >= kept.made_at for one in sown) == 1


def test_what_somebody_else_sowed_already_is_asked_about_and_a_phone_is_told(kept: Plan, pages: Pages) -> None:
    first = kept.sowings[0]
    form = {"recipe": first.recipe, "day": first.sow_on.isoformat(), "trays": str(first.trays)}
    assert pages.send("/sow/accept", form).status_code == 200
    pages.clock.forward(minutes=1)
    asked = pages.post("/sow/accept", form, page="/sow")
    assert asked.status_code == 422
    assert "Is this right?" in words_of(asked)
    landed = pages.send("/sow/accept", form)
    assert landed.status_code == 200
    assert "the plan asks for 0 more of it" in landed.text


def test_bad_trays_keep_what_was_typed(kept: Plan, pages: Pages) -> None:
    first = kept.sowings[0]
    form = {"recipe": first.recipe, "day": first.sow_on.isoformat(), "trays": "two", "_form": "done"}
    answer = pages.post("/sow/accept", form, page="/sow/sowing/0")
    assert answer.status_code == 422
    assert 'value="two"' in answer.text
    assert "must be a whole number" in answer.text


def test_a_plan_is_made_anew_looked_at_and_kept(kept: Plan, pages: Pages) -> None:
    address = f"/sow/anew?weeks=3&from={quote(pages.clock.at.isoformat())}"
    waiting = pages.get(address)
    assert "being worked out" in words_of(waiting)
    assert '<noscript><a class="button plain" href="">Look again</a></noscript>' in waiting.text
    assert pages.client.app.state.house.work.wait(120)  # type: ignore[attr-defined]
    page = pages.get(address)
    assert "Look again" not in page.text
    assert "What changed" in words_of(page)
    mark = re.search(r'name="plan" value="([^"]+)"', page.text)
    assert mark is not None
    answer = pages.post("/sow/keep", {"plan": mark[1].replace("&#43;", "+"), "weeks": "3"}, page=address)
    assert answer.status_code == 303, words_of(answer)
    pages.clock.forward(minutes=1)
    with pages.farm() as farm:
        now = farm.kept_plan(pages.clock.at)
    assert now is not None
    assert now.made_at > kept.made_at


def test_a_plan_being_read_stays_while_others_go_on(kept: Plan, pages: Pages) -> None:
    address = f"/sow/anew?weeks=3&from={quote(pages.clock.at.isoformat())}"
    pages.get(address)
    house = pages.client.app.state.house  # type: ignore[attr-defined]
    assert house.work.wait(120)
    with pages.farm() as farm:
        farm.note("Somebody answers a row", at=pages.clock.at, by="Ben")
    pages.clock.forward(minutes=1)
    assert "Keep this plan" in words_of(pages.get(address))
    assert house.work.wait(0), "a plan was begun that nobody asked for"


def test_a_sowing_gets_other_trays_and_another_day(kept: Plan, pages: Pages) -> None:
    first = kept.sowings[0]
    to = first.sow_on.replace(day=first.sow_on.day + 1)
    form = {"plan": plan_mark(kept), "number": "0", "trays": str(first.trays + 2), "day": to.isoformat()}
    answer = pages.post("/sow/change", form, page="/sow/sowing/0")
    assert answer.status_code == 303, words_of(answer)
    pages.clock.forward(minutes=1)
    with pages.farm() as farm:
        now = farm.kept_plan(pages.clock.at)
    assert now is not None
    wanted = (first.recipe, to, first.trays + 2)
    changed = [one for one in now.sowings if (one.recipe, one.sow_on, one.trays) == wanted]
    assert len(changed) == 1
    assert len(by_hand(now)[0]) == 2
    assert "Changed by hand" in words_of(pages.get("/sow"))


def test_a_sowing_left_out_is_not_asked_for(kept: Plan, pages: Pages) -> None:
    answer = pages.post("/sow/leave-out", {"plan": plan_mark(kept), "number": "0"}, page="/sow/sowing/0")
    assert answer.status_code == 303, words_of(answer)
    pages.clock.forward(minutes=1)
    with pages.farm() as farm:
        now = farm.kept_plan(pages.clock.at)
    assert now is not None
    assert now.sowings == kept.sowings[1:]


def test_one_of_ones_own_stands_with_its_outlook(kept: Plan, pages: Pages) -> None:
    recipe = kept.sowings[0].recipe
    day = kept.first.replace(day=kept.first.day + 2).isoformat()
    form = {"plan": plan_mark(kept), "recipe": recipe, "trays": "2", "day": day}
    answer = pages.post("/sow/add", form, page="/sow/add")
    assert answer.status_code == 303, words_of(answer)
    pages.clock.forward(minutes=1)
    with pages.farm() as farm:
        now = farm.kept_plan(pages.clock.at)
    assert now is not None
    (own,) = [one for one in now.sowings if one.why.startswith("Your own wish")]
    assert (own.recipe, own.trays, own.sow_on.isoformat()) == (recipe, 2, day)
    assert own.grams_expected > 0
    assert own.seed_g > 0
    assert own.cut_between is not None
    assert own.cut_between[0] <= own.cut_on <= own.cut_between[1]


def test_a_change_against_an_older_plan_is_refused(kept: Plan, pages: Pages) -> None:
    form = {"plan": "2020-01-01 1 1", "number": "0", "trays": "4", "day": "2026-11-26"}
    answer = pages.post("/sow/change", form, page="/sow/sowing/0")
    assert answer.status_code == 422
    assert "changed since this page was opened" in words_of(answer)


def test_a_change_is_supposed_only_if_it_is_understood(pages: Pages) -> None:
    good = pages.post("/sow/what-if", {"kind": "drop", "crop": "basil", "then": "gone"}, page="/sow/what-if")
    assert good.status_code == 303
    assert "basil no longer sown" in words_of(pages.get(good.headers["location"]))
    bad = pages.post("/sow/what-if", {"kind": "words", "words": "purple rain", "_form": "words"}, page="/sow/what-if")
    assert bad.status_code == 422
    assert 'value="purple rain"' in bad.text


def test_two_plans_are_held_side_by_side(pages: Pages) -> None:
    address = f"/sow/what-if?c=no+basil&weeks=3&from={quote(pages.clock.at.isoformat())}"
    assert "being worked out" in words_of(pages.get(address))
    assert pages.client.app.state.house.work.wait(180)  # type: ignore[attr-defined]
    told = words_of(pages.get(address))
    assert "With it and as it is" in told
    assert "can be told apart" in told or "cannot be told apart" in told


@pytest.mark.parametrize(
    ("role", "path", "status"),
    [
        ("reader", "/sow/accept", 403),
        ("hand", "/sow/keep", 403),
        ("hand", "/sow/change", 403),
        ("hand", "/sow/leave-out", 403),
        ("hand", "/sow/add", 403),
        ("stranger", "/sow/accept", 303),
    ],
)
def test_who_may_not_is_kept_out(book: Path, clock: Clock, role: str, path: str, status: int) -> None:
    with TestClient(create_app(str(book), now=clock, people=ByHeader()), base_url=ADDRESS) as client:
        answer = client.post(path, headers={"x-role": role, "Trayward-Script": "1"}, follow_redirects=False)
        assert answer.status_code == status


def test_a_hand_may_say_what_was_sown(kept: Plan, book: Path, clock: Clock) -> None:
    first = kept.sowings[0]
    form = {"recipe": first.recipe, "day": first.sow_on.isoformat(), "trays": str(first.trays)}
    with TestClient(create_app(str(book), now=clock, people=ByHeader()), base_url=ADDRESS) as client:
        headers = {"x-role": "hand", "Trayward-Script": "1"}
        assert client.post("/sow/accept", data=form, headers=headers, follow_redirects=False).status_code == 303


def test_a_farm_without_a_plan_offers_to_make_one(tmp_path: Path, clock: Clock) -> None:
    path = tmp_path / "shelf.sqlite"
    Farm.create(path, "shelf", at=clock.at).close()
    with TestClient(create_app(str(path), now=clock), base_url=ADDRESS) as client:
        page = client.get("/sow")
        assert page.status_code == 200
        assert "Make a plan" in words_of(page)
        assert client.get("/sow/picture").status_code == 404
