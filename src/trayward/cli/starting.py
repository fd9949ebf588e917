"""Commands that begin a farm, and change its setup: init, setup."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import click

from trayward.cli.given import DEFAULT_BOOK, Given, command
from trayward.cli.show import agreed, answer, receipt_json, wrapped
from trayward.errors import BookError, InputError
from trayward.farm.entries import Body, FarmSet
from trayward.rounds.change_words import change_words
from trayward.words import counted

WORDS = {
    "place set": ("shelf", "shelves"),
    "kit set": ("kit pool", ""),
    "recipe set": ("recipe", ""),
    "crop fact set": ("crop figure", ""),
    "product set": ("product", ""),
    "customer set": ("customer", ""),
    "seed received": ("seed lot", ""),
    "order placed": ("order", ""),
    "standing order set": ("standing order", ""),
    "supply set": ("supply", "supplies"),
    "sensor set": ("sensor", ""),
}


@command("init", example="trayward init --setup shelf", records=True)
@click.option("--setup", required=True, metavar="SETUP", help="shelf, loft, barn, or your own file. Example: shelf.")
@click.option("--show", is_flag=True, help="Only print the ready setup, to copy and edit. Example: --show > my.toml.")
def init(given: Given, setup: str, show: bool) -> None:
    """Make a new book with a farm in it: a home shelf, a loft of 96 spots, a barn of 1,200, or your own setup file."""
    from trayward.bootstrap import setup_bodies
    from trayward.desk.setup.file import ready_setup_text

    if show:
        text = ready_setup_text(setup)
        answer(given, {"setup": setup, "text": text}, lambda: click.echo(text, nl=False))
        return
    if "://" not in given.book and Path(given.book).exists() and Path(given.book).stat().st_size:
        # Some other file, or a damaged book, says so when it is opened.
        assert given.farm
        raise BookError(f"book = {given.shown_book}: there is one already. Use it, or name another with --book.")
    bodies = setup_bodies(setup)
    settings = next((body.settings for body in bodies if isinstance(body, FarmSet)), None)
    if settings is None:
        raise InputError("setup", setup, "it says nothing of the farm itself", "Add a [farm] table with its name.")
    given.settings = settings
    at = given.at
    with given.farm_class.create(given.book, bodies, at=at, by=given.by, recorded=given.now) as farm:
        kept = farm.book.head().seq
    told = {"book": given.shown_book, "farm": settings.name, "at": at, "entries": kept, "made": made_of(bodies)}
    answer(given, told, lambda: show_made(given, settings.name, bodies))


def made_of(bodies: tuple[Body, ...]) -> dict[str, int]:
    """How many of each kind a setup makes."""
    return dict(Counter(body.KIND for body in bodies))


def show_made(given: Given, name: str, bodies: tuple[Body, ...]) -> None:
    """What the new farm has, and what to type next."""
    counts = made_of(bodies)
    parts = [counted(counts[kind], *words) for kind, words in WORDS.items() if counts.get(kind)]
    wrapped(f"{name} is set up in {given.shown_book}: {', '.join(parts)}.", "  ")
    here = "" if given.book == DEFAULT_BOOK else f" --book {given.shown_book}"
    click.echo("Next:")
    for words, what in NEXT.items():
        if here:
            click.echo(f"  trayward {words}{here}\n      {what}")
        else:
            click.echo(f"  trayward {words:<9}{what}")


NEXT = {
    "plan": "what to sow in the coming weeks",
    "round": "what to do now",
    "seed": "the seed on the shelf; receive and test yours",
}
"""What to type once there is a farm."""


@command("setup", example="trayward setup my-farm.toml", records=True)
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.option("--show", is_flag=True, help="Only print the farm as it is, to edit. Example: --show > my-farm.toml.")
@click.option("--yes", is_flag=True, help="Do not ask before changing anything. Example: --yes.")
def setup(given: Given, file: Path | None, show: bool, yes: bool) -> None:
    """Apply an edited setup FILE: shows what differs from the farm as it is, asks, and records only that."""
    from trayward.bootstrap import setup_bodies
    from trayward.desk.setup.file import left_out
    from trayward.desk.setup.written import setup_text

    if show:
        text = setup_text(given.state)
        answer(given, {"text": text}, lambda: click.echo(text, nl=False))
        return
    if file is None or not file.is_file():
        rule = "there is no such file" if file is not None else "no file is named"
        raise InputError(
            "setup file", file or "nothing", rule, "Write the farm out: trayward setup --show > my-farm.toml."
        )
    bodies = setup_bodies(file)
    changes = given.farm.changes(bodies, given.at)
    stays = left_out(given.state, bodies)
    if not given.json:
        _show_changes(given, changes, stays)
    if not changes:
        answer(given, {"kept": [], "names": [], "findings": [], "left_as_is": stays}, lambda: None)
        return
    if not (yes or given.json) and not agreed(given, f"Record {counted(len(changes), 'change')}?"):
        click.echo("Nothing was changed.")
        return
    if given.json and not yes:
        raise InputError("yes", "not said", f"{len(changes)} changes would be recorded", "Say --yes with --json.")
    receipt = given.farm.record(*changes, **given.said)
    answer(given, receipt_json(receipt) | {"left_as_is": stays}, lambda: _changed(len(changes)))


def _changed(count: int) -> None:
    click.echo(f"Recorded {counted(count, 'change')}.")


def _show_changes(given: Given, changes: tuple[Body, ...], stays: tuple[str, ...]) -> None:
    for body in changes:
        wrapped(change_words(given.state, body, given.units), "    ")
    if not changes:
        click.echo("The farm is like that already.")
    if stays:
        wrapped(f"Not in the file, and left as it is: {', '.join(name.replace(':', ' ') for name in stays)}.", "    ")
