"""The bench in a real browser: it computes as one types, without storing, and its address can be shared."""

from __future__ import annotations

from urllib.parse import urlencode

import pytest
from playwright.sync_api import expect

from tests.web.browser.conftest import PageAt, assert_fits, axe, shot
from trayward.web.bench.fields import example_of
from trayward.web.bench.sums.declared import bench_named

PICTURED = (
    ("light", "map"), ("hygiene", "dilute"), ("seed", "grams"), ("water", "acid"), ("money", "break-even"),
    ("air", "room"), ("growth", "emergence"), ("growth", "log"),
)  # fmt: skip


def test_it_computes_as_one_types(page_at: PageAt) -> None:
    page = page_at("/bench")
    page.get_by_role("link", name="Seed Seed on the scale").click()
    page.get_by_role("link", name="Grams Seed to weigh").click()
    page.get_by_label("Crop").select_option("broccoli")
    page.get_by_label("Live seeds wanted").press_sequentially("4.4")
    expect(page.locator("#answer .big")).to_have_text("19.4 g")
    expect(page.locator("#short")).to_contain_text("19.4 g")
    assert page.url.endswith("/bench/seed/grams?crop=broccoli&density=4.4")
    page.get_by_label("Live seeds wanted").fill("lots")
    expect(page.locator("[data-field=density]")).to_have_class("field wrong")
    expect(page.locator("#answer")).to_contain_text("it must be seeds on an area")
    assert page.get_by_label("Live seeds wanted").input_value() == "lots"
    page.get_by_label("Live seeds wanted").fill("8.8")
    expect(page.locator("#answer .big")).to_have_text("38.8 g")
    page.reload()
    expect(page.locator("#answer .big")).to_have_text("38.8 g")


def test_without_scripts_a_button_works_it_out(page_at: PageAt) -> None:
    page = page_at("/bench/water/ec", java_script_enabled=False)
    page.get_by_label("Reading").fill("1.6 dS/m")
    page.get_by_role("button", name="Work it out").click()
    expect(page.locator("#answer .big")).to_be_visible()


def test_what_asks_the_outlook_appears_by_itself(page_at: PageAt) -> None:
    page = page_at("/bench/money/tray")
    page.get_by_label("Crop").select_option("broccoli")
    expect(page.locator("#answer .big")).to_be_visible(timeout=60_000)
    assert axe(page) == []


def test_a_loggers_lines_are_pasted(page_at: PageAt) -> None:
    page = page_at("/bench/air/log")
    lines = "time,temperature,humidity\n2026-11-25 07:30,21.4,60\n2026-11-25 09:30,22.0,64\n"
    page.get_by_label("or paste its lines").fill(lines)
    expect(page.locator("#answer .big")).to_be_visible()


@pytest.mark.parametrize(("name", "task"), PICTURED)
def test_every_kind_of_page_fits_and_is_for_everyone(page_at: PageAt, name: str, task: str) -> None:
    query = urlencode(example_of(bench_named(name).sums[task])) if task != "log" else ""
    page = page_at(f"/bench/{name}/{task}?{query}")
    assert_fits(page)
    assert axe(page) == []
    shot(page, f"bench-{name}-{task}-phone")
    page.set_viewport_size({"width": 1280, "height": 900})
    page.emulate_media(color_scheme="dark")
    assert_fits(page)
    assert axe(page) == []
    shot(page, f"bench-{name}-{task}-desk-dark")


@pytest.mark.parametrize("path", ["/bench", "/bench/seed"])
def test_the_lists_fit(page_at: PageAt, path: str) -> None:
    page = page_at(path)
    assert_fits(page)
    assert axe(page) == []
    shot(page, path.strip("/").replace("/", "-") + "-phone")
