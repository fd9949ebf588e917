"""Sensors in a real browser: an alarm with what to do, a picture that fits, at a phone and at a desk."""

from __future__ import annotations

import math
from datetime import timedelta

import pytest

from tests.web.browser.conftest import Server, Shown, assert_fits, axe, shot
from trayward.bootstrap import Farm
from trayward.desk.sensing import Heard
from trayward.farm.sensors import Sensor

M = timedelta(minutes=1)
LONG = "grow-room-two-back-wall-temperature"
SENSORS = (
    Sensor(name="cold-1", place="cold room", what="cold room temperature", low=0.0, high=5.0),
    Sensor(name=LONG, place="Grow room two, behind the wash", what="air temperature", low=16.0, high=26.0),
)


def fill(server: Server) -> None:
    """Three days of readings with a gap; the cold room is too warm now."""
    now, count = server.clock(), 12 * 24 * 3
    heard = []
    for number in range(count):
        at = now - 5 * M * (count - 1 - number)
        wave = math.sin(number / 40)
        if not 300 < number < 330:
            cold = 9.0 + wave if number > count - 10 else 3.5 + wave
            heard += [Heard(sensor="cold-1", value=cold, at=at), Heard(sensor=LONG, value=21 + 3 * wave, at=at)]
    with Farm.open(server.book) as farm:
        for sensor in SENSORS:
            farm.set_sensor(sensor, at=now - timedelta(days=4), recorded=now, sure=True)
        farm.hear(heard, at=now)


@pytest.mark.slow
@pytest.mark.parametrize("size", ["phone", "desk"])
def test_it_works(server: Server, page_at, size: str) -> None:
    fill(server)
    page = page_at("/sensors", size)
    assert "Shut the door" in page.inner_text("#alarms")
    shot(page, f"sensors-{size}")
    assert axe(page) == []
    assert_fits(page)
    page = page_at("/sensors/cold-1", size, color_scheme="dark")
    assert page.locator(".drawn svg:visible").count() == 1
    shot(page, f"sensor-{size}-dark")
    assert axe(page) == []
    assert_fits(page)
    page.fill("[name=done]", "door shut, crop at 4 C")
    page.click("text=Seen to it")
    page.goto(f"{server.url}/sensors/cold-1")
    page.wait_for_selector("text=door shut, crop at 4 C")
    shot(page, f"sensor-{size}")


@pytest.mark.slow
def test_an_answer_that_waited_is_never_said_before_what_its_page_showed(
    server: Server, page_at, complaints: Shown
) -> None:
    """The server's clock stands, so each contact seems earlier: the page's own moment holds to the millisecond."""
    fill(server)
    page = page_at("/sensors/cold-1")
    # The worker would send as well, and what it asks for cannot be held up from here.
    page.evaluate(
        "navigator.serviceWorker.getRegistrations().then((all) => Promise.all(all.map((each) => each.unregister())))"
    )
    page.route("**/sensors/answer", lambda route: route.abort())
    page.route("**/live/now", lambda route: route.abort())
    page.fill("[name=done]", "door shut, crop at 4 C")
    page.click("text=Seen to it")
    page.wait_for_selector("[data-take-back]")
    page.unroute_all()
    page.goto(f"{server.url}/sensors/cold-1")
    page.wait_for_selector("#alarms .soft:has-text('door shut, crop at 4 C')")
    with Farm.open(server.book) as farm:
        (answered,) = (each.answered for each in farm.state(server.clock()).alarms.values())
    assert answered == server.clock()
    assert set(complaints) <= {"Failed to load resource: net::ERR_FAILED"}
    complaints.clear()
