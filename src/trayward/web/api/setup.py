"""The setup as a file: taken out, looked at before it is applied, applied."""

from __future__ import annotations

from typing import Annotated

import msgspec

from trayward.desk.core import Receipt, Said
from trayward.desk.setup.changes import left_out, setup_changes
from trayward.desk.setup.file import read_setup
from trayward.desk.setup.written import setup_text
from trayward.errors import InputError
from trayward.farm.entries import Body
from trayward.rounds.change_words import change_words
from trayward.web.api.operation import Nothing, look, tell
from trayward.web.api.telling import Telling
from trayward.web.ask import Ask

Toml = Annotated[str, msgspec.Meta(min_length=1, max_length=200_000)]


class SetupTold(msgspec.Struct, frozen=True, kw_only=True):
    """The farm as a setup file."""

    text: str
    """TOML; see the page of the setup file. Changed and applied, only what differs is recorded."""


class LookAtSetup(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What would a setup file change?"""

    text: Toml


class SetupLooked(msgspec.Struct, frozen=True, kw_only=True):
    """What a setup file would change; nothing is kept by looking."""

    changes: tuple[str, ...]
    left_as_is: tuple[str, ...]
    """What the farm has and the file does not name: it stays."""


class ApplySetup(Telling, frozen=True, kw_only=True):
    """The farm is as the file says from now on; what it does not name stays as it is."""

    text: Toml


def _setup(ask: Ask, _: Nothing) -> SetupTold:
    return SetupTold(text=setup_text(ask.farm.state(ask.at)))


def _changes(ask: Ask, text: str) -> tuple[Body, ...]:
    return setup_changes(ask.farm.state(ask.at), read_setup(text, name="setup file"))


def _look(ask: Ask, told: LookAtSetup, _: Said) -> SetupLooked:
    state = ask.farm.state(ask.at)
    changes = tuple(change_words(state, body, ask.units) for body in _changes(ask, told.text))
    return SetupLooked(changes=changes, left_as_is=left_out(state, read_setup(told.text, name="setup file")))


def _apply(ask: Ask, told: ApplySetup, said: Said) -> Receipt:
    changes = _changes(ask, told.text)
    if not changes:
        raise InputError("setup file", "the same", "the farm is like that already", "Change something in it first.")
    return ask.farm.record(*changes, **said)


OPERATIONS = (
    look("/setup", _setup, SetupTold, "setup", "The farm as a setup file.", steady=True, may="run"),
    tell("/setup/look", _look, LookAtSetup, "setup", "What a setup file would change.", gives=SetupLooked, may="run"),
    tell("/setup/apply", _apply, ApplySetup, "setup", "Apply a setup file: places, kit, crops, money, all of it.",
         may="run"),
)  # fmt: skip
