"""The setup as a file: taken out, looked at before it is applied, applied; or a farm begun with one."""

from __future__ import annotations

import msgspec
from starlette.responses import Response

from trayward.desk.setup.changes import left_out, setup_changes
from trayward.desk.setup.file import read_setup
from trayward.desk.setup.written import setup_text
from trayward.errors import InputError
from trayward.farm.entries import Body
from trayward.rounds.entries.words import entry_words
from trayward.rounds.words import sentence
from trayward.web.ask import Ask
from trayward.web.handed import TOML, farm_file, handed

SHOWN = 40
"""Changes listed before a file is applied."""


class Preview(msgspec.Struct, frozen=True, kw_only=True):
    """What applying a file would do."""

    text: str
    changes: tuple[str, ...]
    more: int
    left_out: tuple[str, ...]


def file(ask: Ask) -> Response:
    """Take the setup out, or apply one."""
    return ask.show("setup/file.html", preview=None)


def farm_toml(ask: Ask) -> Response:
    """The setup as it stands, to keep or to change."""
    text = setup_text(ask.farm.state(ask.at))
    return handed(text, TOML, f"{farm_file(ask.settings.name)}.toml")


def look(ask: Ask) -> Response:
    """What a file would change; nothing is kept yet. `apply`: keep it."""
    text = text_sent(ask)
    bodies = read_setup(text, name="setup file")
    if not ask.has_farm:
        ask.begin(bodies)
        return ask.go("/setup/first", ask._("The farm is set up."))
    state = ask.farm.state(ask.at)
    changes = setup_changes(state, bodies)
    if not ask.form.ticked("apply"):
        return ask.show("setup/file.html", preview=preview_of(ask, text, changes, left_out(state, bodies)))
    if not changes:
        return ask.go("/setup/file", ask._("The farm is like that already."))
    receipt = ask.farm.record(*changes, **ask.said)
    say = ask.ngettext("%(num)s change kept.", "%(num)s changes kept.", len(changes))
    return ask.recorded("/setup", say, receipt)


def preview_of(ask: Ask, text: str, changes: tuple[Body, ...], left: tuple[str, ...]) -> Preview:
    """The changes in words."""
    words = tuple(ask.told_of(sentence(entry_words(body, ask.units)), body) for body in changes[:SHOWN])
    return Preview(text=text, changes=words, more=max(0, len(changes) - SHOWN), left_out=left)


def text_sent(ask: Ask) -> str:
    """The file that was chosen, else what was pasted."""
    upload = ask.form.file("file")
    if upload is not None and upload.content:
        try:
            return upload.content.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise InputError("file", upload.name, "it is not UTF-8 text", "Save it as plain UTF-8 text.") from error
    # Not Typed.text: a setup file may be longer than a field usually is.
    return next((word for name, word in ask.sent_words if name == "text" and word.strip()), "") or ask.form.need(
        "file", "Choose a file, or paste its text."
    )
