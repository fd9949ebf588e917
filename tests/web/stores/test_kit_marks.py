"""Marked kit on its pages: marks given, the history of one mat, steps of the farm, torn and lost."""

from __future__ import annotations

import msgspec
import pytest

from tests.web.conftest import Pages, words_of
from trayward.farm.entries import Washed
from trayward.farm.kit import Clearing, Pool

STEPS = {"pool": "mesh mat", "steps": "scrape, soap, rinse hot", "ppm_least": "80", "ppm_most": "200",
         "after_mould": "1", "uncleared": "refuse"}  # fmt: skip


def marked(pages: Pages) -> None:
    form = {"pool": "mesh mat", "marks": "M1-M6"}
    assert pages.post("/stores/kit/mark", form, page="/stores/kit").status_code == 303


def test_it_works(pages: Pages) -> None:
    marked(pages)
    shown = words_of(pages.get("/stores/kit"))
    assert "M6" in shown
    assert "cleared since" in shown
    assert "marked M1, of mesh mat" in words_of(pages.get("/stores/kit/M1"))
    assert pages.get("/stores/kit/M99").status_code == 404


def test_many_marks_are_listed_page_by_page(pages: Pages) -> None:
    form = {"pool": "mesh mat", "marks": "M1-M150"}
    assert pages.post("/stores/kit/mark", form, page="/stores/kit").status_code == 303
    first = pages.get("/stores/kit").text
    assert (first.count("/stores/kit/M"), "/stores/kit/M60" in first, "1 of 3" in first) == (60, True, True)
    last = pages.get("/stores/kit?pool=mesh%20mat&page=3").text
    assert (last.count("/stores/kit/M"), "/stores/kit/M150" in last, "3 of 3" in last) == (30, True, True)
    assert "1 of 3" in pages.get("/stores/kit?pool=mesh%20mat&page=none").text
    assert "3 of 3" in pages.get("/stores/kit?pool=mesh%20mat&page=99").text


def test_the_farms_steps_are_kept_and_shown_again(pages: Pages) -> None:
    assert pages.post("/stores/kit/steps", STEPS, page="/stores/kit").status_code == 303
    with pages.farm() as farm:
        rule = farm.state(pages.clock.at).kit["mesh mat"].pool.clearing
    assert (rule.steps, rule.ppm_least, rule.refuse) == (("scrape", "soap", "rinse hot"), 80.0, True)
    assert "scrape, soap, rinse hot" in words_of(pages.get("/stores/kit"))


@pytest.mark.parametrize(
    ("path", "form", "typed"),
    [
        ("mark", {"pool": "mesh mat", "marks": "7up"}, "7up"),
        ("steps", {**STEPS, "ppm_least": "300"}, "300"),
        ("use", {"tray": "nothing.1", "marks": "M1"}, "nothing.1"),
    ],
)
def test_bad_input_keeps_what_was_typed(pages: Pages, path: str, form: dict[str, str], typed: str) -> None:
    marked(pages)
    refused = pages.post(f"/stores/kit/{path}", form, page="/stores/kit")
    assert refused.status_code in (404, 422)
    assert typed in refused.text


def test_some_of_the_marked_mats_are_washed_beside_the_round(pages: Pages) -> None:
    marked(pages)
    with pages.farm() as farm:
        farm.set_kit(Pool(name="mesh mat", count=40), at=pages.clock.at)
        name = farm.sow("broccoli", 3, marks=["M1", "M2", "M3"], at=pages.clock.at).names[0]
        farm.discard([name], "too thin", at=pages.clock.at)
        dirty = farm.state(pages.clock.at).kit["mesh mat"].dirty
    assert "all of M1-M3 if left empty" in words_of(pages.get("/stores"))
    form = {"pool": "mesh mat", "washed": str(dirty), "marks": "M1-M2", "rinse": "65 C", "soap": "soft soap"}
    assert pages.post("/stores/kit/wash", {**form, "marks": "M1-"}, page="/stores").status_code == 422
    assert pages.post("/stores/kit/wash", form, page="/stores").status_code == 303
    with pages.farm() as farm:
        held = farm.state(pages.clock.at).kit["mesh mat"]
        body = farm.said_about("mark:M1", pages.clock.at)[-1].body
    assert [held.marks[name].where for name in ("M1", "M2", "M3")] == ["ready", "ready", "dirty"]
    assert isinstance(body, Washed)
    assert (body.rinse_c, body.soap, body.marks) == (65.0, "soft soap", ("M1", "M2"))


def test_kit_that_waits_to_be_sanitised_after_mould_is_shown_in_the_wash(pages: Pages) -> None:
    with pages.farm() as farm:
        held = farm.state(pages.clock.at).kit["mesh mat"]
        farm.set_kit(msgspec.structs.replace(held.pool, clearing=Clearing(after_mould=True)), at=pages.clock.at)
        if held.dirty:
            farm.wash("mesh mat", at=pages.clock.at)
        name = farm.sow("broccoli", 1, at=pages.clock.at).names[0]
        farm.discard([name], "mould", at=pages.clock.at)
        farm.wash("mesh mat", at=pages.clock.at)
        assert farm.state(pages.clock.at).kit["mesh mat"].washed == 1
    assert "1 to sanitise" in words_of(pages.get("/stores"))


def test_a_torn_mat_is_retired_on_its_page(pages: Pages) -> None:
    marked(pages)
    form = {"mark": "M1", "fate": "retired", "reason": "torn", "replaced": "M7"}
    assert pages.post("/stores/kit/retire", form, page="/stores/kit/M1").status_code == 303
    assert "retired, torn" in words_of(pages.get("/stores/kit/M1"))
    assert "instead of M1" in words_of(pages.get("/stores/kit/M7"))
