"""Sensors: how each stands, its alarms and what to do, its picture, and setting one up."""

from __future__ import annotations

import re
from datetime import timedelta

from starlette.responses import Response

from trayward.farm.sensors import MEASURES, NEVER_SILENT, Correction, Sensor
from trayward.sensors.addresses import alarm_mail_of
from trayward.sensors.types import Reading
from trayward.sensors.words import MAINS, value_words
from trayward.web.ask import Ask
from trayward.web.routing import act, page
from trayward.web.sensors.picture import sensor_chart
from trayward.web.sensors.view import alarms_shown, limits_words, sensor_shown
from trayward.web.typed import Typed

DAYS = (1, 3, 7, 31)
FAULT_DAYS = 7
"""Faults are looked for over so many days at most: of more the picture tells enough."""


def sensors_page(ask: Ask) -> Response:
    """Alarms first, then every sensor."""
    found = tuple(sensor_shown(each, ask.units, ask.at) for each in ask.farm.sensors(ask.at))
    alarms = alarms_shown(ask.farm.alarms(ask.at), ask.units, ask.zone)
    return ask.show(
        "sensors/page.html", sensors=found, alarms=alarms, measures=tuple(MEASURES.values()), mains=MAINS,
        mail=ask.settings.alarm_mail, told_by=ask.request.app.state.house.office.told_by,
    )  # fmt: skip


def sensor_page(ask: Ask) -> Response:
    """One sensor over days."""
    sensor = ask.farm.sensor_named(str(ask.path["name"]), ask.at)
    days = ask.query.whole("days", 1, 31) if ask.query.has("days") else 3
    since = ask.at - timedelta(days=days)
    readings = ask.farm.sensor_readings(sensor.name, since, ask.at + timedelta(minutes=5), at=ask.at)
    good = [each for each in readings if sensor.can_be(each.value)]
    begun = ask.at - timedelta(days=min(days, FAULT_DAYS))
    faults = ask.farm.sensor_faults(sensor.name, begun, ask.at, at=ask.at)
    chart = None
    if good:
        chart = sensor_chart(
            sensor, good, since, ask.at, lambda value: _figure(ask, sensor, value), ask.zone,
            lambda day: ask.tongue.day(day.date()),
        )  # fmt: skip
    low, high = limits_words(sensor, ask.units)
    mine = tuple(each for each in ask.farm.alarms(ask.at) if each.sensor == sensor.name)
    return ask.show(
        "sensors/sensor.html", sensor=sensor, days=days, choices=DAYS, chart=chart, told=_told(ask, sensor, good),
        faults=tuple(each.finding(ask.units, ask.zone) for each in reversed(faults)), low=low, high=high,
        alarms=alarms_shown(mine, ask.units, ask.zone), measures=tuple(MEASURES.values()), mains=MAINS,
    )  # fmt: skip


def _figure(ask: Ask, sensor: Sensor, value: float) -> str:
    return _read_as(ask, sensor, value).partition(" ")[0]


def _read_as(ask: Ask, sensor: Sensor, value: float) -> str:
    return ask.tongue.number(value_words(sensor.what, value, ask.units))


def _told(ask: Ask, sensor: Sensor, good: list[Reading]) -> dict[str, str] | None:
    if not good:
        return None
    values = [each.value for each in good]
    shown = {"low": min(values), "mean": sum(values) / len(values), "high": max(values), "last": values[-1]}
    return {name: _read_as(ask, sensor, value) for name, value in shown.items()}


def set_sensor(ask: Ask) -> Response:
    """A sensor as it is from now on."""
    form = ask.form
    name = form.need("name", ask._("Give it a name."))
    before = ask.farm.state(ask.at).sensors.get(name)
    what = before.what if before is not None else form.choice("what", tuple(MEASURES))
    warm = MEASURES[what].unit == "C"
    read = form.temperature if warm else lambda key: _figure_typed(form, key, MEASURES[what].unit)
    corrections = before.corrections if before is not None else ()
    if form.has("add"):
        add = form.number("add", -1000, 1000)
        degrees = add * 5 / 9 if warm and ask.units.temperature == "F" else add
        corrections = (*corrections, Correction(since=ask.at, add=degrees, note=form.text("why")))
    sensor = Sensor(
        name=name, place=form.need("place", ask._("Say where it stands.")), what=what,  # type: ignore[arg-type]
        every_min=form.minutes("every") if form.has("every") else 5.0, low=form.maybe(read, "low"),
        high=form.maybe(read, "high"), after_min=form.minutes("after") if form.has("after") else 30.0,
        silent_min=_silent_typed(ask, form), corrections=corrections,
        topic=form.text("topic"), field=form.text("field"), ended=form.ticked("ended"),
    )  # fmt: skip
    receipt = ask.farm.set_sensor(sensor, **ask.said)
    return ask.recorded(f"/sensors/{name}", ask._("Kept."), receipt)


def _silent_typed(ask: Ask, form: Typed) -> float | None:
    if form.text("silent").casefold() in {"never", ask._("never").casefold()}:
        return NEVER_SILENT
    return form.minutes("silent") if form.has("silent") else None


def _figure_typed(form: Typed, key: str, unit: str) -> float:
    """A limit, with or without its unit behind it: the page itself shows it with."""
    bare = form.text(key).removesuffix(unit).strip()
    return Typed([(key, bare)]).number(key, -1e9, 1e9)


def answer(ask: Ask) -> Response:
    """What was done about an alarm."""
    receipt = ask.farm.answer_alarm(ask.form.need("alarm"), ask.form.need("done"), **ask.said)
    return ask.recorded("/sensors", ask._("Written down."), receipt)


def set_mail(ask: Ask) -> Response:
    """Who is told of alarms by e-mail. The server and its password are no page's: who could change them had it sent."""
    mail = alarm_mail_of(re.split(r"[\s,;]+", ask.form.text("mail")), ask.form.choice("language", ("en", "es")))  # type: ignore[arg-type]
    if mail == ask.settings.alarm_mail:
        return ask.go("/sensors", ask._("Nothing was changed."))
    return ask.recorded("/sensors", ask._("Kept."), ask.farm.set_alarm_mail(mail, **ask.said))


ROUTES = (
    page("/sensors", sensors_page, may="look"),
    page("/sensors/{name}", sensor_page, may="look"),
    act("/sensors/set", set_sensor, may="run"),
    act("/sensors/answer", answer, may="answer"),
    act("/sensors/mail", set_mail, may="run", again=sensors_page),
)
