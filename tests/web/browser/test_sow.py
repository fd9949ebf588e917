"""The plan in a real browser: made, kept, a sowing done, and wondered about."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from msgspec.structs import replace
from playwright.sync_api import expect

from tests.web.browser.conftest import PageAt, Server, assert_fits, assert_for_everyone, axe, shot
from tests.web.conftest import MORNING, Clock
from trayward import Farm
from trayward.errors import TraywardError
from trayward.plan.types import Plan, PlannedSowing


@pytest.fixture(scope="module")
def made(lantern_loft: Path, tmp_path_factory: pytest.TempPathFactory) -> Plan:
    """A plan of the morning, made once; its first sowing is for today, and there is a place, a mat and seed for it."""
    copied = tmp_path_factory.mktemp("plan") / "lantern-loft.sqlite"
    shutil.copyfile(lantern_loft, copied)
    with Farm.open(str(copied)) as farm:
        plan = farm.plan(MORNING, weeks=3)
        first = next(one for one in plan.sowings if _goes_today(farm, one))
    rest = (one for one in plan.sowings if one is not first)
    return replace(plan, sowings=(replace(first, sow_on=MORNING.date(), trays=1), *rest))


def _goes_today(farm: Farm, planned: PlannedSowing) -> bool:
    try:
        farm.sow(planned.recipe, 1, at=MORNING)
    except TraywardError:
        return False
    return True


@pytest.fixture
def kept(made: Plan, book: Path) -> Plan:
    """That plan, kept."""
    with Farm.open(str(book)) as farm:
        farm.keep_plan(made, at=MORNING, by="Ada")
    return made


@pytest.mark.parametrize("path", ["/sow", "/sow/picture", "/sow/mix", "/sow/what-if", "/sow/sowing/0", "/sow/add"])
def test_the_pages_fit_the_screen_and_pass_axe(kept: Plan, page_at: PageAt, path: str) -> None:
    assert_for_everyone(page_at(path), path.strip("/").replace("/", "-"))


def test_the_picture_is_drawn_for_the_screen_it_is_on(kept: Plan, page_at: PageAt) -> None:
    phone = page_at("/sow/picture", "phone")
    expect(phone.locator(".drawn-phone").first).to_be_visible()
    expect(phone.locator(".drawn-desk").first).to_be_hidden()
    desk = page_at("/sow/picture", "desk")
    expect(desk.locator(".drawn-desk").first).to_be_visible()
    expect(desk.locator(".drawn-phone").first).to_be_hidden()


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
def test_every_tab_is_in_view_on_a_phone(kept: Plan, page_at: PageAt, scripts: bool) -> None:
    page = page_at("/sow/mix", locale="es-ES", java_script_enabled=scripts)
    assert page.locator(".tabs a").count() == 4
    for tab in page.locator(".tabs a").all():
        expect(tab).to_be_in_viewport(ratio=1)
    if scripts:
        assert_fits(page)


def test_a_sowing_is_done_with_one_tap(kept: Plan, page_at: PageAt, server: Server, clock: Clock) -> None:
    # The phone says how long ago it was tapped: with a clock that stands, that would be before the plan was made.
    clock.forward(minutes=5)
    first = kept.sowings[0]
    page = page_at("/sow")
    row = page.locator("#sowing-0")
    row.get_by_role("button", name="Sown").click()
    expect(page.locator("#sowing-0")).to_have_count(0, timeout=20_000)
    with Farm.open(str(server.book)) as farm:
        sown = [one for one in farm.state(clock.at).sowings.values() if one.sown_at >= kept.made_at]
    assert [(one.recipe, len(one.trays)) for one in sown] == [(first.recipe, first.trays)]


def test_a_change_is_supposed_and_left_out_again_without_scripts(kept: Plan, page_at: PageAt) -> None:
    page = page_at("/sow/what-if", java_script_enabled=False)
    page.locator("#form-shelves > summary").click()
    form = page.locator("#form-shelves")
    form.get_by_label("How many").fill("2")
    form.get_by_role("button", name="Suppose it").click()
    expect(page.get_by_role("region", name="What is different")).to_contain_text("2 more lit shelves of 4 spots")
    page.get_by_role("link", name="Leave out").click()
    expect(page.get_by_role("region", name="What is different")).to_have_count(0, timeout=30_000)


def test_a_plan_made_anew_appears_by_itself_and_is_kept(kept: Plan, page_at: PageAt) -> None:
    page = page_at("/sow")
    page.get_by_role("link", name="Make it anew").click()
    expect(page.locator("#anew")).to_contain_text("being worked out since")
    button = page.get_by_role("button", name="Keep this plan")
    button.wait_for(timeout=180_000)
    shot(page, "sow-anew-phone-light")
    assert axe(page) == []
    button.click()
    expect(page.locator(".said")).to_contain_text("This plan is kept")
