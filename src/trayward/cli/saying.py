"""Commands that say something about the farm: notes and readings."""

from __future__ import annotations

from collections.abc import Sequence

import click

from trayward.cli import people
from trayward.cli.given import Given, command
from trayward.cli.show import written
from trayward.desk.looking_up import subjects_named
from trayward.errors import InputError, NotFoundError
from trayward.farm.entries import ReadingTaken
from trayward.farm.state import FarmState
from trayward.rounds.entries.sensors import reading_words
from trayward.words import listed

READINGS = {
    "temperature": "temperature", "humidity": "humidity", "ph": "ph", "ec": "ec", "ppfd": "ppfd", "light": "ppfd",
}  # fmt: skip
UNITS = {"temperature": "C", "humidity": "% RH", "ph": "pH", "ec": "dS/m", "ppfd": "umol/m2/s"}


@command("note", example='trayward note "fan on shelf A2 was off" --about A2', records=True, doubts=True)
@click.argument("text")
@click.option("--about", multiple=True, metavar="NAME", help="A tray, lot, shelf, customer, ... Example: 261125A.1.")
def note(given: Given, text: str, about: Sequence[str]) -> None:
    """Words, about anything; they stay in the book and in the story of what they are about."""
    subjects = tuple(subject for name in about for subject in subjects_of(given.state, name))
    receipt = given.farm.note(text, subjects, **given.said)
    written(given, receipt, f"Noted{' about ' + listed(about) if about else ''}.")


def subjects_of(state: FarmState, name: str) -> list[str]:
    """What a name means, as subjects of the book; a name with a colon is taken as it is."""
    if ":" in name:
        return [name]
    found = subjects_named(state, name)
    if not found:
        also = (*state.trays, *state.seed, *state.shelves, *state.customers, *state.orders, *state.recipes, *state.kit)
        raise NotFoundError("anything", name, remedy="Name a tray, lot, shelf, order, or say kind:name.", also=also)
    return found


@command("reading", example='trayward reading temperature "70 F" --where A1', records=True, doubts=True)
@click.argument("what", metavar="WHAT")
@click.argument("value")
@click.option("--where", default="", metavar="PLACE", help="Shelf, room or water it was taken at. Example: A1.")
def reading(given: Given, what: str, value: str, where: str) -> None:
    """A reading of an instrument: WHAT is temperature, humidity, ph, ec or light (PPFD)."""
    kind = READINGS.get(what.lower())
    if kind is None:
        raise InputError("reading", what, "it is none that the book knows", f"Take one of {', '.join(READINGS)}.")
    amount = read_reading(given, kind, value)
    receipt = given.farm.take_reading(kind, amount, where, **given.said)  # type: ignore[arg-type]
    body = receipt.kept[0].entry.body
    assert isinstance(body, ReadingTaken)
    written(given, receipt, f"Read {reading_words(body, given.units)}.")


def read_reading(given: Given, kind: str, value: str) -> float:
    """The value of a reading in the book's unit. [C, % RH, pH, dS/m, umol/m2/s]"""
    if kind == "temperature":
        return people.temperature(value, given.units)
    bare = value.strip()
    for ending in (*UNITS[kind].split(), UNITS[kind], "%"):
        bare = bare.removesuffix(ending).strip()
    return people.number(bare, kind, UNITS[kind])
