"""What owners do about people: let in, change, pair a phone, log out, let go; tokens; and the record of it."""

from __future__ import annotations

from starlette.responses import RedirectResponse, Response

from trayward.errors import InputError
from trayward.store.people import PAIRING_LIFE, ROLES, SETTINGS, TOKEN_ROLES, Person, Role
from trayward.web.ask import Ask
from trayward.web.people.given import here_of, keeper_of, kept_of, secret_of, words_of
from trayward.web.people.view import code_of, everybody, one_page


def people_page(ask: Ask) -> Response:
    """Everybody, what they may do, and where they are logged in."""
    if not keeper_of(ask).anyone():
        return ask.show("people/first.html")
    return ask.show("people/people.html", all=everybody(kept_of(ask), ask.now, here_of(ask)), bounds=SETTINGS)


def person_page(ask: Ask) -> Response:
    """One person."""
    return ask.show("people/person.html", one=one_page(kept_of(ask), ask.path["id"], ask.now, here_of(ask)))


def add(ask: Ask) -> Response:
    """Let somebody in. The first of all is the one who asks, and is logged in at once."""
    keeper = keeper_of(ask)
    first = not keeper.anyone()
    name, role = words_of(ask).need("name", "Take what they are called."), _role(ask)
    password = secret_of(ask, "password")
    if first and password != secret_of(ask, "again"):
        raise InputError("again", "as typed", "it is not what stands above", "Type the same password twice.")
    by = name if first else ask.who.name
    person = keeper.needed.persons.add(name, role, password=password or None, at=ask.now, by=by)
    response = ask.go("/people" if first else f"/people/{person.id}", ask._("%(name)s is in.", name=person.name))
    if first:
        keeper.let_in(ask.request, response, person, ask.now)
    return response


def rename(ask: Ask) -> Response:
    """Another name from now on."""
    person = _person(ask)
    kept_of(ask).persons.rename(person.id, words_of(ask).need("name"), at=ask.now, by=ask.who.name)
    return _back(ask, person, ask._("The name is changed. What was recorded before stays under the old one."))


def set_role(ask: Ask) -> Response:
    """Owner, hand or reader."""
    person, role = _person(ask), _role(ask)
    kept_of(ask).persons.set_role(person.id, role, at=ask.now, by=ask.who.name)
    return _back(ask, person, ask._("Kept."))


def set_password(ask: Ask) -> Response:
    """A new password for somebody who forgot theirs; they are logged out everywhere."""
    person, password = _person(ask), secret_of(ask, "password")
    here = here_of(ask) if person.name == ask.who.name else None
    kept_of(ask).persons.set_password(person.id, password, at=ask.now, by=ask.who.name, but=here)
    return _back(ask, person, ask._("The password is changed. Their devices are logged out."))


def forget_pin(ask: Ask) -> Response:
    """A forgotten PIN is taken away; a new one is set by the person."""
    person = _person(ask)
    kept_of(ask).persons.set_pin(person.id, None, at=ask.now, by=ask.who.name)
    return _back(ask, person, ask._("The PIN is taken away."))


def remove(ask: Ask) -> Response:
    """Let somebody go."""
    person = _person(ask)
    kept_of(ask).persons.remove(person.id, at=ask.now, by=ask.who.name)
    return ask.go("/people", ask._("%(name)s is out, on every device.", name=person.name))


def pair(ask: Ask) -> Response:
    """A code for one phone, as a picture. It stands on this page alone, and nowhere in an address of ours."""
    person = _person(ask)
    code = kept_of(ask).pairings.make(person.id, at=ask.now, by=ask.who.name)
    url = ask.request.url
    shown = code_of(person, f"{url.scheme}://{url.netloc}/pair/{code}", ask.now + PAIRING_LIFE)
    response = ask.show("people/pair.html", code=shown)
    response.headers["Cache-Control"] = "no-store"
    return response


def to_person(ask: Ask) -> Response:
    """A code is made by a form alone; who asks for its page again gets the person's."""
    return RedirectResponse(f"/people/{_person(ask).id}", status_code=303)


def to_people(ask: Ask) -> Response:  # noqa: ARG001
    """A token is shown once; who asks for its page again gets the list."""
    return RedirectResponse("/people", status_code=303)


def end_session(ask: Ask) -> Response:
    """Log a device out, with all who share it."""
    session = words_of(ask).need("session")
    kept_of(ask).sessions.end(session, at=ask.now, by=ask.who.name)
    return ask.go("/people", ask._("The device is logged out."))


def end_all(ask: Ask) -> Response:
    """Log somebody out everywhere."""
    person = _person(ask)
    count = kept_of(ask).sessions.end_all(person.id, at=ask.now, by=ask.who.name)
    words = ask.ngettext("Logged out on %(num)s device.", "Logged out on %(num)s devices.", count)
    return _back(ask, person, words)


def set_settings(ask: Ask) -> Response:
    """After how long devices lock, and are logged out."""
    wanted = {name: words_of(ask).whole(name, known.low, known.high) for name, known in SETTINGS.items()}
    for name, value in wanted.items():
        kept_of(ask).set_setting(name, value, at=ask.now, by=ask.who.name)
    return ask.go("/people", ask._("Kept."))


def add_token(ask: Ask) -> Response:
    """A key for a program; this page is the only one that ever shows it."""
    role = _role(ask, TOKEN_ROLES)
    token, key = kept_of(ask).tokens.add(words_of(ask).need("name"), role, at=ask.now, by=ask.who.name)
    response = ask.show("people/token.html", token=token, key=key)
    response.headers["Cache-Control"] = "no-store"
    return response


def end_token(ask: Ask) -> Response:
    """Make a token worthless."""
    kept_of(ask).tokens.end(words_of(ask).need("token"), at=ask.now, by=ask.who.name)
    return ask.go("/people", ask._("The token has ended."))


def _person(ask: Ask) -> Person:
    return kept_of(ask).persons.get(ask.path["id"])


def _role(ask: Ask, known: tuple[Role, ...] = ROLES) -> Role:
    return words_of(ask).choice("role", known)  # type: ignore[return-value]


def _back(ask: Ask, person: Person, say: str) -> Response:
    return ask.go(f"/people/{person.id}", say)
