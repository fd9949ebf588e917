"""What every command is given: which book, when, who, and how to answer; and the commands made with it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from trayward.cli import clock
from trayward.errors import BookError, without_password

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from trayward import Farm
    from trayward.desk.core import Receipt, Said
    from trayward.farm.entries import Body
    from trayward.farm.settings import FarmSettings, ShownUnits
    from trayward.farm.state import FarmState

DEFAULT_BOOK = "trayward.sqlite"
LONGEST_NAME = 255
"""Letters a file's name may have."""
HELP_NAMES = {"help_option_names": ["-h", "--help"], "max_content_width": 80}


class Given:
    """A command's common options, and the farm they lead to, opened when first asked for."""

    def __init__(self, ctx: click.Context, values: dict[str, Any]) -> None:
        self.ctx = ctx
        self.book: str = _own_or_parents(ctx, values, "book") or DEFAULT_BOOK
        self.when: str = _own_or_parents(ctx, values, "when") or ""
        self.by: str = _own_or_parents(ctx, values, "by") or "grower"
        self.json: bool = bool(_own_or_parents(ctx, values, "as_json"))
        self.sure: bool = bool(_own_or_parents(ctx, values, "sure"))
        self.receipts: list[Receipt] = []
        ctx.find_root().obj = self

    @property
    def has_farm(self) -> bool:
        """Whether there is a book to look into; a bench does without."""
        return "://" in self.book or Path(self.book).is_file()

    def text_in(self, name: str) -> str | None:
        """What a file of that name holds; None where there is none."""
        path = Path(name)
        return path.read_text(encoding="utf-8") if len(name) < LONGEST_NAME and path.is_file() else None

    @property
    def shown_book(self) -> str:
        """Where the book is, as it may be shown: an address without its password."""
        return without_password(self.book)

    @cached_property
    def farm(self) -> Farm:
        """The farm in the book. Raises `BookError` where there is no book yet."""
        if not self.has_farm:
            if Path(self.book).is_dir():
                inside = f"--book {Path(self.book) / DEFAULT_BOOK}"
                raise BookError(f"book = {self.shown_book}: it is a folder. Name the file of the book in it: {inside}.")
            raise BookError(
                f"book = {self.shown_book}: there is no book here. Make one: trayward init --setup shelf, "
                "or say where it is with --book or TRAYWARD_BOOK."
            )
        farm = self.farm_class.open(self.book)
        self.ctx.call_on_close(farm.close)
        return farm

    @cached_property
    def farm_class(self) -> type[Farm]:
        """A farm that tells this command what was kept: should it fail afterwards, that has to be said."""
        from trayward.bootstrap import Farm
        from trayward.store.waiting import telling

        self.ctx.with_resource(telling(self._waits))
        receipts = self.receipts

        class TellingFarm(Farm):
            """Hands every receipt on."""

            def record(self, *bodies: Body, **said: Any) -> Receipt:
                receipt = super().record(*bodies, **said)
                receipts.append(receipt)
                return receipt

        return TellingFarm

    def _waits(self, book: str) -> None:
        del book
        words = "somebody else is writing to it just now. This waits for them, half a minute at most."
        click.echo(f"Book {self.shown_book}: {words}", err=True)

    @cached_property
    def now(self) -> datetime:
        """The present moment, by the clock."""
        return clock.now()

    @cached_property
    def settings(self) -> FarmSettings:
        """The farm's settings as the book knows them today."""
        return self.farm.settings(max(self.now, self.farm.book.head().horizon or self.now))

    @cached_property
    def zone(self) -> ZoneInfo:
        """The farm's time zone."""
        from trayward.farm.calendar import zone

        return zone(self.settings)

    @cached_property
    def at(self) -> datetime:
        """The moment meant: `--at`, or now."""
        if not self.when:
            return self.now
        from trayward.cli.when import parse_when

        first = min((walk.at for walk in self.settings.rounds), default=None)
        return parse_when(self.when, self.now, self.zone, *([first] if first else []))

    @property
    def today(self) -> date:
        """The farm's own day of the moment meant."""
        return self.at.astimezone(self.zone).date()

    @property
    def units(self) -> ShownUnits:
        """The units this farm reads."""
        return self.settings.units

    @property
    def state(self) -> FarmState:
        """The farm at the moment meant."""
        return self.farm.state(self.at)

    @property
    def said(self) -> Said:
        """How a thing is said by this command: when it happened, who says so, and that it is said now."""
        # Within the hour that a device's clock may run ahead, what is said counts as said when it happened.
        return {"at": self.at, "by": self.by, "recorded": self.now, "sure": self.sure}


def _own_or_parents(ctx: click.Context, values: dict[str, Any], name: str) -> Any:
    """An option typed for the command itself, else one typed for a group before it, else from the surroundings."""
    own = values.pop(name, None)
    for each in _up_from(ctx):
        if each.get_parameter_source(name) is ParameterSource.COMMANDLINE:
            return own if each is ctx else each.params.get(name)
    return own


def _up_from(ctx: click.Context | None) -> Iterator[click.Context]:
    while ctx is not None:
        yield ctx
        ctx = ctx.parent


def after_the_command(words: Sequence[str]) -> list[str]:
    """
    Words as typed, options of every command that stand before it put behind its name, where it looks for them.

    Examples
    --------
    >>> after_the_command(["--book", "farm.sqlite", "--json", "round", "show", "3"])
    ['round', '--book', 'farm.sqlite', '--json', 'show', '3']
    """
    first = 0
    while first < len(words) and words[first].partition("=")[0] in BEFORE:
        word = words[first]
        first += 1 if BEFORE[word.partition("=")[0]] == 0 or "=" in word else 2
    if first >= len(words) or words[first].startswith("-"):
        return list(words)
    return [words[first], *words[:first], *words[first + 1 :]]


BEFORE = {"--book": 1, "--at": 1, "--by": 1, "--sure": 0, "--json": 0}
"""Options that commands share, and how many words follow each."""


def common_options(*, records: bool, doubts: bool = False) -> list[click.Parameter]:
    """The options every command takes, and those of commands that record, or that may point out what looks mistyped."""
    happened = "When it happened" if records else "The moment to look at"
    options: list[click.Parameter] = [
        click.Option(["--book"], envvar="TRAYWARD_BOOK", metavar="PATH", help=BOOK_HELP),
        click.Option(["--at", "when"], metavar="WHEN", help=f'{happened}; now if left out. Example: "today 07:00".'),
    ]
    if records:
        options.append(click.Option(["--by"], envvar="TRAYWARD_BY", metavar="NAME", help="Who says so. Example: Ada."))
    if doubts:
        options.append(click.Option(["--sure"], is_flag=True, help="Keep it although it looks mistyped."))
    options.append(click.Option(["--json", "as_json"], is_flag=True, help="Answer in JSON, for other programs."))
    return options


BOOK_HELP = f"Book of the farm: a file or a database URL; {DEFAULT_BOOK} here if left out. Example: farm.sqlite."

Work = Callable[..., None]


def command(name: str, *, example: str, records: bool = False, doubts: bool = False) -> Callable[[Work], click.Command]:
    """Make a command of a function that takes a `Given` and its own options.

    `records`: it writes to the book. `doubts`: what it says may look mistyped, and is then asked about.
    """

    def made(work: Work) -> click.Command:
        return click.Command(
            name,
            callback=_with_given(work, doubts=doubts),
            params=[*_declared(work), *common_options(records=records, doubts=doubts)],
            help=work.__doc__,
            epilog=_example(example),
            context_settings=dict(HELP_NAMES),
        )

    return made


class Group(click.Group):
    """A group whose commands take a `Given` too."""

    def add(
        self, name: str, *, example: str, records: bool = False, doubts: bool = False
    ) -> Callable[[Work], click.Command]:
        """Make a command and put it into the group."""

        def made(work: Work) -> click.Command:
            found = command(name, example=example, records=records, doubts=doubts)(work)
            self.add_command(found)
            return found

        return made

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Names in the order of the work, not of the alphabet."""
        return list(self.commands)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """List each command with the whole first sentence of its help, over as many lines as it takes."""
        lines = [(name, _first_sentence(each.help or "")) for name, each in self.commands.items() if not each.hidden]
        if lines:
            with formatter.section("Commands"):
                formatter.write_dl(lines)


def _first_sentence(words: str) -> str:
    """
    The sentence a help begins with.

    Examples
    --------
    >>> _first_sentence("Make the next invoice of a CUSTOMER:\\n    what went out. Numbers have no gaps.")
    'Make the next invoice of a CUSTOMER: what went out.'
    """
    first, end, _ = " ".join(words.split()).partition(". ")
    return first + end.strip()


def group(name: str, *, example: str, kind: type[Group] = Group) -> Callable[[Work], Group]:
    """Make a group of commands; called without one of them it does its own work, which only looks."""

    def made(work: Work) -> Group:
        return kind(
            name,
            callback=_with_given(work, unless_subcommand=True),
            invoke_without_command=True,
            params=[*_declared(work), *common_options(records=False)],
            help=work.__doc__,
            epilog=_example(example),
            context_settings=dict(HELP_NAMES),
        )

    return made


def _declared(work: Work) -> list[click.Parameter]:
    """Options and arguments that click's decorators left on a function, in the order they are written."""
    return list(reversed(getattr(work, "__click_params__", [])))


def _example(line: str) -> str:
    return f"\b\nExample:\n  {line}"


def _with_given(work: Work, *, unless_subcommand: bool = False, doubts: bool = False) -> Work:
    def run(**values: Any) -> None:
        ctx = click.get_current_context()
        if unless_subcommand and ctx.invoked_subcommand is not None:
            return
        given = Given(ctx, values)
        if not doubts:
            work(given, **values)
            return
        from trayward.cli.doubting import unless_doubted

        unless_doubted(given, lambda: work(given, **values))

    return run
