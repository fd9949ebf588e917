"""What everybody may see and change of themselves: their devices, PIN, password, language and units."""

from __future__ import annotations

from starlette.responses import Response

from trayward.errors import InputError, NotFoundError
from trayward.web.ask import Ask
from trayward.web.people.given import here_of, keeper_of, kept_of, myself, own_seen, require_proof, secret_of, words_of
from trayward.web.people.view import tabs


def me_page(ask: Ask) -> Response:
    """Who I am here, and where I am logged in."""
    keeper = keeper_of(ask)
    if not keeper.anyone() or ask.who.by_token:
        return ask.show("people/alone.html")
    me = myself(ask)
    mine = tabs(keeper.needed.sessions.all(ask.now, person=me.id), here_of(ask))
    return ask.show("people/me.html", me=me, tabs=mine, minutes=keeper.needed.setting("lock_minutes"))


def set_pin(ask: Ask) -> Response:
    """A PIN for shared phones, or none any more."""
    me = myself(ask)
    pin = None if words_of(ask).ticked("none") else words_of(ask).need("pin", "Type 4 to 6 digits.")
    require_proof(ask)
    kept_of(ask).persons.set_pin(me.id, pin, at=ask.now, by=me.name)
    return ask.go("/me", ask._("The PIN is taken away.") if pin is None else ask._("The PIN is set."))


def set_password(ask: Ask) -> Response:
    """A new password; other devices are logged out."""
    me = myself(ask)
    password = secret_of(ask, "password")
    require_proof(ask)
    kept_of(ask).persons.set_password(me.id, password, at=ask.now, by=me.name, but=own_seen(ask).session)
    return ask.go("/me", ask._("The password is changed. Your other devices are logged out."))


def set_taste(ask: Ask) -> Response:
    """Language and units."""
    me = myself(ask)
    language, units = words_of(ask).text("language"), words_of(ask).text("units")
    if language not in ("", "en", "es"):
        raise InputError("language", language, "is not one of those offered", "Choose one of the list.")
    if units not in ("", "metric", "us"):
        raise InputError("units", units, "is not one of those offered", "Choose one of the list.")
    kept_of(ask).persons.set_taste(me.id, language=language, units=units)  # type: ignore[arg-type]
    return ask.go("/me", ask._("Kept."))


def end_one(ask: Ask) -> Response:
    """One of my devices is logged out; off a shared one only I am taken."""
    me, session = myself(ask), words_of(ask).need("session")
    if session not in {each.id for each in kept_of(ask).sessions.all(ask.now, person=me.id)}:
        raise NotFoundError("device", session, remedy="It is logged out already.")
    kept_of(ask).sessions.leave(session, me.id, at=ask.now, by=me.name)
    return ask.go("/me" if session != here_of(ask) else "/login", ask._("Logged out there."))


def end_others(ask: Ask) -> Response:
    """All my devices but this one are logged out."""
    me = myself(ask)
    count = kept_of(ask).sessions.end_all(me.id, at=ask.now, by=me.name, but=own_seen(ask).session)
    return ask.go("/me", ask.ngettext("Logged out on %(num)s device.", "Logged out on %(num)s devices.", count))
