"""The first page, the list of all pages, about, and taking back what was just said."""

from __future__ import annotations

from starlette.responses import RedirectResponse, Response

from trayward.errors import InputError
from trayward.farm.entries import Struck
from trayward.rounds.entries.words import AT_ONCE
from trayward.web.ask import Ask
from trayward.web.home.view import about_words
from trayward.web.routing import act, page


def first(ask: Ask) -> Response:
    """What is to do now comes first."""
    return RedirectResponse("/round" if ask.has("/round") else "/more", status_code=303)


def more(ask: Ask) -> Response:
    """Every page there is."""
    return ask.show("home/more.html")


def about(ask: Ask) -> Response:
    """Version, licence and words."""
    return ask.show("home/about.html", about=about_words())


def undo(ask: Ask) -> Response:
    """Take back what was said a moment ago: each of its entries is struck, the last first."""
    names = ask.form.all("entry")
    if not names:
        raise InputError("entry", "nothing", "there is nothing to take back", "Strike it in the book.")
    back = ask.form.text("_from", "/")
    if not ask.may("run"):
        _require_own(ask, names)
    # One call: all of it or nothing, and sent twice by a phone it is the same.
    ask.farm.record(*(Struck(entry=name, reason=AT_ONCE) for name in reversed(names)), **ask.said)
    return ask.go(back if back.startswith("/") and not back.startswith("//") else "/", ask._("Taken back."))


def _require_own(ask: Ask, names: tuple[str, ...]) -> None:
    """Hands take back what they said themselves."""
    for name in names:
        if ask.farm.entry_named(name).entry.by != ask.who.name:
            raise InputError("entry", name, "somebody else said it", "Ask who keeps the farm to strike it.")


ROUTES = (
    page("/", first, may="look"),
    page("/more", more, may="look"),
    page("/about", about, may="look", farmless=True),
    act("/undo", undo, may="answer"),
)
