"""The plan drawn as an SVG of our own."""

from __future__ import annotations

import subprocess
import sys
import xml.etree.ElementTree as Tree
from datetime import date
from itertools import pairwise

import pytest

from tests.web.sow.conftest import TODAY, day, sowing
from trayward.plan.types import Plan, RackUse
from trayward.web.sow.picture import DESK, PHONE, Size, crop_rows, fullest, rack_picture, timeline

SVG = "{http://www.w3.org/2000/svg}"


def words_of_day(one: date) -> str:
    return one.strftime("%d %b")


def drawn(text: str) -> Tree.Element:
    return Tree.fromstring(str(text).replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_every_sowing_is_drawn_with_its_trays_and_stages_in_order(plan: Plan, size: Size) -> None:
    picture = drawn(timeline(plan, size, words_of_day))
    spans = [each for each in picture.iter(f"{SVG}rect") if each.get("class", "").startswith("span")]
    assert len(spans) == 12  # four stages of three sowings
    for first, after in pairwise(spans):
        if first.get("y") == after.get("y"):
            assert float(first.get("x", 0)) + float(first.get("width", 0)) == pytest.approx(
                float(after.get("x", 0)), abs=0.11
            )
    width = float(picture.get("viewBox", "").split()[2])
    assert all(0 <= float(each.get("x", 0)) <= width for each in spans)
    said = [each.text for each in picture.iter(f"{SVG}text")]
    assert {"broccoli", "radish", "pea", "1", "2", "3"} <= set(said)


def test_a_day_due_that_is_not_sure_is_an_open_triangle(plan: Plan) -> None:
    rows = {row.crop: row for row in crop_rows(plan)}
    assert [(due.day, due.sure) for due in rows["radish"].dues] == [(day(12), False)]
    assert [(due.day, due.sure) for due in rows["broccoli"].dues] == [(day(11), True)]
    assert timeline(plan, DESK, words_of_day).count('class="due unsure"') == 1


def test_the_limit_is_drawn_and_what_may_lie_beyond_it_is_hatched(plan: Plan) -> None:
    text = rack_picture(plan, DESK, words_of_day)
    picture = drawn(text)
    paths = {each.get("class"): each.get("d", "") for each in picture.iter(f"{SVG}path")}
    heights = {float(point.split()[1]) for point in paths["limit"].removeprefix("M").split("L")}
    assert len(heights) == 1  # eight spots every night
    likely = [float(point.split()[1]) for point in paths["likely"].removeprefix("M").split("L")]
    assert min(likely) > min(heights)  # seven of eight: below the limit
    assert text.count('class="over"') == 1


def test_the_fullest_night_is_told_in_words(plan: Plan) -> None:
    (told,) = fullest(plan)
    assert (told.limit, told.day, told.likely, told.has, told.beyond) == ("lit spots", day(10), 7.0, 8.0, 1)


def test_a_plan_with_nothing_in_it_draws(plan: Plan) -> None:
    racks = (RackUse(limit="lit spots", has=(), likely=(), low=(), high=()),)
    empty = Plan(made_at=plan.made_at, first=TODAY, last=day(20), racks=racks)
    assert drawn(timeline(empty, PHONE, words_of_day)) is not None
    assert drawn(rack_picture(empty, PHONE, words_of_day)) is not None
    assert fullest(empty) == ()


def test_names_are_escaped_and_long_ones_cut(plan: Plan) -> None:
    odd = Plan(made_at=plan.made_at, first=TODAY, last=day(20), sowings=(sowing("<b>&amp " * 12, 0, 1),))
    text = timeline(odd, DESK, words_of_day)
    assert "<b>" not in text
    assert any((each.text or "").endswith("…") for each in drawn(text).iter(f"{SVG}text"))


def test_a_crop_with_very_many_sowings_counts_those_that_are_not_drawn(plan: Plan) -> None:
    many = Plan(made_at=plan.made_at, first=TODAY, last=day(20), sowings=tuple(sowing("pea", 0, 1) for _ in range(40)))
    texts = [each.text for each in drawn(timeline(many, DESK, words_of_day)).iter(f"{SVG}text")]
    assert "pea (+26)" in texts


def test_drawing_loads_nothing_heavy() -> None:
    words = "import sys, trayward.web.sow.picture; print('matplotlib' in sys.modules)"
    told = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "False"
