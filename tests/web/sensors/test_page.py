"""Sensors on the pages: alarms first with what to do, answered from a phone, pictured over days, set up."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from tests.web.conftest import MORNING, Pages, words_of
from trayward.desk.sensing import Heard
from trayward.farm.sensors import Sensor, What
from trayward.sensors.types import Reading
from trayward.web.sensors.picture import parts_of

M = timedelta(minutes=1)
COLD = Sensor(name="cold-1", place="cold room", what="cold room temperature", high=5.0)


def told(pages: Pages, values: list[float], every: int = 5) -> None:
    """Readings up to now, the last one now."""
    now = pages.clock()
    with pages.farm() as farm:
        if "cold-1" not in farm.state(now).sensors:
            farm.set_sensor(COLD, at=now, recorded=now, sure=True)
        begun = now - every * M * (len(values) - 1)
        farm.hear([Heard(sensor="cold-1", value=one, at=begun + every * M * n) for n, one in enumerate(values)], at=now)


def test_it_works(pages: Pages):
    told(pages, [4.0, 4.5])
    shown = words_of(pages.get("/sensors"))
    assert "No alarm." in shown
    assert "4.5 C" in shown
    assert "cold room" in shown


def test_an_alarm_says_what_to_do_and_is_answered(pages: Pages):
    told(pages, [9.0] * 8)
    shown = words_of(pages.get("/sensors"))
    assert "Cold room temperature at cold room (cold-1) = 9 C: above 5 C since" in shown
    assert "Shut the door" in shown
    assert "Shut the door" in words_of(pages.get("/round"))
    with pages.farm() as farm:
        (alarm,) = farm.alarms(pages.clock())
    refused = pages.post("/sensors/answer", {"alarm": alarm.alarm, "done": ""}, page="/sensors")
    assert refused.status_code == 422
    form = {"alarm": alarm.alarm, "done": "door shut, crop at 4 C"}
    assert pages.post("/sensors/answer", form, page="/sensors").status_code == 303
    assert "door shut, crop at 4 C" in words_of(pages.get("/sensors"))
    assert "door shut, crop at 4 C" in words_of(pages.get("/records"))


def test_an_answer_a_phone_kept_is_sent_once(pages: Pages):
    told(pages, [9.0] * 8)
    with pages.farm() as farm:
        (alarm,) = farm.alarms(pages.clock())
    form = {"alarm": alarm.alarm, "done": "door shut"}
    name = "0b7e5c1e-9c56-4f6b-8a3e-000000000001"
    for _ in range(2):
        assert pages.send("/sensors/answer", form, name=name).status_code == 200
    with pages.farm() as farm:
        assert len(farm.book.about(f"alarm:{alarm.alarm}")) == 2  # raised, answered


def test_a_sensor_is_pictured_with_its_limits_and_what_is_odd(pages: Pages):
    told(pages, [4.0] * 20 + [-127.0] * 8 + [4.2] * 20)
    page = pages.get("/sensors/cold-1?days=1")
    shown = words_of(page)
    assert "The last day: 4 C to 4.2 C" in shown
    assert "no such value can be there" in shown
    assert page.text.count("drawn-band") == 4  # two runs, in both sizes
    assert "drawn-mark strong" in page.text
    assert pages.get("/sensors/nobody").status_code == 404
    assert pages.get("/sensors/cold-1?days=99").status_code == 422


def test_a_sensor_is_set_up_with_the_caution_beside_it(pages: Pages):
    assert "licensed practice" in words_of(pages.get("/sensors"))
    form = {"name": "air-1", "what": "air temperature", "place": "A1", "low": "61 F", "high": "26", "every": "10 min"}
    assert pages.post("/sensors/set", form, page="/sensors").status_code == 303
    with pages.farm() as farm:
        made = farm.sensor_named("air-1", pages.clock())
    assert (round(made.low or 0, 2), made.high, made.every_min) == (16.11, 26.0, 10.0)
    change = {"name": "air-1", "place": "A2", "add": "-0.4", "why": "ice water"}
    assert pages.post("/sensors/set", change, page="/sensors/air-1").status_code == 303
    with pages.farm() as farm:
        made = farm.sensor_named("air-1", pages.clock())
    assert (made.place, made.corrections[0].add, made.corrections[0].note) == ("A2", -0.4, "ice water")


def test_a_logger_whose_file_is_read_in_is_never_silent(pages: Pages):
    told(pages, [4.0] * 20)
    pages.clock.forward(days=2)
    assert "silent" in words_of(pages.get("/sensors")).split("Set up a sensor")[0]
    change = {"name": "cold-1", "place": "cold room", "high": "5", "silent": "Never"}
    assert pages.post("/sensors/set", change, page="/sensors/cold-1").status_code == 303
    assert "silent" not in words_of(pages.get("/sensors")).split("Set up a sensor")[0]
    shown = pages.get("/sensors/cold-1")
    assert "Silent after never" in words_of(shown)
    assert 'value="never"' in shown.text  # kept again as it is


@pytest.mark.parametrize(
    ("what", "low", "high"),
    [("co2", 400.0, 1000.0), ("humidity", 40.0, 70.0), ("ec", 1.2, 1.8), ("ph", 5.5, 6.5), ("lux", 0.0, 5000.0)],
)
def test_a_sensor_is_kept_again_just_as_its_page_shows_it(pages: Pages, what: What, low: float, high: float):
    with pages.farm() as farm:
        farm.set_sensor(Sensor(name="s-1", place="A1", what=what, low=low, high=high), at=pages.clock())
    shown = pages.get("/sensors/s-1").text
    typed = {
        name: found[1] for name in ("low", "high") if (found := re.search(rf'name="{name}"[^>]*value="([^"]*)"', shown))
    }
    assert len(typed) == 2
    assert pages.post("/sensors/set", {"name": "s-1", "place": "A2", **typed}, page="/sensors/s-1").status_code == 303
    with pages.farm() as farm:
        made = farm.sensor_named("s-1", pages.clock())
    assert (made.place, made.low, made.high) == ("A2", low, high)


def test_an_alarm_and_a_fault_are_said_in_spanish_and_on_the_farms_clock(pages: Pages):
    told(pages, [4.0] * 20 + [-127.0] * 8 + [9.0] * 8)
    shown = words_of(pages.get("/sensors/cold-1", Accept_Language="es-ES"))
    assert "9 C: por encima de 5 C desde mié, 25 nov, 06:55." in shown
    assert "-127 C desde mié, 25 nov, 06:15 durante 35 min: ahí no puede haber tal valor." in shown
    assert "UTC" not in shown


def test_figures_are_written_as_the_page_writes_them_and_corrections_in_the_farms_degrees(pages: Pages):
    told(pages, [4.0] * 20 + [4.5])
    pages.clock.forward(minutes=1)  # a correction holds from then on
    change = {"name": "cold-1", "place": "cold room", "high": "5", "add": "-0.5", "why": "ice water"}
    assert pages.post("/sensors/set", change, page="/sensors/cold-1").status_code == 303
    shown = words_of(pages.get("/sensors/cold-1?days=1", Accept_Language="es-ES"))
    assert ": -0,5 C, ice water" in shown
    assert "de 4 C a 4,5 C" in shown
    assert "4,5 C" in words_of(pages.get("/sensors", Accept_Language="es-ES"))
    assert ": -0.5 C, ice water" in words_of(pages.get("/sensors/cold-1", Accept_Language="en-GB"))


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ({"name": "two words", "what": "ph", "place": "tank"}, "made of letters"),
        ({"name": "ph-1", "what": "ph", "place": "tank", "low": "7", "high": "6"}, "swapped"),
        ({"name": "ph-1", "what": "ph", "place": ""}, "Say where it stands."),
    ],
)
def test_what_cannot_be_is_refused_and_what_was_typed_stays(pages: Pages, form: dict[str, str], words: str):
    page = pages.post("/sensors/set", {**form, "_form": "set"}, page="/sensors")
    assert page.status_code == 422
    assert words in words_of(page)
    assert f'value="{form["name"]}"' in page.text


def test_who_is_told_by_mail_is_kept_and_the_server_is_no_pages_business(pages: Pages):
    told(pages, [4.0])
    assert "This machine has no mail server yet" in words_of(pages.get("/sensors"))
    refused = pages.post(
        "/sensors/mail", {"_form": "mail", "mail": "ada, bo@lantern-loft.example", "language": "es"}, page="/sensors"
    )
    assert refused.status_code == 422
    assert "it is no e-mail address" in words_of(refused)
    assert "bo@lantern-loft.example" in refused.text, "what was typed stays"
    form = {"mail": "ada@lantern-loft.example, bo@lantern-loft.example", "language": "es", "server": "smtp://evil"}
    assert pages.post("/sensors/mail", form, page="/sensors").status_code == 303
    with pages.farm() as farm:
        mail = farm.settings(pages.clock()).alarm_mail
    assert (mail.to, mail.language) == (("ada@lantern-loft.example", "bo@lantern-loft.example"), "es")
    assert pages.post("/sensors/mail", {"mail": "", "language": "en"}, page="/sensors").status_code == 303
    with pages.farm() as farm:
        assert farm.settings(pages.clock()).alarm_mail.to == ()


def test_a_picture_is_broken_where_nothing_came():
    since = MORNING
    values = [*range(10), *range(30, 40)]
    runs = parts_of([Reading(since + 5 * M * place, float(place)) for place in values], since, since + 200 * M, 5 * M)
    assert [len(run) for run in runs] == [10, 10]
    assert (runs[0][0].low, runs[0][0].mean) == (0.0, 0.0)
