"""The way in: log-in, lock, and a phone that opens a pairing code. Open to strangers, so each looks whom it lets in."""

from __future__ import annotations

from math import ceil
from urllib.parse import quote

from starlette.responses import RedirectResponse, Response

from trayward.errors import InputError, NotFoundError, TraywardError
from trayward.store.people import LogInError, Person, WaitError
from trayward.store.people.proofs import PIN_TRIES
from trayward.web.ask import Ask
from trayward.web.guard import Who
from trayward.web.held import HELD, unpacked
from trayward.web.people.given import here_of, keeper_of, kept_of, own_seen, secret_of, seen_of, words_of
from trayward.web.people.keeper import address_of, local_path
from trayward.web.people.view import at_lock

STRICT = {"Cache-Control": "no-store"}


# Log-in ---------------------------------------------------------------------------------------------------------------


def login_page(ask: Ask) -> Response:
    """Name and password."""
    if not keeper_of(ask).anyone():
        return RedirectResponse("/", status_code=303)
    return _login(ask, next_=_next(ask), name=ask.query.text("name"))


def _next(ask: Ask) -> str:
    """Where to go on to afterwards: as the address says, or the form that came along."""
    return ask.query.text("next") or words_of(ask).text("next", "/")


def log_in(ask: Ask) -> Response:
    """Name and password were typed."""
    keeper = keeper_of(ask)
    typed = words_of(ask)
    name, password, next_ = typed.text("name"), secret_of(ask, "password"), typed.text("next", "/")
    if not keeper.anyone():
        return RedirectResponse("/", status_code=303)
    if not name and not password:
        return _login(ask, next_=next_)
    try:
        person = keeper.needed.log_in(name, password, address=address_of(ask.request), at=ask.now)
    except (LogInError, WaitError) as error:
        return _login(ask, next_=next_, name=name, wrong=error)
    response = _on(ask, person, next_)
    keeper.let_in(ask.request, response, person, ask.now)
    return response


def _on(ask: Ask, person: Person, next_: str) -> Response:
    """Back to where they were; with what they had typed there, if it came along."""
    held = unpacked(secret_of(ask, HELD))
    who = Who(name=person.name, role=person.role, language=person.language, units=person.units)
    shown = ask.shown_again(held, who) if held is not None else None
    return shown or RedirectResponse(local_path(next_), status_code=303)


def log_out(ask: Ask) -> Response:
    """The device forgets who asks; others who share it stay."""
    keeper, seen = keeper_of(ask), own_seen(ask)
    keeper.needed.sessions.leave(seen.session, seen.person, at=ask.now, by=ask.who.name)
    others = keeper.needed.sessions.paired(seen.session)
    response = RedirectResponse("/lock" if others else "/login", status_code=303)
    if not others:
        keeper.forget(ask.request, response)
    return response


def _login(ask: Ask, *, next_: str, name: str = "", wrong: TraywardError | None = None) -> Response:
    status = 200 if wrong is None else 429 if isinstance(wrong, WaitError) else 401
    shared, held = seen_of(ask) is not None, secret_of(ask, HELD)
    values = {"next": local_path(next_), "name": name, "wrong": _words(ask, wrong), "shared": shared, "held": held}
    return _strict(ask.show("people/login.html", status=status, **values), wrong)


def _strict(response: Response, wrong: TraywardError | None) -> Response:
    response.headers.update(STRICT)
    if isinstance(wrong, WaitError):
        response.headers["Retry-After"] = str(ceil(wrong.seconds))
    return response


def _words(ask: Ask, wrong: TraywardError | None) -> str:
    """What went wrong, in the page's language. Never which of name and password it was."""
    if wrong is None:
        return ""
    if isinstance(wrong, WaitError):
        minutes = ceil(wrong.seconds / 60)
        return ask.ngettext(
            "Too many wrong tries. Wait a minute, then try again.",
            "Too many wrong tries. Wait %(num)s minutes, then try again.",
            minutes,
        )
    if isinstance(wrong, LogInError) and wrong.name == "pin":
        return ask._("That is not the PIN. After %(tries)s wrong ones, only the password helps.", tries=PIN_TRIES)
    if isinstance(wrong, LogInError):
        return ask._("Name and password do not fit each other. Type both again, or ask the owner for a new password.")
    return str(wrong)


# Lock -----------------------------------------------------------------------------------------------------------------


def lock_page(ask: Ask) -> Response:
    """Who are you? Names, big, of all who may use this phone."""
    return _lock(ask, next_=_next(ask), who=ask.query.text("who"))


def _lock(ask: Ask, *, next_: str, who: str = "", wrong: TraywardError | None = None) -> Response:
    seen = seen_of(ask)
    if seen is None:
        return _to_login(next_)
    names = at_lock(kept_of(ask).sessions.paired(seen.session), PIN_TRIES)
    chosen = next((one for one in names if one.id == who), names[0] if len(names) == 1 else None)
    status = 200 if wrong is None else 429 if isinstance(wrong, WaitError) else 401
    told, held = _words(ask, wrong), secret_of(ask, HELD)
    values = {"names": names, "chosen": chosen, "next": local_path(next_), "wrong": told, "held": held}
    return _strict(ask.show("people/lock.html", status=status, **values), wrong)


def _to_login(next_: str) -> Response:
    """A device that is logged in no more, not only locked."""
    back = f"?next={quote(next_, safe='/')}" if next_ != "/" else ""
    return RedirectResponse("/login" + back, status_code=303)


def lock_now(ask: Ask) -> Response:
    """Let the phone wait for a PIN at once: it is handed on."""
    kept_of(ask).sessions.lock(own_seen(ask).session)
    return RedirectResponse("/lock", status_code=303)


def unlock(ask: Ask) -> Response:
    """Somebody says who they are, with their PIN or their password."""
    seen, keeper = seen_of(ask), keeper_of(ask)
    typed, password = words_of(ask), secret_of(ask, "password")
    who, next_, pin = typed.text("who"), typed.text("next", "/"), typed.text("pin")
    if seen is None:
        return _login(ask, next_=next_) if secret_of(ask, HELD) else _to_login(next_)
    if not password and not pin:
        return _lock(ask, next_=next_, who=who)
    try:
        if password:
            name = _paired(ask, seen.session, who)
            found = keeper.needed.log_in(name, password, address=address_of(ask.request), at=ask.now)
            response = _on(ask, found, next_)
            keeper.let_in(ask.request, response, found, ask.now)
        else:
            keeper.needed.sessions.unlock(seen.session, who, pin, at=ask.now)
            response = _on(ask, keeper.needed.persons.get(who), next_)
    except (LogInError, WaitError) as error:
        return _lock(ask, next_=next_, who=who, wrong=error)
    except NotFoundError:
        return _lock(ask, next_=next_)
    return response


def _paired(ask: Ask, session: str, who: str) -> str:
    """Name of somebody who may use this phone."""
    for one in kept_of(ask).sessions.paired(session):
        if one.person.id == who:
            return one.person.name
    raise NotFoundError("person", who)


# A phone that opens a pairing code ------------------------------------------------------------------------------------


def join_page(ask: Ask) -> Response:
    """Is this phone yours? Looking does not use the code up: some phones look before anybody opens an address."""
    return _join(ask, ask.path["code"])


def _join(ask: Ask, code: str, wrong: TraywardError | None = None) -> Response:
    person = kept_of(ask).pairings.whose(code, ask.now) if keeper_of(ask).anyone() else None
    shares = [] if person is None else _others(ask, person)
    status = 410 if person is None else 200 if wrong is None else 422
    values = {"person": person, "shares": shares, "wrong": "" if wrong is None else str(wrong)}
    return _strict(ask.show("people/join.html", status=status, **values), None)


def join(ask: Ask) -> Response:
    """The phone is paired: the code is used up, and the phone gets a key of its own."""
    keeper, code = keeper_of(ask), ask.path["code"]
    pin = words_of(ask).text("pin")
    person = keeper.needed.pairings.whose(code, ask.now)
    try:
        # A PIN that will not do must not use the code up.
        if person is not None and not person.has_pin:
            _choose_pin(ask, person, pin)
        person = keeper.needed.pairings.use(code, at=ask.now)
    except InputError as error:
        return _join(ask, code, error)
    response = RedirectResponse("/", status_code=303)
    keeper.let_in(ask.request, response, person, ask.now)
    return response


def _choose_pin(ask: Ask, person: Person, pin: str) -> None:
    """Keep the PIN chosen while pairing. Raises `InputError` where one is needed: nothing else would let them in."""
    if pin:
        kept_of(ask).persons.set_pin(person.id, pin, at=ask.now, by=person.name)
    elif not person.has_password and _others(ask, person):
        raise InputError(
            "pin", "nothing", "others use this phone too, and it asks who is there", "Choose 4 to 6 digits."
        )


def _others(ask: Ask, person: Person) -> list[str]:
    """Names of the others who use this phone."""
    seen = seen_of(ask)
    paired = kept_of(ask).sessions.paired(seen.session) if seen is not None else []
    return [one.person.name for one in paired if one.person.id != person.id]


# A page that stays open ----------------------------------------------------------------------------------------------


def awake(ask: Ask) -> Response:
    """Whether the page may stay open: asked by it from time to time. 401 once the phone is locked or logged out."""
    return ask.json({"who": ask.who.name, "lock_minutes": kept_of(ask).setting("lock_minutes"), "here": here_of(ask)})
