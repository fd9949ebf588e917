"""Commands that show trays: list, story, where."""

from __future__ import annotations

from typing import Any

import click

from trayward.cli.given import Given, group
from trayward.cli.show import Column, Columns, answer, moment_words, stage_words, table
from trayward.cli.stories import show_story
from trayward.desk.lookup import trays_named
from trayward.farm.places import shelf_of
from trayward.farm.state import Tray
from trayward.rounds.words import day_number


@group("tray", example="trayward tray")
def tray(given: Given) -> None:
    """The trays that stand: what they are, where, and how far."""
    show_trays(given, [])


@tray.add("list", example="trayward tray list A1")
@click.argument("names", nargs=-1)
@click.option("--done", is_flag=True, help="Also those that are cut, discarded or delivered. Example: --done.")
def list_(given: Given, names: tuple[str, ...], done: bool) -> None:
    """Trays by NAMES (trays, sowings, spots, shelves), or all that stand."""
    show_trays(given, list(names), done=done)


def show_trays(given: Given, names: list[str], *, done: bool = False) -> None:
    """Trays as a table, or in JSON."""
    state = given.state
    if names:
        found = trays_named(state, names)
    else:
        found = [*state.ended.values(), *state.trays.values()] if done else list(state.trays.values())
    columns: Columns = [
        "Tray",
        "Crop",
        Column("Day", right=True),
        "Stage",
        Column("Spot", whole=True),
        "Last seen",
        "Now",
    ]
    rows = [
        (
            one.tray,
            one.crop,
            str(day_number(one.sown_at, given.at, given.settings)),
            stage_words(one.stage),
            one.spot or "",
            moment_words(one.last_look, given.zone) if one.last_look else "",
            _now(one),
        )
        for one in found
    ]
    none = "No trays stand here. Sow some: trayward sow RECIPE, or see what the plan wants: trayward plan"
    answer(given, {"trays": found}, lambda: table(columns, rows, none=none))


def _now(one: Tray) -> str:
    if one.fate != "growing":
        return one.fate + ("" if one.stripped or one.fate == "delivered" else ", to strip")
    return ", ".join(word for word in (one.moisture or "", one.problem) if word)


@tray.add("story", example="trayward tray story 261125A.1")
@click.argument("name", metavar="TRAY")
def story(given: Given, name: str) -> None:
    """Everything that happened to a TRAY, in plain words."""
    show_story(given, given.farm.story(name, given.at))


@tray.add("where", example="trayward tray where 261125A")
@click.argument("names", nargs=-1, required=True)
def where(given: Given, names: tuple[str, ...]) -> None:
    """Where trays stand: spot, shelf, rack and room."""
    state = given.state
    found: list[dict[str, Any]] = []
    for one in trays_named(state, names):
        shelf = state.shelves.get(shelf_of(one.spot)) if one.spot else None
        found.append(
            {
                "tray": one.tray,
                "fate": one.fate,
                "spot": one.spot,
                "shelf": shelf.name if shelf else None,
                "rack": shelf.rack if shelf else None,
                "room": shelf.room if shelf else None,
            }
        )
    rows = [
        (one["tray"], one["spot"] or _nowhere(one["fate"]), one["shelf"] or "", one["rack"] or "", one["room"] or "")
        for one in found
    ]
    answer(given, {"trays": found}, lambda: table(["Tray", "Spot", "Shelf", "Rack", "Room"], rows))


def _nowhere(fate: str) -> str:
    return "on the bench" if fate == "growing" else fate
