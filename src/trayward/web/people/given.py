"""What the views of people have in common: where people are kept, who asks by id, and their proof asked once more."""

from __future__ import annotations

from trayward.errors import InputError
from trayward.store.people import LogInError, Person, Seen, SqlPeople
from trayward.web.ask import Ask
from trayward.web.faults import ShutError
from trayward.web.people.keeper import FarmPeople, address_of
from trayward.web.typed import Typed


def keeper_of(ask: Ask) -> FarmPeople:
    """Who keeps the people. Raises `ShutError` where the pages were started for one person only."""
    if not isinstance(ask.people, FarmPeople):
        raise ShutError("These pages were started for one person.", "Start them with: trayward serve.", status=404)
    return ask.people


def words_of(ask: Ask) -> Typed:
    """What was typed. Read without the farm, for whose units `ask.form` would wait: who comes in must not."""
    return Typed(ask.sent_words)


def secret_of(ask: Ask, name: str) -> str:
    """A secret with its spaces: they count."""
    return next((word for one, word in words_of(ask).words if one == name), "")


def kept_of(ask: Ask) -> SqlPeople:
    """Where people are kept."""
    return keeper_of(ask).needed


def seen_of(ask: Ask) -> Seen | None:
    """The device that asks, if it is logged in."""
    found: Seen | None = getattr(ask.request.state, "seen", None)
    return found


def here_of(ask: Ask) -> str:
    """Id of the device that asks; nothing where there is no log-in."""
    seen = seen_of(ask)
    return "" if seen is None else seen.session


def own_seen(ask: Ask) -> Seen:
    """The device and person that ask. Raises `ShutError` for a program, and where nobody has to log in."""
    seen = seen_of(ask)
    if seen is None or seen.locked:
        raise ShutError("This is for somebody who is logged in.", "Log in first, with a name and a password.")
    return seen


def myself(ask: Ask) -> Person:
    """Who asks, as they are kept."""
    return kept_of(ask).persons.get(own_seen(ask).person)


def require_proof(ask: Ask, field: str = "current") -> None:
    """
    What they are known by has to be shown once more: a phone left lying about must not change how its owner is known.

    The password where they have one, else their PIN, else nothing. Raises `InputError` that names the field, or
    `WaitError`.
    """
    kept, me = kept_of(ask), myself(ask)
    proof, session = secret_of(ask, field), own_seen(ask).session
    try:
        if me.has_password:
            kept.log_in(me.name, proof, address=address_of(ask.request), at=ask.now)
        elif me.has_pin:
            kept.sessions.unlock(session, me.id, proof, at=ask.now)
    except LogInError as error:
        what = "password" if me.has_password else "PIN"
        raise InputError(field, "as typed", f"it is not your {what}", error.remedy) from error
