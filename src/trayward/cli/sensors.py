"""Commands for sensors: how they stand, set up, alarms answered, a logger's file read, a broker heard."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click
import msgspec

from trayward.cli import people
from trayward.cli.given import Given, group
from trayward.cli.numbers import whole
from trayward.cli.serving import Told, tell_options, tellers_of
from trayward.cli.show import Column, Columns, answer, looks, moment_words, table, wrapped, written
from trayward.cli.tongue import said_in
from trayward.errors import InputError
from trayward.farm.sensors import MEASURES, NEVER_SILENT, Correction, Sensor
from trayward.sensors.addresses import alarm_mail_of
from trayward.sensors.words import MAINS, alarm_words, do_words, value_words
from trayward.units import parse_minutes

if TYPE_CHECKING:
    from trayward.sensors.types import ReadingsKept

WHAT = click.Choice(tuple(MEASURES))


@group("sensors", example="trayward sensors")
def sensors(given: Given) -> None:
    """How the sensors stand, and their alarms with what to do. See docs/how-to/read-sensors.md."""
    show_sensors(given)


@sensors.add("list", example="trayward sensors list")
def list_(given: Given) -> None:
    """Every sensor with its last reading; alarms first, with what to do."""
    show_sensors(given)


def show_sensors(given: Given) -> None:
    """Alarms, then sensors as a table; or in JSON."""
    found, alarms = given.farm.sensors(given.at), given.farm.alarms(given.at)
    told = [
        {"alarm": each, "sentence": alarm_words(each, given.units, given.zone), "do": do_words(each.what, each.trouble)}
        for each in alarms
    ]
    rows = []
    for each in found:
        last, sensor = each.last, each.sensor
        shown = value_words(sensor.what, last.value, given.units) if last is not None else "-"
        when = moment_words(last.at, given.zone) if last is not None else "not heard of yet"
        rows.append([sensor.name, sensor.place, sensor.measure.title, shown, when, _limits(given, sensor)])
    columns: Columns = ["Name", "Place", "Measures", Column("Now", right=True), "At", "Limits"]

    def human() -> None:
        for one, alarm in zip(told, alarms, strict=True):
            wrapped(f"! {one['sentence']}", "  ")
            wrapped(f"  {one['do'] if alarm.until is None else 'Say what was done about it.'}", "  ")
        table(columns, rows, none="There are no sensors yet. Set one up: trayward sensors set cold-1 --place ...")

    answer(given, {"sensors": found, "alarms": told}, human)


def _limits(given: Given, sensor: Sensor) -> str:
    ends = [value_words(sensor.what, each, given.units) for each in (sensor.low, sensor.high) if each is not None]
    if len(ends) == 2:
        return f"{ends[0]} to {ends[1]}"
    return f"at {'least' if sensor.low is not None else 'most'} {ends[0]}" if ends else "none"


SET_EXAMPLE = 'trayward sensors set cold-1 --place "cold room" --high "5 C"'


@sensors.add("set", example=SET_EXAMPLE, records=True)
@click.argument("name")
@click.option("--place", metavar="PLACE", help='Room, shelf or tank. Example: "cold room".')
@click.option("--what", type=WHAT, metavar="WHAT", help='What it measures. Example: "cold room temperature".')
@click.option("--low", metavar="VALUE", help='Lowest allowed; "none" for none. Example: "0 C".')
@click.option("--high", metavar="VALUE", help='Highest allowed; "none" for none. Example: "5 C".')
@click.option("--after", metavar="TIME", help='So long beyond a limit is an alarm. Example: "30 min".')
@click.option("--every", metavar="TIME", help='How often it tells. Example: "5 min".')
@click.option("--silent", metavar="TIME", help='Silent after so long, or "never". Example: "20 min".')
@click.option("--add", metavar="VALUE", help="Correction from now on, in its own unit. Example: --add=-0.4.")
@click.option("--why", default="", metavar="WORDS", help='What it was held beside. Example: "ice water".')
@click.option("--topic", metavar="TOPIC", help="MQTT topic, where not trayward/NAME. Example: shed/7/state.")
@click.option("--field", metavar="FIELD", help="Where its value stands in JSON. Example: data.temp.")
@click.option("--ended/--not-ended", default=None, help="It is no longer there. Example: --ended.")
def set_(given: Given, name: str, **told: Any) -> None:
    """A sensor is as you say from now on; what you leave out stays as it was."""
    before = given.state.sensors.get(name)
    if before is None and not (told["place"] and told["what"]):
        raise InputError("sensor", name, "it is new", "Say where and what: --place PLACE --what MEASURE.")
    sensor = before or Sensor(name=name, place=told["place"], what=told["what"])
    changes: dict[str, Any] = {key: told[key] for key in ("place", "what", "topic", "field", "ended")}
    changes |= {f"{key}_min": _minutes(told[key], key) for key in ("after", "every", "silent")}
    kept = {key: value for key, value in changes.items() if value is not None}
    kept |= {key: _limit(given, sensor, told[key], key) for key in ("low", "high") if told[key] is not None}
    if told["add"] is not None:
        add = people.number(told["add"], "add", sensor.measure.unit)
        kept["corrections"] = (*sensor.corrections, Correction(since=given.at, add=add, note=told["why"]))
    after = msgspec.structs.replace(sensor, **kept)
    receipt = given.farm.set_sensor(after, **given.said)
    written(given, receipt, f"Sensor {name} at {after.place}: {after.measure.title}, limits {_limits(given, after)}.")
    if before is None and not given.json:
        wrapped(MAINS)


def _minutes(text: str | None, name: str) -> float | None:
    if name == "silent" and text is not None and text.strip().lower() == "never":
        return NEVER_SILENT
    return parse_minutes(text, name=name) if text is not None else None


def _limit(given: Given, sensor: Sensor, text: str, name: str) -> float | None:
    if text.strip().lower() == "none":
        return None
    if sensor.measure.unit == "C":
        return people.temperature(text, given.units)
    return people.number(text.removesuffix(sensor.measure.unit).strip(), name, sensor.measure.unit)


@sensors.add("show", example="trayward sensors show cold-1 --days 3")
@click.argument("name")
@click.option("--days", type=whole(1, 31), default=1, show_default=True, help="Over so many days. Example: 7.")
def show(given: Given, name: str, days: int) -> None:
    """One sensor over some days: lowest, mean, highest, and what is odd about its readings."""
    sensor, since = given.farm.sensor_named(name, given.at), given.at - timedelta(days=days)
    readings = given.farm.sensor_readings(name, since, given.at + timedelta(minutes=5), at=given.at)
    good = [each.value for each in readings if sensor.can_be(each.value)]
    faults = given.farm.sensor_faults(name, since, given.at, at=given.at)
    found = [each.finding(given.units, given.zone) for each in faults]
    told = {"low": min(good), "mean": sum(good) / len(good), "high": max(good)} if good else {}

    def human() -> None:
        wrapped(f"{sensor.measure.title} at {sensor.place}, limits {_limits(given, sensor)}.")
        shown = ", ".join(f"{word} {value_words(sensor.what, value, given.units)}" for word, value in told.items())
        wrapped(f"{len(readings)} readings: {shown}." if told else "Nothing was heard of it on these days.")
        looks(found)

    answer(given, {"sensor": sensor, "readings": len(readings), **told, "findings": found}, human)


@sensors.add("answer", example='trayward sensors answer cold-1 "door shut, crop at 4 C, kept"', records=True)
@click.argument("alarm")
@click.argument("done")
def answer_(given: Given, alarm: str, done: str) -> None:
    """Say what was DONE about an ALARM, named by itself or its sensor; of a cold room it is kept as a record."""
    receipt = given.farm.answer_alarm(alarm, done, **given.said)
    record = " A record of the cold room is written down with it." if len(receipt.kept) > 1 else ""
    written(given, receipt, f"Answered.{record}")


@sensors.add("import", example="trayward sensors import logger.csv --sensor cold-1 --preview", records=True)
@click.argument("source", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--sensor", "name", required=True, metavar="NAME", help="Whose readings they are. Example: cold-1.")
@click.option("--column", default="", metavar="NAME", help="The column, by name or number. Example: Temp.")
@click.option("--unit", default="", metavar="UNIT", help="The unit of its values. Example: F.")
@click.option("--day-first/--month-first", default=None, help="Which way 03/04 is read. Example: --day-first.")
@click.option("--preview", is_flag=True, help="Show what would be read; keep nothing. Example: --preview.")
def import_(
    given: Given, source: Path, name: str, column: str, unit: str, day_first: bool | None, preview: bool
) -> None:
    """Read a logger's CSV file for a sensor. The same file twice changes nothing."""
    from trayward.bootstrap import text_of
    from trayward.desk.sensing import MOST, Heard
    from trayward.sensors.loggers import read_logger
    from trayward.sensors.types import ReadingsKept

    sensor = given.farm.sensor_named(name, given.at)
    read = read_logger(
        text_of(source, "logger file"), sensor, given.zone, column=column, unit=unit, day_first=day_first
    )
    kept = ReadingsKept()
    heard = [Heard(sensor=name, value=each.value, at=each.at) for each in read.readings]
    for first in range(0, 0 if preview else len(heard), MOST):
        kept = _more(kept, given.farm.hear(heard[first : first + MOST], at=given.at, by=given.by).kept)
    moments = sorted(each.at for each in read.readings)
    guessed = ", guessed from its values: if not so, say --unit C" if read.guessed else ""
    told = {
        "sensor": name, "column": read.column, "unit": read.unit or sensor.measure.unit, "guessed": read.guessed,
        "readings": len(heard), "first": moments[0], "last": moments[-1], "kept": None if preview else kept,
        "findings": read.findings,
    }  # fmt: skip

    def human() -> None:
        wrapped(f"Column {read.column} in {told['unit'] or 'its own unit'}{guessed}.")
        wrapped(
            f"{len(heard)} readings from {moment_words(moments[0], given.zone)} to "
            f"{moment_words(moments[-1], given.zone)}."
        )
        for each in read.readings[:5] if preview else ():
            wrapped(f"{moment_words(each.at, given.zone)}  {value_words(sensor.what, each.value, given.units)}", "  ")
        differ = f"; {kept.differing} say another value now, the first one stays" if kept.differing else ""
        wrapped("Nothing was kept." if preview else f"Kept {kept.new}; {kept.already} were there already{differ}.")
        looks(read.findings)

    answer(given, told, human)


def _more(kept: ReadingsKept, more: ReadingsKept) -> ReadingsKept:
    return msgspec.structs.replace(
        kept, new=kept.new + more.new, already=kept.already + more.already, differing=kept.differing + more.differing
    )


@sensors.add("listen", example="trayward sensors listen mqtt://127.0.0.1")
@click.argument("broker")
@tell_options
@click.option("--name", default="", metavar="NAME", help="What we are called at the broker. Example: loft-1.")
def listen(given: Given, broker: str, told: Told, name: str) -> None:
    """Hear an MQTT BROKER until you stop it: mqtt://host, or mqtts://host over TLS.

    Sensors tell under trayward/NAME, or the topic they were set up with. Name and password of the broker are taken from
    TRAYWARD_MQTT_USER and TRAYWARD_MQTT_PASSWORD.
    """
    from threading import Event

    from trayward.cli import clock
    from trayward.web.office import Office
    from trayward.web.sensors.listening import Listening, broker_of, called
    from trayward.web.sensors.watch import Watch

    given.farm.settings(given.at)  # there must be a farm
    office = Office(given.book)
    tellers = tellers_of(told)
    watch = Watch(office, clock.now, tell=tellers)
    listening = Listening(
        office, broker_of(broker), clock.now, name=name or called(given.book), moved=watch.nudge, say=click.echo
    )
    listening.begin()
    watch.begin()
    try:
        _until_stopped(Event())
    finally:
        listening.end()
        watch.end()
        if tellers is not None:
            tellers.end()
        office.close()
        click.echo(f"Stopped. {listening.kept} readings were kept.")


@sensors.add("mail", example="trayward sensors mail ada@lantern-loft.example", records=True)
@click.argument("addresses", nargs=-1, metavar="[ADDRESS]...")
@click.option("--language", type=click.Choice(("en", "es")), default="en", help="Of the mails. Example: es.")
@click.option("--nobody", is_flag=True, help="From now on nobody is. Example: --nobody.")
def mail_(given: Given, addresses: Sequence[str], language: Literal["en", "es"], nobody: bool) -> None:
    """Say who is told of alarms by e-mail; without an address, show it. See docs/how-to/read-sensors.md."""
    if not addresses and not nobody:
        before = given.farm.settings(given.at).alarm_mail
        shown = f"Told of alarms by e-mail: {', '.join(before.to)}." if before.to else "Nobody is told by e-mail."
        answer(given, {"mail": before}, lambda: wrapped(shown))
        return
    mail = alarm_mail_of(() if nobody else addresses, language)
    said = f"Told of alarms by e-mail: {', '.join(mail.to)}." if mail.to else "Nobody is told by e-mail any more."
    written(given, given.farm.set_alarm_mail(mail, **given.said), said)


@sensors.add("try", example="trayward sensors try --mail smtp://127.0.0.1:1025")
@tell_options
def try_(given: Given, told: Told) -> None:
    """Tell an alarm that is none by every way this machine has, so that you know the real one arrives."""
    from trayward.farm.sensors import AlarmHeld
    from trayward.web.sensors.telling import alarm_told

    tellers = tellers_of(told)
    if tellers is None:
        remedy = "Set TRAYWARD_ALARM_COMMAND, TRAYWARD_MAIL or TRAYWARD_ALARM_URL. See docs/how-to/read-sensors.md."
        raise InputError("ways to tell", "none", "this machine tells nobody of alarms", remedy)
    settings = given.farm.settings(given.at)
    tellers.addressed(settings, lambda language: said_in(given, "" if language == "en" else language))
    made = AlarmHeld(
        alarm=f"try-{given.at:%Y%m%dT%H%M%S}", sensor="a try, no alarm", place="cold room", trouble="silent",
        what="cold room temperature", since=given.at, raised=given.at,
    )  # fmt: skip
    found = {way.name: (way.shown, tellers.once(way, alarm_told(made, settings))) for way in tellers.ways}
    tellers.end()

    def human() -> None:
        for name, (where, problem) in found.items():
            wrapped(f"{name} ({where}): {'told' if not problem else f'not told: {problem}'}.")

    answer(given, {name: {"to": where, "problem": str(problem)} for name, (where, problem) in found.items()}, human)
    if any(problem for _, problem in found.values()):
        given.ctx.exit(1)


def _until_stopped(stop: Any) -> None:
    import signal

    for each in (signal.SIGINT, signal.SIGTERM):
        signal.signal(each, lambda *_: stop.set())
    while not stop.wait(0.5):
        pass
