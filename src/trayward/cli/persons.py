"""Commands for the people who may use the pages: let in, change, log out, let go; and tokens for programs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from trayward.cli.given import Given, group
from trayward.cli.show import Column, Columns, answer, moment_words, table, wrapped
from trayward.errors import InputError, NotFoundError

if TYPE_CHECKING:
    from trayward.store.people import Person, SqlPeople, Token

ROLE_WORDS = click.Choice(["owner", "hand", "reader"])
TOKEN_WORDS = click.Choice(["owner", "hand", "reader", "sensor"])
TOKEN_HELP = "What it may do; sensor: hand in readings and nothing else. Example: --role sensor."
ROLE_HELP = "What they may do: owner, hand or reader. Example: --role hand."


@group("people", example="trayward people")
def people(given: Given) -> None:
    """Who may use the pages from a phone: owners, hands and readers. See docs/how-to/let-others-in.md."""
    show_people(given)


@people.add("list", example="trayward people list")
def list_(given: Given) -> None:
    """Everybody, what they may do, and how many devices they are logged in on."""
    show_people(given)


def show_people(given: Given) -> None:
    """Everybody as a table, or in JSON. No secret is in either."""
    kept = kept_of(given)
    found = [
        {
            "name": person.name,
            "role": person.role,
            "since": person.since,
            "password": person.has_password,
            "pin": person.has_pin,
            "devices": len(kept.sessions.all(given.now, person=person.id)),
        }
        for person in kept.persons.all()
    ]
    columns: Columns = ["Name", "Role", "Password", "PIN", Column("Devices", right=True)]
    rows = [
        [str(one["name"]), str(one["role"]), yes(one["password"]), yes(one["pin"]), str(one["devices"])]
        for one in found
    ]
    none = "Nobody: the pages answer this machine alone. Add yourself: trayward people add NAME --role owner"
    answer(given, {"people": found}, lambda: table(columns, rows, none=none))


@people.add("add", example="trayward people add Mira --role hand", records=True)
@click.argument("name")
@click.option("--role", type=ROLE_WORDS, required=True, help=ROLE_HELP)
@click.option("--no-password", is_flag=True, help="None: their phone is paired by an owner. Example: --no-password.")
def add(given: Given, name: str, role: str, no_password: bool) -> None:
    """Let NAME in. The password is asked for here, never given on the command line. The first is an owner."""
    kept = kept_of(given)
    password = None if no_password else asked_password()
    by = given.by if kept.persons.anyone() else name
    person = kept.persons.add(name, role, password=password, at=given.now, by=by)  # type: ignore[arg-type]
    _said(given, person, f"{person.name} is in, as {person.role}.")


@people.add("role", example="trayward people role Mira --role reader", records=True)
@click.argument("name")
@click.option("--role", type=ROLE_WORDS, required=True, help=ROLE_HELP)
def role(given: Given, name: str, role: str) -> None:
    """Make NAME an owner, a hand or a reader; it counts from their next tap on."""
    kept = kept_of(given)
    person = kept.persons.named(name)
    kept.persons.set_role(person.id, role, at=given.now, by=given.by)  # type: ignore[arg-type]
    _said(given, kept.persons.get(person.id), f"{person.name} is {role} now.")


@people.add("password", example="trayward people password Mira", records=True)
@click.argument("name")
def password(given: Given, name: str) -> None:
    """Give NAME a new password, asked for here. They are logged out everywhere."""
    kept = kept_of(given)
    person = kept.persons.named(name)
    kept.persons.set_password(person.id, asked_password(), at=given.now, by=given.by)
    _said(given, kept.persons.get(person.id), f"{person.name} has a new password, and is logged out everywhere.")


@people.add("rename", example='trayward people rename Mira "Mira Sol"', records=True)
@click.argument("name")
@click.argument("to")
def rename(given: Given, name: str, to: str) -> None:
    """NAME is called TO from now on. What was recorded before stays under the old name."""
    kept = kept_of(given)
    person = kept.persons.named(name)
    kept.persons.rename(person.id, to, at=given.now, by=given.by)
    _said(given, kept.persons.get(person.id), f"{person.name} is called {to} from now on.")


@people.add("remove", example="trayward people remove Mira", records=True)
@click.argument("name")
def remove(given: Given, name: str) -> None:
    """Let NAME go: logged out everywhere at once. What they recorded stays. The last owner cannot be removed."""
    kept = kept_of(given)
    person = kept.persons.named(name)
    kept.persons.remove(person.id, at=given.now, by=given.by)
    _said(given, person, f"{person.name} is out, on every device.")


@people.add("end-sessions", example="trayward people end-sessions Mira", records=True)
@click.argument("name")
def end_sessions(given: Given, name: str) -> None:
    """Log NAME out on every device, as when a phone is lost."""
    kept = kept_of(given)
    person = kept.persons.named(name)
    count = kept.sessions.end_all(person.id, at=given.now, by=given.by)
    words = f"{person.name} is logged out on {count} {'device' if count == 1 else 'devices'}."
    answer(given, {"name": person.name, "ended": count}, lambda: wrapped(words))


@people.add("changes", example="trayward people changes")
@click.option("--last", type=click.IntRange(1), default=20, show_default=True, help="How many. Example: 50.")
def changes(given: Given, last: int) -> None:
    """Who changed what about people, the newest first."""
    found = kept_of(given).changes(last)

    def human() -> None:
        for change in found:
            wrapped(f"{moment_words(change.at, given.zone)}  {change.by} {change.words}", "  ")

    answer(given, {"changes": found}, human)


# Tokens ---------------------------------------------------------------------------------------------------------------


@group("token", example="trayward people token")
def token(given: Given) -> None:
    """Tokens: keys for programs that talk to the pages."""
    show_tokens(given)


@token.add("list", example="trayward people token list")
def token_list(given: Given) -> None:
    """Every token: its name, what it may do, and when it was last used."""
    show_tokens(given)


@token.add("add", example='trayward people token add "packing scale" --role hand', records=True)
@click.argument("name")
@click.option("--role", type=TOKEN_WORDS, required=True, help=TOKEN_HELP)
def token_add(given: Given, name: str, role: str) -> None:
    """Make a token for a program called NAME. It is shown once; nobody can look it up again."""
    made, key = kept_of(given).tokens.add(name, role, at=given.now, by=given.by)  # type: ignore[arg-type]

    def human() -> None:
        wrapped(f"The token of {made.name}, shown this once. A program sends it as: Authorization: Bearer TOKEN")
        click.echo(key)

    answer(given, {"name": made.name, "role": made.role, "token": key}, human)


@token.add("end", example='trayward people token end "packing scale"', records=True)
@click.argument("name")
def token_end(given: Given, name: str) -> None:
    """Make the token called NAME worthless."""
    from trayward.store.people import name_key

    kept = kept_of(given)
    found = [one for one in kept.tokens.all() if name_key(one.name) == name_key(name)]
    if not found:
        raise NotFoundError("token", name, tuple(one.name for one in kept.tokens.all()))
    kept.tokens.end(found[0].id, at=given.now, by=given.by)
    answer(given, {"ended": found[0].name}, lambda: wrapped(f"The token of {found[0].name} has ended."))


def show_tokens(given: Given) -> None:
    """Tokens as a table, or in JSON; never what they are made of."""
    found = kept_of(given).tokens.all()
    columns: Columns = ["Name", "Role", "Made by", "Last used"]
    rows = [[one.name, one.role, one.made_by, _used(given, one)] for one in found]
    shown = [{"name": one.name, "role": one.role, "made_by": one.made_by, "used": one.used} for one in found]
    answer(given, {"tokens": shown}, lambda: table(columns, rows, none="No program has a token."))


people.add_command(token)


def kept_of(given: Given) -> SqlPeople:
    """Where the farm's people are kept."""
    from trayward.store import SqlBook
    from trayward.store.people import SqlPeople

    book = given.farm.book
    assert isinstance(book, SqlBook)
    return SqlPeople(book)


def asked_password() -> str:
    """A password typed twice on the terminal, where nobody can read it."""
    try:
        found: str = click.prompt("Password", hide_input=True, confirmation_prompt="The same again", err=True)
    except click.Abort as stopped:
        if not isinstance(stopped.__context__, EOFError):
            raise
        remedy = "Run this on a terminal, or leave the password out: --no-password."
        raise InputError("password", "nothing", "nobody typed one", remedy) from None
    return found


def yes(there: object) -> str:
    """Whether there is one, for a table."""
    return "yes" if there else "no"


def _used(given: Given, one: Token) -> str:
    return "never" if one.used is None else moment_words(one.used, given.zone)


def _said(given: Given, person: Person, words: str) -> None:
    answer(given, {"name": person.name, "role": person.role}, lambda: wrapped(words))
